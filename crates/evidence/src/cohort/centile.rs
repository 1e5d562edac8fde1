//! Centiles of a reference, and the centile of a value in it, with intervals that take no shape of distribution for granted.
use crate::bootstrap::Bootstrap;
use crate::chance::{BLOCK, Chance};
use crate::{Interval, Spread};
use signal::{beta, fisher, math};

/// A centile of a reference.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Centile {
    /// The share that lies below it, 0..=1.
    pub share: f64,
    /// Estimate and interval; NaN altogether where the sample holds no interval ([`needed`]).
    pub at: Interval,
}

/// How many subjects it takes for a centile to have an interval within the sample.
///
/// Undefined: `None` where share or level is not within 0..1. Source: [`ranks`], with the least and the greatest value as limits.
/// Checked: 6 for a median at 0.95 (textbooks), counted out in the tests.
pub fn needed(share: f64, level: f64) -> Option<usize> {
    let within = |v: f64| v > 0.0 && v < 1.0;
    if !within(share) || !within(level) {
        return None;
    }
    // All on one side of the centile: share^n and (1 − share)^n, neither above half of what the interval may miss.
    let rarer = share.min(1.0 - share);
    let n = math::ln(0.5 * (1.0 - level)) / math::ln_1p(-rarer);
    (n < 1e9).then(|| (n.ceil() as usize).max(2))
}

/// Ranks, from 1, of the ordered values between which a centile lies at a level: each limit misses it with at most half
/// of what may be missed. `None` where the sample is too small for that.
///
/// Source: binomial distribution of the values below a centile (Thompson1936; HahnMeeker1991 ch. 5). Checked: scipy's
/// `quantile_test` (refs/cohort.toml).
pub fn ranks(n: usize, share: f64, level: f64) -> Option<(usize, usize)> {
    if n < needed(share, level)? {
        return None;
    }
    let tail = 0.5 * (1.0 - level);
    let count = n as f64;
    // Of n values, fewer than `rank` below the centile; and `rank` or more.
    let fewer = |rank: usize| beta::share_below(count - rank as f64 + 1.0, rank as f64, 1.0 - share, share);
    let more = |rank: usize| beta::share_below(rank as f64, count - rank as f64 + 1.0, share, 1.0 - share);
    let low = last(1, n, |rank| fewer(rank) <= tail)?;
    let high = n + 1 - last(1, n, |back| more(n + 1 - back) <= tail)?;
    (low < high).then_some((low, high))
}

/// The last of from..=to for which something holds that holds up to some place and no further; `None` where it never does.
fn last(from: usize, to: usize, holds: impl Fn(usize) -> bool) -> Option<usize> {
    let (mut yes, mut no) = (from.checked_sub(1)?, to + 1);
    while no - yes > 1 {
        let middle = yes + (no - yes) / 2;
        if holds(middle) { yes = middle } else { no = middle }
    }
    (yes >= from).then_some(yes)
}

/// A centile of values, one a subject, in rising order and all defined.
///
/// Unit: that of the values. The estimate is linear between order statistics, at place share·(n − 1) from 0 (definition 7 of
/// HyndmanFan1996, as [`signal::stats::quantile`]: so a median is the same number wherever the program shows it).
/// Undefined: NaN where n is under [`needed`]. Source: [`ranks`].
pub fn of_ordered(ordered: &[f64], share: f64, level: f64) -> Interval {
    let limits = ranks(ordered.len(), share, level);
    at_ranks(ordered, share, limits)
}

/// As [`of_ordered`], with limits that are known already.
pub(super) fn at_ranks(ordered: &[f64], share: f64, limits: Option<(usize, usize)>) -> Interval {
    let at = |rank: usize| ordered.get(rank.wrapping_sub(1)).copied().unwrap_or(f64::NAN);
    let Some((low, high)) = limits else { return Interval::NONE };
    let place = share * ordered.len().saturating_sub(1) as f64;
    let below = place as usize;
    let rest = place - below as f64;
    let value =
        if rest > 0.0 { at(below + 1) + rest * (at(below + 2) - at(below + 1)) } else { at(below + 1) };
    Interval { value, low: at(low), high: at(high) }
}

