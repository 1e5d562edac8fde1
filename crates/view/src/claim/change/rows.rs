//! A metric of a comparison as every face shows it.
use super::super::table::Column;
use super::side::Sides;
use evidence::Interval;
use evidence::change::{Change, Judged, Verdict};
use evidence::effect::Effect;
use serde::Serialize;

/// A metric.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// Its id.
    pub metric: String,
    /// Its name for people.
    pub label: String,
    /// Unit of all figures of the row but for probabilities and sizes; empty for plain numbers.
    pub unit: String,
    /// True where a sign means something.
    pub signed: bool,
    /// Decimals with which it is written.
    pub decimals: usize,
    /// Values of A that count.
    pub values_a: usize,
    /// Values of B that count.
    pub values_b: usize,
    /// Players of them on each side.
    pub players_a: usize,
    /// See `players_a`.
    pub players_b: usize,
    /// Mean of A: of its swings, or of its players' means.
    pub mean_a: f64,
    /// Mean of B.
    pub mean_b: f64,
    /// Standard deviation of A: of its swings, or of its players' means.
    pub sd_a: f64,
    /// Standard deviation of B.
    pub sd_b: f64,
    /// B minus A, with its interval.
    pub difference: Limits,
    /// Probability of as much by chance alone.
    pub p: f64,
    /// The same, adjusted for all that are looked at; null where nothing could be told.
    pub p_adjusted: f64,
    /// The smallest that could have come out.
    pub p_least: f64,
    /// Rearrangements looked at.
    pub rearrangements: usize,
    /// True where these are all there are.
    pub exact: bool,
    /// The least difference of these means that would have stood out.
    pub detectable: Detected,
    /// Difference over the scatter of units: Hedges' g; of pairs over the average of the sides' standard deviations (d_av).
    pub g: Size,
    /// For pairs, over the standard deviation of their changes (d_z).
    pub g_of_changes: Option<Size>,
    /// For pairs, how many rose, and how many fell.
    pub rose: Option<[usize; 2]>,
    /// For paired players, the change of each.
    pub players: Vec<OfPlayer>,
    /// For two groups of players, a model of single swings with a level of each player's own.
    pub model: Option<Model>,
    /// Values of both sides that a finding puts in doubt.
    pub doubted: usize,
    /// Values of both sides that rest on an estimated event.
    pub estimated: usize,
    /// "clear", "between-days", "unclear", "within noise" or "cannot be told".
    pub verdict: &'static str,
    /// What its witnesses say: the interval leaves out 0, chance is improbable, it stands out.
    pub witnesses: [bool; 3],
    /// The verdict in a sentence.
    pub said: String,
}

/// An estimate and its interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Limits {
    /// The estimate.
    pub value: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

impl From<Interval> for Limits {
    fn from(of: Interval) -> Self {
        Self { value: of.value, low: of.low, high: of.high }
    }
}

/// The least difference that would have stood out, and what it is made of.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Detected {
    /// The difference.
    pub size: f64,
    /// Degrees of freedom.
    pub degrees: f64,
    /// Standard error from the scatter of units.
    pub of_units: f64,
    /// From how days differ; null where not known.
    pub of_days: f64,
    /// From errors of rigs that the sides do not share; null where not known.
    pub of_rigs: f64,
}

/// A standardised difference.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Size {
    /// Without Hedges' correction.
    pub d: f64,
    /// Hedges' g, and the interval of the true standardised difference.
    #[serde(flatten)]
    pub g: Limits,
}

impl From<Effect> for Size {
    fn from(of: Effect) -> Self {
        Self { d: of.d, g: of.g.into() }
    }
}

/// What one player changed by.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OfPlayer {
    /// Alias.
    pub player: String,
    /// Mean of B minus mean of A.
    pub change: f64,
}

/// The difference by a mixed model.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Model {
    /// B minus A.
    pub difference: Limits,
    /// Its standard error.
    pub se: f64,
    /// Degrees of freedom, after Satterthwaite.
    pub degrees: f64,
    /// Probability of as much by chance alone.
    pub p: f64,
    /// Standard deviation between players.
    pub between_sd: f64,
    /// Standard deviation of swings of a player.
    pub within_sd: f64,
}

pub(super) fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Clear => "clear",
        Verdict::BetweenDays => "between-days",
        Verdict::Unclear => "unclear",
        Verdict::WithinNoise => "within noise",
        Verdict::CannotBeTold => "cannot be told",
    }
}

pub(super) fn row(
    a: &Column,
    b: &Column,
    found: &Change,
    p_adjusted: f64,
    judged: &Judged,
    sides: &Sides<'_>,
) -> Row {
    let measure = &a.measure;
    let half = 0.5 * (found.difference.high - found.difference.low);
    let known = if half > 0.0 { half } else { found.detectable.size };
    // Where hardly anything varies, digits of the difference would be digits of nothing.
    let decimals = if known > 0.0 && known.is_finite() {
        crate::quantity::decimals(known).min(measure.decimals + 2)
    } else {
        measure.decimals
    };
    let sign = |up: bool| found.changes.iter().filter(|c| if up { c.1 > 0.0 } else { c.1 < 0.0 }).count();
    let of_players = found.design.of_subjects();
    Row {
        metric: measure.id.clone(),
        label: measure.label.clone(),
        unit: measure.unit.clone(),
        signed: measure.signed,
        decimals,
        values_a: found.first.values,
        values_b: found.second.values,
        players_a: found.first.subjects,
        players_b: found.second.subjects,
        mean_a: found.first.mean,
        mean_b: found.second.mean,
        sd_a: found.first.sd,
        sd_b: found.second.sd,
        difference: found.difference.into(),
        p: found.permuted.p,
        p_adjusted,
        p_least: found.permuted.least,
        rearrangements: found.permuted.looked_at,
        exact: found.permuted.exact,
        detectable: Detected {
            size: found.detectable.size,
            degrees: found.detectable.degrees,
            of_units: found.detectable.of_units,
            of_days: found.detectable.of_occasions,
            of_rigs: found.detectable.of_instruments,
        },
        g: found.effect.into(),
        g_of_changes: found.effect_of_changes.map(Size::from),
        rose: found.design.paired().then(|| [sign(true), sign(false)]),
        players: found
            .changes
            .iter()
            .filter(|_| of_players)
            .filter_map(|(k, change)| {
                Some(OfPlayer { player: sides.players.get(*k)?.clone(), change: *change })
            })
            .collect(),
        model: found.mixed.as_ref().and_then(|m| {
            let term = m.terms.get(1)?;
            Some(Model {
                difference: term.estimate.into(),
                se: term.se,
                degrees: term.degrees,
                p: term.p,
                between_sd: m.between.sqrt(),
                within_sd: m.within.sqrt(),
            })
        }),
        doubted: a.doubted + b.doubted,
        estimated: a.estimated + b.estimated,
        verdict: verdict_word(judged.verdict),
        witnesses: [judged.interval_leaves_out_zero, judged.improbable, judged.stands_out],
        said: String::new(),
    }
}
