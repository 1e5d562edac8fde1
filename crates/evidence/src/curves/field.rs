//! Smooth random fields in one dimension: how high noise rises somewhere along a curve.
//!
//! Source: Friston1994, Worsley1996; for curves of biomechanics Pataky2010. Checked: thresholds and survival of the public package
//! rft1d (through spm1d 0.4.55) in the tests.
use signal::{chi_square, fisher, math, student};
use std::f64::consts::{LN_2, PI};

/// What a field's values follow where there is nothing to see.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// Student's t with degrees of freedom (infinite: normal).
    T(f64),
    /// F with degrees above and below.
    F(f64, f64),
    /// Chi-square with degrees.
    ChiSquare(f64),
}

/// A field over a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    /// What its values follow.
    pub kind: Kind,
    /// Nodes that have a value.
    pub nodes: usize,
    /// Unbroken stretches of them.
    pub stretches: usize,
    /// Smoothness: full width at half maximum, nodes.
    pub fwhm: f64,
}

impl Kind {
    /// Share of values above u at a single node.
    pub fn tail(self, u: f64) -> f64 {
        match self {
            Self::T(v) => student::upper_tail(u, v),
            Self::F(k, v) => fisher::upper_tail(u, k, v),
            Self::ChiSquare(v) => chi_square::upper_tail(u, v),
        }
    }

    /// Density of upcrossings of u, per resel.
    fn crossings(self, u: f64) -> f64 {
        let ln4 = 4.0 * LN_2;
        let power = |base: f64, exponent: f64| math::exp(exponent * math::ln(base));
        match self {
            Self::T(v) if v.is_infinite() => ln4.sqrt() / (2.0 * PI) * math::exp(-0.5 * u * u),
            Self::T(v) => ln4.sqrt() / (2.0 * PI) * power(1.0 + u * u / v, -0.5 * (v - 1.0)),
            Self::F(k, v) => {
                let lead = (ln4 / (2.0 * PI)).sqrt() * std::f64::consts::SQRT_2;
                let gammas =
                    math::ln_gamma(0.5 * (v + k - 1.0)) - math::ln_gamma(0.5 * v) - math::ln_gamma(0.5 * k);
                let ratio = k * u / v;
                lead * math::exp(gammas)
                    * power(ratio, 0.5 * (k - 1.0))
                    * power(1.0 + ratio, -0.5 * (v + k - 2.0))
            }
            Self::ChiSquare(v) => {
                let below = math::exp(math::ln_gamma(0.5 * v)) * power(2.0, 0.5 * (v - 2.0));
                (ln4 / (2.0 * PI)).sqrt() * power(u, 0.5 * (v - 1.0)) * math::exp(-0.5 * u) / below
            }
        }
    }
}

impl Field {
    /// Length in resels: how many independent stretches there are, roughly.
    pub fn resels(&self) -> f64 {
        self.nodes.saturating_sub(self.stretches) as f64 / self.fwhm
    }

    /// Expected number of stretches above u.
    fn expected(&self, u: f64) -> f64 {
        self.stretches as f64 * self.kind.tail(u) + self.resels() * self.kind.crossings(u)
    }

    /// Probability that the field rises above u anywhere.
    ///
    /// Unit: 1. Undefined: NaN where u or the smoothness is. Source: expected Euler characteristic, Worsley1996.
    pub fn rises_above(&self, u: f64) -> f64 {
        -math::exp_m1(-self.expected(u))
    }

    /// The height that the field passes anywhere with probability alpha; that of as many separate tests as there are nodes where
    /// it is lower (a rough field).
    pub fn threshold(&self, alpha: f64) -> f64 {
        let apart = alpha / self.nodes as f64;
        let of_field = falling_to(alpha, |u| self.rises_above(u));
        let of_nodes = falling_to(apart, |u| self.kind.tail(u));
        of_field.min(of_nodes)
    }

    /// Probability that any node rises above u: that of the field, or of as many separate tests as there are nodes where that is
    /// lower. At the [`threshold`](Self::threshold) of alpha it is alpha.
    pub fn survival(&self, u: f64) -> f64 {
        self.rises_above(u).min(self.nodes as f64 * self.kind.tail(u))
    }

    /// Probability of a stretch above u of at least `extent` nodes anywhere.
    ///
    /// Source: Friston1994 (the extent of stretches above a high level).
    pub fn stretch_above(&self, u: f64, extent: f64) -> f64 {
        let k = extent / self.fwhm;
        let (tail, crossings) = (self.kind.tail(u), self.kind.crossings(u));
        let mean = tail / crossings;
        // Γ(3/2) = √π/2.
        let ratio = 0.5 * PI.sqrt() / mean * k;
        let longer = math::exp(-ratio * ratio);
        -math::exp_m1(-(self.stretches as f64 * tail + self.resels() * crossings) * longer)
    }
}

