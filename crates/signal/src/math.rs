//! Transcendental functions that give the same bits on every machine.
//!
//! The platform's `f64::sin` and its kin may differ in the last place from one operating system or
//! processor to the next, and Rust promises nothing about them. Here they come from `libm`, which is
//! plain arithmetic. `+ − × ÷ sqrt` and `mul_add` are exact by IEEE 754 and need no wrapper.
//!
//! Angles are in radians. NaN in gives NaN out, and so does an argument outside the domain.

/// Sine. Unit: rad → 1.
#[must_use]
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}

/// Cosine. Unit: rad → 1.
#[must_use]
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}

/// Sine and cosine of the same angle, in that order. Unit: rad → 1.
#[must_use]
pub fn sin_cos(x: f64) -> (f64, f64) {
    libm::sincos(x)
}

/// Tangent. Unit: rad → 1.
#[must_use]
pub fn tan(x: f64) -> f64 {
    libm::tan(x)
}

/// Inverse sine, in −π/2..=π/2. Undefined: NaN where |x| > 1.
#[must_use]
pub fn asin(x: f64) -> f64 {
    libm::asin(x)
}

/// Inverse cosine, in 0..=π. Undefined: NaN where |x| > 1.
#[must_use]
pub fn acos(x: f64) -> f64 {
    libm::acos(x)
}

/// Inverse tangent, in −π/2..=π/2.
#[must_use]
pub fn atan(x: f64) -> f64 {
    libm::atan(x)
}

/// Angle of the point (`x`, `y`) from the x axis, in −π..=π. Mind the order: y comes first.
#[must_use]
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

/// Hyperbolic sine.
#[must_use]
pub fn sinh(x: f64) -> f64 {
    libm::sinh(x)
}

/// Hyperbolic cosine.
#[must_use]
pub fn cosh(x: f64) -> f64 {
    libm::cosh(x)
}

/// Hyperbolic tangent.
#[must_use]
pub fn tanh(x: f64) -> f64 {
    libm::tanh(x)
}

/// e to the power `x`.
#[must_use]
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// 2 to the power `x`.
#[must_use]
pub fn exp2(x: f64) -> f64 {
    libm::exp2(x)
}

/// e to the power `x`, minus 1, exact for small `x`.
#[must_use]
pub fn exp_m1(x: f64) -> f64 {
    libm::expm1(x)
}

/// Natural logarithm. Undefined: NaN where x < 0; −∞ at 0.
#[must_use]
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// Natural logarithm of 1 + `x`, exact for small `x`. Undefined: NaN where x < −1.
#[must_use]
pub fn ln_1p(x: f64) -> f64 {
    libm::log1p(x)
}

/// Logarithm to base 2. Undefined: NaN where x < 0; −∞ at 0.
#[must_use]
pub fn log2(x: f64) -> f64 {
    libm::log2(x)
}

/// Logarithm to base 10. Undefined: NaN where x < 0; −∞ at 0.
#[must_use]
pub fn log10(x: f64) -> f64 {
    libm::log10(x)
}

/// `x` to the power `y`. Undefined: NaN where x < 0 and y is no whole number.
#[must_use]
pub fn powf(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

/// `x` to a whole power, by repeated squaring in a fixed order. `powi(x, 0)` is 1 for every x.
#[must_use]
pub fn powi(x: f64, n: i32) -> f64 {
    let mut base = x;
    let mut left = n.unsigned_abs();
    let mut product = 1.0;
    while left > 0 {
        if left & 1 == 1 {
            product *= base;
        }
        base *= base;
        left >>= 1;
    }
    if n < 0 { 1.0 / product } else { product }
}

/// Cube root, negative for negative `x`.
#[must_use]
pub fn cbrt(x: f64) -> f64 {
    libm::cbrt(x)
}

/// Length of the vector (`x`, `y`) without overflow on the way.
#[must_use]
pub fn hypot(x: f64, y: f64) -> f64 {
    libm::hypot(x, y)
}

/// Logarithm of |Γ(x)|. ∞ at 0 and the negative whole numbers.
#[must_use]
pub fn ln_gamma(x: f64) -> f64 {
    libm::lgamma(x)
}

/// Complement of the error function, 1 − erf x, exact where it is small.
#[must_use]
pub fn erfc(x: f64) -> f64 {
    libm::erfc(x)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// Correctly rounded values of the constants by definition (π/6 and so on, NIST DLMF ch. 4).
    #[test]
    fn exact_places() {
        assert!((sin(PI / 6.0) - 0.5).abs() < 1e-15);
        assert!((cos(PI / 3.0) - 0.5).abs() < 1e-15);
        assert!((tan(PI / 4.0) - 1.0).abs() < 1e-15);
        assert!((asin(0.5) - PI / 6.0).abs() < 1e-15);
        assert!((acos(0.5) - PI / 3.0).abs() < 1e-15);
        assert_eq!(sin_cos(0.3), (sin(0.3), cos(0.3)));
        assert!((exp(1.0) - std::f64::consts::E).abs() < 1e-15);
        assert!((ln(10.0) - std::f64::consts::LN_10).abs() < 1e-15);
        assert_eq!(log10(1000.0), 3.0);
        assert_eq!(log2(1024.0), 10.0);
        assert_eq!(exp2(10.0), 1024.0);
        assert_eq!(powf(2.0, 10.0), 1024.0);
        assert_eq!(hypot(3.0, 4.0), 5.0);
        assert_eq!(hypot(3e300, 4e300), 5e300);
        assert_eq!(cbrt(-27.0), -3.0);
        assert!((exp_m1(1e-12) - 1.000_000_000_000_5e-12).abs() < 1e-27);
        assert!((ln_1p(1e-12) - 0.999_999_999_999_5e-12).abs() < 1e-27);
        assert!((cosh(0.7) * cosh(0.7) - sinh(0.7) * sinh(0.7) - 1.0).abs() < 1e-15);
        assert!((ln_gamma(5.0) - ln(24.0)).abs() < 1e-15 && (ln_gamma(0.5) - 0.5 * ln(PI)).abs() < 1e-15);
        // NIST DLMF ch. 7: erfc 1, from memory.
        assert!((erfc(1.0) - 0.157_299_207_050_285_13).abs() < 1e-15 && erfc(0.0) == 1.0);
        assert!((tanh(0.7) - sinh(0.7) / cosh(0.7)).abs() < 1e-15);
    }

    /// The quadrant comes from both signs, and y comes first.
    #[test]
    fn atan2_knows_its_quadrants() {
        assert_eq!(atan2(1.0, 0.0), PI / 2.0);
        assert_eq!(atan2(0.0, -1.0), PI);
        assert_eq!(atan2(-1.0, -1.0), -3.0 * PI / 4.0);
        assert!((atan(1.0) - PI / 4.0).abs() < 1e-16);
    }

    #[test]
    fn whole_powers() {
        assert_eq!(powi(3.0, 5), 243.0);
        assert_eq!(powi(2.0, -3), 0.125);
        assert_eq!(powi(f64::NAN, 0), 1.0);
        assert_eq!(powi(1.0, i32::MIN), 1.0);
    }

    #[test]
    fn outside_the_domain_is_not_a_number() {
        for y in [asin(1.1), acos(-1.1), ln(-1.0), ln_1p(-1.5), log2(-1.0), log10(-1.0)] {
            assert!(y.is_nan());
        }
        assert!(powf(-2.0, 0.5).is_nan());
        assert!(sin(f64::NAN).is_nan() && hypot(f64::NAN, 1.0).is_nan());
    }
}
