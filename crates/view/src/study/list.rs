//! Swings of a study as a table, for people and for machines.
use super::{Column, KEYS, Key, SwingRow, key_cell, marks_of, number, short, supports, table};
use crate::table::{Align, csv_row};

/// A table for a terminal. Columns in which nothing stands are left out.
pub fn list_text(rows: &[SwingRow]) -> String {
    let column = |align, heads: [&str; 2], of: &dyn Fn(&SwingRow) -> String| {
        Column::new(align, heads, rows.iter().map(of))
    };
    let key = |key: &Key| column(Align::Right, [key.head, key.unit], &|r| key_cell(r, key));
    let mut found = column(Align::Left, ["findings", ""], &|r| marks_of(r.stops, r.doubts));
    for (text, row) in found.cells.iter_mut().zip(rows) {
        if row.failed.is_some() {
            text.push_str(if text.is_empty() { "not measured" } else { " not measured" });
        }
    }
    let mut columns = vec![
        column(Align::Right, ["swing", ""], &|r| r.swing.to_string()),
        column(Align::Left, ["player", ""], &|r| r.player.clone()),
        column(Align::Left, ["day", ""], &|r| r.date.clone().unwrap_or_default()),
        column(Align::Right, ["session", ""], &|r| r.session.to_string()),
        column(Align::Right, ["no.", ""], &|r| r.number.to_string()),
        column(Align::Left, ["club", ""], &|r| r.club.clone()),
        column(Align::Left, ["accounts", ""], &|r| supports(r.feet).to_string()),
    ];
    columns.extend(KEYS.iter().map(key));
    columns.extend([
        found,
        column(Align::Left, ["by hand", ""], &|r| r.marks.join(" ")),
        column(Align::Left, ["tags", ""], &|r| r.tags.join(", ")),
        column(Align::Left, ["file", ""], &|r| short(&r.file)),
    ]);
    table(&columns)
}

/// One row a swing, separated by commas: figures in SI with their standard uncertainty, and relative to the body.
pub fn list_csv(rows: &[SwingRow]) -> String {
    let mut head: Vec<String> = [
        "swing", "player", "session", "date", "number", "club", "file", "feet", "stops", "doubts", "by_hand",
        "tags", "note", "failed",
    ]
    .map(str::to_string)
    .to_vec();
    for key in KEYS.map(|k| k.metric) {
        head.extend([key.to_string(), format!("{key}.u")]);
        if rows.iter().any(|r| r.figures.iter().any(|f| f.metric == key && f.body_unit.is_some())) {
            head.extend([format!("{key}.body"), format!("{key}.body.plus_minus_95")]);
        }
    }
    let with_body = |key: &str| head.contains(&format!("{key}.body"));
    let mut out = csv_row(&head);
    for r in rows {
        let mut cells = vec![
            r.swing.to_string(),
            r.player.clone(),
            r.session.to_string(),
            r.date.clone().unwrap_or_default(),
            r.number.to_string(),
            r.club.clone(),
            r.file.clone(),
            r.feet.map_or(String::new(), |f| f.to_string()),
            r.stops.to_string(),
            r.doubts.to_string(),
            r.marks.join(" "),
            r.tags.join(";"),
            r.note.clone(),
            r.failed.clone().unwrap_or_default(),
        ];
        for f in &r.figures {
            cells.extend([number(f.value), number(f.u)]);
            if with_body(f.metric) {
                cells.extend([number(f.body_value), number(f.body_plus_minus)]);
            }
        }
        out.push_str(&csv_row(&cells));
    }
    out
}
