//! Within subjects: what is left when every occasion is moved to its own mean.
use super::{Correlation, correlation, defined};
use crate::bootstrap::{Bootstrap, bca};
use crate::interval::Interval;
use crate::work::Spread;
use signal::student;

/// How two quantities go together from repeat to repeat of a subject.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Within {
    /// Subjects with at least two whole pairs on an occasion.
    pub subjects: usize,
    /// Occasions with at least two whole pairs.
    pub occasions: usize,
    /// Pairs on them.
    pub pairs: usize,
    /// The repeated-measures correlation.
    pub linear: Correlation,
    /// Rise of y for each unit of x: of several subjects on the whole, with the interval of subjects left out in turn, which
    /// minds that they may follow slopes of their own; of one subject by Student's t over pairs.
    pub slope: Interval,
    /// Standard error of the slope.
    pub slope_error: f64,
    /// Degrees of freedom of the slope: subjects less 1, or with one subject those of pairs.
    pub degrees: f64,
    /// Probability of a slope as steep, to either side: of subjects where there are several.
    pub p: f64,
    /// The slope as if all subjects followed the same one, its interval by Student's t over pairs.
    pub slope_of_pairs: Interval,
    /// Subjects whose own line rises, and all that have one.
    pub rising: (usize, usize),
    /// The slope with an interval from drawing subjects again; NaN with fewer than four.
    pub slope_again: Interval,
}

/// Sums of squares and products about the means of occasions.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    xx: f64,
    yy: f64,
    xy: f64,
    pairs: usize,
    occasions: usize,
}

impl Sums {
    fn of(occasions: &[Vec<(f64, f64)>]) -> Self {
        let mut sums = Self::default();
        for occasion in occasions {
            let there = defined(occasion);
            if there.len() < 2 {
                continue;
            }
            let n = there.len() as f64;
            let (mx, my) =
                (there.iter().map(|p| p.0).sum::<f64>() / n, there.iter().map(|p| p.1).sum::<f64>() / n);
            for (x, y) in &there {
                let (u, v) = (x - mx, y - my);
                sums.xx += u * u;
                sums.yy += v * v;
                sums.xy += u * v;
            }
            sums.pairs += there.len();
            sums.occasions += 1;
        }
        sums
    }
    fn add(self, other: Self) -> Self {
        Self {
            xx: self.xx + other.xx,
            yy: self.yy + other.yy,
            xy: self.xy + other.xy,
            pairs: self.pairs + other.pairs,
            occasions: self.occasions + other.occasions,
        }
    }
    fn slope(self) -> f64 {
        if self.xx > 0.0 { self.xy / self.xx } else { f64::NAN }
    }
}

/// Pairs about the means of their occasions, one slope for all.
///
/// The correlation takes subjects to follow one slope. Where they do not, its probability is too small as a claim about
/// subjects: `p` and `slope` count subjects instead.
///
/// Shape: subjects of occasions of pairs (x, y); pairs of which one is not defined are left out. Where a subject's occasions are
/// put together as one, what changes from occasion to occasion is part of it.
/// Undefined: `None` with fewer than two degrees of freedom (pairs less occasions less 1) or where one quantity does not vary.
/// Source: BlandAltman1995, BakdashMarusich2017 (the analysis of covariance with subjects as levels); subjects left out in turn:
/// Tukey1958. Checked: the data of BlandAltman1995; pingouin's rm_corr; tests/relate_coverage.rs.
pub fn within(subjects: &[Vec<Vec<(f64, f64)>>], how: &Bootstrap, spread: &impl Spread) -> Option<Within> {
    let own: Vec<Sums> = subjects.iter().map(|s| Sums::of(s)).filter(|s| s.occasions > 0).collect();
    let all = own.iter().copied().fold(Sums::default(), Sums::add);
    let degrees = all.pairs as f64 - all.occasions as f64 - 1.0;
    if degrees < 2.0 || !(all.xx > 0.0 && all.yy > 0.0) {
        return None;
    }
    let slope = all.slope();
    let rest = (all.yy - slope * all.xy).max(0.0);
    let of_pairs = (rest / degrees / all.xx).sqrt();
    let r = (all.xy / (all.xx.sqrt() * all.yy.sqrt())).clamp(-1.0, 1.0);
    let slopes: Vec<f64> = own.iter().map(|s| s.slope()).filter(|s| !s.is_nan()).collect();
    let again = if own.len() < 4 {
        Interval { value: slope, ..Interval::NONE }
    } else {
        bca(&[own.len()], how, spread, |drawn| {
            let chosen = drawn.first().map_or(&[][..], Vec::as_slice);
            chosen.iter().filter_map(|k| own.get(*k).copied()).fold(Sums::default(), Sums::add).slope()
        })
        .interval
    };
    let half = |degrees: f64, error: f64| student::quantile(0.5 * (1.0 + how.level), degrees) * error;
    let slope_of_pairs = Interval::around(slope, half(degrees, of_pairs));
    let (slope_error, slope_degrees) = if own.len() > 1 { left_out(&own, all) } else { (of_pairs, degrees) };
    Some(Within {
        subjects: own.len(),
        occasions: all.occasions,
        pairs: all.pairs,
        linear: correlation(r, degrees, how.level),
        slope: Interval::around(slope, half(slope_degrees, slope_error)),
        slope_error,
        degrees: slope_degrees,
        p: 2.0 * student::upper_tail((slope / slope_error).abs(), slope_degrees),
        slope_of_pairs,
        rising: (slopes.iter().filter(|s| **s > 0.0).count(), slopes.len()),
        slope_again: again,
    })
}

