//! Tables of numbers as text: one column a channel, one row a sample.
//!
//! Delimiter, decimal mark, names, units and the time column are worked out from the text; the `[table]` section
//! of a rig file ([`TableLayout`]) settles what it states. Nothing about plates is in a table: that is the
//! rig file's business ([`crate::rigfile`]).
mod error;
mod guess;
mod layout;
mod number;
mod read;
mod text;
mod time;
pub mod unit;
mod write;

pub use error::TableError;
pub use guess::Shape;
pub use layout::{Column, Decimal, Delimiter, TableLayout};
pub use text::Encoding;
pub use write::{UnitPlace, Writing, encode};

use mechanics::finding::{FILE_DUPLICATE_LABEL, FILE_TRUNCATED, TABLE_GAP};
use mechanics::{Analog, Channel, Checked, Finding, Recording};

/// Reads a table.
///
/// `name` becomes the recording's name. The time column is taken out of the channels and becomes rate and
/// start; a table without one has the rate of the layout, or of a preamble line that states one, or NaN with
/// the finding `rate-missing`. Cells without a number are NaN. Channel labels are the column names without
/// their units (`Fx[N]` → "Fx", unit "N"); columns without a name are "column 1", "column 2"… as counted in the
/// file.
///
/// # Errors
/// [`TableError`] where there is no table, a row does not fit, or the layout contradicts the text.
pub fn decode(
    name: &str,
    bytes: &[u8],
    layout: Option<&TableLayout>,
) -> Result<Checked<Recording>, TableError> {
    let nothing_stated = TableLayout::default();
    let layout = layout.unwrap_or(&nothing_stated);
    let (text, encoding) = readable(bytes)?;
    let shape = guess::shape(&text, layout)?;
    let rows = read::rows(&text, &shape)?;
    let mut findings = Vec::new();
    let clock = time::clock(&shape, &rows, layout, &mut findings)?;
    report_rows(&shape, &rows, &mut findings);
    let labels = unique(&shape.names, &mut findings);
    let channels = labels
        .into_iter()
        .zip(shape.units)
        .zip(rows.columns)
        .enumerate()
        .filter(|(index, _)| Some(*index) != clock.column)
        .map(|(_, ((label, unit), samples))| Channel { label, unit, description: String::new(), samples })
        .collect();
    let marks = match encoding {
        Encoding::Utf8 => String::new(),
        other => format!(", {}", other.words()),
    };
    let value = Recording {
        name: name.to_owned(),
        format: format!("table, {}, {}{marks}", shape.delimiter.words(), shape.decimal.words()),
        analog: Analog { rate_hz: clock.rate_hz, start_s: clock.start_s, channels },
        ..Recording::default()
    };
    Ok(Checked { value, findings })
}

/// What is understood of a table's shape, without reading its rows; for `inspect` and for writing a rig file.
///
/// # Errors
/// As [`decode`].
pub fn understand(bytes: &[u8], layout: Option<&TableLayout>) -> Result<Shape, TableError> {
    let nothing_stated = TableLayout::default();
    guess::shape(&readable(bytes)?.0, layout.unwrap_or(&nothing_stated))
}

/// Whether bytes look like a table, and why; only the head is looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sniff {
    /// True where they do.
    pub is_table: bool,
    /// The reason, in words.
    pub reason: String,
}

/// Says whether bytes look like a table of numbers, with the reason.
pub fn sniff(bytes: &[u8]) -> Sniff {
    match understand(bytes, None) {
        Ok(shape) => Sniff {
            is_table: true,
            reason: format!(
                "text with {} columns of numbers from line {}, {}",
                shape.names.len(),
                shape.first_line,
                shape.delimiter.words()
            ),
        },
        Err(error) => Sniff { is_table: false, reason: error.to_string() },
    }
}

fn readable(bytes: &[u8]) -> Result<(std::borrow::Cow<'_, [u8]>, Encoding), TableError> {
    let (text, encoding) = text::ascii_compatible(bytes);
    match text.iter().take(64 * 1024).position(|b| *b == 0) {
        Some(offset) => Err(TableError::Binary { offset }),
        None => Ok((text, encoding)),
    }
}

fn report_rows(shape: &Shape, rows: &read::Rows, findings: &mut Vec<Finding>) {
    if let Some((line, column)) = rows.first_gap {
        let touched = rows.gaps_of.iter().filter(|n| **n > 0).count();
        findings.push(Finding::new(
            &TABLE_GAP,
            format!(
                "{} cell{} in {touched} column{}; the first on line {line}, column \"{}\"",
                rows.gaps,
                if rows.gaps == 1 { "" } else { "s" },
                if touched == 1 { "" } else { "s" },
                shape.names[column],
            ),
        ));
    }
    if let Some((line, text)) = &rows.first_skipped {
        findings.push(Finding::new(
            &TABLE_GAP,
            format!(
                "{} line{} without a number left out; the first is line {line}: \"{}\"",
                rows.skipped,
                if rows.skipped == 1 { "" } else { "s" },
                text.trim()
            ),
        ));
    }
    if let Some(line) = rows.cut {
        findings.push(Finding::new(
            &FILE_TRUNCATED,
            format!(
                "line {line}, the last, ends before column \"{}\"; it was left out",
                shape.names.last().map_or("", String::as_str)
            ),
        ));
    }
}

/// Labels made unique: a repeated one gets "#2", "#3"…
fn unique(names: &[String], findings: &mut Vec<Finding>) -> Vec<String> {
    let mut seen = std::collections::BTreeMap::<String, usize>::new();
    let mut repeated = Vec::new();
    let mut taken: std::collections::BTreeSet<String> = names.iter().map(|n| n.to_lowercase()).collect();
    let mut labels = Vec::with_capacity(names.len());
    for name in names {
        let count = seen.entry(name.to_lowercase()).or_insert(0);
        *count += 1;
        if *count == 1 {
            labels.push(name.clone());
            continue;
        }
        let mut label = format!("{name}#{count}");
        while !taken.insert(label.to_lowercase()) {
            *count += 1;
            label = format!("{name}#{count}");
        }
        repeated.push(format!("\"{label}\""));
        labels.push(label);
    }
    if !repeated.is_empty() {
        findings.push(Finding::new(&FILE_DUPLICATE_LABEL, format!("numbered as {}", repeated.join(", "))));
    }
    labels
}
