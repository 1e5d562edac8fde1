//! Whether the order of one quantity goes with the order of another.
use super::{Correlation, through_z};
use crate::chance::{BLOCK, Chance};
use crate::permutation::{Permutation, Permuted};
use crate::work::Spread;
use signal::stats;

/// Places in order, from 1; equal values share the mean of their places.
///
/// Undefined: values that are not defined have none. Source: Spearman1904.
pub fn ranks(x: &[f64]) -> Vec<f64> {
    let at = |k: usize| x.get(k).copied().unwrap_or(f64::NAN);
    let mut order: Vec<usize> = (0..x.len()).filter(|k| !at(*k).is_nan()).collect();
    order.sort_by(|a, b| at(*a).total_cmp(&at(*b)));
    let mut out = vec![f64::NAN; x.len()];
    let mut start = 0;
    while start < order.len() {
        let alike =
            order.iter().skip(start).take_while(|k| order.get(start).is_some_and(|s| at(**k) == at(*s)));
        let end = start + alike.count().max(1);
        let place = 0.5 * (start + 1 + end) as f64;
        for k in order.iter().take(end).skip(start) {
            if let Some(rank) = out.get_mut(*k) {
                *rank = place;
            }
        }
        start = end;
    }
    out
}

/// Correlation of places in order. Pairs of which one is not defined are left out.
///
/// Unit: 1. Undefined: `None` with fewer than four pairs or where one column does not vary. Source: Spearman1904; interval:
/// BonettWright2000 (variance (1 + r²/2)/(n − 3) of artanh r); probability: the pairing shuffled, all ways where there are few
/// enough. Checked: scipy.stats.spearmanr and permutation_test.
pub fn rank_correlation(
    pairs: &[(f64, f64)],
    level: f64,
    how: &Permutation,
    spread: &impl Spread,
) -> Option<(Correlation, Permuted)> {
    let pairs = super::defined(pairs);
    let (x, y): (Vec<f64>, Vec<f64>) = pairs.iter().copied().unzip();
    let (x, y) = (ranks(&x), ranks(&y));
    let r = stats::correlation(&x, &y);
    let n = x.len() as f64;
    if x.len() < 4 || r.is_nan() {
        return None;
    }
    let permuted = shuffled(&x, &y, how, spread);
    let r = through_z(r, (1.0 + 0.5 * r * r) / (n - 3.0), level);
    Some((Correlation { r, p: permuted.p, degrees: n - 2.0 }, permuted))
}

/// Differences this close to the one that happened count as large.
const SLACK: f64 = 1e-9;

/// How often a correlation is as large when the second column is put into any order.
fn shuffled(x: &[f64], y: &[f64], how: &Permutation, spread: &impl Spread) -> Permuted {
    let center = |of: &[f64]| of.iter().map(|v| v - stats::mean(of)).collect::<Vec<f64>>();
    let (x, y) = (center(x), center(y));
    let product = |y: &[f64]| x.iter().zip(y).map(|(a, b)| a * b).sum::<f64>().abs();
    let happened = product(&y);
    let large = |y: &[f64]| product(y) >= happened - SLACK * (1.0 + happened);
    let all = (1..=x.len()).try_fold(1_usize, |product, k| product.checked_mul(k));
    if let Some(count) = all.filter(|count| *count <= how.most) {
        let hits = every_order(y, large);
        return Permuted {
            p: hits as f64 / count as f64,
            looked_at: count,
            exact: true,
            least: (2.0 / count as f64).min(1.0),
        };
    }
    let hits = spread.each(how.most.div_ceil(BLOCK), |block| {
        let (mut chance, mut order) = (Chance::new(how.seed, block), y.clone());
        let count = BLOCK.min(how.most - block * BLOCK);
        (0..count)
            .filter(|_| {
                chance.shuffle(&mut order);
                large(&order)
            })
            .count()
    });
    let (hits, all) = (hits.iter().sum::<usize>() + 1, how.most + 1);
    Permuted { p: hits as f64 / all as f64, looked_at: all, exact: false, least: 1.0 / all as f64 }
}

/// Goes through every order of a list (Heap's exchanges); counts those that hold.
fn every_order(mut list: Vec<f64>, holds: impl Fn(&[f64]) -> bool) -> usize {
    let mut turns = vec![0_usize; list.len()];
    let mut hits = usize::from(holds(&list));
    let mut k = 1;
    while let Some(turn) = turns.get_mut(k) {
        if *turn < k {
            list.swap(if k % 2 == 0 { 0 } else { *turn }, k);
            *turn += 1;
            hits += usize::from(holds(&list));
            k = 1;
        } else {
            *turn = 0;
            k += 1;
        }
    }
    hits
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use crate::work::InTurn;

    const ALL: Permutation = Permutation { most: 50_000, seed: 1 };

    #[test]
    fn equal_values_share_their_places() {
        assert_eq!(ranks(&[3.0, 1.0, 3.0, 2.0, 3.0]), [4.0, 1.0, 4.0, 2.0, 4.0]);
        let holed = ranks(&[5.0, f64::NAN, 4.0]);
        assert!(holed.first() == Some(&2.0) && holed.get(1).is_some_and(|v| v.is_nan()));
        assert!(ranks(&[]).is_empty());
    }

    /// Subjects' means of Bland & Altman 1995 (see `within`): scipy 1.17.1, spearmanr 0.0476190; permutation_test over all
    /// 40,320 pairings, p 0.93487103. With ties: spearmanr of ten pairs 0.88858322.
    #[test]
    fn worked_values() {
        let pairs = [
            (6.4925, 4.0375),
            (7.0525, 5.3725),
            (7.356_666_7, 4.83),
            (7.326, 5.312),
            (7.313_75, 4.398_75),
            (7.323_333_3, 4.92),
            (6.906_666_7, 6.603_333_3),
            (7.115, 4.783_75),
        ];
        let (found, permuted) = rank_correlation(&pairs, 0.95, &ALL, &InTurn).unwrap();
        assert!((found.r.value - 0.047_619_05).abs() < 1e-8 && found.r.low < -0.6 && found.r.high > 0.6);
        assert_eq!((permuted.p, permuted.looked_at, permuted.exact), (37_694.0 / 40_320.0, 40_320, true));
        let drawn = rank_correlation(&pairs, 0.95, &Permutation { most: 20_000, seed: 1 }, &InTurn).unwrap();
        assert!((drawn.0.p - permuted.p).abs() < 0.01 && !drawn.1.exact);
        let tied = [
            (1., 2.),
            (2., 1.),
            (2., 4.),
            (3., 4.),
            (5., 3.),
            (5., 7.),
            (5., 6.),
            (8., 8.),
            (9., 8.),
            (10., 9.),
        ];
        let (found, _) = rank_correlation(&tied, 0.95, &Permutation { most: 999, seed: 1 }, &InTurn).unwrap();
        assert!((found.r.value - 0.888_583_22).abs() < 1e-8, "{found:?}");
        assert!(rank_correlation(&pairs[..3], 0.95, &ALL, &InTurn).is_none());
        assert!(rank_correlation(&[(1.0, 2.0); 5], 0.95, &ALL, &InTurn).is_none(), "nothing varies");
    }
}
