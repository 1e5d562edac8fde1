//! A swing's line while a lesson goes on. The lines before cannot be moved any more, so the columns have their width from the
//! start.
use super::{KEYS, Key, SwingRow, key_cell, marks_of, supports};

/// Widths of the number, the recording and the accounts.
const BEGIN: [usize; 3] = [5, 24, 9];

/// Width of a key figure.
const FIGURE: usize = 17;

/// The line of heads.
pub fn lesson_head() -> String {
    let head = |key: &Key| format!("{} {}", key.head, key.unit).trim_end().to_string();
    set(["no.", "recording", ""].map(String::from), &KEYS.each_ref().map(head), "findings")
}

/// The line of a swing; `name`: its recording as it is told.
pub fn lesson_line(row: &SwingRow, name: &str) -> String {
    let begin = [row.number.to_string(), name.to_string(), supports(row.feet).to_string()];
    match &row.failed {
        Some(why) => set(begin, &[], &format!("not measured: {why}")),
        None => set(begin, &KEYS.each_ref().map(|key| key_cell(row, key)), &marks_of(row.stops, row.doubts)),
    }
}

/// Numbers to the right, words to the left.
fn set([number, name, accounts]: [String; 3], figures: &[String], end: &str) -> String {
    let [a, b, c] = BEGIN;
    let mut line = format!("{number:>a$}  {name:<b$}  {accounts:<c$}");
    for figure in figures {
        line.push_str(&format!("  {figure:>FIGURE$}"));
    }
    format!("{line}  {end}").trim_end().to_string()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::super::{Stored, figure};
    use super::*;
    use swing::metrics::catalogue;

    #[test]
    fn figures_end_under_their_heads() {
        let figures = KEYS.map(|key| {
            let metric = catalogue().iter().find(|m| m.id == key.metric).unwrap();
            let by_weight = (key.unit == "%BW").then_some((1.6, 0.01));
            figure(metric, Stored { value: Some(12.0), u: Some(1.0), by_weight, ..Stored::default() })
        });
        let mut row = SwingRow {
            swing: 9,
            player: "P01".into(),
            session: 2,
            date: None,
            number: 7,
            club: String::new(),
            file: "a.c3d".into(),
            feet: Some(2),
            failed: None,
            stops: 0,
            doubts: 2,
            tags: Vec::new(),
            marks: Vec::new(),
            note: String::new(),
            figures: figures.to_vec(),
        };
        let (head, line) = (lesson_head(), lesson_line(&row, "a.c3d"));
        let ends = |text: &str, word: &str| {
            text.split_once(word).map(|(before, _)| (before.to_string() + word).chars().count())
        };
        for (head_ends, figure_ends) in
            [("up %BW", "+160.0 ± 2.0"), ("N·m", "+12.0 ± 2.0"), ("tempo", " 12.00 ± 1.96")]
        {
            let (above, below) = (ends(&head, head_ends), ends(&line, figure_ends));
            assert!(above.is_some() && above == below, "{head}\n{line}");
        }
        assert!(line.starts_with("    7  a.c3d  ") && line.ends_with("  ▲ 2"), "{line}");
        row.failed = Some("no plate is ever loaded".into());
        row.feet = None;
        let told = lesson_line(&row, "a.c3d");
        assert!(told.ends_with("nothing    not measured: no plate is ever loaded"), "{told}");
    }
}
