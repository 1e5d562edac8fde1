//! Plain statistics of a column.
//!
//! One rule for all: NaN is *not defined* and is left out; where too few values are left the answer is NaN.
//! Infinite values are values, and make of a mean what arithmetic makes of them. Sums run in index order.
use std::cmp::Ordering;

/// How many values are defined (not NaN).
#[must_use]
pub fn count(x: &[f64]) -> usize {
    x.iter().filter(|v| !v.is_nan()).count()
}

/// Arithmetic mean of the defined values.
///
/// Unit: that of the column. Undefined: NaN where no value is defined. Source: definition.
#[must_use]
pub fn mean(x: &[f64]) -> f64 {
    x.iter().filter(|v| !v.is_nan()).sum::<f64>() / count(x) as f64
}

/// Sample variance of the defined values (divisor n − 1), in two passes, so that a large mean costs no digits.
///
/// Unit: that of the column, squared. Undefined: NaN where fewer than two values are defined. Source: definition.
#[must_use]
pub fn variance(x: &[f64]) -> f64 {
    let n = count(x);
    if n < 2 {
        return f64::NAN;
    }
    let m = mean(x);
    x.iter().filter(|v| !v.is_nan()).map(|v| (v - m) * (v - m)).sum::<f64>() / (n - 1) as f64
}

/// Sample standard deviation: the square root of [`variance`], undefined where that is.
///
/// Unit: that of the column. Source: definition.
#[must_use]
pub fn standard_deviation(x: &[f64]) -> f64 {
    variance(x).sqrt()
}

/// Root mean square of the defined values.
///
/// Unit: that of the column. Undefined: NaN where no value is defined. Source: definition.
#[must_use]
pub fn root_mean_square(x: &[f64]) -> f64 {
    (x.iter().filter(|v| !v.is_nan()).map(|v| v * v).sum::<f64>() / count(x) as f64).sqrt()
}

/// Least and greatest of the defined values; `None` where there are none.
#[must_use]
pub fn extent(x: &[f64]) -> Option<(f64, f64)> {
    // A NaN passes neither comparison.
    let wider =
        |(low, high): (f64, f64), &v: &f64| (if v < low { v } else { low }, if v > high { v } else { high });
    let (low, high) = x.iter().fold((f64::INFINITY, f64::NEG_INFINITY), wider);
    (low <= high).then_some((low, high))
}

/// Pearson's correlation over the places where both columns are defined.
///
/// Shape: pairs by index; the longer column's rest is ignored. Unit: 1, in −1..=1. Undefined: NaN where fewer than
/// two pairs are defined or a column does not vary over them. Source: definition. Checked: law-school data of
/// EfronTibshirani1993.
#[must_use]
pub fn correlation(x: &[f64], y: &[f64]) -> f64 {
    let pairs = || x.iter().zip(y).filter(|(a, b)| !a.is_nan() && !b.is_nan());
    let n = pairs().count() as f64;
    let (sx, sy) = pairs().fold((0.0, 0.0), |(sx, sy), (a, b)| (sx + a, sy + b));
    let (mx, my) = (sx / n, sy / n);
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for (a, b) in pairs() {
        let (u, v) = (a - mx, b - my);
        xx += u * u;
        yy += v * v;
        xy += u * v;
    }
    // 0/0, a column that does not vary, is NaN as it should be; rounding may pass ±1 by a hair.
    (xy / (xx.sqrt() * yy.sqrt())).clamp(-1.0, 1.0)
}

/// Median of the defined values. As [`quantile`] at ½.
#[must_use]
pub fn median(x: &[f64], scratch: &mut Vec<f64>) -> f64 {
    quantile(x, 0.5, scratch)
}

