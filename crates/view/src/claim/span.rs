//! A figure with its interval, as it is written and as it is kept.
use super::table::Measure;
use crate::quantity::{decimals, plain, signed};
use evidence::Interval;
use serde::Serialize;

/// A figure and the limits of its interval; NaN (null) where not defined.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Span {
    /// The estimate.
    pub value: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

impl From<Interval> for Span {
    fn from(of: Interval) -> Self {
        Self { value: of.value, low: of.low, high: of.high }
    }
}

impl Span {
    /// Not defined.
    pub const NONE: Self = Self { value: f64::NAN, low: f64::NAN, high: f64::NAN };

    /// Every number times a positive factor.
    pub fn times(self, factor: f64) -> Self {
        Self { value: factor * self.value, low: factor * self.low, high: factor * self.high }
    }
    /// "6.1 (5.6 to 6.7)", "—".
    pub fn unsigned(&self, digits: usize) -> String {
        self.written(&|v| plain(v, digits))
    }
    /// "+6.1 (−0.6 to +12.7)", "—".
    pub fn signed(&self, digits: usize) -> String {
        self.written(&|v| signed(v, digits))
    }
    /// "5.6 to 6.7"; empty without limits.
    pub fn limits(&self, of: &dyn Fn(f64) -> String) -> String {
        if self.low.is_nan() || self.high.is_nan() {
            return String::new();
        }
        format!("{} to {}", of(self.low), of(self.high))
    }
    fn written(&self, of: &dyn Fn(f64) -> String) -> String {
        let limits = self.limits(of);
        if limits.is_empty() { of(self.value) } else { format!("{} ({limits})", of(self.value)) }
    }
    /// True where the interval leaves out 0.
    pub fn leaves_out_nothing(&self) -> bool {
        self.low > 0.0 || self.high < 0.0
    }
}

/// Decimals that show a scatter (a standard deviation) with two digits; those of the measure where it is not known.
pub fn digits(measure: &Measure, scatter: f64) -> usize {
    // A third of it is an uncertainty that stands with one digit where the scatter has two.
    if scatter > 0.0 && scatter.is_finite() { decimals(scatter / 3.0) } else { measure.decimals }
}

/// Decimals that go with half the width of an interval, or with the figure where there is none.
pub fn digits_of(span: &Span) -> usize {
    let half = 0.5 * (span.high - span.low);
    if half > 0.0 && half.is_finite() { decimals(half) } else { decimals(span.value.abs()) }
}

/// A probability: "0.031", "<0.001", "—".
pub fn probability(p: f64) -> String {
    match p {
        p if p.is_nan() => "—".into(),
        p if p < 0.001 => "<0.001".into(),
        p if p < 0.1 => plain(p, 3),
        p => plain(p, 2),
    }
}

/// "12.3 %BW", "0.31", "—": a figure with its unit.
pub fn with_unit(figure: &str, unit: &str) -> String {
    if unit.is_empty() || figure == "—" { figure.to_string() } else { format!("{figure} {unit}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_and_limits() {
        let span = Span { value: 3.13, low: -0.6, high: 12.66 };
        assert_eq!(span.unsigned(1), "3.1 (−0.6 to 12.7)");
        assert_eq!(span.signed(1), "+3.1 (−0.6 to +12.7)");
        assert_eq!(Span::NONE.signed(1), "—");
        assert_eq!(Span { value: 2.0, ..Span::NONE }.signed(0), "+2");
        assert!(!span.leaves_out_nothing() && Span { low: 0.1, ..span }.leaves_out_nothing());
        assert_eq!(digits_of(&Span { value: 1.0, low: 0.9, high: 1.1 }), 2);
        let told = [0.5, 0.0312, 0.0001, f64::NAN].map(probability);
        assert_eq!(told, ["0.50", "0.031", "<0.001", "—"].map(String::from));
        let measure = super::super::players::tests::column("up.net.most", Vec::new()).measure;
        let shown = [12.3, 2.6, 0.38, 0.038].map(|scatter| digits(&measure, scatter));
        assert_eq!((shown, digits(&measure, f64::NAN)), ([0, 1, 2, 3], 1));
        assert_eq!((with_unit("2", "s").as_str(), with_unit("2", "").as_str()), ("2 s", "2"));
    }
}