/// Standard error of the slope from leaving out one subject at a time, with its degrees of freedom.
fn left_out(own: &[Sums], all: Sums) -> (f64, f64) {
    let n = own.len() as f64;
    let slope = all.slope();
    let squares: f64 = own
        .iter()
        .map(|s| {
            let without = (all.xy - s.xy) / (all.xx - s.xx);
            (without - slope) * (without - slope)
        })
        .sum();
    ((squares * (n - 1.0) / n).sqrt(), n - 1.0)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;
    use crate::work::InTurn;

    const HOW: Bootstrap = Bootstrap { resamples: 2000, seed: 1, level: 0.95 };

    /// Bland & Altman 1995, BMJ 310:446: pH and PaCO2 of eight subjects, as the package pingouin carries them.
    fn published() -> Vec<Vec<(f64, f64)>> {
        let of: [&[(f64, f64)]; 8] = [
            &[(6.68, 3.97), (6.53, 4.12), (6.43, 4.09), (6.33, 3.97)],
            &[(6.85, 5.27), (7.06, 5.37), (7.13, 5.41), (7.17, 5.44)],
            &[
                (7.4, 5.67),
                (7.42, 3.64),
                (7.41, 4.32),
                (7.37, 4.73),
                (7.34, 4.96),
                (7.35, 5.04),
                (7.28, 5.22),
                (7.3, 4.82),
                (7.34, 5.07),
            ],
            &[(7.36, 5.67), (7.33, 5.1), (7.29, 5.53), (7.3, 4.75), (7.35, 5.51)],
            &[
                (7.35, 4.28),
                (7.3, 4.44),
                (7.3, 4.32),
                (7.37, 3.23),
                (7.27, 4.46),
                (7.28, 4.72),
                (7.32, 4.75),
                (7.32, 4.99),
            ],
            &[(7.38, 4.78), (7.3, 4.73), (7.29, 5.12), (7.33, 4.93), (7.31, 5.03), (7.33, 4.93)],
            &[(6.86, 6.85), (6.94, 6.44), (6.92, 6.52)],
            &[
                (7.19, 5.28),
                (7.29, 4.56),
                (7.21, 4.34),
                (7.25, 4.32),
                (7.2, 4.41),
                (7.19, 3.69),
                (6.77, 6.09),
                (6.82, 5.58),
            ],
        ];
        of.iter().map(|s| s.to_vec()).collect()
    }

    /// The paper: r = −0.51, P = 0.0008. pingouin 0.7.0, rm_corr: −0.50676974, 38 degrees, p 8.4710811e-4, −0.71 to −0.23.
    /// statsmodels 0.15.0, `ols("y ~ x + C(subject)")`: slope −2.3708304, −3.6952981 to −1.0463626.
    #[test]
    fn the_published_example() {
        let subjects: Vec<Vec<Vec<(f64, f64)>>> = published().into_iter().map(|s| vec![s]).collect();
        let found = within(&subjects, &HOW, &InTurn).unwrap();
        assert_eq!((found.subjects, found.occasions, found.pairs), (8, 8, 47));
        assert!((found.linear.r.value + 0.506_769_742).abs() < 1e-9 && found.linear.degrees == 38.0);
        assert!((found.linear.p - 8.471_081_1e-4).abs() < 1e-10);
        assert!((found.linear.r.low + 0.71).abs() < 5e-3 && (found.linear.r.high + 0.23).abs() < 5e-3);
        assert!((found.slope.value + 2.370_830_4).abs() < 1e-7);
        let of_pairs = found.slope_of_pairs;
        assert!((of_pairs.low + 3.695_298_1).abs() < 1e-6 && (of_pairs.high + 1.046_362_6).abs() < 1e-6);
        // Eight subjects of whom two rise are no such sure thing as 47 pairs.
        assert!(found.degrees == 7.0 && found.p > found.linear.p && found.slope.low < of_pairs.low);
        assert_eq!(found.rising, (2, 8), "the lines of the second and the fourth rise");
        assert!(found.slope_again.low < -2.4 && found.slope_again.high > -2.4);
    }

    /// A subject's two occasions as one: what changes between them is part of it; apart it is not.
    #[test]
    fn occasions_apart_or_together() {
        let occasion =
            |shift: f64| vec![(shift, shift), (shift + 1.0, shift - 1.0), (shift + 2.0, shift - 2.0)];
        let apart = within(&[vec![occasion(0.0), occasion(50.0)]], &HOW, &InTurn).unwrap();
        assert!((apart.slope.value + 1.0).abs() < 1e-12 && apart.slope_again.low.is_nan());
        let together = within(&[vec![[occasion(0.0), occasion(50.0)].concat()]], &HOW, &InTurn).unwrap();
        assert!(together.slope.value > 0.9);
        assert!(within(&[vec![occasion(0.0)]], &HOW, &InTurn).is_none(), "one degree of freedom");
        assert!(within(&[vec![vec![(1.0, 2.0); 9]]], &HOW, &InTurn).is_none(), "nothing varies");
    }
}
