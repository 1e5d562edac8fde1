//! Whether two sets of values differ by more than noise: the difference, its interval, how often chance alone gives as much,
//! its size beside the scatter, and the least difference that would have stood out.
//!
//! All differences are second less first: from the first set to the second. What varies freely is a *unit*: the subject where a
//! question is about subjects, a value where it is about one subject. Repeats of a subject are averaged first, and so never
//! count as subjects. The rule of the verdict: docs/evidence/change.md.
mod design;
mod noise;
mod verdict;

pub use design::{Chosen, Design, Pairing, design, enough};
pub use noise::{Detectable, Occasions, occasions};
pub use verdict::{Judged, Verdict, judged};

use crate::bootstrap::{Bootstrap, mean, mean_difference};
use crate::effect::{self, Effect};
use crate::interval::Interval;
use crate::mixed::{Mixed, random_intercept};
use crate::permutation::{Permutation, Permuted, signs, two_groups};
use crate::work::Spread;
use signal::stats;

/// One value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Value {
    /// Whose it is.
    pub subject: usize,
    /// On what occasion (day, session) it came about; another subject's occasions have other numbers.
    pub occasion: usize,
    /// What it was measured with.
    pub instrument: usize,
    /// The value; NaN where not defined.
    pub value: f64,
    /// Its standard uncertainty, an error that the instrument makes alike in all its values; NaN where not known.
    pub u: f64,
}

/// How it is done. No hidden default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct How {
    /// Level of the intervals and of what would have stood out, 0.95 for instance.
    pub level: f64,
    /// Resamples of the interval.
    pub resamples: usize,
    /// Up to so many rearrangements are gone through; beyond, so many are drawn.
    pub permutations: usize,
    /// Seed of chance.
    pub seed: u64,
}

/// One of the two sets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Side {
    /// Values that count.
    pub values: usize,
    /// Subjects they are of.
    pub subjects: usize,
    /// Occasions they come from.
    pub occasions: usize,
    /// Mean of the units.
    pub mean: f64,
    /// Standard deviation of the units: of values, or of subjects' means.
    pub sd: f64,
}

/// What was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// How the sets lie to each other.
    pub design: Design,
    /// The first set.
    pub first: Side,
    /// The second set.
    pub second: Side,
    /// Mean of the second less mean of the first, with its BCa interval over units.
    pub difference: Interval,
    /// How often chance alone gives as much.
    pub permuted: Permuted,
    /// The difference over the scatter of the units: for pairs over the average of the sides' standard deviations (d_av).
    pub effect: Effect,
    /// For pairs, over the standard deviation of the changes (d_z).
    pub effect_of_changes: Option<Effect>,
    /// The least difference of these means that would have stood out.
    pub detectable: Detectable,
    /// For pairs, the change of each unit: of subjects with their numbers, or of pairs in order.
    pub changes: Vec<(usize, f64)>,
    /// For two groups of subjects, a model of single values with an intercept for every subject; its second term is the
    /// difference. Not for pairs: subjects change by amounts of their own, which an intercept alone does not know.
    pub mixed: Option<Mixed>,
}

