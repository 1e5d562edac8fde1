//! What a question is asked of: swings as rows, measures as columns; or curves of swings. Plain data, in the units in which
//! people read them; whoever has recordings fills it.
use super::LeftOut;
use crate::units;
use swing::metrics::{Metric, Unit};

/// A swing that takes part in a question.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SwingOf {
    /// Its number in the study.
    pub swing: i64,
    /// The player's alias.
    pub player: String,
    /// The session's number.
    pub session: i64,
    /// The session's day, where known.
    pub date: Option<String>,
    /// Number within the session.
    pub number: i64,
    /// Club; empty where not stated.
    pub club: String,
    /// What the swing supports: 2, accounts of each foot; 1, net accounts only; `None`, nothing.
    pub feet: Option<u8>,
    /// The rig of the session; empty where none is stated.
    pub rig: String,
    /// The player's sex in the practice's words, where stated.
    pub sex: Option<String>,
    /// The player's handicap, where stated.
    pub handicap: Option<f64>,
}

/// A column: what was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// Id of a metric ("up.net.most"), or "outcome." and the name of an outcome ("outcome.clubhead-speed").
    pub id: String,
    /// Its name for people.
    pub label: String,
    /// Unit of the values; empty for plain numbers.
    pub unit: String,
    /// Decimals where there is no uncertainty to follow.
    pub decimals: usize,
    /// Whether a sign means something.
    pub signed: bool,
    /// The metric; `None` for an outcome.
    pub metric: Option<&'static Metric>,
}

/// The values of a measure, one a swing.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// What they are of.
    pub measure: Measure,
    /// In its unit; NaN where absent.
    pub values: Vec<f64>,
    /// Standard uncertainties of measurement, same unit; NaN where not known.
    pub u: Vec<f64>,
    /// Values that are absent: how many, and why, the most common first.
    pub absent: Vec<LeftOut>,
    /// Values that a finding puts in doubt.
    pub doubted: usize,
    /// Values that rest on an estimated event.
    pub estimated: usize,
}

/// Swings and what was measured of them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// The choice of swings in words ("session 3 of alder"), as a question names it.
    pub named: String,
    /// The swings, by player, day, session and number.
    pub swings: Vec<SwingOf>,
    /// Measures, each with a value a swing.
    pub columns: Vec<Column>,
    /// Swings whose figures are out of date.
    pub stale: usize,
    /// The reference point of turn, in words.
    pub point: String,
    /// True where all plates of a swing were put together as one.
    pub collapse: bool,
}

/// How forces and moments are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// Relative to the body where there is such a figure: %BW, N·m/kg. Players of all sizes compare.
    Body,
    /// Newtons and newton metres.
    Absolute,
}

/// Unit, factor from the kept figure, whether the kept figure is the one over body weight, decimals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The unit.
    pub unit: &'static str,
    /// From SI, or from a multiple of body weight (N·m: of body weight times a metre), to it.
    pub factor: f64,
    /// True where the figure over body weight is read.
    pub by_weight: bool,
    /// Decimals where there is no uncertainty to follow.
    pub decimals: usize,
}

/// How figures of a unit are read on a scale.
pub fn reading(unit: Unit, scale: Scale) -> Reading {
    // The one place that knows units is asked with a figure of one.
    let one = swing::metrics::Figure {
        value: 1.0,
        u: f64::NAN,
        by_weight: (scale == Scale::Body && unit.by_weight()).then_some((1.0, f64::NAN)),
        at_s: None,
        sample: None,
        dominant: None,
        estimated: false,
        touched_by: Vec::new(),
    };
    let body = units::by_body(unit, &one);
    let shown = body.unwrap_or_else(|| units::shown(unit, &one));
    Reading { unit: shown.unit, factor: shown.value, by_weight: body.is_some(), decimals: shown.decimals }
}

/// A quantity over time that can be compared as a whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Account {
    /// Its id ("up.net", "toe.lead", "turn").
    pub id: &'static str,
    /// The column of a swing's series that holds it ("net_up_n").
    pub column: &'static str,
    /// Its name for people.
    pub label: &'static str,
    /// SI unit of the column.
    pub unit: Unit,
    /// True where it needs a plate for each foot.
    pub two_feet: bool,
}

/// A quantity of a swing over its whole recording.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// Samples a second.
    pub rate_hz: f64,
    /// Time of the first sample, s of the recording.
    pub start_s: f64,
    /// A value a sample, in the unit of [`Traces`]; NaN where not defined.
    pub values: Vec<f64>,
    /// Address, takeaway, top, impact, finish, s of the recording; NaN where there is none.
    pub events_s: [f64; 5],
    /// Which of these are estimates.
    pub estimated: [bool; 5],
}

/// A quantity of many swings.
#[derive(Clone, Debug, PartialEq)]
pub struct Traces {
    /// The choice of swings in words.
    pub named: String,
    /// The quantity.
    pub account: Account,
    /// Unit of the values.
    pub unit: String,
    /// The swings, by player, day, session and number.
    pub swings: Vec<SwingOf>,
    /// One a swing.
    pub traces: Vec<Trace>,
    /// Swings that have no such quantity, and why.
    pub absent: Vec<LeftOut>,
    /// Swings whose series are out of date.
    pub stale: usize,
    /// The reference point of turn, in words.
    pub point: String,
    /// True where all plates of a swing were put together as one.
    pub collapse: bool,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_come_from_the_one_door() {
        let body = reading(Unit::Newton, Scale::Body);
        assert_eq!((body.unit, body.factor, body.by_weight), ("%BW", 100.0, true));
        let plain = reading(Unit::Newton, Scale::Absolute);
        assert_eq!((plain.unit, plain.factor, plain.by_weight), ("N", 1.0, false));
        assert_eq!(reading(Unit::NewtonMetre, Scale::Body).unit, "N·m/kg");
        assert_eq!(reading(Unit::Metre, Scale::Body).unit, "cm");
        assert!(!reading(Unit::Second, Scale::Body).by_weight);
    }
}
