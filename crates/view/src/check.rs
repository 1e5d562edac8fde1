//! One recording or many, checked: what was found in each.
use crate::findings::{self, FindingView};
use mechanics::{Finding, Severity};
use serde::Serialize;

/// What was found in one recording.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CheckView {
    /// The file as it was named.
    pub file: String,
    /// Findings of severity stop.
    pub stops: usize,
    /// Findings of severity doubt.
    pub doubts: usize,
    /// Findings of severity note.
    pub notes: usize,
    /// Why it could not be read, where it could not.
    pub error: Option<String>,
    /// What was found, stops first.
    pub findings: Vec<FindingView>,
}

impl CheckView {
    /// A recording with what was found in it.
    pub fn new(file: String, found: &[Finding], error: Option<String>) -> Self {
        let findings = findings::view(found);
        let count = |s: Severity| findings.iter().filter(|f| f.severity == findings::severity(s)).count();
        Self {
            file,
            stops: count(Severity::Stop),
            doubts: count(Severity::Doubt),
            notes: count(Severity::Note),
            error,
            findings,
        }
    }
}

/// All of them, for machines.
#[derive(Clone, Debug, Serialize)]
pub struct ChecksView {
    /// "underfoot.check/1".
    pub schema: &'static str,
    /// One a recording, in order.
    pub recordings: Vec<CheckView>,
    /// Files of a folder that do not look like recordings.
    pub left_out: Vec<String>,
}

/// One recording: its findings, then the count.
pub fn one(check: &CheckView) -> String {
    let mut out: String = check.findings.iter().map(findings::lines).collect();
    if !out.is_empty() {
        out.push('\n');
    }
    out + &summary(check, 0) + "\n"
}

/// Many recordings: a line each; then every kind of stop and doubt once, with what was seen in which recording; then
/// the total.
pub fn many(checks: &ChecksView) -> String {
    let width = checks.recordings.iter().map(|c| c.file.chars().count()).max().unwrap_or(0);
    let mut out: String = checks.recordings.iter().map(|c| summary(c, width) + "\n").collect();
    for group in groups(&checks.recordings) {
        out.push('\n');
        out.push_str(&group);
    }
    out.push('\n');
    out.push_str(&total(checks));
    out
}

/// "swing-03.c3d  ■ 1 stop  ▲ 2 doubts  · 3 notes".
fn summary(check: &CheckView, width: usize) -> String {
    let part = |count: usize, word: &str| match count {
        0 => None,
        1 => Some(format!("{} 1 {word}", findings::shape(word))),
        n => Some(format!("{} {n} {word}s", findings::shape(word))),
    };
    let counts = [part(check.stops, "stop"), part(check.doubts, "doubt"), part(check.notes, "note")];
    let mut parts: Vec<String> = counts.into_iter().flatten().collect();
    if let Some(error) = &check.error {
        parts.push(format!("× {error}"));
    }
    if parts.is_empty() {
        parts.push("nothing found".into());
    }
    format!("{:width$}  {}", check.file, parts.join("  "))
}

/// Every kind of stop and doubt, worst first, in the order of codes.
fn groups(checks: &[CheckView]) -> Vec<String> {
    let told = |c: &CheckView| c.findings.clone();
    let mut all: Vec<FindingView> = checks.iter().flat_map(told).filter(|f| f.severity != "note").collect();
    all.sort_by_key(|f| (f.severity != "stop", f.code));
    all.dedup_by_key(|f| f.code);
    all.iter().map(|first| group(first, checks)).collect()
}

fn group(first: &FindingView, checks: &[CheckView]) -> String {
    let mut out = findings::hang(
        &format!("{} ", findings::shape(first.severity)),
        "    ",
        &format!("{} {}", first.code, first.title),
    );
    // What was seen, and in which recordings it was seen in the same words.
    let mut seen: Vec<(String, Vec<&str>)> = Vec::new();
    let mut remedies: Vec<(&str, &str)> = Vec::new();
    for check in checks {
        for f in check.findings.iter().filter(|f| f.code == first.code) {
            let plate = findings::plates(&f.plates);
            let plate = plate.trim_start_matches(", ");
            let head = if plate.is_empty() { String::new() } else { format!("{plate}: ") };
            let text = format!("{head}{}{}", f.seen, findings::span(f));
            match seen.iter_mut().find(|(told, _)| *told == text) {
                Some((_, files)) if files.last() != Some(&check.file.as_str()) => files.push(&check.file),
                Some(_) => {}
                None => seen.push((text, vec![&check.file])),
            }
            if remedies.iter().all(|(_, told)| *told != f.remedy) {
                remedies.push((&check.file, &f.remedy));
            }
        }
    }
    for (text, files) in &seen {
        let whose = match files.as_slice() {
            [one] => (*one).to_string(),
            some if some.len() == checks.len() => format!("all {}", some.len()),
            [one, rest @ ..] => format!("{one} and {} more", rest.len()),
            [] => continue,
        };
        out.push_str(&findings::hang("    ", "      ", &format!("{whose}: {text}")));
    }
    out.push_str(&findings::hang("    why  ", "         ", first.why));
    match remedies.as_slice() {
        [(_, same)] => out.push_str(&findings::hang("    do   ", "         ", same)),
        many => {
            for (file, remedy) in many {
                out.push_str(&findings::hang("    do   ", "         ", &format!("({file}) {remedy}")));
            }
        }
    }
    out
}

fn total(checks: &ChecksView) -> String {
    let of = checks.recordings.len();
    let count = |holds: fn(&CheckView) -> bool| checks.recordings.iter().filter(|c| holds(c)).count();
    let stopped = count(|c| c.stops > 0);
    let doubted = count(|c| c.stops == 0 && c.doubts > 0);
    let unread = count(|c| c.error.is_some());
    let sound = of - count(|c| c.stops > 0 || c.doubts > 0 || c.error.is_some());
    let mut parts =
        vec![format!("{of} recordings: {stopped} with a stop, {doubted} with doubts only, {sound} without")];
    if unread > 0 {
        parts.push(format!("{unread} could not be read"));
    }
    let mut out = parts.join("; ") + "\n";
    if !checks.left_out.is_empty() {
        let text = format!("left out, not recordings by their endings: {}", checks.left_out.join(", "));
        out.push_str(&findings::hang("", "  ", &text));
    }
    out
}
