//! By how much one column is later than another.

/// How two columns lie to each other in time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lag {
    /// By how many samples the second column is later than the first; between samples, negative where earlier.
    pub samples: f64,
    /// Standard error of that, samples.
    pub standard_error: f64,
    /// Correlation at that lag.
    pub correlation: f64,
}

/// The lag, within ± `most` samples, at which two columns correlate best.
///
/// Shape: one value per frame each; the longer column's rest is ignored. Unit: samples. A pair with a value not finite is
/// left out. The same samples of `a`, those at least `most` from both ends, are compared at each lag. Between samples the top
/// of a parabola is taken, fitted to the correlations on both sides of the best as far as they reach 0.9 of it (the two
/// neighbours at least), so the columns should be smooth from sample to sample (content below a tenth of the rate). Turn a column that runs against the other before.
/// `None`: the columns are too short for `most`, do not vary, do not correlate positively, or correlate best
/// at an end of the search, where a better lag may lie outside.
/// Source: maximum of the cross-correlation is common practice, no source; its standard error is that of a
/// least-squares shift, var = (1 − r²)/(r·(n − 3)·(−r″)), which takes what differs between the columns as independent from
/// sample to sample: filtered noise makes the error larger than stated. Checked: the scatter of 500 seeded trials.
#[must_use]
pub fn lag(a: &[f64], b: &[f64], most: usize) -> Option<Lag> {
    let n = a.len().min(b.len());
    let compared = n.checked_sub(most.checked_mul(2)?).filter(|&c| c >= 4)?;
    let middle = a.get(most..most + compared)?;
    let correlations: Vec<f64> =
        (0..=2 * most).map(|shift| correlation(middle, b.get(shift..).unwrap_or_default()).1).collect();
    let better = |best: usize, i: usize| if correlations[i] > correlations[best] { i } else { best };
    let start = correlations.iter().position(|r| !r.is_nan())?;
    let best = (start..correlations.len()).fold(start, better);
    let top = *correlations.get(best)?;
    let room = best.min(2 * most - best);
    let near =
        |width: &usize| correlations[best - width] >= NEAR * top && correlations[best + width] >= NEAR * top;
    let width = (1..=room).take_while(near).last().unwrap_or(1);
    let around = correlations.get(best.checked_sub(width)?..=best + width)?;
    let (level, rise, curve) = parabola(around);
    let pairs = correlation(middle, b.get(best..)?).0;
    if !(curve < 0.0 && top > 0.0) || pairs < 4 {
        return None;
    }
    let part = (-rise / curve).clamp(-(width as f64), width as f64);
    // A wide parabola cuts the top off; the best whole lag is reached at least.
    let r = (level + rise * part / 2.0).max(top).min(1.0);
    let variance = (1.0 - r * r) / (r * (pairs - 3) as f64 * -curve);
    Some(Lag { samples: best as f64 - most as f64 + part, standard_error: variance.sqrt(), correlation: r })
}

/// Lags belong to the maximum as far as both sides correlate at least this share of the best.
const NEAR: f64 = 0.9;

/// Level, first and second derivative at the middle of the least-squares parabola through an odd number of values.
/// The powers of the place are made orthogonal by symmetry: only level and curve know of each other.
fn parabola(values: &[f64]) -> (f64, f64, f64) {
    let half = (values.len() / 2) as f64;
    let places = || values.iter().enumerate().map(|(i, &v)| (i as f64 - half, v));
    let (n, s2, s4) =
        places().fold((0.0, 0.0, 0.0), |(n, s2, s4), (x, _)| (n + 1.0, s2 + x * x, s4 + x * x * x * x));
    let (v0, v1, v2) =
        places().fold((0.0, 0.0, 0.0), |(v0, v1, v2), (x, v)| (v0 + v, v1 + x * v, v2 + x * x * v));
    let determinant = n * s4 - s2 * s2;
    let square = (n * v2 - s2 * v0) / determinant;
    ((s4 * v0 - s2 * v2) / determinant, v1 / s2, 2.0 * square)
}

/// How many pairs are finite, and their correlation.
fn correlation(a: &[f64], b: &[f64]) -> (usize, f64) {
    let pairs = || a.iter().zip(b).filter(|(x, y)| x.is_finite() && y.is_finite());
    let (count, sum_a, sum_b) = pairs().fold((0, 0.0, 0.0), |(n, s, t), (x, y)| (n + 1, s + x, t + y));
    let (mean_a, mean_b) = (sum_a / count as f64, sum_b / count as f64);
    let (aa, bb, ab) = pairs().fold((0.0, 0.0, 0.0), |(aa, bb, ab), (x, y)| {
        let (u, v) = (x - mean_a, y - mean_b);
        (aa + u * u, bb + v * v, ab + u * v)
    });
    (count, ab / (aa.sqrt() * bb.sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{math, stats};

    fn bump(place: f64) -> f64 {
        700.0 + 300.0 * math::exp(-(place - 200.0) * (place - 200.0) / 800.0)
    }

    #[test]
    fn parts_of_a_sample_and_sign() {
        let a: Vec<f64> = (0..400).map(|i| bump(f64::from(i))).collect();
        for late in [-7.3, -0.5, 0.0, 0.25, 4.0, 11.9] {
            let mut b: Vec<f64> = (0..450).map(|i| 0.2 * bump(f64::from(i) - late) - 5.0).collect();
            b[90..95].fill(f64::NAN);
            let found = lag(&a, &b, 20).unwrap();
            assert!((found.samples - late).abs() < 0.01, "{late}: {found:?}");
            assert!(found.standard_error < 0.04 && found.correlation > 0.9995, "{found:?}");
        }
    }

    /// The stated error is the scatter of the answers, noise in both columns.
    #[test]
    fn error_is_the_scatter() {
        let mut s = 3_u64;
        let mut draw = || {
            s = s.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (s >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
        };
        let (mut lags, mut stated) = (Vec::new(), 0.0);
        for _ in 0..500 {
            let mut noisy = |late: f64| -> Vec<f64> {
                (0..400).map(|i| bump(f64::from(i) - late) + 60.0 * draw()).collect()
            };
            let (a, b) = (noisy(0.0), noisy(2.4));
            let found = lag(&a, &b, 10).unwrap();
            lags.push(found.samples);
            stated += found.standard_error / 500.0;
        }
        let scatter = stats::standard_deviation(&lags);
        assert!((scatter / stated - 1.0).abs() < 0.1, "scatter {scatter}, stated {stated}");
        assert!((stats::mean(&lags) - 2.4).abs() < 0.05, "{}", stats::mean(&lags));
    }

    #[test]
    fn no_answer() {
        let a: Vec<f64> = (0..100).map(|i| bump(2.0 * f64::from(i))).collect();
        assert_eq!(lag(&a, &a, 49), None);
        assert_eq!(lag(&a, &a, usize::MAX), None);
        assert_eq!(lag(&a, &a, 0), None);
        assert_eq!(lag(&[1.0; 50], &a, 5), None);
        assert_eq!(lag(&[f64::NAN; 50], &a, 5), None);
        // Twenty samples late, ten searched.
        assert_eq!(lag(&a[20..], &a, 10), None);
        assert_eq!(lag(&[], &[], 0), None);
    }
}
