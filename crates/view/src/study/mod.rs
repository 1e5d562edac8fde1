//! Swings of a study: a row each, and one metric of many. What the archive gives and every face shows.
mod lesson;
mod list;
mod values;

pub use lesson::{lesson_head, lesson_line};
pub use list::{list_csv, list_text};
pub use values::{AbsentView, GroundView, Reading, Summary, ValueRow, ValuesView, values_csv, values_text};

use crate::findings::shape;
use crate::quantity::{COVERAGE, plain, signed};
use crate::table::{Align, Table};
use crate::units;
use serde::Serialize;
use swing::metrics::{Figure, Metric};

/// A metric of a swing as it is kept.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stored {
    /// SI; `None` where absent.
    pub value: Option<f64>,
    /// Standard uncertainty.
    pub u: Option<f64>,
    /// Over body weight, with its standard uncertainty.
    pub by_weight: Option<(f64, f64)>,
    /// When, s of the recording.
    pub at_s: Option<f64>,
    /// True where it rests on an estimated event.
    pub estimated: bool,
    /// Codes of the findings that put it in doubt, joined by spaces.
    pub touched_by: String,
    /// Why it is absent.
    pub absent: Option<String>,
}

/// A metric of a swing, for machines and tables.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FigureView {
    /// Id of the metric.
    pub metric: &'static str,
    /// SI unit.
    pub unit: &'static str,
    /// Value, SI; null where absent.
    pub value: Option<f64>,
    /// Standard uncertainty, SI.
    pub u: Option<f64>,
    /// Half width of the 95 % interval, SI.
    pub plus_minus: Option<f64>,
    /// The unit relative to the body, where there is one ("%BW", "N·m/kg").
    pub body_unit: Option<&'static str>,
    /// Value in that unit.
    pub body_value: Option<f64>,
    /// Half width of the 95 % interval in that unit.
    pub body_plus_minus: Option<f64>,
    /// When it is, s of the recording.
    pub at_s: Option<f64>,
    /// True where it rests on an estimated event.
    pub estimate: bool,
    /// Codes of the findings that put it in doubt, joined by spaces.
    pub touched_by: String,
    /// Why it is absent.
    pub absent: Option<String>,
    /// As people read it.
    #[serde(skip)]
    pub shown: Option<units::Shown>,
    /// Whether a sign means something.
    #[serde(skip)]
    pub signed: bool,
}

/// A stored figure of a metric, in all its units.
pub fn figure(metric: &'static Metric, stored: Stored) -> FigureView {
    let figure = stored.value.map(|value| Figure {
        value,
        u: stored.u.unwrap_or(f64::NAN),
        by_weight: stored.by_weight,
        at_s: stored.at_s,
        sample: None,
        dominant: None,
        estimated: stored.estimated,
        touched_by: Vec::new(),
    });
    let body = figure.as_ref().and_then(|f| units::by_body(metric.unit, f));
    FigureView {
        metric: &metric.id,
        unit: metric.unit.symbol(),
        value: stored.value,
        u: stored.u,
        plus_minus: stored.u.map(|u| COVERAGE * u),
        body_unit: body.map(|b| b.unit),
        body_value: body.map(|b| b.value),
        body_plus_minus: body.map(|b| b.plus_minus),
        at_s: stored.at_s,
        estimate: stored.estimated,
        touched_by: stored.touched_by,
        absent: stored.absent,
        shown: figure.as_ref().map(|f| units::shown(metric.unit, f)),
        signed: !metric.sign.is_empty(),
    }
}

/// A metric that stands in a row of a swing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    /// Its id.
    pub metric: &'static str,
    /// Its head.
    pub head: &'static str,
    /// The unit under the head.
    pub unit: &'static str,
    /// Decimals, so that a column lines up.
    pub decimals: usize,
}

/// The metrics that a list of swings shows, as a list of recordings does ([`crate::measure::line`]).
pub const KEYS: [Key; 4] = [
    Key { metric: "up.net.most", head: "up", unit: "%BW", decimals: 1 },
    Key { metric: "target.net.most", head: "drive", unit: "%BW", decimals: 1 },
    Key { metric: "turn.net-cop.most", head: "turn, net cop", unit: "N·m", decimals: 1 },
    Key { metric: "tempo", head: "tempo", unit: "", decimals: 2 },
];

/// A swing among many. No name of a person is in it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SwingRow {
    /// Its number in the study.
    pub swing: i64,
    /// The player's alias.
    pub player: String,
    /// The session's number.
    pub session: i64,
    /// Its day, where known.
    pub date: Option<String>,
    /// Number within the session.
    pub number: i64,
    /// Club; empty where not stated.
    pub club: String,
    /// The file's name when it came in.
    pub file: String,
    /// What it supports: 2, accounts of each foot; 1, net accounts only; null, nothing.
    pub feet: Option<u8>,
    /// Why it could not be measured.
    pub failed: Option<String>,
    /// Findings of severity stop.
    pub stops: i64,
    /// Findings of severity doubt.
    pub doubts: i64,
    /// Tags, in order.
    pub tags: Vec<String>,
    /// Events placed by hand, in the order of a swing.
    pub marks: Vec<String>,
    /// Free text.
    pub note: String,
    /// [`KEYS`], in that order.
    pub figures: Vec<FigureView>,
}