/// Where a falling function of u comes down to a value, beyond its greatest; NaN where it never does.
fn falling_to(value: f64, of: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    while of(high) > value {
        (low, high) = (high, 2.0 * high);
        if high > 1e12 {
            return f64::NAN;
        }
    }
    if of(low).is_nan() && of(high).is_nan() {
        return f64::NAN;
    }
    // A chi-square or F field has few crossings near 0: the place wanted is the last one.
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if of(middle) > value { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Smoothness of residual curves: full width at half maximum, nodes.
///
/// Shape: rows of residuals, only nodes that all rows have; `stretches`: their unbroken stretches. Undefined: NaN with no
/// residual scatter. Source: Kiebel1999 (ratio of the slope's variance to the residual's); slopes by central differences.
pub fn smoothness(residuals: &[Vec<f64>], stretches: &[std::ops::Range<usize>]) -> f64 {
    let (mut sum, mut nodes) = (0.0, 0_usize);
    for stretch in stretches.iter().filter(|s| s.len() > 1) {
        for q in stretch.clone() {
            let (mut slopes, mut squares) = (0.0, 0.0);
            for row in residuals {
                let at = |k: usize| row.get(k).copied().unwrap_or(f64::NAN);
                let slope = match (q > stretch.start, q + 1 < stretch.end) {
                    (true, true) => 0.5 * (at(q + 1) - at(q - 1)),
                    (true, false) => at(q) - at(q - 1),
                    (false, _) => at(q + 1) - at(q),
                };
                slopes += slope * slope;
                squares += at(q) * at(q);
            }
            sum += (slopes / (squares + f64::EPSILON) / (4.0 * LN_2)).sqrt();
            nodes += 1;
        }
    }
    nodes as f64 / sum
}

#[cfg(test)]
mod tests {
    use super::*;

    fn field(kind: Kind, fwhm: f64) -> Field {
        Field { kind, nodes: 101, stretches: 1, fwhm }
    }

    /// rft1d through spm1d 0.4.55, 101 nodes.
    #[test]
    fn thresholds_of_the_public_package() {
        let gauss = Kind::T(f64::INFINITY);
        let rows = [
            (gauss, 5.0, 0.05, 3.052_958),
            (gauss, 10.0, 0.05, 2.825_560),
            (gauss, 25.0, 0.01, 3.086_909),
            (Kind::T(5.0), 10.0, 0.05, 5.602_336),
            (Kind::T(5.0), 20.0, 0.025, 5.661_888),
            (Kind::T(9.0), 5.0, 0.01, 5.853_233),
            (Kind::T(19.0), 25.0, 0.05, 2.817_448),
            (Kind::T(30.0), 10.0, 0.01, 3.765_186),
            (Kind::F(2.0, 20.0), 5.0, 0.05, 10.285_001),
            (Kind::F(2.0, 20.0), 20.0, 0.01, 10.947_384),
            (Kind::F(3.0, 30.0), 10.0, 0.05, 6.351_12),
            (Kind::ChiSquare(2.0), 10.0, 0.05, 12.322_904),
            (Kind::ChiSquare(2.0), 25.0, 0.01, 13.984_523),
        ];
        for (kind, fwhm, alpha, expected) in rows {
            let u = falling_to(alpha, |u| field(kind, fwhm).rises_above(u));
            assert!((u - expected).abs() < 2e-5 * expected, "{kind:?} {fwhm} {alpha}: {u} {expected}");
        }
    }

    /// The same, survival: of the field, and of a stretch of some resels above 3.
    #[test]
    fn survival_of_the_public_package() {
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-7, "{a} {b}");
        near(field(Kind::T(f64::INFINITY), 10.0).rises_above(3.0), 0.030_320_709_1);
        near(field(Kind::T(9.0), 10.0).rises_above(3.0), 0.158_954_618_5);
        near(field(Kind::F(2.0, 20.0), 10.0).rises_above(5.0), 0.314_154_075_5);
        near(field(Kind::F(2.0, 20.0), 10.0).rises_above(10.0), 0.029_193_072_8);
        near(field(Kind::T(9.0), 10.0).stretch_above(3.0, 1.0), 0.153_433_8);
        near(field(Kind::T(9.0), 10.0).stretch_above(3.0, 5.0), 0.063_934_3);
        near(field(Kind::T(9.0), 10.0).stretch_above(3.0, 10.0), 0.003_666_5);
        near(field(Kind::T(f64::INFINITY), 10.0).stretch_above(3.0, 5.0), 0.012_028_0);
    }

    #[test]
    fn a_rough_field_is_as_many_tests_as_nodes() {
        let rough = field(Kind::T(30.0), 0.5);
        let apart = student::quantile(1.0 - 0.05 / 101.0, 30.0);
        assert!((rough.threshold(0.05) - apart).abs() < 1e-9);
        assert!(field(Kind::T(30.0), f64::NAN).threshold(0.05).is_finite(), "the nodes still have theirs");
    }
}
