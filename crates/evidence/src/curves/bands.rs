//! Mean curves and the bands about them: where the mean may lie, where a further curve may.
use super::Comparison;
use super::test::{Rule, SIGNS_NEED, Tails, by_permutation};
use crate::permutation::Permutation;
use crate::work::Spread;
use signal::student;

/// A mean curve and its bands, node by node; NaN at nodes that not every curve has.
#[derive(Clone, Debug, PartialEq)]
pub struct Bands {
    /// Curves.
    pub curves: usize,
    /// How many curves are defined at each node.
    pub defined: Vec<usize>,
    /// Mean.
    pub mean: Vec<f64>,
    /// Standard deviation between curves.
    pub deviation: Vec<f64>,
    /// Half width of the interval of the mean, at each node by itself.
    pub of_mean: Vec<f64>,
    /// Half width of the band that a further curve lies in, at each node by itself.
    pub of_single: Vec<f64>,
    /// Half width of the band that holds the whole mean curve at once; NaN where it was not asked for or cannot be told.
    pub of_whole: Vec<f64>,
}

/// Mean curve, intervals of the mean and of a further curve at each node, and a band of the whole mean curve.
///
/// Shape: one curve a row, of independent units (average those of one player first: [`averaged`]). Unit: that of the curves.
/// Undefined: NaN at nodes that some curve does not have, and with fewer than two curves; `of_whole` where `whole` is `None`, and with
/// fewer than [`SIGNS_NEED`] curves.
/// Intervals by Student's t: mean ± t s/√n; a further curve ± t s √(1 + 1/n). The whole band: the signs of the residuals about the mean
/// are thrown again and again (wild bootstrap), each time the largest |mean| / (s/√n) of all nodes is kept, and its quantile takes
/// the place of t. Drawing whole curves again, the other way to bootstrap, makes bands of few curves much too wide (of ten curves,
/// 99 % hold where 95 % should).
/// Source: any textbook; largest of all nodes Degras2011; signs Liu1988, Winkler2014. Checked: coverage on simulated curves
/// (tests/curves_null.rs).
pub fn bands(rows: &[Vec<f64>], level: f64, whole: Option<&Permutation>, hands: &impl Spread) -> Bands {
    let (n, nodes) = (rows.len(), rows.iter().map(Vec::len).min().unwrap_or(0));
    let count = n as f64;
    let at = |row: &[f64], q: usize| row.get(q).copied().unwrap_or(f64::NAN);
    let defined: Vec<usize> =
        (0..nodes).map(|q| rows.iter().filter(|r| at(r, q).is_finite()).count()).collect();
    let mean: Vec<f64> = (0..nodes)
        .map(|q| {
            let all = defined.get(q) == Some(&n);
            if all { rows.iter().map(|r| at(r, q)).sum::<f64>() / count } else { f64::NAN }
        })
        .collect();
    let deviation: Vec<f64> = (0..nodes)
        .map(|q| {
            let squares: f64 =
                rows.iter().map(|r| (at(r, q) - at(&mean, q)) * (at(r, q) - at(&mean, q))).sum();
            if n < 2 { f64::NAN } else { (squares / (count - 1.0)).sqrt() }
        })
        .collect();
    let t = student::quantile(0.5 + 0.5 * level, count - 1.0);
    let times = |factor: f64| deviation.iter().map(|s| factor * s).collect();
    let factor = whole.map_or(f64::NAN, |how| whole_factor(rows, &mean, level, how, hands));
    Bands {
        curves: n,
        of_mean: times(t / count.sqrt()),
        of_single: times(t * (1.0 + 1.0 / count).sqrt()),
        of_whole: times(factor / count.sqrt()),
        defined,
        mean,
        deviation,
    }
}

/// What the standard error is multiplied by for a band of the whole curve.
fn whole_factor(rows: &[Vec<f64>], mean: &[f64], level: f64, how: &Permutation, hands: &impl Spread) -> f64 {
    if rows.len() < SIGNS_NEED {
        return f64::NAN;
    }
    let off: Vec<Vec<f64>> = rows.iter().map(|r| r.iter().zip(mean).map(|(v, m)| v - m).collect()).collect();
    let rule = Rule { alpha: 1.0 - level, tails: Tails::Both };
    // The mean of residuals is nothing; what their signs make of it is how far a mean strays.
    let found = by_permutation(&Comparison::OneSample(&off), rule, how, hands);
    found.ok().map(|test| test.threshold).filter(|t| t.is_finite()).unwrap_or(f64::NAN)
}