/// Centiles of values, one a subject; those that are not defined are left out.
pub fn centiles(values: &[f64], shares: &[f64], level: f64) -> Vec<Centile> {
    let mut ordered: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
    ordered.sort_by(f64::total_cmp);
    shares.iter().map(|share| Centile { share: *share, at: of_ordered(&ordered, *share, level) }).collect()
}

/// Centiles of one value of any subject, each subject as likely, where subjects have several: the cluster bootstrap.
///
/// Unit: that of the values. A centile is the least value with at least its share of the weight at or below it, a subject's
/// weight being spread over its values. Undefined: as [`centiles`], by the number of subjects with a defined value.
/// Source: percentile bootstrap of whole subjects (EfronTibshirani1993 ch. 13; DavisonHinkley1997 ch. 3.8); the rule of when there
/// is one is that of [`needed`]. Checked: coverage by simulation.
pub fn of_repeats(
    subjects: &[Vec<f64>],
    shares: &[f64],
    how: &Bootstrap,
    spread: &impl Spread,
) -> Vec<Centile> {
    let own: Vec<Vec<f64>> =
        subjects.iter().map(|s| s.iter().copied().filter(|v| !v.is_nan()).collect::<Vec<f64>>()).collect();
    let own: Vec<Vec<f64>> = own.into_iter().filter(|s: &Vec<f64>| !s.is_empty()).collect();
    let n = own.len();
    let weights: Vec<f64> = own.iter().map(|s| 1.0 / s.len() as f64).collect();
    let mut all: Vec<(f64, usize)> =
        own.iter().enumerate().flat_map(|(k, s)| s.iter().map(move |v| (*v, k))).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    // The values at which the weight of the subjects drawn reaches each share; shares in any order.
    let found = |times: &[f64]| -> Vec<f64> {
        let reaches = |share: &f64| {
            let mut so_far = 0.0;
            let wanted = share * n as f64 * (1.0 - 1e-12);
            let there = all.iter().find(|(_, k)| {
                so_far += times.get(*k).unwrap_or(&0.0) * weights.get(*k).unwrap_or(&0.0);
                so_far >= wanted && so_far > 0.0
            });
            there.map_or(f64::NAN, |(v, _)| *v)
        };
        shares.iter().map(reaches).collect()
    };
    let once = found(&vec![1.0; n]);
    let blocks = spread.each(how.resamples.div_ceil(BLOCK), |block| {
        let mut chance = Chance::new(how.seed, block);
        let draws = BLOCK.min(how.resamples - block * BLOCK);
        (0..draws)
            .map(|_| {
                let mut times = vec![0.0; n];
                for _ in 0..n {
                    if let Some(drawn) = times.get_mut(chance.below(n)) {
                        *drawn += 1.0;
                    }
                }
                found(&times)
            })
            .collect::<Vec<_>>()
    });
    let again: Vec<Vec<f64>> = blocks.into_iter().flatten().collect();
    let tail = 0.5 * (1.0 - how.level);
    let one = |(k, share): (usize, &f64)| {
        let enough = needed(*share, how.level).is_some_and(|least| n >= least);
        let column: Vec<f64> = again.iter().filter_map(|r| r.get(k).copied()).collect();
        let mut scratch = Vec::new();
        let mut limit = |q: f64| signal::stats::quantile(&column, q, &mut scratch);
        let at = if enough {
            Interval {
                value: once.get(k).copied().unwrap_or(f64::NAN),
                low: limit(tail),
                high: limit(1.0 - tail),
            }
        } else {
            Interval::NONE
        };
        Centile { share: *share, at }
    };
    shares.iter().enumerate().map(one).collect()
}

