//! An estimate with its interval.

/// An estimate and the limits of a confidence interval. NaN where not defined.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// The estimate.
    pub value: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

impl Interval {
    /// Not defined.
    pub const NONE: Self = Self { value: f64::NAN, low: f64::NAN, high: f64::NAN };

    /// Estimate ± half a width.
    pub fn around(value: f64, half: f64) -> Self {
        Self { value, low: value - half, high: value + half }
    }
    /// Every number times a positive factor.
    pub fn times(self, factor: f64) -> Self {
        Self { value: self.value * factor, low: self.low * factor, high: self.high * factor }
    }
}

/// Interval of a standard deviation estimated with `degrees` of freedom.
///
/// Unit: that of `sd`. Undefined: NaN where there are no degrees. Source: degrees·s²/σ² is chi-square (textbook).
pub fn of_standard_deviation(sd: f64, degrees: f64, level: f64) -> Interval {
    let tail = 0.5 * (1.0 - level);
    let limit = |p: f64| sd * (degrees / signal::chi_square::quantile(p, degrees)).sqrt();
    Interval { value: sd, low: limit(1.0 - tail), high: limit(tail) }
}