/// Quantile of the defined values, linear between order statistics: the value at place q·(n − 1), from 0.
///
/// `scratch` is overwritten; nothing is allocated once it has grown to the column's length.
/// Unit: that of the column. Undefined: NaN where no value is defined or q is not in 0..=1.
/// Source: HyndmanFan1996, definition 7. Checked: a worked example in the tests.
#[must_use]
pub fn quantile(x: &[f64], q: f64, scratch: &mut Vec<f64>) -> f64 {
    scratch.clear();
    scratch.extend(x.iter().filter(|v| !v.is_nan()));
    if scratch.is_empty() || !(0.0..=1.0).contains(&q) {
        return f64::NAN;
    }
    let place = q * (scratch.len() - 1) as f64;
    let below = place as usize;
    let part = place - below as f64;
    // Nothing is NaN here, so that a plain comparison is an order; it takes half the time of the total one.
    let order = |a: &f64, b: &f64| a.partial_cmp(b).unwrap_or(Ordering::Equal);
    let (_, &mut low, above) = scratch.select_nth_unstable_by(below, order);
    if part == 0.0 {
        return low;
    }
    let next = above.iter().fold(f64::INFINITY, |least, &v| if v < least { v } else { least });
    low + part * (next - low)
}

#[cfg(test)]
mod tests {
    use super::*;

    const GAP: f64 = f64::NAN;

    /// Efron & Tibshirani's law-school data: r = 0.776374491 (data typed from memory; they give the published r).
    const LSAT: [f64; 15] =
        [576., 635., 558., 578., 666., 580., 555., 661., 651., 605., 653., 575., 545., 572., 594.];
    const GPA: [f64; 15] =
        [3.39, 3.30, 2.81, 3.03, 3.44, 3.07, 3.00, 3.43, 3.36, 3.13, 3.12, 2.74, 2.76, 2.88, 2.96];

    #[test]
    fn law_school_correlation() {
        assert!((correlation(&LSAT, &GPA) - 0.776_374_491).abs() < 5e-10);
        let (mut x, mut y) = (LSAT.to_vec(), GPA.to_vec());
        x.insert(3, GAP);
        y.insert(3, 100.0);
        x.push(1.0);
        y.push(GAP);
        assert!((correlation(&x, &y) - 0.776_374_491).abs() < 5e-10);
        assert!((correlation(&x, &x) - 1.0).abs() < 1e-15);
    }

    /// Weir's data set A, second trial: mean 153.25, standard deviation 32.888 (data from memory).
    #[test]
    fn weir_mean_and_deviation() {
        let x = [140.0, GAP, 152.0, 152.0, 99.0, 145.0, 153.0, 167.0, 218.0];
        assert_eq!(count(&x), 8);
        assert_eq!(mean(&x), 153.25);
        assert!((standard_deviation(&x) - 32.888).abs() < 5e-4);
        assert!((root_mean_square(&[3.0, GAP, 4.0]) - 12.5_f64.sqrt()).abs() < 1e-15);
    }

    /// A large mean does not eat the variance (the textbook cancellation: exact answer 30).
    #[test]
    fn large_mean_small_spread() {
        assert_eq!(variance(&[1e9 + 4.0, 1e9 + 7.0, 1e9 + 13.0, 1e9 + 16.0]), 30.0);
    }

    /// Definition 7 of Hyndman & Fan by hand: n = 5, place of q = 0.4 is 1.6, so 20 + 0.6·(35 − 20) = 29.
    #[test]
    fn quantiles_by_hand() {
        let x = [50.0, GAP, 15.0, 40.0, 20.0, 35.0];
        let mut s = Vec::new();
        for (q, expected) in [(0.0, 15.0), (0.4, 29.0), (0.5, 35.0), (1.0, 50.0)] {
            assert_eq!(quantile(&x, q, &mut s), expected);
        }
        assert_eq!(median(&[1.0, 2.0, 10.0, 4.0], &mut s), 3.0);
        assert_eq!(quantile(&[1.0, f64::INFINITY], 0.0, &mut s), 1.0);
    }

    #[test]
    fn too_little_is_not_a_number() {
        let mut s = Vec::new();
        for x in [&[][..], &[GAP][..], &[GAP, GAP][..]] {
            assert!(mean(x).is_nan() && variance(x).is_nan() && root_mean_square(x).is_nan());
            assert!(median(x, &mut s).is_nan() && correlation(x, x).is_nan());
            assert_eq!(extent(x), None);
        }
        assert!(variance(&[1.0]).is_nan());
        assert!(correlation(&[1.0, 2.0], &[5.0, 5.0]).is_nan());
        assert!(quantile(&[1.0], 1.5, &mut s).is_nan() && quantile(&[1.0], GAP, &mut s).is_nan());
        assert_eq!(extent(&[GAP, 2.0, -1.0]), Some((-1.0, 2.0)));
    }
}