/// Where a value stands in a reference.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing {
    /// Subjects with a defined value.
    pub n: usize,
    /// Share of the reference below the value, what equals it counted half.
    pub share: Interval,
    /// Share of the reference at or below.
    pub at_or_below: f64,
    /// Share of the reference at or above.
    pub at_or_above: f64,
}

/// Where a value stands among subjects, each of which counts the same however many values it has.
///
/// Shape: a list of values a subject. Unit: 1. Undefined: NaN where the value or all of the reference is not defined.
/// Source: exact binomial limits (ClopperPearson1934) for as many trials as there are subjects, through quantiles of F; with
/// several values a subject the count is a sum of shares, which scatters less than a count: the interval is then on the wide side.
/// Checked: scipy's `binomtest` (refs/cohort.toml); coverage by simulation.
pub fn standing(subjects: &[Vec<f64>], value: f64, level: f64) -> Standing {
    let mut n = 0;
    let (mut below, mut above) = (0.0, 0.0);
    for own in subjects {
        let there = own.iter().filter(|v| !v.is_nan()).count() as f64;
        if there > 0.0 {
            n += 1;
            below += own.iter().filter(|v| **v < value).count() as f64 / there;
            above += own.iter().filter(|v| **v > value).count() as f64 / there;
        }
    }
    let count = n as f64;
    if n == 0 || value.is_nan() {
        let none = f64::NAN;
        return Standing { n, share: Interval::NONE, at_or_below: none, at_or_above: none };
    }
    let mid = 0.5 * (below + count - above);
    Standing {
        n,
        share: exact(mid, count, level),
        at_or_below: (count - above) / count,
        at_or_above: (count - below) / count,
    }
}

