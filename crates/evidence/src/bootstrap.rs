//! Bootstrap: how an estimate would scatter if the sample were drawn again, and intervals that mind its skewness.
use crate::chance::{BLOCK, Chance};
use crate::interval::Interval;
use crate::work::Spread;
use signal::{math, stats, student};

/// How it is done. No hidden default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bootstrap {
    /// How often the sample is drawn again.
    pub resamples: usize,
    /// Seed of chance.
    pub seed: u64,
    /// Level of the interval, 0.95 for instance.
    pub level: f64,
}

/// What came of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Booted {
    /// Estimate with its bias-corrected and accelerated interval.
    pub interval: Interval,
    /// Standard deviation of the resampled estimates.
    pub se: f64,
    /// Share of resamples under the estimate, as a normal quantile.
    pub bias: f64,
    /// Acceleration, from leaving out one at a time.
    pub acceleration: f64,
}

/// Bias-corrected and accelerated interval of a statistic of groups of independent units.
///
/// `sizes`: how many units each group has; `statistic`: of the units named by number, group by group. Where a unit is a player
/// with all of his or her swings, this is the cluster bootstrap.
/// Undefined: NaN where the statistic is, or does not vary. Source: Efron1987, EfronTibshirani1993 ch. 14 (acceleration over all
/// groups together). Checked: law-school data.
pub fn bca(
    sizes: &[usize],
    how: &Bootstrap,
    spread: &impl Spread,
    statistic: impl Fn(&[Vec<usize>]) -> f64 + Sync,
) -> Booted {
    let whole: Vec<Vec<usize>> = sizes.iter().map(|n| (0..*n).collect()).collect();
    let value = statistic(&whole);
    let again = resampled(sizes, how, spread, &statistic);
    finish(value, again, acceleration(&whole, &statistic), how.level)
}

/// [`bca`] of a mean: the same draws and the same numbers, without lists of units.
///
/// Undefined: values that are not defined are left out; NaN where none is left.
pub fn mean(values: &[f64], how: &Bootstrap, spread: &impl Spread) -> Booted {
    mean_difference(&[], values, how, spread)
}

/// [`bca`] of the difference of two means, second less first: the same draws and the same numbers, without lists of units.
///
/// Undefined: values that are not defined are left out; with an empty first group it is the mean of the second, NaN where
/// that is empty. Source: the mean with one value left out differs from the mean by (m − x)/(n − 1), so that a value's influence is
/// x − m.
pub fn mean_difference(first: &[f64], second: &[f64], how: &Bootstrap, spread: &impl Spread) -> Booted {
    let defined = |of: &[f64]| of.iter().copied().filter(|v| !v.is_nan()).collect::<Vec<f64>>();
    let groups = [defined(first), defined(second)];
    let [before, after] = &groups;
    // An empty group has no mean to take off, and draws nothing.
    let mean_or_zero = |of: &[f64], sum: f64| if of.is_empty() { 0.0 } else { sum / of.len() as f64 };
    let sum = |of: &[f64]| of.iter().sum::<f64>();
    let value = stats::mean(after) - mean_or_zero(before, sum(before));
    let again = blocks(how, spread, |chance, out| {
        for place in out {
            let mut drawn = |of: &[f64]| {
                (0..of.len())
                    .map(|_| of.get(chance.below(of.len())).copied().unwrap_or(f64::NAN))
                    .sum::<f64>()
            };
            let before_sum = drawn(before);
            *place = drawn(after) / after.len() as f64 - mean_or_zero(before, before_sum);
        }
    });
    let (mut cubes, mut squares) = (0.0, 0.0);
    for (group, sign) in [(before, -1.0), (after, 1.0)] {
        let (n, m) = (group.len() as f64, stats::mean(group));
        if group.len() > 1 {
            for v in group {
                let influence = sign * (v - m) / n;
                cubes += influence * influence * influence;
                squares += influence * influence;
            }
        }
    }
    finish(value, again, sixth_of_skewness(cubes, squares), how.level)
}

/// The interval, of resampled estimates in any order.
fn finish(value: f64, mut again: Vec<f64>, acceleration: f64, level: f64) -> Booted {
    again.retain(|v| !v.is_nan());
    let count = again.len() as f64;
    let (under, not_over) = again
        .iter()
        .fold((0_u32, 0_u32), |(u, n), v| (u + u32::from(*v < value), n + u32::from(*v <= value)));
    let bias = normal(0.5 * (f64::from(under) + f64::from(not_over)) / count);
    let se = stats::standard_deviation(&again);
    let mut limit = |p: f64| {
        let z = normal(p);
        let moved = bias + (bias + z) / (1.0 - acceleration * (bias + z));
        // The share of resamples at the moved place; linear between order statistics.
        let share = 0.5 * math::erfc(-moved / std::f64::consts::SQRT_2);
        at(&mut again, share)
    };
    let tail = 0.5 * (1.0 - level);
    let interval = Interval { value, low: limit(tail), high: limit(1.0 - tail) };
    Booted { interval, se, bias, acceleration }
}

