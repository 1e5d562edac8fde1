//! The chi-square distribution: sums of squares of normal errors, and so intervals of a standard deviation.
use crate::math;

/// Share of chi-square with `degrees` of freedom that is greater than `x`.
///
/// Unit: 1. Degrees need not be whole. Undefined: NaN where x is NaN or the degrees are not positive; 1 for x ≤ 0. Source: the
/// incomplete gamma function by its series and its continued fraction, textbook numerics. Checked: closed forms in the tests.
#[must_use]
pub fn upper_tail(x: f64, degrees: f64) -> f64 {
    if x.is_nan() || degrees.is_nan() || degrees <= 0.0 {
        return f64::NAN;
    }
    if x <= 0.0 {
        return 1.0;
    }
    if x == f64::INFINITY {
        return 0.0;
    }
    let (a, x) = (0.5 * degrees, 0.5 * x);
    let front = math::exp(a * math::ln(x) - x - math::ln_gamma(a));
    if x < a + 1.0 { 1.0 - front * series(a, x) } else { front * fraction(a, x) }
}

fn series(a: f64, x: f64) -> f64 {
    let (mut term, mut sum, mut n) = (1.0 / a, 1.0 / a, a);
    while term > sum * 1e-17 && n < a + 100_000.0 {
        n += 1.0;
        term *= x / n;
        sum += term;
    }
    sum
}

fn fraction(a: f64, x: f64) -> f64 {
    let kept = |v: f64| if v.abs() < 1e-300 { 1e-300 } else { v };
    let mut b = x + 1.0 - a;
    let mut c = 1e300;
    let mut d = 1.0 / kept(b);
    let mut value = d;
    let mut n = 1.0;
    while n < 100_000.0 {
        let term = -n * (n - a);
        b += 2.0;
        d = 1.0 / kept(b + term * d);
        c = kept(b + term / c);
        value *= c * d;
        if (c * d - 1.0).abs() < 1e-16 {
            break;
        }
        n += 1.0;
    }
    value
}

/// Quantile of chi-square: the value that a share `p` lies below.
///
/// Unit: 1. Undefined: NaN where p is not inside 0..1 or the degrees are not positive. Source: [`upper_tail`], inverted by halving.
#[must_use]
pub fn quantile(p: f64, degrees: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && degrees > 0.0) {
        return f64::NAN;
    }
    let (mut low, mut high) = (0.0, 1.0);
    while upper_tail(high, degrees) > 1.0 - p && high < 1e300 {
        (low, high) = (high, high * 2.0);
    }
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return middle;
        }
        if upper_tail(middle, degrees) > 1.0 - p { low = middle } else { high = middle }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two degrees are the exponential distribution; one is a squared normal; handbook values (NIST/SEMATECH e-Handbook of
    /// Statistical Methods, 1.3.6.7.4, upper critical values to three decimals).
    #[test]
    fn closed_forms_and_a_table() {
        for x in [0.01, 1.0, 5.0, 40.0] {
            assert!((upper_tail(x, 2.0) - math::exp(-0.5 * x)).abs() < 1e-14, "{x}");
            let normal = math::erfc((0.5 * x).sqrt());
            assert!((upper_tail(x, 1.0) - normal).abs() < 1e-13, "{x}");
        }
        for (degrees, p, value) in
            [(1.0, 0.95, 3.841), (10.0, 0.95, 18.307), (30.0, 0.99, 50.892), (100.0, 0.9, 118.498)]
        {
            assert!((quantile(p, degrees) - value).abs() < 6e-4, "{degrees}");
        }
        assert!(quantile(1.0, 3.0).is_nan() && upper_tail(1.0, 0.0).is_nan());
    }
}