/// Exact binomial interval of a share: `hits` of `n`; a part of a hit is taken as the limits' formula takes it.
pub fn exact(hits: f64, n: f64, level: f64) -> Interval {
    let p = 0.5 * (1.0 + level);
    let low = if hits > 0.0 {
        let f = fisher::quantile(p, 2.0 * (n - hits + 1.0), 2.0 * hits);
        hits / (hits + (n - hits + 1.0) * f)
    } else {
        0.0
    };
    let high = if hits < n {
        let f = fisher::quantile(p, 2.0 * (hits + 1.0), 2.0 * (n - hits));
        (hits + 1.0) * f / (n - hits + (hits + 1.0) * f)
    } else {
        1.0
    };
    Interval { value: hits / n, low, high }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use crate::InTurn;

    /// Counted out: the least n at which neither (1 − p)ⁿ nor pⁿ is above 0.025. A median's interval exists from 6 on
    /// (textbooks of order statistics); 72 and 36 for the outer centiles follow from ln 0.025 / ln 0.95 and ln 0.025 / ln 0.9.
    #[test]
    fn how_many_it_takes() {
        for (share, expected) in
            [(0.5, 6), (0.25, 13), (0.75, 13), (0.1, 36), (0.9, 36), (0.05, 72), (0.95, 72)]
        {
            assert_eq!(needed(share, 0.95), Some(expected), "{share}");
            assert!(ranks(expected - 1, share, 0.95).is_none());
            assert!(ranks(expected, share, 0.95).is_some(), "{share}");
        }
        assert_eq!((needed(0.0, 0.95), needed(0.5, 1.0), needed(f64::NAN, 0.95)), (None, None, None));
    }

    /// Binomial probabilities by hand: of 10 values the 2nd and 9th hold the median with 1 − 2·11/1024 = 0.9785, the 3rd and 8th
    /// only with 0.8906 (tables of the sign test).
    #[test]
    fn ranks_of_a_median() {
        assert_eq!(ranks(10, 0.5, 0.95), Some((2, 9)));
        assert_eq!(ranks(10, 0.5, 0.89), Some((3, 8)));
        assert_eq!(ranks(6, 0.5, 0.95), Some((1, 6)));
    }

    #[test]
    fn a_centile_is_within_its_interval_and_its_sample() {
        for n in [6, 13, 36, 72, 100, 1000] {
            let ordered: Vec<f64> = (0..n).map(|k| f64::from(k * k)).collect();
            for share in [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95] {
                let found = of_ordered(&ordered, share, 0.95);
                let enough = needed(share, 0.95).unwrap() <= n as usize;
                assert_eq!(found.value.is_nan(), !enough);
                if enough {
                    assert!(found.low <= found.value && found.value <= found.high, "{n} {share} {found:?}");
                    assert!(found.low < found.high);
                }
            }
        }
        let some = centiles(&[3.0, f64::NAN, 1.0, 2.0, 6.0, 5.0, 4.0], &[0.5, 0.9], 0.95);
        assert_eq!((some[0].at.value, some[0].at.low, some[0].at.high), (3.5, 1.0, 6.0));
        assert!(some[1].at.value.is_nan());
        assert!(centiles(&[], &[0.5], 0.95)[0].at.value.is_nan());
    }

    /// With one value a subject, the bootstrap's limits are those of the order statistics but for a place or two.
    #[test]
    fn the_bootstrap_of_single_values_is_near_the_exact_limits() {
        let values: Vec<f64> = (0..100).map(f64::from).collect();
        let one: Vec<Vec<f64>> = values.iter().map(|v| vec![*v]).collect();
        let how = Bootstrap { resamples: 4000, seed: 1, level: 0.95 };
        let found = of_repeats(&one, &[0.25, 0.5, 0.05], &how, &InTurn);
        for c in &found {
            let exact = of_ordered(&values, c.share, 0.95);
            assert!(
                (c.at.low - exact.low).abs() <= 2.0 && (c.at.high - exact.high).abs() <= 2.0,
                "{c:?} {exact:?}"
            );
        }
        // A subject's repeats change nothing where they are the same value again.
        let often: Vec<Vec<f64>> = values.iter().map(|v| vec![*v; 1 + (*v as usize) % 4]).collect();
        assert_eq!(of_repeats(&often, &[0.25, 0.5, 0.05], &how, &InTurn), found);
        let few = of_repeats(&one[..5], &[0.5], &how, &InTurn);
        assert!(few[0].at.value.is_nan());
        assert!(of_repeats(&[], &[0.5], &how, &InTurn)[0].at.low.is_nan());
    }

    /// Clopper & Pearson's limits where they have a closed form: none of 10, 0 to 1 − 0.025^(1/10) = 0.3085 (tables); and
    /// scipy's `binomtest(18, 23).proportion_ci(method="exact")`: 0.5630 to 0.9254.
    #[test]
    fn where_a_value_stands() {
        let none = exact(0.0, 10.0, 0.95);
        assert!(none.low == 0.0 && (none.high - 0.308_497_1).abs() < 1e-7, "{none:?}");
        let many = exact(18.0, 23.0, 0.95);
        assert!((many.low - 0.563).abs() < 5e-4 && (many.high - 0.925).abs() < 5e-4, "{many:?}");
        let reference: Vec<Vec<f64>> =
            vec![vec![1.0], vec![2.0], vec![2.0, 2.0], vec![f64::NAN], vec![3.0, 0.0]];
        let found = standing(&reference, 2.0, 0.95);
        // Below: 1 + ½; as large: 2; above: ½. Of four subjects with a value.
        assert_eq!((found.n, found.share.value), (4, 2.5 / 4.0));
        assert_eq!((found.at_or_below, found.at_or_above), (3.5 / 4.0, 2.5 / 4.0));
        assert!(standing(&reference, f64::NAN, 0.95).share.value.is_nan());
        assert_eq!(standing(&[], 1.0, 0.95).n, 0);
    }
}
