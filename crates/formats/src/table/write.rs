//! A recording as a table.
use super::layout::{Decimal, Delimiter};
use mechanics::Recording;

/// How a table is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Writing {
    /// What stands between cells.
    pub delimiter: Delimiter,
    /// The decimal mark; a decimal comma needs another delimiter than the comma, and gets a semicolon.
    pub decimal: Decimal,
    /// Where the units stand.
    pub units: UnitPlace,
}

/// Where the units of the columns are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnitPlace {
    /// In square brackets after the name: `Fx [N]`.
    Header,
    /// In a row of their own under the names.
    Row,
    /// Nowhere.
    Nowhere,
}

impl Writing {
    /// Commas, decimal point, units in a row of their own.
    pub const CSV: Self =
        Self { delimiter: Delimiter::Comma, decimal: Decimal::Point, units: UnitPlace::Row };
    /// Tabs, decimal point, units in the header.
    pub const TSV: Self =
        Self { delimiter: Delimiter::Tab, decimal: Decimal::Point, units: UnitPlace::Header };
}

/// Writes the analog channels of a recording, with a time column first where the rate is known.
///
/// Values are written so that reading gives the same doubles; gaps are `NaN`. Times are in seconds with nine
/// decimals at most. Markers, plates and events are not part of a table.
pub fn encode(recording: &Recording, how: &Writing) -> Vec<u8> {
    let clash = how.delimiter.byte() == how.decimal.byte();
    let delimiter = if clash { Delimiter::Semicolon } else { how.delimiter };
    let analog = &recording.analog;
    let timed = analog.rate_hz.is_finite() && analog.rate_hz > 0.0;
    let mut out = Vec::with_capacity(analog.len() * (analog.channels.len() + 1) * 10 + 256);
    let join = |out: &mut Vec<u8>, cells: &mut dyn Iterator<Item = String>| {
        for (i, cell) in cells.enumerate() {
            if i > 0 {
                out.push(delimiter.byte());
            }
            out.extend_from_slice(quoted(&cell, delimiter).as_bytes());
        }
        out.push(b'\n');
    };
    let in_header = how.units == UnitPlace::Header;
    let head = |label: &str, unit: &str| {
        // Without a bracket a label such as "F_N" would be read as having a unit.
        let bare = super::unit::split(label).1.is_empty() && !label.ends_with(']');
        if in_header && !(unit.is_empty() && bare) { format!("{label} [{unit}]") } else { label.to_owned() }
    };
    let time = timed.then(|| head("time", "s"));
    join(&mut out, &mut time.into_iter().chain(analog.channels.iter().map(|c| head(&c.label, &c.unit))));
    if how.units == UnitPlace::Row {
        let dash = |unit: &str| if unit.is_empty() { "-".to_owned() } else { unit.to_owned() };
        let time = timed.then(|| "s".to_owned());
        join(&mut out, &mut time.into_iter().chain(analog.channels.iter().map(|c| dash(&c.unit))));
    }
    let mut cell = String::new();
    for row in 0..analog.len() {
        let mut first = true;
        let mut put = |out: &mut Vec<u8>, value: f64| {
            use std::fmt::Write as _;
            if !first {
                out.push(delimiter.byte());
            }
            first = false;
            cell.clear();
            // Writing to a string cannot fail.
            let _ = match value.abs() {
                size if !size.is_finite() => write!(cell, "NaN"),
                size if size != 0.0 && !(1e-7..1e16).contains(&size) => write!(cell, "{value:e}"),
                _ => write!(cell, "{value}"),
            };
            let from = out.len();
            out.extend_from_slice(cell.as_bytes());
            if how.decimal == Decimal::Comma
                && let Some(point) = out[from..].iter().position(|b| *b == b'.')
            {
                out[from + point] = b',';
            }
        };
        if timed {
            let seconds = analog.start_s + row as f64 / analog.rate_hz;
            put(&mut out, (seconds * 1e9).round() / 1e9);
        }
        for channel in &analog.channels {
            put(&mut out, channel.samples.get(row).copied().unwrap_or(f64::NAN));
        }
        out.push(b'\n');
    }
    out
}

/// The cell in quotes where it would not come back otherwise.
fn quoted(cell: &str, delimiter: Delimiter) -> String {
    let odd = |c: char| c == '"' || c == '\n' || c == '\r' || c == char::from(delimiter.byte()) || c == '\t';
    let needs = cell.is_empty()
        || cell.contains(odd)
        || (delimiter == Delimiter::Space && cell.contains(' '))
        || cell.starts_with([' ', '#', '%', '/'])
        || cell.ends_with(' ');
    if needs { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.to_owned() }
}
