//! Findings as a person and as a machine reads them.
use mechanics::{Finding, Severity};
use serde::Serialize;

/// One finding.
#[derive(Clone, Debug, Serialize)]
pub struct FindingView {
    /// Stable code.
    pub code: &'static str,
    /// Stable name.
    pub name: &'static str,
    /// "stop", "doubt" or "note".
    pub severity: &'static str,
    /// Plate number (from 1), if it concerns one.
    pub plate: Option<usize>,
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
    /// What to do.
    pub remedy: String,
}

/// In order of severity, stops first; within one severity in the order in which they were made. A finding made
/// twice is told once.
pub fn view(findings: &[Finding]) -> Vec<FindingView> {
    let mut sorted: Vec<&Finding> = Vec::new();
    for finding in findings {
        if !sorted.contains(&finding) {
            sorted.push(finding);
        }
    }
    sorted.sort_by_key(|f| std::cmp::Reverse(f.kind.severity));
    sorted
        .into_iter()
        .map(|f| FindingView {
            code: f.kind.code,
            name: f.kind.name,
            severity: severity(f.kind.severity),
            plate: f.plate.map(|p| p + 1),
            from_s: f.span_s.map(|s| s.0),
            to_s: f.span_s.map(|s| s.1),
            title: f.kind.title,
            seen: without_plate(&f.seen, f.plate),
            why: f.kind.why,
            remedy: f.remedy().to_string(),
        })
        .collect()
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

/// True where a finding says that numbers are wrong or undecided.
pub fn any_stop(findings: &[Finding]) -> bool {
    findings.iter().any(|f| f.kind.severity == Severity::Stop)
}

/// Lines for a terminal: shape first, then words. Notes are one line each; doubts and stops say why and what to do.
pub fn text(findings: &[Finding]) -> String {
    let mut out = String::new();
    for f in view(findings) {
        let shape = match f.severity {
            "stop" => '■',
            "doubt" => '▲',
            _ => '·',
        };
        let plate = f.plate.map_or(String::new(), |p| format!(", plate {p}"));
        let span = match (f.from_s, f.to_s) {
            (Some(a), Some(b)) => format!(" ({a:.2} to {b:.2} s)"),
            _ => String::new(),
        };
        let head = format!("{} {}{plate}: {}{span}", f.code, f.title, f.seen);
        out.push_str(&hang(&format!("{shape} "), "    ", &head));
        if f.severity != "note" {
            out.push_str(&hang("    why  ", "         ", f.why));
            out.push_str(&hang("    do   ", "         ", &f.remedy));
        }
    }
    out
}

/// Folds a text under a first line that begins otherwise. Only its first line is folded: what follows are lines to
/// copy, such as those of a rig file, and stay as they are.
fn hang(first: &str, rest: &str, text: &str) -> String {
    const WIDTH: usize = 104;
    let (sentence, lines) = text.split_once('\n').unwrap_or((text, ""));
    let folded = crate::page::fold(sentence, WIDTH - rest.len(), rest);
    let mut out = format!("{first}{}", folded.strip_prefix(rest).unwrap_or(&folded));
    for line in lines.lines() {
        out.push_str(&format!("{rest}    {line}\n"));
    }
    out
}
