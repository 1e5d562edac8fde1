//! Between subjects: one pair of means a subject.
use super::{Correlation, correlation, defined, rank_correlation};
use crate::bootstrap::{Bootstrap, bca};
use crate::interval::Interval;
use crate::permutation::{Permutation, Permuted};
use crate::work::Spread;
use signal::{line, student};

/// How two quantities go together from subject to subject.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Between {
    /// Subjects.
    pub subjects: usize,
    /// Along a line (Pearson).
    pub linear: Correlation,
    /// In order (Spearman).
    pub rank: Correlation,
    /// How the probability of the order was found.
    pub permuted: Permuted,
    /// Rise of y for each unit of x, with its interval by Student's t.
    pub slope: Interval,
    /// Standard error of the slope.
    pub slope_error: f64,
    /// y at x = 0.
    pub intercept: f64,
    /// The slope with an interval from drawing subjects again.
    pub slope_again: Interval,
}

/// Means of subjects with at least one whole pair: x and y.
pub fn means(subjects: &[Vec<(f64, f64)>]) -> Vec<(f64, f64)> {
    subjects
        .iter()
        .map(|s| defined(s))
        .filter(|s| !s.is_empty())
        .map(|s| {
            let n = s.len() as f64;
            (s.iter().map(|p| p.0).sum::<f64>() / n, s.iter().map(|p| p.1).sum::<f64>() / n)
        })
        .collect()
}

/// Subjects' means against one another; every subject counts once, however many pairs it has.
///
/// Shape: pairs (x, y) of each subject; pairs of which one is not defined are left out. Undefined: `None` with fewer than four
/// subjects or where one quantity does not vary. Source: line of least squares; Fisher1921; Spearman1904; slope again: the
/// bootstrap of subjects (Efron1987), resamples with a single x left out. Checked: scipy's linregress, pearsonr, spearmanr.
pub fn between(
    subjects: &[Vec<(f64, f64)>],
    how: &Bootstrap,
    permutation: &Permutation,
    spread: &impl Spread,
) -> Option<Between> {
    let means = means(subjects);
    let n = means.len();
    if n < 4 {
        return None;
    }
    let fitted = line::fit(means.iter().copied())?;
    let (rank, permuted) = rank_correlation(&means, how.level, permutation, spread)?;
    let (x, y): (Vec<f64>, Vec<f64>) = means.iter().copied().unzip();
    let degrees = n as f64 - 2.0;
    let t = student::quantile(0.5 * (1.0 + how.level), degrees);
    let again = bca(&[n], how, spread, |drawn| {
        let chosen = drawn.first().map_or(&[][..], Vec::as_slice);
        line::fit(chosen.iter().filter_map(|k| means.get(*k).copied())).map_or(f64::NAN, |l| l.slope)
    });
    Some(Between {
        subjects: n,
        linear: correlation(signal::stats::correlation(&x, &y), degrees, how.level),
        rank,
        permuted,
        slope: Interval::around(fitted.slope, t * fitted.slope_error),
        slope_error: fitted.slope_error,
        intercept: fitted.intercept,
        slope_again: again.interval,
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use crate::work::InTurn;

    const HOW: Bootstrap = Bootstrap { resamples: 2000, seed: 1, level: 0.95 };
    const ALL: Permutation = Permutation { most: 5000, seed: 1 };

    /// scipy 1.17.1, linregress of the same ten pairs: slope 0.79545455, its error 0.14060635, intercept 1.22272727.
    #[test]
    fn means_of_subjects_on_a_line() {
        let pairs = [
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
        // Each subject has its pair spread over several that have this mean, and one that is not whole.
        let subjects: Vec<Vec<(f64, f64)>> = pairs
            .iter()
            .enumerate()
            .map(|(k, (x, y))| {
                let mut own = vec![(*x, *y); 1 + k % 3];
                own.extend([(x - 1.0, y + 2.0), (x + 1.0, y - 2.0), (f64::NAN, 5.0)]);
                own
            })
            .collect();
        let found = between(&subjects, &HOW, &ALL, &InTurn).unwrap();
        assert_eq!(found.subjects, 10);
        assert!(
            (found.slope.value - 0.795_454_55).abs() < 1e-8 && (found.intercept - 1.222_727_27).abs() < 1e-8
        );
        assert!((found.slope_error - 0.140_606_35).abs() < 1e-8);
        assert!((found.slope.high - found.slope.value - 2.306_004_1 * 0.140_606_35).abs() < 1e-7);
        assert!((found.linear.r.value - 0.894_441_79).abs() < 1e-8 && found.linear.degrees == 8.0);
        assert!(found.slope_again.low > 0.4 && found.slope_again.high < 1.2, "{:?}", found.slope_again);
        assert_eq!(found.slope_again.value, found.slope.value);
    }

    #[test]
    fn too_little_to_compare() {
        let few: Vec<Vec<(f64, f64)>> = (0..3).map(|k| vec![(f64::from(k), f64::from(k * k))]).collect();
        assert!(between(&few, &HOW, &ALL, &InTurn).is_none());
        let level: Vec<Vec<(f64, f64)>> = (0..6).map(|k| vec![(1.0, f64::from(k))]).collect();
        assert!(between(&level, &HOW, &ALL, &InTurn).is_none());
    }
}
