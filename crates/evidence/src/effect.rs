//! How large a difference is beside the scatter: Hedges' g.
use signal::{math, stats};

/// A standardised difference of two groups.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effect {
    /// Difference of means over the pooled standard deviation (Cohen's d).
    pub d: f64,
    /// The same without its bias in small groups (Hedges' g).
    pub g: f64,
    /// Degrees of freedom.
    pub degrees: f64,
}

/// Standardised difference, first less second; values that are not defined are left out.
///
/// Unit: 1. Undefined: NaN where a group has fewer than two values or nothing varies. Source: Hedges1981, with his exact
/// factor Γ(m/2)/(√(m/2)·Γ((m−1)/2)). Checked: a worked example.
pub fn effect(first: &[f64], second: &[f64]) -> Effect {
    let (n, m) = (stats::count(first) as f64, stats::count(second) as f64);
    let degrees = n + m - 2.0;
    let pooled = ((n - 1.0) * stats::variance(first) + (m - 1.0) * stats::variance(second)) / degrees;
    let d = (stats::mean(first) - stats::mean(second)) / pooled.sqrt();
    let d = if d.is_finite() { d } else { f64::NAN };
    Effect { d, g: d * unbiased(degrees), degrees }
}

/// Hedges' factor, exact.
pub fn unbiased(degrees: f64) -> f64 {
    let half = 0.5 * degrees;
    math::exp(math::ln_gamma(half) - math::ln_gamma(half - 0.5)) / half.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exact factors (gamma function), and two groups of eight: d 1.573992, g 1.487875.
    #[test]
    fn worked_values() {
        for (degrees, expected) in
            [(4.0, 0.797_884_6), (8.0, 0.902_703_3), (18.0, 0.957_646_4), (50.0, 0.984_911_9)]
        {
            assert!((unbiased(degrees) - expected).abs() < 1e-7, "{degrees}");
        }
        let found =
            effect(&[10., 12., 9., 11., 14., 13., 10., 12.], &[8., 9., 11., 7., 10., 9., 8., 10., f64::NAN]);
        assert!((found.d - 1.573_992).abs() < 1e-6 && (found.g - 1.487_875).abs() < 1e-6, "{found:?}");
        assert!(effect(&[1.0, 1.0], &[2.0, 2.0]).d.is_nan(), "nothing varies");
    }
}
