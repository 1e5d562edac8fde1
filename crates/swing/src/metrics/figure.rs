//! Figures: every metric of the catalogue for one swing, with its uncertainty, or the reason why it is not there.
use super::measurer::Measurer;
use super::{Metric, Need, catalogue};
use crate::analyse::Swing;
use crate::body::Body;
use crate::events::Events;
use mechanics::uncertainty::Cause;
use mechanics::{Finding, Rig};

/// One metric of one swing.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// The row of the catalogue.
    pub metric: &'static Metric,
    /// Its figure, or why there is none.
    pub figure: Result<Figure, Absent>,
}

/// A figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// In the metric's unit.
    pub value: f64,
    /// Standard uncertainty, same unit.
    pub u: f64,
    /// The same divided by body weight with its own uncertainty (errors that both share fall out), for units that
    /// have such a figure: 1 is body weight, or N·m, N·s… per newton of it.
    pub by_weight: Option<(f64, f64)>,
    /// When it is, s of the recording's own time, for figures of an instant.
    pub at_s: Option<f64>,
    /// The sample of the accounts whose value it is, for figures at a peak: there the parts add up.
    pub sample: Option<usize>,
    /// What contributes most to the uncertainty, with its share of the variance, 0..1.
    pub dominant: Option<(Leading, f64)>,
    /// True where it rests on an estimated event.
    pub estimated: bool,
    /// Codes of doubts and stops that put it in doubt.
    pub touched_by: Vec<&'static str>,
}

/// What leads an uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leading {
    /// A cause of the rig's budget, or noise.
    Cause(Cause),
    /// Not knowing the instant any better.
    Instant,
    /// How still the body was where its motion is reckoned from.
    Rest,
}

impl Leading {
    /// In plain words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Cause(cause) => cause.words(),
            Self::Instant => "the instant",
            Self::Rest => "stillness at rest",
        }
    }
}

/// Why a metric has no figure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Absent {
    /// What it needs and this swing has not.
    Missing(Vec<Need>),
    /// The events it lies between are not in order.
    OutOfOrder,
    /// Everything is there, but the number is not defined (an unloaded foot has no centre of pressure).
    Undefined,
}

impl Absent {
    /// In words.
    pub fn words(&self) -> String {
        match self {
            Self::Missing(needs) => needs.iter().map(|n| n.missing()).collect::<Vec<_>>().join("; "),
            Self::OutOfOrder => "the events it lies between are not in order".into(),
            Self::Undefined => {
                "it is not defined there: a foot has no load, and so no centre of pressure, or the recording has a gap".into()
            }
        }
    }
}

/// Every metric of the catalogue, in its order.
///
/// `estimates`: whether an estimated top or impact may stand in; figures that rest on one say so. Unless it is asked
/// for, such a metric is absent.
pub fn figures(
    swing: &Swing,
    rig: &Rig,
    events: &Events,
    body: Option<&Body>,
    findings: &[Finding],
    estimates: bool,
) -> Vec<Measured> {
    let measurer = Measurer::new(swing, rig, events, body, estimates);
    catalogue()
        .iter()
        .map(|metric| Measured {
            metric,
            figure: measurer.figure(metric).map(|f| touched(f, metric, findings)),
        })
        .collect()
}

fn touched(mut figure: Figure, metric: &Metric, findings: &[Finding]) -> Figure {
    figure.touched_by = findings.iter().filter(|f| f.touches(&metric.touches)).map(|f| f.kind.code).collect();
    figure.touched_by.sort_unstable();
    figure.touched_by.dedup();
    figure
}
