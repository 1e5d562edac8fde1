//! One metric of many swings: each value with its ±, what the swings have in common, and where the middle lies.
use super::{Column, FigureView, Stored, cell, figure, number, supports, table};
use crate::quantity::{count, decimals, plain, signed};
use crate::table::{Align, csv_row};
use serde::Serialize;
use signal::stats;
use std::collections::{BTreeMap, BTreeSet};
use swing::metrics::{Metric, Need};

/// One metric of many swings.
#[derive(Clone, Debug, Serialize)]
pub struct ValuesView {
    /// Name and version of this layout.
    pub schema: &'static str,
    /// Id of the metric.
    pub metric: &'static str,
    /// Its name for people.
    pub label: &'static str,
    /// SI unit.
    pub unit: &'static str,
    /// In words.
    pub definition: &'static str,
    /// How the swings were looked at.
    #[serde(flatten)]
    pub reading: Reading,
    /// What they support.
    pub ground: GroundView,
    /// Why swings have no value, and how many, the most common first.
    pub absent: Vec<AbsentView>,
    /// Where the middle lies: SI first, then relative to the body.
    pub summary: Vec<Summary>,
    /// Swing by swing.
    pub values: Vec<ValueRow>,
    /// The metric.
    #[serde(skip)]
    known: &'static Metric,
}

/// How swings were looked at.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Reading {
    /// Reference point of turn, as `--about` takes it.
    pub about: String,
    /// True where all plates of a swing were put together as one.
    pub collapse: bool,
    /// Swings measured just now, since they had not been looked at in this way, or with something else.
    pub measured_now: usize,
    /// Swings whose values are out of date.
    pub stale: usize,
    /// The point in words.
    #[serde(skip)]
    pub point: String,
}

/// What swings support.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct GroundView {
    /// Swings with both feet on one plate: net accounts only.
    pub one: usize,
    /// Swings with a plate for each foot.
    pub two: usize,
    /// Swings that could not be measured.
    pub nothing: usize,
}

/// Why swings have no value.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AbsentView {
    /// In words.
    pub why: String,
    /// How many.
    pub swings: usize,
}

/// Where the middle of the values lies.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Summary {
    /// Unit of the figures.
    pub unit: &'static str,
    /// Values.
    pub swings: usize,
    /// Players they are of.
    pub players: usize,
    /// Half of the values lie below it.
    pub median: f64,
    /// A quarter of the values lies below it.
    pub lower_quartile: f64,
    /// A quarter of the values lies above it.
    pub upper_quartile: f64,
}

/// A swing's value.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ValueRow {
    /// The swing's number.
    pub swing: i64,
    /// The player's alias.
    pub player: String,
    /// The session's number.
    pub session: i64,
    /// Its day, where known.
    pub date: Option<String>,
    /// Club; empty where not stated.
    pub club: String,
    /// What the swing supports as it was recorded: 2, accounts of each foot; 1, net accounts only; null, nothing.
    pub feet: Option<u8>,
    /// The value.
    #[serde(flatten)]
    pub figure: FigureView,
}

impl ValuesView {
    /// Puts the values of a metric together.
    pub fn of(known: &'static Metric, reading: Reading, values: Vec<ValueRow>) -> Self {
        let count = |feet: Option<u8>| values.iter().filter(|v| v.feet == feet).count();
        let (one, two) = (count(Some(1)), count(Some(2)));
        let mut reasons: BTreeMap<&str, usize> = BTreeMap::new();
        for v in values.iter().filter(|v| v.figure.value.is_none()) {
            *reasons.entry(v.figure.absent.as_deref().unwrap_or("not measured")).or_default() += 1;
        }
        let mut absent: Vec<AbsentView> =
            reasons.into_iter().map(|(why, swings)| AbsentView { why: why.to_string(), swings }).collect();
        absent.sort_by_key(|a| std::cmp::Reverse(a.swings));
        let body = values.iter().find_map(|v| v.figure.body_unit);
        let summary = [
            summary(known.unit.symbol(), &values, |f| f.value),
            body.and_then(|unit| summary(unit, &values, |f| f.body_value)),
        ];
        Self {
            schema: "underfoot.values/1",
            metric: &known.id,
            label: &known.label,
            unit: known.unit.symbol(),
            definition: &known.definition,
            reading,
            ground: GroundView { one, two, nothing: values.len() - one - two },
            absent,
            summary: summary.into_iter().flatten().collect(),
            values,
            known,
        }
    }
}

