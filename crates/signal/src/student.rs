//! Student's t distribution: how wide an interval must be when the scatter itself is known from few values.

use crate::beta::share_below;
use crate::math;

/// Quantile of Student's t: the value that a share `p` lies below.
///
/// Unit: 1. Degrees of freedom need not be whole; infinite ones give the normal distribution. Undefined: NaN where p is not
/// inside 0..1 or the degrees are not positive. Source: the incomplete beta function ([`share_below`]), and
/// for many degrees Hill1970; inverted by halving. Checked: refs/student.toml (scipy), to 2e-12 of the value.
#[must_use]
pub fn quantile(p: f64, degrees: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && degrees > 0.0) {
        return f64::NAN;
    }
    if p > 0.5 {
        // 1 − p is exact here.
        return -quantile(1.0 - p, degrees);
    }
    if p == 0.5 {
        return 0.0;
    }
    // The lower tail of −t shrinks as t grows.
    let (mut low, mut high) = (0.0, 1.0);
    while upper_tail(high, degrees) > p && high < 1e300 {
        (low, high) = (high, high * 2.0);
    }
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return -middle;
        }
        if upper_tail(middle, degrees) > p { low = middle } else { high = middle }
    }
}

/// Share of Student's t above `t`.
///
/// Unit: 1. Undefined: NaN where t is NaN or the degrees are not positive. Source, checked: as [`quantile`].
#[must_use]
pub fn upper_tail(t: f64, degrees: f64) -> f64 {
    if t.is_nan() || degrees.is_nan() || degrees <= 0.0 {
        return f64::NAN;
    }
    if t < 0.0 {
        return 1.0 - upper_tail(-t, degrees);
    }
    if degrees > MANY {
        return 0.5 * math::erfc(as_normal(t, degrees) / std::f64::consts::SQRT_2);
    }
    // The tail is ½ I_x(ν/2, ½) with x = ν/(ν + t²), y = 1 − x; both from t²/ν, so that neither loses digits.
    let a = 0.5 * degrees;
    let ratio = t * t / degrees;
    let (x, y) = (1.0 / (1.0 + ratio), ratio / (1.0 + ratio));
    if y == 0.0 || x == 0.0 {
        return if x == 0.0 { 0.0 } else { 0.5 };
    }
    0.5 * share_below(a, 0.5, x, y)
}

/// Above so many degrees of freedom the continued fraction loses digits, and the series of [`as_normal`] has them all.
const MANY: f64 = 1000.0;

/// The value of the normal distribution with the same share above it.
fn as_normal(t: f64, degrees: f64) -> f64 {
    if degrees == f64::INFINITY {
        return t;
    }
    let a = degrees - 0.5;
    let b = 48.0 * a * a;
    let w2 = a * math::ln_1p(t * t / degrees);
    let second = w2 * (w2 * (4.0 * w2 + 33.0) + 240.0) + 855.0;
    w2.sqrt() * (1.0 + (w2 + 3.0) / b - second / (10.0 * b * (b + 0.8 * w2 * w2 + 100.0)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// One degree is Cauchy's distribution, two have a closed form.
    #[test]
    fn closed_forms() {
        for p in [0.01, 0.3, 0.5, 0.75, 0.999] {
            let cauchy = math::tan(PI * (p - 0.5));
            assert!((quantile(p, 1.0) - cauchy).abs() < 1e-12 * (1.0 + cauchy.abs()), "{p}");
            let two = (2.0 * p - 1.0) / (2.0 * p * (1.0 - p)).sqrt();
            assert!((quantile(p, 2.0) - two).abs() < 1e-12 * (1.0 + two.abs()), "{p}");
        }
        assert!((quantile(0.975, f64::INFINITY) - 1.959_963_984_540_054).abs() < 1e-14);
    }

    #[test]
    fn outside_is_not_a_number() {
        for (p, degrees) in
            [(0.0, 5.0), (1.0, 5.0), (f64::NAN, 5.0), (0.9, 0.0), (0.9, -1.0), (0.9, f64::NAN)]
        {
            assert!(quantile(p, degrees).is_nan());
        }
        assert!(upper_tail(f64::NAN, 5.0).is_nan());
        assert_eq!((upper_tail(0.0, 5.0), upper_tail(f64::INFINITY, 5.0)), (0.5, 0.0));
        assert_eq!(upper_tail(f64::NEG_INFINITY, 5.0), 1.0);
        assert!(quantile(1e-300, 0.01).is_finite());
    }
}
