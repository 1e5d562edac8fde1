//! A straight line through free points, with how sure its slope is.
use crate::interval::Interval;
use signal::{line, student};

/// A line and whether it rises.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trend {
    /// Rise for each unit.
    pub slope: Interval,
    /// Value at 0.
    pub intercept: f64,
    /// Probability of a slope as large where there is none, to either side.
    pub p: f64,
}

impl Trend {
    /// Not defined.
    pub const NONE: Self = Self { slope: Interval::NONE, intercept: f64::NAN, p: f64::NAN };

    /// The line at a place.
    pub fn at(&self, x: f64) -> f64 {
        self.intercept + self.slope.value * x
    }
}

/// The line through points (x, y) by least squares, its slope's interval and probability by Student's t.
///
/// Undefined: not defined with fewer than three points or at one x only. Source: definition. Checked: scipy.stats.linregress (the
/// slope of signal::line), and with it in tests/agree_coverage.rs.
pub fn trend(points: &[(f64, f64)], level: f64) -> Trend {
    let Some(of) = line::fit(points.iter().copied()).filter(|of| of.points > 2) else {
        return Trend::NONE;
    };
    let degrees = of.points as f64 - 2.0;
    let t = of.slope / of.slope_error;
    Trend {
        slope: Interval::around(of.slope, student::quantile(0.5 * (1.0 + level), degrees) * of.slope_error),
        intercept: of.intercept,
        p: 2.0 * student::upper_tail(t.abs(), degrees),
    }
}