/// Median and quartiles (linear between order statistics) of the values that are there; `None` where none is.
fn summary(
    unit: &'static str,
    values: &[ValueRow],
    of: impl Fn(&FigureView) -> Option<f64>,
) -> Option<Summary> {
    let there: Vec<(f64, &str)> =
        values.iter().filter_map(|v| Some((of(&v.figure)?, v.player.as_str()))).collect();
    let column: Vec<f64> = there.iter().map(|(value, _)| *value).collect();
    let players: BTreeSet<&str> = there.iter().map(|(_, player)| *player).collect();
    let mut scratch = Vec::new();
    let mut at = |q| stats::quantile(&column, q, &mut scratch);
    (!column.is_empty()).then(|| Summary {
        unit,
        swings: column.len(),
        players: players.len(),
        median: at(0.5),
        lower_quartile: at(0.25),
        upper_quartile: at(0.75),
    })
}

/// For a terminal: at most `most` swings, and everything that holds for all.
pub fn values_text(view: &ValuesView, most: usize) -> String {
    let mut out = format!("{}  {}\n", view.metric, view.label);
    out.push_str(&format!("{}\n\n", view.definition));
    let rows = view.values.get(..most.min(view.values.len())).unwrap_or_default();
    if !rows.is_empty() {
        out.push_str(&rows_text(rows));
        if rows.len() < view.values.len() {
            let more = view.values.len() - rows.len();
            out.push_str(&format!("  and {more} more; --limit 0 shows all\n"));
        }
        out.push('\n');
    }
    for s in &view.summary {
        out.push_str(&summary_text(view.known, s));
    }
    for line in remarks(view) {
        out.push_str(&line);
        out.push('\n');
    }
    out
}

fn rows_text(rows: &[ValueRow]) -> String {
    let column = |align, heads: [&str; 2], of: &dyn Fn(&ValueRow) -> String| {
        Column::new(align, heads, rows.iter().map(of))
    };
    let unit = rows.iter().find_map(|r| r.figure.shown).map_or("", |s| s.unit);
    let digits = |half_widths: &mut dyn Iterator<Item = f64>, fallback: usize| {
        let column: Vec<f64> = half_widths.filter(|h| h.is_finite() && *h > 0.0).collect();
        let usual = stats::median(&column, &mut Vec::new());
        if usual.is_nan() { fallback } else { decimals(usual) }
    };
    let shown = || rows.iter().filter_map(|r| r.figure.shown);
    let of_value = digits(&mut shown().map(|s| s.plus_minus), shown().next().map_or(1, |s| s.decimals));
    // Beside a figure in %BW stands the one in N; beside one in N·m the one in N·m/kg.
    let other = |f: &FigureView| match (f.shown, f.body_unit) {
        (Some(s), Some(body)) if s.unit == body => Some((f.unit, f.value?, f.plus_minus?)),
        (Some(_), Some(body)) => Some((body, f.body_value?, f.body_plus_minus?)),
        _ => None,
    };
    let others = || rows.iter().filter_map(|r| other(&r.figure));
    let other_unit = others().next().map_or("", |o| o.0);
    let of_other = digits(&mut others().map(|o| o.2), 1);
    table(&[
        column(Align::Right, ["swing", ""], &|r| r.swing.to_string()),
        column(Align::Left, ["player", ""], &|r| r.player.clone()),
        column(Align::Left, ["day", ""], &|r| r.date.clone().unwrap_or_default()),
        column(Align::Left, ["club", ""], &|r| r.club.clone()),
        column(Align::Left, ["accounts", ""], &|r| supports(r.feet).to_string()),
        column(Align::Right, ["value", unit], &|r| cell(&r.figure, unit, of_value)),
        column(Align::Right, ["", other_unit], &|r| {
            other(&r.figure).map_or(String::new(), |(_, v, p)| {
                format!("{} ± {}", signed(v, of_other), plain(p, of_other))
            })
        }),
        column(Align::Right, ["at", "s"], &|r| r.figure.at_s.map_or(String::new(), |t| plain(t, 3))),
        column(Align::Left, ["", ""], &|r| notes(&r.figure)),
    ])
}