/// The mean curve of each unit, units in the order in which they first come.
///
/// Shape: `units`: which unit each row is of; the answer lists each unit with its mean. Undefined: NaN at nodes that some row of a
/// unit does not have.
pub fn averaged(rows: &[Vec<f64>], units: &[usize]) -> Vec<(usize, Vec<f64>)> {
    let mut out: Vec<(usize, usize, Vec<f64>)> = Vec::new();
    for (row, unit) in rows.iter().zip(units) {
        match out.iter_mut().find(|(u, ..)| u == unit) {
            Some((_, count, sums)) => {
                *count += 1;
                sums.truncate(row.len());
                sums.iter_mut().zip(row).for_each(|(s, v)| *s += v);
            }
            None => out.push((*unit, 1, row.clone())),
        }
    }
    let mean = |(unit, count, sums): (usize, usize, Vec<f64>)| {
        (unit, sums.into_iter().map(|s| s / count as f64).collect())
    };
    out.into_iter().map(mean).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::Chance;
    use crate::work::InTurn;

    const HOW: Permutation = Permutation { most: 1000, seed: 3 };

    /// By hand: 1 2 3 4 at a node: mean 2.5, s = 1.290994; t(3) = 3.182446 (tables); 2.054260 and 4.593464.
    #[test]
    fn by_hand() {
        let rows = [vec![1.0, 7.0, 5.0], vec![2.0, f64::NAN, 5.0], vec![3.0, 7.0, 5.0], vec![4.0, 7.0, 5.0]];
        let found = bands(&rows, 0.95, None, &InTurn);
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-5, "{a} {b}");
        near(found.mean[0], 2.5);
        near(found.deviation[0], 1.290_994);
        near(found.of_mean[0], 2.054_260);
        near(found.of_single[0], 4.593_464);
        assert!(found.mean[1].is_nan() && found.of_mean[1].is_nan() && found.of_whole[0].is_nan());
        assert_eq!((found.defined, found.curves), (vec![4, 3, 4], 4));
        assert_eq!((found.mean[2], found.of_single[2]), (5.0, 0.0));
        let one = bands(&rows[..1], 0.95, Some(&HOW), &InTurn);
        assert!(one.mean[0] == 1.0 && one.of_mean[0].is_nan() && one.of_whole[0].is_nan());
        assert!(bands(&[], 0.95, Some(&HOW), &InTurn).mean.is_empty());
    }

    /// At one node the band is nearly Student's; over many independent nodes it is wider, as of as many questions at once.
    #[test]
    fn many_nodes_are_many_questions() {
        let mut chance = Chance::new(5, 0);
        let mut value = || (0..12).map(|_| chance.below(1 << 20) as f64).sum::<f64>();
        let rows: Vec<Vec<f64>> = (0..60).map(|_| (0..20).map(|_| value()).collect()).collect();
        let one: Vec<Vec<f64>> = rows.iter().map(|r| r[..1].to_vec()).collect();
        let factor = |rows: &[Vec<f64>]| {
            let found = bands(rows, 0.95, Some(&HOW), &InTurn);
            found.of_whole[0] / found.deviation[0] * 60_f64.sqrt()
        };
        let (single, all) = (factor(&one), factor(&rows));
        assert!((single - student::quantile(0.975, 59.0)).abs() < 0.25, "{single}");
        // Šidák: 1 − 0.95^(1/20) to both sides.
        let wanted = student::quantile(1.0 - 0.5 * 0.002_561_4, 59.0);
        assert!((all - wanted).abs() < 0.25, "{all} {wanted}");
    }

    #[test]
    fn too_few_tell_nothing_of_the_whole() {
        let rows: Vec<Vec<f64>> = (0..6).map(|k| vec![f64::from(k), f64::from(k * k)]).collect();
        let found = |n: usize| bands(&rows[..n], 0.95, Some(&HOW), &InTurn);
        assert!(found(5).of_whole[0].is_nan() && found(5).of_mean[0].is_finite());
        assert!(found(6).of_whole[0] >= found(6).of_mean[0]);
    }

    #[test]
    fn units_are_averaged_first() {
        let rows = [vec![1.0, 1.0], vec![10.0, f64::NAN], vec![3.0, 5.0]];
        assert_eq!(averaged(&rows[..1], &[4]), [(4, vec![1.0, 1.0])]);
        let found = averaged(&rows, &[2, 0, 2]);
        assert_eq!(found[0], (2, vec![2.0, 3.0]));
        assert!(found[1].0 == 0 && found[1].1[0] == 10.0 && found[1].1[1].is_nan());
    }
}