/// What a swing supports, in two words.
pub fn supports(feet: Option<u8>) -> &'static str {
    match feet {
        Some(2) => "both feet",
        Some(_) => "net only",
        None => "nothing",
    }
}

/// "■ 1 ▲ 2": stops and doubts, nothing where there are none.
pub fn marks_of(stops: i64, doubts: i64) -> String {
    let some = [("stop", stops), ("doubt", doubts)].into_iter().filter(|(_, n)| *n > 0);
    some.map(|(severity, n)| format!("{} {n}", shape(severity))).collect::<Vec<_>>().join(" ")
}

/// The figure of a key in a row.
fn key_cell(row: &SwingRow, key: &Key) -> String {
    let figure = row.figures.iter().find(|f| f.metric == key.metric);
    figure.map_or("—".to_string(), |f| cell(f, key.unit, key.decimals))
}

/// A figure and its ±, with a stated number of decimals, so that a column of them lines up; its unit follows where it is
/// not the column's. A plus is left out where the metric has no sign.
pub fn cell(figure: &FigureView, unit: &str, decimals: usize) -> String {
    let Some(shown) = figure.shown else { return "—".into() };
    let other = if shown.unit == unit { String::new() } else { format!(" {}", shown.unit) };
    let value = if figure.signed { signed(shown.value, decimals) } else { plain(shown.value, decimals) };
    if !shown.plus_minus.is_finite() {
        return format!("{value}{other}");
    }
    format!("{value} ± {}{other}", plain(shown.plus_minus, decimals))
}

/// A column of a table of swings; one without a single word in it is left out.
struct Column {
    align: Align,
    heads: [String; 2],
    cells: Vec<String>,
}

impl Column {
    fn new(align: Align, heads: [&str; 2], cells: impl Iterator<Item = String>) -> Self {
        Self { align, heads: heads.map(str::to_string), cells: cells.collect() }
    }
}

/// The columns that say something, set as a table with one line of heads, or two where a column has a unit.
fn table(columns: &[Column]) -> String {
    let told: Vec<&Column> = columns.iter().filter(|c| c.cells.iter().any(|cell| !cell.is_empty())).collect();
    let aligns: Vec<Align> = told.iter().map(|c| c.align).collect();
    let mut table = Table::new(&aligns);
    for k in 0..2 {
        let heads: Vec<&str> = told.iter().filter_map(|c| c.heads.get(k)).map(String::as_str).collect();
        if heads.iter().any(|h| !h.is_empty()) {
            table.row(heads);
        }
    }
    table.rule();
    for row in 0..told.iter().map(|c| c.cells.len()).max().unwrap_or(0) {
        table.row(told.iter().map(|c| c.cells.get(row).cloned().unwrap_or_default()));
    }
    table.text()
}

/// A file's name short enough for a column: its end, where recordings of a session differ.
fn short(name: &str) -> String {
    const MOST: usize = 28;
    let long = name.chars().count();
    if long <= MOST {
        name.to_string()
    } else {
        format!("…{}", name.chars().skip(long + 1 - MOST).collect::<String>())
    }
}

/// A number for machines; empty where there is none.
fn number(value: Option<f64>) -> String {
    value.filter(|v| v.is_finite()).map_or(String::new(), |v| format!("{v}"))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use swing::metrics::catalogue;

    fn of(id: &str, value: f64, by_weight: Option<(f64, f64)>) -> FigureView {
        let metric = catalogue().iter().find(|m| m.id == id).unwrap();
        figure(metric, Stored { value: Some(value), u: Some(10.0), by_weight, ..Stored::default() })
    }

    #[test]
    fn a_cell_has_its_own_unit_where_it_is_not_the_columns() {
        let known = of("up.net.most", 1200.0, Some((1.6, 0.01)));
        assert_eq!(cell(&known, "%BW", 1), "+160.0 ± 2.0");
        assert_eq!((known.body_unit, known.unit), (Some("%BW"), "N"));
        // Without a weight a force stays in newtons, and says so under a heading of %BW.
        assert_eq!(cell(&of("up.net.most", 1200.0, None), "%BW", 1), "+1200.0 ± 19.6 N");
        let absent = figure(catalogue().first().unwrap(), Stored::default());
        assert_eq!(cell(&absent, "%BW", 1), "—");
        assert!(!cell(&of("tempo", 3.0, None), "", 2).starts_with('+'), "a tempo has no sign");
    }

    #[test]
    fn columns_without_a_word_are_left_out() {
        let column = |head: &'static str, cell: &str| {
            Column::new(Align::Left, [head, ""], [cell.to_string(), String::new()].into_iter())
        };
        let text = table(&[column("club", ""), column("tags", "odd")]);
        assert!(text.contains("tags") && text.contains("odd") && !text.contains("club"), "{text}");
        assert_eq!(short("a-name-of-a-recording-that-is-long-007.c3d").chars().count(), 28);
        assert!(short("a-name-of-a-recording-that-is-long-007.c3d").ends_with("-007.c3d"));
        assert_eq!(marks_of(0, 3), "▲ 3");
    }
}