fn notes(f: &FigureView) -> String {
    let mut notes: Vec<String> = f.touched_by.split_whitespace().map(|code| format!("▲ {code}")).collect();
    if f.estimate {
        notes.push("estimate".into());
    }
    notes.extend(f.absent.clone());
    notes.join(" ")
}

fn summary_text(known: &'static Metric, s: &Summary) -> String {
    // SI figures are shown in the handy unit; those relative to the body are in theirs already.
    let handy = |value: f64| {
        let figure = figure(known, Stored { value: Some(value), ..Stored::default() });
        let (value, decimals, unit) = match figure.shown.filter(|_| s.unit == known.unit.symbol()) {
            Some(shown) => (shown.value, shown.decimals, shown.unit),
            None => (value, if s.unit.starts_with('%') { 1 } else { 3 }, s.unit),
        };
        (if figure.signed { signed(value, decimals) } else { plain(value, decimals) }, unit)
    };
    let (median, unit) = handy(s.median);
    let (lower, upper) = (handy(s.lower_quartile).0, handy(s.upper_quartile).0);
    let space = if unit.is_empty() { "" } else { " " };
    format!(
        "median {median}{space}{unit}, quartiles {lower} and {upper}{space}{unit} ({} of {})\n",
        count(s.swings, "swing"),
        count(s.players, "player")
    )
}

/// What holds for all: what the swings have in common, how they were looked at, and why some have no value.
fn remarks(view: &ValuesView) -> Vec<String> {
    let (ground, reading) = (&view.ground, &view.reading);
    let mut lines = Vec::new();
    let mixed = ground.one > 0 && ground.two > 0;
    if reading.collapse {
        lines.push(format!(
            "as one plate, about {}: the plates of {} put together; {} had both feet on one",
            reading.point,
            count(ground.two, "swing"),
            ground.one
        ));
    } else if mixed && view.known.needs.contains(&Need::TwoFeet) {
        lines.push(format!(
            "it needs a plate for each foot, which {} of {} have",
            ground.two,
            count(view.values.len(), "swing")
        ));
    } else if mixed {
        lines.push(format!(
            "as recorded: {} with a plate for each foot beside {} with both feet on one; --collapse measures the former \
             as the one plate they would have been",
            ground.two, ground.one
        ));
    }
    if reading.measured_now > 0 {
        lines.push(format!(
            "{} measured in this way just now, and kept",
            count(reading.measured_now, "swing")
        ));
    }
    for a in &view.absent {
        lines.push(format!("without a value: {}, since {}", count(a.swings, "swing"), a.why));
    }
    if reading.stale > 0 {
        lines.push(format!(
            "out of date: {}; `underfoot study rebuild --changed` measures again",
            count(reading.stale, "swing")
        ));
    }
    lines
}

/// One row a swing, separated by commas: SI with its standard uncertainty, and relative to the body.
pub fn values_csv(view: &ValuesView) -> String {
    let head = [
        "swing",
        "player",
        "session",
        "date",
        "club",
        "feet",
        "metric",
        "unit",
        "value",
        "u",
        "plus_minus_95",
        "body_unit",
        "body_value",
        "body_plus_minus_95",
        "at_s",
        "estimate",
        "touched_by",
        "absent",
        "about",
        "collapse",
    ];
    let mut out = csv_row(&head.map(str::to_string));
    for v in &view.values {
        let f = &v.figure;
        out.push_str(&csv_row(&[
            v.swing.to_string(),
            v.player.clone(),
            v.session.to_string(),
            v.date.clone().unwrap_or_default(),
            v.club.clone(),
            v.feet.map_or(String::new(), |n| n.to_string()),
            view.metric.to_string(),
            view.unit.to_string(),
            number(f.value),
            number(f.u),
            number(f.plus_minus),
            f.body_unit.unwrap_or("").to_string(),
            number(f.body_value),
            number(f.body_plus_minus),
            number(f.at_s),
            f.estimate.to_string(),
            f.touched_by.clone(),
            f.absent.clone().unwrap_or_default(),
            view.reading.about.clone(),
            view.reading.collapse.to_string(),
        ]));
    }
    out
}
