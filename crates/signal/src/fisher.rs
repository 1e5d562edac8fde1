//! Fisher's F distribution: ratios of two variances.
use crate::beta::share_below;

/// Share of F with `above` and `below` degrees of freedom that is greater than `f`.
///
/// Unit: 1. Degrees need not be whole. Undefined: NaN where f is NaN or the degrees are not positive; 1 for f ≤ 0.
/// Source: the incomplete beta function (definition). Checked: refs/student.toml (t² is F with one degree above), ICC tables.
#[must_use]
pub fn upper_tail(f: f64, above: f64, below: f64) -> f64 {
    if f.is_nan() || !(above > 0.0 && below > 0.0) {
        return f64::NAN;
    }
    if f <= 0.0 {
        return 1.0;
    }
    let ratio = above * f / below;
    let (x, y) = if ratio.is_infinite() { (0.0, 1.0) } else { (1.0 / (1.0 + ratio), ratio / (1.0 + ratio)) };
    share_below(0.5 * below, 0.5 * above, x, y)
}

/// Quantile of F: the value that a share `p` lies below.
///
/// Unit: 1. Undefined: NaN where p is not inside 0..1 or the degrees are not positive. Source: [`upper_tail`], inverted by halving.
#[must_use]
pub fn quantile(p: f64, above: f64, below: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && above > 0.0 && below > 0.0) {
        return f64::NAN;
    }
    let (mut low, mut high) = (0.0, 1.0);
    while upper_tail(high, above, below) > 1.0 - p && high < 1e300 {
        (low, high) = (high, high * 2.0);
    }
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return middle;
        }
        if upper_tail(middle, above, below) > 1.0 - p { low = middle } else { high = middle }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::student;

    /// The square of t is F with one degree above; F of the reciprocal changes the degrees.
    #[test]
    fn identities() {
        for degrees in [1.0, 4.785_144, 18.0, 300.0] {
            for t in [0.1, 1.0, 2.5, 7.0] {
                let both = 2.0 * student::upper_tail(t, degrees);
                assert!((upper_tail(t * t, 1.0, degrees) - both).abs() < 1e-12, "{degrees} {t}");
            }
            let (a, b) = (quantile(0.95, 5.0, degrees), 1.0 / quantile(0.05, degrees, 5.0));
            assert!((a / b - 1.0).abs() < 1e-10, "{degrees}: {a} {b}");
        }
        assert!(quantile(0.0, 1.0, 1.0).is_nan() && upper_tail(f64::NAN, 1.0, 1.0).is_nan());
        assert_eq!((upper_tail(0.0, 2.0, 3.0), upper_tail(f64::INFINITY, 2.0, 3.0)), (1.0, 0.0));
    }

    /// Shrout & Fleiss 1979: F = 1.794678 (5, 18), p 0.164769; 11.027248 (5, 15), p 0.000135.
    #[test]
    fn a_published_table() {
        assert!((upper_tail(1.794_678, 5.0, 18.0) - 0.164_769).abs() < 1e-6);
        assert!((upper_tail(11.027_248, 5.0, 15.0) - 0.000_135).abs() < 1e-6);
    }
}
