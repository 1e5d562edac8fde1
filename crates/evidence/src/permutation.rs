//! Permutation: how often a difference as large comes of chance alone, where it does not matter which unit is in which group.
use crate::chance::{BLOCK, Chance};
use crate::work::Spread;
use signal::stats;

/// How it is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Permutation {
    /// Up to so many rearrangements are all gone through; beyond, so many are drawn.
    pub most: usize,
    /// Seed of chance.
    pub seed: u64,
}

/// What came of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Permuted {
    /// Share of rearrangements with a difference at least as large, to either side.
    pub p: f64,
    /// Rearrangements looked at, the one that happened among them.
    pub looked_at: usize,
    /// True where these are all there are.
    pub exact: bool,
    /// The smallest share that so many values could have given, whatever they are. Where it is large, nothing can be told.
    pub least: f64,
}

impl Permuted {
    /// Not defined.
    pub const NONE: Self = Self { p: f64::NAN, looked_at: 0, exact: false, least: f64::NAN };
}

/// Differences this close to the one that happened count as large: sums in another order differ in their last digits.
const SLACK: f64 = 1e-9;

/// Two groups of independent units: difference of means, to either side.
///
/// Undefined: NaN where a group is empty. Source: Fisher1935, Pitman1937; drawn rearrangements as PhipsonSmyth2010 ((b + 1)/(m + 1),
/// never 0). Checked: scipy.stats.permutation_test in the tests.
pub fn two_groups(first: &[f64], second: &[f64], how: &Permutation, spread: &impl Spread) -> Permuted {
    let all: Vec<f64> = first.iter().chain(second).copied().filter(|v| !v.is_nan()).collect();
    let (n, m) = (stats::count(first), stats::count(second));
    if n == 0 || m == 0 {
        return Permuted::NONE;
    }
    let total: f64 = all.iter().sum();
    // With the total fixed, the difference of means follows from one group's sum.
    let difference = |sum: f64| (sum / n as f64 - (total - sum) / m as f64).abs();
    let happened = difference(all.iter().take(n).sum());
    let large = |sum: f64| difference(sum) >= happened - SLACK * (1.0 + happened);
    // The most extreme division; of equal groups its mirror image is another.
    let extremes = if n == m { 2.0 } else { 1.0 };
    if let Some(count) = choices(n + m, n).filter(|c| *c <= how.most) {
        let hits = combinations(n + m, n, |chosen| large(chosen.iter().filter_map(|k| all.get(*k)).sum()));
        return Permuted::exact(hits, count, extremes);
    }
    // Drawing the smaller group leaves the larger.
    let few = n.min(m);
    drawn(how, spread, || {
        let mut order = all.clone();
        move |chance: &mut Chance| {
            for k in 0..few {
                order.swap(k, k + chance.below(n + m - k));
            }
            let sum: f64 = order.iter().take(few).sum();
            large(if few == n { sum } else { total - sum })
        }
    })
}

/// Pairs of the same unit: mean difference, its signs thrown again, to either side.
///
/// Undefined: NaN where no pair is defined. Source, checked: as [`two_groups`].
pub fn pairs(first: &[f64], second: &[f64], how: &Permutation, spread: &impl Spread) -> Permuted {
    let differences: Vec<f64> = first.iter().zip(second).map(|(a, b)| b - a).collect();
    signs(&differences, how, spread)
}

/// Differences of units: their mean, its signs thrown again, to either side.
///
/// Undefined: NaN where no difference is defined. Source, checked: as [`two_groups`].
pub fn signs(differences: &[f64], how: &Permutation, spread: &impl Spread) -> Permuted {
    let differences: Vec<f64> = differences.iter().copied().filter(|d| !d.is_nan()).collect();
    let n = differences.len();
    if n == 0 {
        return Permuted::NONE;
    }
    let happened = differences.iter().sum::<f64>().abs();
    let large = |sum: f64| sum.abs() >= happened - SLACK * (1.0 + happened);
    if let Some(count) = 1_usize.checked_shl(n as u32).filter(|c| n < 60 && *c <= how.most) {
        let sum = |signs: usize| {
            differences
                .iter()
                .enumerate()
                .map(|(k, d)| if signs >> k & 1 == 1 { -d } else { *d })
                .sum::<f64>()
        };
        let hits = (0..count).filter(|signs| large(sum(*signs))).count();
        return Permuted::exact(hits, count, 2.0);
    }
    drawn(how, spread, || {
        |chance: &mut Chance| large(differences.iter().map(|d| if chance.coin() { -d } else { *d }).sum())
    })
}

impl Permuted {
    fn exact(hits: usize, count: usize, extremes: f64) -> Self {
        let count_f = count as f64;
        Self { p: hits as f64 / count_f, looked_at: count, exact: true, least: (extremes / count_f).min(1.0) }
    }
}

/// Draws rearrangements block by block; `worker` makes what a block works with.
fn drawn<W>(how: &Permutation, spread: &impl Spread, worker: impl Fn() -> W + Sync + Send) -> Permuted
where
    W: FnMut(&mut Chance) -> bool,
{
    let hits = spread.each(how.most.div_ceil(BLOCK), |block| {
        let (mut chance, mut is_large) = (Chance::new(how.seed, block), worker());
        let count = BLOCK.min(how.most - block * BLOCK);
        (0..count).filter(|_| is_large(&mut chance)).count()
    });
    let (hits, all) = (hits.iter().sum::<usize>() + 1, how.most + 1);
    Permuted { p: hits as f64 / all as f64, looked_at: all, exact: false, least: 1.0 / all as f64 }
}