fn normal(p: f64) -> f64 {
    student::quantile(p, f64::INFINITY)
}

/// The value below which a share of a list lies. Brings the list into another order.
fn at(list: &mut [f64], share: f64) -> f64 {
    if list.is_empty() || share.is_nan() {
        return f64::NAN;
    }
    let place = (share * (list.len() + 1) as f64 - 1.0).clamp(0.0, (list.len() - 1) as f64);
    let below = place as usize;
    // Nothing is NaN here, so that a plain comparison is an order; it takes half the time of the total one.
    let order = |a: &f64, b: &f64| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal);
    let (_, &mut low, above) = list.select_nth_unstable_by(below, order);
    let next = above.iter().fold(f64::INFINITY, |least, v| if *v < least { *v } else { least });
    // Above the last there is none to come near to.
    let part = place - below as f64;
    if part > 0.0 && next.is_finite() { low + part * (next - low) } else { low }
}

/// The statistic of every resample, in order.
pub fn resampled(
    sizes: &[usize],
    how: &Bootstrap,
    spread: &impl Spread,
    statistic: &(impl Fn(&[Vec<usize>]) -> f64 + Sync),
) -> Vec<f64> {
    blocks(how, spread, |chance, out| {
        let mut drawn: Vec<Vec<usize>> = sizes.iter().map(|n| vec![0; *n]).collect();
        for place in out {
            for group in &mut drawn {
                let n = group.len();
                group.iter_mut().for_each(|unit| *unit = chance.below(n));
            }
            *place = statistic(&drawn);
        }
    })
}

/// One value a resample, block by block.
fn blocks(
    how: &Bootstrap,
    spread: &impl Spread,
    fill: impl Fn(&mut Chance, &mut [f64]) + Sync + Send,
) -> Vec<f64> {
    let pieces = spread.each(how.resamples.div_ceil(BLOCK), |block| {
        let mut out = vec![f64::NAN; BLOCK.min(how.resamples - block * BLOCK)];
        fill(&mut Chance::new(how.seed, block), &mut out);
        out
    });
    pieces.concat()
}

/// A sixth of the skewness of the statistic when one unit is left out at a time; each group's about its own mean.
fn acceleration(whole: &[Vec<usize>], statistic: &impl Fn(&[Vec<usize>]) -> f64) -> f64 {
    let (mut cubes, mut squares) = (0.0, 0.0);
    for (k, group) in whole.iter().enumerate() {
        if group.len() < 2 {
            continue;
        }
        let mut less = whole.to_vec();
        let left: Vec<f64> = (0..group.len())
            .map(|out| {
                if let Some(place) = less.get_mut(k) {
                    place.clear();
                    place.extend(group.iter().filter(|unit| **unit != out));
                }
                statistic(&less)
            })
            .collect();
        let mean = stats::mean(&left);
        let n = group.len() as f64;
        for v in left.iter().filter(|v| !v.is_nan()) {
            let influence = (n - 1.0) * (mean - v) / n;
            cubes += influence * influence * influence;
            squares += influence * influence;
        }
    }
    sixth_of_skewness(cubes, squares)
}