/// Compares two sets.
///
/// Shape: values in any order; for pairs in order, in the order in which they pair. `occasions`: what is known of how far one
/// subject's occasions differ ([`occasions`]), for questions about one subject; `None` where nothing is.
/// Unit: that of the values. Undefined: NaN where a side has fewer than two units. Source: the parts', docs/evidence/change.md.
/// Checked: tests/change_truth.rs (how often it claims where there is nothing, and finds where there is something).
pub fn change(
    first: &[Value],
    second: &[Value],
    chosen: &Chosen,
    occasions: Option<&Occasions>,
    how: &How,
    spread: &impl Spread,
) -> Change {
    let kept = |side: &[Value]| -> Vec<Value> {
        side.iter().filter(|v| !v.value.is_nan() && chosen.keeps(v.subject)).copied().collect()
    };
    let (mut a, mut b) = (kept(first), kept(second));
    match chosen.design {
        Design::PairedSubjects => {
            // A subject whose values are all missing on one side has no change.
            let (of_a, of_b) = (subjects(&a), subjects(&b));
            a.retain(|v| of_b.binary_search(&v.subject).is_ok());
            b.retain(|v| of_a.binary_search(&v.subject).is_ok());
        }
        Design::OneSubjectInOrder => {
            let pairs = in_order(first, second, chosen);
            a = pairs.iter().map(|p| p.0).collect();
            b = pairs.iter().map(|p| p.1).collect();
        }
        _ => {}
    }
    let (units_a, units_b) = (units(&a, chosen.design), units(&b, chosen.design));
    let (x, y): (Vec<f64>, Vec<f64>) =
        (units_a.iter().map(|u| u.1).collect(), units_b.iter().map(|u| u.1).collect());
    let side = |values: &[Value], of: &[f64]| Side {
        values: values.len(),
        subjects: subjects(values).len(),
        occasions: distinct(values.iter().map(|v| v.occasion)).len(),
        mean: stats::mean(of),
        sd: stats::standard_deviation(of),
    };
    let bootstrap = Bootstrap { resamples: how.resamples, seed: how.seed, level: how.level };
    let permutation = Permutation { most: how.permutations, seed: how.seed };
    let paired = chosen.design.paired();
    let changes: Vec<(usize, f64)> = if paired {
        units_a.iter().zip(&units_b).map(|((unit, a), (_, b))| (*unit, b - a)).collect()
    } else {
        Vec::new()
    };
    let of_changes: Vec<f64> = changes.iter().map(|c| c.1).collect();
    let (mut difference, permuted, effect, effect_of_changes) = if paired {
        let sizes = effect::pairs(&x, &y, how.level);
        (
            mean(&of_changes, &bootstrap, spread).interval,
            signs(&of_changes, &permutation, spread),
            sizes.average,
            Some(sizes.of_changes),
        )
    } else {
        (
            mean_difference(&x, &y, &bootstrap, spread).interval,
            two_groups(&x, &y, &permutation, spread),
            effect::two_groups(&x, &y, how.level),
            None,
        )
    };
    if x.len() < 2 || y.len() < 2 {
        // One unit shows no scatter, and drawing it again shows none either.
        difference = Interval { value: stats::mean(&y) - stats::mean(&x), ..Interval::NONE };
    }
    let detectable = noise::detectable(&a, &b, &x, &y, chosen.design, occasions, how.level);
    let mixed = if chosen.design == Design::TwoGroups { modelled(&a, &b, how.level) } else { None };
    Change {
        design: chosen.design,
        first: side(&a, &x),
        second: side(&b, &y),
        difference,
        permuted,
        effect,
        effect_of_changes,
        detectable,
        changes,
        mixed,
    }
}

/// Units of a side with their numbers: subjects' means, in the order of subjects; or the values.
fn units(side: &[Value], design: Design) -> Vec<(usize, f64)> {
    if !design.of_subjects() {
        return side.iter().map(|v| v.value).enumerate().collect();
    }
    subjects(side)
        .into_iter()
        .map(|subject| {
            let own: Vec<f64> = side.iter().filter(|v| v.subject == subject).map(|v| v.value).collect();
            (subject, stats::mean(&own))
        })
        .collect()
}

/// Pairs that are defined on both sides, in order.
fn in_order(first: &[Value], second: &[Value], chosen: &Chosen) -> Vec<(Value, Value)> {
    let kept =
        |side: &[Value]| -> Vec<Value> { side.iter().filter(|v| chosen.keeps(v.subject)).copied().collect() };
    kept(first).into_iter().zip(kept(second)).filter(|(a, b)| !(a.value - b.value).is_nan()).collect()
}

fn subjects(side: &[Value]) -> Vec<usize> {
    distinct(side.iter().map(|v| v.subject))
}

/// Numbers in order, each once.
fn distinct(of: impl Iterator<Item = usize>) -> Vec<usize> {
    let mut all: Vec<usize> = of.collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// Single values, with an intercept for every subject and the side as a number.
fn modelled(first: &[Value], second: &[Value], level: f64) -> Option<Mixed> {
    let all = || first.iter().chain(second);
    let side: Vec<f64> = first.iter().map(|_| 0.0).chain(second.iter().map(|_| 1.0)).collect();
    let values: Vec<f64> = all().map(|v| v.value).collect();
    let who: Vec<usize> = all().map(|v| v.subject).collect();
    random_intercept(&values, &who, &[side], level)
}