/// n over k; `None` where it passes what a count can hold.
fn choices(n: usize, k: usize) -> Option<usize> {
    let k = k.min(n - k);
    (0..k).try_fold(1_usize, |c, i| Some(c.checked_mul(n - i)? / (i + 1)))
}

/// Goes through every choice of k out of n in order; counts those that hold.
fn combinations(n: usize, k: usize, mut holds: impl FnMut(&[usize]) -> bool) -> usize {
    let mut chosen: Vec<usize> = (0..k).collect();
    let mut hits = 0;
    loop {
        hits += usize::from(holds(&chosen));
        // The last place that can still move up.
        let Some(place) = (0..k).rev().find(|i| chosen.get(*i).is_some_and(|c| *c < n - k + i)) else {
            return hits;
        };
        let mut next = chosen.get(place).copied().unwrap_or(0);
        for slot in chosen.iter_mut().skip(place) {
            next += 1;
            *slot = next;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::work::InTurn;

    const A: [f64; 8] = [10., 12., 9., 11., 14., 13., 10., 12.];
    const B: [f64; 8] = [8., 9., 11., 7., 10., 9., 8., 10.];
    const ALL: Permutation = Permutation { most: 100_000, seed: 5 };

    /// By hand: of the 20 ways to split 1..6 into threes, two differ as 1 2 3 against 4 5 6 do.
    /// scipy 1.17.1: permutation_test of the two groups of eight, difference of means, gives 164/12870; of their pairs, 10/256.
    #[test]
    fn exact_where_small() {
        let few = two_groups(&[1., 2., 3.], &[4., 5., 6.], &ALL, &InTurn);
        assert_eq!((few.p, few.looked_at, few.exact, few.least), (0.1, 20, true, 0.1));
        let none = pairs(&[f64::NAN], &[1.0], &ALL, &InTurn);
        assert!(none.p.is_nan() && two_groups(&[], &[1.0], &ALL, &InTurn).p.is_nan());
        let signs = pairs(&[2., 3., 4., 5.], &[1., 1., 1., 1.], &ALL, &InTurn);
        assert_eq!((signs.p, signs.looked_at, signs.least), (2.0 / 16.0, 16, 2.0 / 16.0));
        // Groups of unequal size have one division at the end, not two.
        let uneven = two_groups(&[0., 0.], &[10., 10., 10.1], &ALL, &InTurn);
        assert_eq!((uneven.p, uneven.least), (0.1, 0.1));
        assert_eq!(two_groups(&A, &B, &ALL, &InTurn).p, 164.0 / 12_870.0);
        assert_eq!(pairs(&A, &B, &ALL, &InTurn).p, 10.0 / 256.0);
    }

    /// Drawn, it is what going through all of them gives, to its own scatter; and never 0.
    #[test]
    fn drawn_is_nearly_exact() {
        let (a, b) = ([10., 12., 9., 11., 14., 13., 10., 12.], [8., 9., 11., 7., 10., 9., 8., 10.]);
        let (exact, drawn) = (
            two_groups(&a, &b, &ALL, &InTurn),
            two_groups(&a, &b, &Permutation { most: 12_000, seed: 5 }, &InTurn),
        );
        assert!(exact.exact && !drawn.exact && exact.looked_at == 12_870);
        let scatter = (exact.p * (1.0 - exact.p) / 12_000.0).sqrt();
        assert!((exact.p - drawn.p).abs() < 4.0 * scatter, "{exact:?} {drawn:?}");
        // Of unequal groups the smaller is drawn, whichever it is.
        let few = &b[..4];
        for (first, second) in [(&a[..], few), (few, &a[..])] {
            let all = two_groups(first, second, &ALL, &InTurn);
            let some = two_groups(first, second, &Permutation { most: 490, seed: 3 }, &InTurn);
            assert!(all.looked_at == 495 && !some.exact);
            let scatter = (all.p * (1.0 - all.p) / 490.0).sqrt();
            assert!((all.p - some.p).abs() < 4.0 * scatter + 1.0 / 490.0, "{all:?} {some:?}");
        }
        let far = two_groups(&[0.0; 12], &[100.0; 12], &Permutation { most: 500, seed: 1 }, &InTurn);
        assert!((far.p - 1.0 / 501.0).abs() < 1e-12);
    }

    /// On data without a difference, p under 0.05 comes in one of twenty: within what 1,000 trials allow.
    #[test]
    fn claims_falsely_as_often_as_it_says() {
        let mut claims = 0;
        for trial in 0..1000 {
            let mut chance = Chance::new(17, trial);
            let mut values = || (0..10).map(|_| chance.below(1 << 20) as f64).collect::<Vec<_>>();
            let (a, b) = (values(), values());
            claims += usize::from(
                two_groups(&a, &b, &Permutation { most: 400, seed: trial as u64 }, &InTurn).p <= 0.05,
            );
        }
        assert!((30..=72).contains(&claims), "{claims} of 1000");
    }
}
