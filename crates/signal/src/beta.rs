//! The regularised incomplete beta function, and what follows from it: the tails of Student's t and of Fisher's F.
use crate::math;

/// Iₓ(a, b): the share of the beta distribution with shapes `a`, `b` below `x`. `y` is 1 − x, given apart so that neither loses
/// digits.
///
/// Unit: 1. Undefined: NaN where a shape is not positive or x and y do not lie in 0..=1. Source: continued fraction by Lentz's
/// evaluation, textbook numerics. Checked: refs/student.toml through [`crate::student`], closed forms in the tests.
#[must_use]
pub fn share_below(a: f64, b: f64, x: f64, y: f64) -> f64 {
    if !(a > 0.0 && b > 0.0 && (0.0..=1.0).contains(&x) && (0.0..=1.0).contains(&y)) {
        return f64::NAN;
    }
    if x == 0.0 || y == 0.0 {
        return if x == 0.0 { 0.0 } else { 1.0 };
    }
    let front = math::exp(a * math::ln(x) + b * math::ln(y) - ln_beta(a, b));
    // The fraction converges fast below the distribution's bulk; above it, the other tail's does.
    if x < (a + 1.0) / (a + b + 2.0) {
        front * fraction(a, b, x) / a
    } else {
        1.0 - front * fraction(b, a, y) / b
    }
}

/// ln B(a, b) = ln Γ(a) + ln Γ(b) − ln Γ(a + b).
#[must_use]
pub fn ln_beta(a: f64, b: f64) -> f64 {
    let (small, large) = if a < b { (a, b) } else { (b, a) };
    math::ln_gamma(small) - ln_gamma_step(large, small)
}

/// ln Γ(a + b) − ln Γ(a), b ≤ a.
fn ln_gamma_step(a: f64, b: f64) -> f64 {
    if a < 50.0 {
        return math::ln_gamma(a + b) - math::ln_gamma(a);
    }
    // Stirling's series of the difference: two large logarithms would leave few digits of it.
    let rest = |z: f64| {
        let i = 1.0 / z;
        let i2 = i * i;
        i * (1.0 / 12.0 - i2 * (1.0 / 360.0 - i2 * (1.0 / 1260.0 - i2 / 1680.0)))
    };
    (a - 0.5) * math::ln_1p(b / a) + b * math::ln(a + b) - b + rest(a + b) - rest(a)
}

/// Continued fraction of the incomplete beta function.
fn fraction(a: f64, b: f64, x: f64) -> f64 {
    let kept = |v: f64| if v.abs() < 1e-300 { 1e-300 } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / kept(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    let mut m = 1.0;
    while m < 10_000.0 {
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut change = 1.0;
        for term in [even, odd] {
            d = 1.0 / kept(1.0 + term * d);
            c = kept(1.0 + term / c);
            change = c * d;
            value *= change;
        }
        if (change - 1.0).abs() < 1e-16 {
            break;
        }
        m += 1.0;
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    /// I is x to the a for b = 1, and 1 − (1 − x) to the b for a = 1.
    #[test]
    fn closed_forms() {
        for x in [1e-6, 0.1, 0.5, 0.9, 0.999] {
            for shape in [0.5, 1.0, 3.0, 60.0, 400.0] {
                let power = |base: f64| math::exp(shape * math::ln(base));
                let (one, other) = (share_below(shape, 1.0, x, 1.0 - x), share_below(1.0, shape, x, 1.0 - x));
                assert!((one - power(x)).abs() < 1e-12 * (1.0 + one), "{shape} {x}: {one}");
                assert!((other - (1.0 - power(1.0 - x))).abs() < 1e-12, "{shape} {x}: {other}");
            }
        }
        assert!((ln_beta(2.0, 3.0) - math::ln(1.0 / 12.0)).abs() < 1e-15);
        assert!((ln_beta(60.0, 1.0) + math::ln(60.0)).abs() < 1e-12);
        assert!(share_below(0.0, 1.0, 0.5, 0.5).is_nan() && share_below(1.0, 1.0, 1.5, -0.5).is_nan());
    }
}
