//! Whether two quantities go together: between subjects, and within them. The two need not agree, and are never mixed.
//!
//! Repeats of a subject are no further subjects: [`between`] looks at one pair of means a subject, [`within`] at what is left when
//! every subject (or occasion) is moved to its own mean.
mod between;
mod rank;
mod within;

pub use between::{Between, between};
pub use rank::{rank_correlation, ranks};
pub use within::{Within, within};

use crate::interval::Interval;
use signal::{math, student};

/// A correlation with its interval and the probability of one as large by chance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Correlation {
    /// The coefficient, −1..=1.
    pub r: Interval,
    /// To either side.
    pub p: f64,
    /// Degrees of freedom: pairs less 2, or what corresponds to it.
    pub degrees: f64,
}

/// A correlation of the product of moments, known with `degrees` of freedom.
///
/// Unit: 1. Undefined: interval NaN with fewer than two degrees, probability with none. Source: Fisher1921 (artanh r is nearly normal
/// with variance 1/(degrees − 1)); t = r·√(degrees/(1 − r²)). Checked: scipy.stats.pearsonr.
pub fn correlation(r: f64, degrees: f64, level: f64) -> Correlation {
    let t = r * (degrees / (1.0 - r * r).max(0.0)).sqrt();
    let p = if degrees > 0.0 { 2.0 * student::upper_tail(t.abs(), degrees) } else { f64::NAN };
    Correlation { r: through_z(r, 1.0 / (degrees - 1.0), level), p, degrees }
}

/// Interval of a correlation whose artanh has this variance.
fn through_z(r: f64, variance: f64, level: f64) -> Interval {
    let half = student::quantile(0.5 * (1.0 + level), f64::INFINITY) * variance.sqrt();
    if !(variance > 0.0 && variance.is_finite()) {
        return Interval { value: r, ..Interval::NONE };
    }
    if r.abs() >= 1.0 {
        // Few pairs are easily all in a row: nothing is known of how near to 1 the truth is.
        return Interval { value: r, ..Interval::NONE };
    }
    let z = 0.5 * math::ln((1.0 + r) / (1.0 - r));
    Interval { value: r, low: math::tanh(z - half), high: math::tanh(z + half) }
}

/// How much steeper one line is than another, where both slopes are known from their own scatter.
///
/// Shape: slopes with their standard errors and degrees of freedom. Source: Welch1947 (degrees of freedom of a difference).
pub fn slopes_differ(first: (f64, f64, f64), second: (f64, f64, f64), level: f64) -> Interval {
    let (a, b) = (first.1 * first.1, second.1 * second.1);
    let degrees = (a + b) * (a + b) / (a * a / first.2 + b * b / second.2);
    let half = student::quantile(0.5 * (1.0 + level), degrees) * (a + b).sqrt();
    Interval::around(first.0 - second.0, half)
}

/// Pairs of which both are finite.
fn defined(pairs: &[(f64, f64)]) -> Vec<(f64, f64)> {
    pairs.iter().copied().filter(|(x, y)| x.is_finite() && y.is_finite()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// r 0.894442 of ten pairs: scipy 1.17.1, pearsonr, p 4.773586e-4, interval 0.606213 to 0.974989. Law-school data: r 0.776374,
    /// interval 0.438511 to 0.921965 (facts of EfronTibshirani1993's data).
    #[test]
    fn worked_values() {
        let found = correlation(0.894_441_794_250_461_9, 8.0, 0.95);
        assert!((found.p - 4.773_585_5e-4).abs() < 1e-10, "{found:?}");
        assert!((found.r.low - 0.606_212_7).abs() < 1e-6 && (found.r.high - 0.974_989_2).abs() < 1e-6);
        let law = correlation(0.776_374_491, 13.0, 0.95).r;
        assert!((law.low - 0.438_511).abs() < 1e-6 && (law.high - 0.921_965).abs() < 1e-6, "{law:?}");
    }

    #[test]
    fn too_few_and_too_good() {
        let three = correlation(0.5, 1.0, 0.95);
        assert!(three.r.low.is_nan() && three.r.value == 0.5 && three.p > 0.5);
        let perfect = correlation(1.0, 8.0, 0.95);
        assert_eq!((perfect.r.value, perfect.p), (1.0, 0.0));
        assert!(perfect.r.low.is_nan() && perfect.r.high.is_nan());
        assert!(correlation(f64::NAN, 8.0, 0.95).p.is_nan());
    }

    /// Two slopes with equal errors and degrees: the degrees add up.
    #[test]
    fn a_difference_of_slopes() {
        let found = slopes_differ((3.0, 1.0, 10.0), (1.0, 1.0, 10.0), 0.95);
        let half = student::quantile(0.975, 20.0) * 2.0_f64.sqrt();
        assert!((found.value - 2.0).abs() < 1e-15 && (found.high - 2.0 - half).abs() < 1e-12);
    }
}
