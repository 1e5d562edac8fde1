//! Findings as a person and as a machine reads them.
use mechanics::finding::{CATALOGUE, Kind, Touch};
use mechanics::{Finding, Severity};
use serde::Serialize;

/// One finding, or the same one about several plates.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FindingView {
    /// Stable code.
    pub code: &'static str,
    /// Stable name.
    pub name: &'static str,
    /// "stop", "doubt" or "note".
    pub severity: &'static str,
    /// Plate number (from 1), if it concerns one; the first of several.
    pub plate: Option<usize>,
    /// Every plate it concerns: names where the rig gives them, else numbers.
    pub plates: Vec<String>,
    /// From, s.
    pub from_s: Option<f64>,
    /// To, s.
    pub to_s: Option<f64>,
    /// One line.
    pub title: &'static str,
    /// What was seen.
    pub seen: String,
    /// Why it matters.
    pub why: &'static str,
    /// What to do; lines after the first are to be copied as they are.
    pub remedy: String,
    /// Which numbers it puts in doubt, in words; empty for notes, which leave the numbers standing.
    pub touches: Vec<&'static str>,
}

/// In order of severity, stops first; within one severity in the order in which they were made. A finding made
/// twice is told once, and one made of several plates in the same words too.
pub fn view(findings: &[Finding]) -> Vec<FindingView> {
    let mut sorted: Vec<&Finding> = findings.iter().collect();
    sorted.sort_by_key(|f| std::cmp::Reverse(f.kind.severity));
    let mut out: Vec<FindingView> = Vec::new();
    for finding in sorted {
        let mut now = one(finding);
        let same = |told: &&mut FindingView| {
            told.code == now.code
                && (&told.seen, &told.remedy) == (&now.seen, &now.remedy)
                && (told.from_s, told.to_s) == (now.from_s, now.to_s)
                && told.plates.is_empty() == now.plates.is_empty()
        };
        match out.iter_mut().find(same) {
            Some(told) => {
                now.plates.retain(|p| !told.plates.contains(p));
                told.plates.append(&mut now.plates);
            }
            None => out.push(now),
        }
    }
    out
}

fn one(f: &Finding) -> FindingView {
    let number = |p: usize| f.plate_name.clone().unwrap_or_else(|| (p + 1).to_string());
    let doubted = f.kind.severity > Severity::Note;
    FindingView {
        code: f.kind.code,
        name: f.kind.name,
        severity: severity(f.kind.severity),
        plate: f.plate.map(|p| p + 1),
        plates: f.plate.map(number).into_iter().collect(),
        from_s: f.span_s.map(|s| s.0),
        to_s: f.span_s.map(|s| s.1),
        title: f.kind.title,
        seen: without_plate(&f.seen, f.plate),
        why: f.kind.why,
        remedy: f.remedy().to_string(),
        touches: if doubted { f.kind.touches.iter().map(|t| touch(*t)).collect() } else { Vec::new() },
    }
}

/// What was seen, without the plate's number at its head: that stands beside it.
fn without_plate(seen: &str, plate: Option<usize>) -> String {
    let head = plate.map(|p| format!("plate {}", p + 1));
    let rest = head.and_then(|h| seen.strip_prefix(&h)).filter(|r| r.starts_with([':', ',', ' ']));
    rest.map_or(seen, |r| r.trim_start_matches([':', ',', ' '])).to_string()
}

/// "stop", "doubt", "note".
pub fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Stop => "stop",
        Severity::Doubt => "doubt",
        Severity::Note => "note",
    }
}

/// Octagon, triangle, dot, as far as letters have them.
pub fn shape(severity: &str) -> char {
    match severity {
        "stop" => '■',
        "doubt" => '▲',
        _ => '·',
    }
}

/// Numbers in words.
pub fn touch(touch: Touch) -> &'static str {
    match touch {
        Touch::Up => "vertical forces",
        Touch::Shear => "horizontal forces",
        Touch::Cop => "centres of pressure",
        Touch::Turn => "turn and free moments",
        Touch::Split => "which foot did what",
        Touch::Signs => "signs of toe and turn",
        Touch::Weight => "everything in %BW",
        Touch::Time => "rates, impulses and instants",
        Touch::Everything => "everything",
    }
}

/// True where a finding says that numbers are wrong or undecided.
pub fn any_stop(findings: &[Finding]) -> bool {
    findings.iter().any(|f| f.kind.severity == Severity::Stop)
}

/// Lines for a terminal: shape first, then words. Notes are one line each; doubts and stops say why and what to do.
pub fn text(findings: &[Finding]) -> String {
    view(findings).iter().map(lines).collect()
}

/// The lines of one finding.
pub fn lines(f: &FindingView) -> String {
    let head = format!("{} {}{}: {}{}", f.code, f.title, plates(&f.plates), f.seen, span(f));
    let mut out = hang(&format!("{} ", shape(f.severity)), "    ", &head);
    if f.severity != "note" {
        out.push_str(&because(f));
    }
    out
}

/// Why it matters and what to do.
pub fn because(f: &FindingView) -> String {
    hang("    why  ", "         ", f.why) + &hang("    do   ", "         ", &f.remedy)
}

