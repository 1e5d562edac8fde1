//! A measured swing: events and metrics with their ±, for machines ([`view`]), for a coach ([`text`]) and in tables.
mod page;
mod tables;

pub use page::text;
pub use tables::{Line, Row, TIDY_HEAD, all, by_chapter, figures, group_title, line, lines, tidy, tidy_rows};

use crate::convention::Convention;
use crate::events::{self, EventView};
use crate::facts::{self, Facts};
use crate::findings::{self, FindingView};
use crate::quantity::COVERAGE;
use crate::units;
use mechanics::{Finding, Recording};
use serde::Serialize;
use swing::Measurement;
use swing::metrics::Measured;

/// Everything `underfoot measure` says.
#[derive(Clone, Debug, Serialize)]
pub struct MeasureView {
    /// Name and version of this layout.
    pub schema: &'static str,
    /// Recording, player and rig.
    #[serde(flatten)]
    pub facts: Facts,
    /// The chosen events.
    pub events: Vec<EventView>,
    /// Every metric of the catalogue, in its order.
    pub metrics: Vec<MetricView>,
    /// Findings, stops first.
    pub findings: Vec<FindingView>,
}

/// One metric.
#[derive(Clone, Debug, Serialize)]
pub struct MetricView {
    /// Stable id.
    pub id: &'static str,
    /// Name for people.
    pub label: &'static str,
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
    /// What leads the uncertainty.
    pub led_by: Option<&'static str>,
    /// Its share of the variance, 0..1.
    pub led_by_share: Option<f64>,
    /// True where it rests on an estimated event.
    pub estimate: bool,
    /// Findings that put it in doubt.
    pub touched_by: Vec<&'static str>,
    /// Why it is absent.
    pub absent: Option<String>,
}

/// Builds the view.
pub fn view(
    recording: &Recording,
    measured: &Measurement,
    findings: &[Finding],
    convention: Convention,
) -> MeasureView {
    let swing = &measured.swing;
    MeasureView {
        schema: "underfoot.measure/1",
        facts: facts::of(recording, swing, convention),
        events: measured.events.chosen.iter().map(|e| events::event(e, swing.start_s)).collect(),
        metrics: measured.metrics.iter().map(metric).collect(),
        findings: findings::view(findings),
    }
}

fn metric(m: &Measured) -> MetricView {
    let figure = m.figure.as_ref().ok();
    let body = figure.and_then(|f| units::by_body(m.metric.unit, f));
    MetricView {
        id: &m.metric.id,
        label: &m.metric.label,
        unit: m.metric.unit.symbol(),
        value: figure.map(|f| f.value),
        u: figure.map(|f| f.u),
        plus_minus: figure.map(|f| COVERAGE * f.u),
        body_unit: body.map(|b| b.unit),
        body_value: body.map(|b| b.value),
        body_plus_minus: body.map(|b| b.plus_minus),
        at_s: figure.and_then(|f| f.at_s),
        led_by: figure.and_then(|f| f.dominant).map(|(leading, _)| leading.words()),
        led_by_share: figure.and_then(|f| f.dominant).map(|(_, share)| share),
        estimate: figure.is_some_and(|f| f.estimated),
        touched_by: figure.map(|f| f.touched_by.clone()).unwrap_or_default(),
        absent: m.figure.as_ref().err().map(|a| a.words()),
    }
}