fn sixth_of_skewness(cubes: f64, squares: f64) -> f64 {
    if squares > 0.0 { cubes / (6.0 * squares * squares.sqrt()) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::work::InTurn;

    const LSAT: [f64; 15] =
        [576., 635., 558., 578., 666., 580., 555., 661., 651., 605., 653., 575., 545., 572., 594.];
    const GPA: [f64; 15] =
        [3.39, 3.30, 2.81, 3.03, 3.44, 3.07, 3.00, 3.43, 3.36, 3.13, 3.12, 2.74, 2.76, 2.88, 2.96];

    fn correlation(units: &[Vec<usize>]) -> f64 {
        let pick = |of: &[f64; 15]| units[0].iter().map(|k| of[*k]).collect::<Vec<_>>();
        stats::correlation(&pick(&LSAT), &pick(&GPA))
    }

    /// Efron & Tibshirani 1993, law-school data: r = .776; BCa 90 % .43 to .92–.93, 95 % .33 to .94 (400,000 resamples, to
    /// Monte Carlo error); bootstrap SE .134; acceleration −.076.
    #[test]
    fn law_school() {
        let of =
            |level: f64| bca(&[15], &Bootstrap { resamples: 20_000, seed: 1, level }, &InTurn, correlation);
        let (nine, wide) = (of(0.90), of(0.95));
        let near = |a: f64, b: f64, by: f64| assert!((a - b).abs() < by, "{a} {b}");
        near(nine.interval.value, 0.776_374_5, 1e-7);
        near(nine.acceleration, -0.075_671_565, 1e-9);
        near(nine.se, 0.1338, 0.004);
        near(nine.interval.low, 0.4313, 0.015);
        near(nine.interval.high, 0.9274, 0.01);
        near(wide.interval.low, 0.3322, 0.02);
        near(wide.interval.high, 0.9424, 0.01);
    }

    /// A mean of normal values: the interval is nearly Student's with the biased scatter, and covers as often as it says.
    #[test]
    fn covers_a_mean() {
        let mut held = 0;
        for trial in 0..400 {
            let mut chance = Chance::new(99, trial);
            // The sum of twelve uniform numbers is nearly normal.
            let mut normal =
                || (0..12).map(|_| chance.below(1 << 20) as f64 / f64::from(1 << 20)).sum::<f64>() - 6.0;
            let values: Vec<f64> = (0..20).map(|_| normal()).collect();
            let mean = |units: &[Vec<usize>]| units[0].iter().map(|k| values[*k]).sum::<f64>() / 20.0;
            let found =
                bca(&[20], &Bootstrap { resamples: 400, seed: 7, level: 0.95 }, &InTurn, mean).interval;
            held += usize::from(found.low <= 0.0 && 0.0 <= found.high);
        }
        // A bootstrap of 20 values covers some two hundredths less than it says.
        assert!((360..=392).contains(&held), "{held} of 400");
    }

    #[test]
    fn nothing_varies() {
        let found = bca(&[3], &Bootstrap { resamples: 100, seed: 1, level: 0.95 }, &InTurn, |_| 2.0);
        assert_eq!((found.interval.low, found.interval.high, found.se), (2.0, 2.0, 0.0));
        let none = bca(&[3], &Bootstrap { resamples: 100, seed: 1, level: 0.95 }, &InTurn, |_| f64::NAN);
        assert!(none.interval.low.is_nan() && none.interval.value.is_nan());
    }

    /// The short way is the general one: the same draws, the jackknife done and not only derived.
    #[test]
    fn a_mean_the_short_way() {
        let first = [3.1, 4.7, 2.2, 9.9, 4.4];
        let second = [7.5, f64::NAN, 1.2, 8.8, 8.1, 6.0, 30.0];
        let kept: Vec<f64> = second.iter().copied().filter(|v| !v.is_nan()).collect();
        let how = Bootstrap { resamples: 1000, seed: 4, level: 0.9 };
        let of = |units: &[usize], values: &[f64]| {
            units.iter().map(|k| values[*k]).sum::<f64>() / units.len() as f64
        };
        let long = bca(&[5, 6], &how, &InTurn, |u| of(&u[1], &kept) - of(&u[0], &first));
        let short = mean_difference(&first, &second, &how, &InTurn);
        let one = (bca(&[6], &how, &InTurn, |u| of(&u[0], &kept)), mean(&second, &how, &InTurn));
        for (a, b) in [(long, short), one] {
            for (x, y) in [
                (a.interval.value, b.interval.value),
                (a.interval.low, b.interval.low),
                (a.interval.high, b.interval.high),
                (a.se, b.se),
                (a.bias, b.bias),
                (a.acceleration, b.acceleration),
            ] {
                assert!((x - y).abs() < 1e-12, "{a:?} {b:?}");
            }
        }
        assert!(mean(&[f64::NAN], &how, &InTurn).interval.low.is_nan());
    }

    /// Places worked by hand: of 9 values, a share of 0.25 is at place 2.5 − 1.
    #[test]
    fn shares_of_a_list() {
        let mut list = [5.0, 1.0, 9.0, 3.0, 2.0, 8.0, 7.0, 4.0, 6.0];
        for (share, value) in [(0.0, 1.0), (0.25, 2.5), (0.5, 5.0), (0.9, 9.0), (1.0, 9.0)] {
            assert_eq!(at(&mut list, share), value);
        }
        assert!(at(&mut [], 0.5).is_nan() && at(&mut list, f64::NAN).is_nan());
    }
}