/// ", plate 1", ", plates 1 and 2", or nothing.
pub fn plates(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => format!(", plate {one}"),
        [some @ .., last] => format!(", plates {} and {last}", some.join(", ")),
    }
}

/// " (0.20 to 0.70 s)", " (at 0.20 s)", or nothing.
pub fn span(f: &FindingView) -> String {
    let Some((from, to)) = f.from_s.zip(f.to_s) else { return String::new() };
    let (from, to) = (format!("{from:.2}"), format!("{to:.2}"));
    if from == to { format!(" (at {from} s)") } else { format!(" ({from} to {to} s)") }
}

/// Folds a text under a first line that begins otherwise. Only its first line is folded: what follows are lines to
/// copy, such as those of a rig file, and stay as they are.
pub fn hang(first: &str, rest: &str, text: &str) -> String {
    const WIDTH: usize = 104;
    let (sentence, lines) = text.split_once('\n').unwrap_or((text, ""));
    let folded = crate::page::fold(sentence, WIDTH - rest.len(), rest);
    let mut out = format!("{first}{}", folded.strip_prefix(rest).unwrap_or(&folded));
    for line in lines.lines() {
        out.push_str(&format!("{rest}    {line}\n"));
    }
    out
}

/// The manual of findings, in Markdown, from the catalogue.
pub fn manual() -> String {
    let mut out = String::from(
        "# Findings\n\n\
         What a careful reader of a recording would notice. `underfoot check FILE` tells them; every other command tells \
         them beside its result, and a metric that a doubt or a stop touches says so. This page is made from the \
         catalogue (`crates/mechanics/src/finding/catalogue.rs`).\n\n\
         - ■ **stop**: the numbers named are wrong or undecided until the remedy is applied; the command ends with exit \
         code 1\n\
         - ▲ **doubt**: the numbers may be off; read on before trusting them\n\
         - · **note**: worth knowing; the numbers stand\n\n\
         A finding may work its remedy out for the recording at hand: lines to paste into a rig file, or an option. \
         `underfoot explain CODE` tells one entry of this page.\n\n\
         | code | severity | name | what it says |\n| --- | --- | --- | --- |\n",
    );
    for kind in CATALOGUE {
        let word = severity(kind.severity);
        out.push_str(&format!(
            "| {} | {} {word} | `{}` | {} |\n",
            kind.code,
            shape(word),
            kind.name,
            kind.title
        ));
    }
    let families = [
        ("F0", "What a C3D file says of itself"),
        ("F1", "How a plate's description was read"),
        ("R2", "Rig against recording, and tables"),
        ("Q3", "The recording itself"),
    ];
    for (prefix, title) in families {
        out.push_str(&format!("\n## {title}\n"));
        CATALOGUE.iter().filter(|k| k.code.starts_with(prefix)).for_each(|k| out.push_str(&entry(k)));
    }
    out
}

fn entry(kind: &Kind) -> String {
    let word = severity(kind.severity);
    let touched: Vec<&str> = kind.touches.iter().map(|t| touch(*t)).collect();
    let touches =
        if touched.is_empty() { "nothing; the numbers stand".to_string() } else { touched.join(", ") };
    format!(
        "\n### {} {}\n\n{} {word}: {}.\n\n- why it matters: {}\n- what to do: {}\n- puts in doubt: {touches}\n- source: {}\n",
        kind.code,
        kind.name,
        shape(word),
        kind.title,
        kind.why,
        kind.remedy,
        kind.source
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use mechanics::finding::{CLIPPED, FORCE_SIGN_TURNED, HAND_ASSUMED};

    #[test]
    fn one_finding_of_two_plates_is_told_once() {
        let of = |plate| Finding::new(&CLIPPED, "held").on_plate(plate);
        let named = Finding { plate_name: Some("front".into()), ..of(1) };
        let told = view(&[
            Finding::new(&FORCE_SIGN_TURNED, "x"),
            of(0),
            Finding::new(&HAND_ASSUMED, "y"),
            named,
            of(0),
        ]);
        let codes: Vec<_> = told.iter().map(|f| f.code).collect();
        assert_eq!(codes, ["Q320", "Q302", "F106"]);
        assert_eq!(told[0].plates, ["1", "front"]);
        assert!(
            lines(&told[0]).starts_with("■ Q320 A channel is cut off at its limit, plates 1 and front: held")
        );
        assert!(told[2].touches.is_empty());
    }

    #[test]
    fn lines_to_copy_are_not_folded() {
        let long = "rows = [0.000000001, 0.000000001, 0.000000001, 0.000000001, 0.000000001, 0.000000001, 0.000000001, 0.01]";
        let remedy = format!("State in a rig file:\n[[plate]]\n{long}");
        let told = text(&[Finding::new(&CLIPPED, "held").with_remedy(remedy)]);
        assert!(told.contains("    do   State in a rig file:\n             [[plate]]\n"), "{told}");
        assert!(told.contains(long));
    }

    #[test]
    fn every_kind_is_in_the_manual_once() {
        let manual = manual();
        for kind in CATALOGUE {
            assert_eq!(
                manual.matches(&format!("\n### {} {}\n", kind.code, kind.name)).count(),
                1,
                "{}",
                kind.code
            );
        }
    }
}
