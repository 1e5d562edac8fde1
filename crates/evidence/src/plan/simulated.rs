//! Power by trying it: data with a difference in them, and the permutation tests that would be asked.
use super::{Noise, Sides, Test};
use crate::chance::BLOCK;
use crate::draws::Draws;
use crate::interval::Interval;
use crate::permutation::{Permutation, signs, two_groups};
use crate::work::{InTurn, Spread};
use signal::student;

/// How it is done. No hidden default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Simulation {
    /// How often data are made.
    pub trials: usize,
    /// Rearrangements a test looks at.
    pub rearrangements: usize,
    /// Seed of chance.
    pub seed: u64,
    /// Level of the interval of the share.
    pub level: f64,
}

/// What came of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Simulated {
    /// Share of trials in which the difference was seen, with its interval.
    pub power: Interval,
    /// Trials.
    pub trials: usize,
}

/// Chance of seeing a difference, by making normal data `trials` times and testing them as a change is tested: labels shuffled
/// for two groups, signs thrown for pairs; between occasions of one subject labels of repeats shuffled, and the difference
/// larger than what two such means differ by from noise alone.
///
/// `count` as for [`Sides::power`]. Unit: 1. Undefined: NaN where a scatter is not known. Interval: Wilson1927.
/// Checked: against the formula, for every kind of sides, in tests/plan_power.rs.
pub fn simulated(
    sides: Sides,
    difference: f64,
    noise: &Noise,
    count: usize,
    alpha: f64,
    how: &Simulation,
    spread: &impl Spread,
) -> Simulated {
    let scatter = sides.scatter(noise, count);
    if scatter.is_nan() || count == 0 || how.trials == 0 {
        return Simulated { power: Interval::NONE, trials: 0 };
    }
    let seen = spread.each(how.trials.div_ceil(BLOCK), |block| {
        let mut draws = Draws::new(how.seed, block);
        let first = block * BLOCK;
        (first..how.trials.min(first + BLOCK))
            .filter(|trial| {
                // Every trial's test has chance of its own, apart from that of the data.
                let seed = how.seed.wrapping_add(1 + *trial as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15);
                let permutation = Permutation { most: how.rearrangements, seed };
                trial_sees(sides, difference, noise, scatter, count, alpha, &permutation, &mut draws)
            })
            .count()
    });
    let seen = seen.iter().sum::<usize>();
    Simulated { power: share(seen, how.trials, how.level), trials: how.trials }
}

#[allow(clippy::too_many_arguments)] // one trial of the function above
fn trial_sees(
    sides: Sides,
    difference: f64,
    noise: &Noise,
    scatter: f64,
    count: usize,
    alpha: f64,
    permutation: &Permutation,
    draws: &mut Draws,
) -> bool {
    let mut units =
        |middle: f64, sd: f64| (0..count).map(|_| middle + sd * draws.normal()).collect::<Vec<f64>>();
    match sides.test() {
        Test::Two => {
            let (before, after) = (units(0.0, scatter), units(difference, scatter));
            two_groups(&before, &after, permutation, &InTurn).p <= alpha
        }
        Test::Paired => signs(&units(difference, scatter), permutation, &InTurn).p <= alpha,
        Test::Known => {
            let (occasions, repeats) = match sides {
                Sides::Occasions { repeats } => (count, repeats),
                _ => (1, count),
            };
            let mut side = |middle: f64| -> Vec<f64> {
                let mut values = Vec::with_capacity(occasions * repeats);
                for _ in 0..occasions {
                    let own = middle + noise.occasion * draws.normal();
                    values.extend((0..repeats).map(|_| own + noise.repeat * draws.normal()));
                }
                values
            };
            let (before, after) = (side(0.0), side(difference));
            let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len() as f64;
            let limit = student::quantile(1.0 - 0.5 * alpha, f64::INFINITY) * scatter;
            (mean(&after) - mean(&before)).abs() > limit
                && two_groups(&before, &after, permutation, &InTurn).p <= alpha
        }
    }
}

/// A share of trials with its interval. Source: Wilson1927.
fn share(hits: usize, trials: usize, level: f64) -> Interval {
    let (n, p) = (trials as f64, hits as f64 / trials as f64);
    let z = student::quantile(0.5 * (1.0 + level), f64::INFINITY);
    let middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    Interval { value: p, low: middle - half, high: middle + half }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of 10 in 100, Wilson's interval at 95 %: 0.0552 to 0.1744 (statsmodels 0.15.0, proportion_confint "wilson").
    #[test]
    fn the_interval_of_a_share() {
        let of = share(10, 100, 0.95);
        assert!((of.low - 0.055_229_14).abs() < 1e-7 && (of.high - 0.174_365_66).abs() < 1e-7, "{of:?}");
    }

    #[test]
    fn what_cannot_be_tried() {
        let noise = Noise { subject: f64::NAN, occasion: 0.0, repeat: 1.0, response: 0.0 };
        let how = Simulation { trials: 10, rearrangements: 19, seed: 1, level: 0.95 };
        let of = |sides, count| simulated(sides, 1.0, &noise, count, 0.05, &how, &InTurn).power.value;
        assert!(of(Sides::TwoGroups { repeats: 2 }, 5).is_nan() && of(Sides::OneOccasion, 0).is_nan());
    }
}
