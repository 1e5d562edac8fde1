//! Whether two ways of measuring agree: limits of agreement.
//!
//! Source: Bland & Altman 1986 (single pairs), 1999 (repeated pairs of a subject; limits that follow the size).
mod repeated;
mod trend;

pub use repeated::repeated;
pub use trend::{Trend, trend};

use crate::interval::Interval;
use signal::{stats, student};

/// How two ways of measuring agree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agreement {
    /// Pairs.
    pub pairs: usize,
    /// Subjects they come from.
    pub subjects: usize,
    /// Mean difference, first less second.
    pub bias: Interval,
    /// Standard deviation of single differences; with several pairs a subject, between and within subjects together.
    pub sd: f64,
    /// The part of it within subjects; NaN where subjects have one pair.
    pub within: f64,
    /// Lower limit of agreement: what a single difference lies above in 97.5 of 100.
    pub lower: Interval,
    /// Upper limit.
    pub upper: Interval,
    /// The difference over the mean of the two: a bias that grows with the size.
    pub bias_trend: Trend,
    /// How far differences lie from that line, over the mean of the two: scatter that grows with the size.
    pub scatter_trend: Trend,
    /// Least and greatest mean of the two: the sizes that were compared.
    pub sizes: (f64, f64),
}

impl Agreement {
    /// The largest disagreement of a single pair that is still plausible, to either side.
    pub fn largest_plausible(&self) -> f64 {
        self.lower.low.abs().max(self.upper.high.abs())
    }

    /// Limits of agreement at a size, where bias and scatter follow it.
    ///
    /// Source: BlandAltman1999, section 3.2: the scatter is √(π/2) times the mean distance of normal differences from their line.
    pub fn limits_at(&self, size: f64) -> (f64, f64) {
        let middle = self.bias_trend.at(size);
        let half = LIMIT * (0.5 * std::f64::consts::PI).sqrt() * self.scatter_trend.at(size).max(0.0);
        (middle - half, middle + half)
    }
}

/// 97.5 of 100 normal values lie under so many standard deviations.
const LIMIT: f64 = 1.959_963_984_540_054;

/// Agreement of single pairs.
///
/// Shape: two columns of equal length; pairs with a value that is not defined are left out. Undefined: `None` with fewer than
/// three pairs. Source: BlandAltman1986 (limits d̄ ± z·s, their standard error √(3s²/n)). Checked: their peak-flow data.
pub fn agreement(first: &[f64], second: &[f64], level: f64) -> Option<Agreement> {
    let pairs: Vec<(f64, f64)> =
        first.iter().copied().zip(second.iter().copied()).filter(|(a, b)| (a - b).is_finite()).collect();
    let n = pairs.len();
    if n < 3 {
        return None;
    }
    let differences: Vec<f64> = pairs.iter().map(|(a, b)| a - b).collect();
    let (bias, sd) = (stats::mean(&differences), stats::standard_deviation(&differences));
    let t = student::quantile(0.5 * (1.0 + level), n as f64 - 1.0);
    let (of_bias, of_limit) = (t * sd / (n as f64).sqrt(), t * (3.0 * sd * sd / n as f64).sqrt());
    let (bias_trend, scatter_trend) = trends(&pairs.iter().map(|p| vec![*p]).collect::<Vec<_>>(), level);
    Some(Agreement {
        pairs: n,
        subjects: n,
        bias: Interval::around(bias, of_bias),
        sd,
        within: f64::NAN,
        lower: Interval::around(bias - LIMIT * sd, of_limit),
        upper: Interval::around(bias + LIMIT * sd, of_limit),
        bias_trend,
        scatter_trend,
        sizes: sizes(&pairs),
    })
}

fn sizes(pairs: &[(f64, f64)]) -> (f64, f64) {
    let means: Vec<f64> = pairs.iter().map(|(a, b)| 0.5 * (a + b)).collect();
    stats::extent(&means).unwrap_or((f64::NAN, f64::NAN))
}

/// How differences, and their distances from that line, follow the size; a point for each group, which is free of the others.
fn trends(groups: &[Vec<(f64, f64)>], level: f64) -> (Trend, Trend) {
    let mean = |group: &[(f64, f64)], of: &dyn Fn(&(f64, f64)) -> f64| {
        group.iter().map(of).sum::<f64>() / group.len() as f64
    };
    let points = |of: &dyn Fn(&(f64, f64)) -> f64| -> Vec<(f64, f64)> {
        groups.iter().map(|g| (mean(g, &|(a, b)| 0.5 * (a + b)), mean(g, of))).collect()
    };
    let bias = trend(&points(&|(a, b)| a - b), level);
    let far = points(&|(a, b)| (a - b - bias.at(0.5 * (a + b))).abs());
    (bias, trend(&far, level))
}

#[cfg(test)]
pub(crate) mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    pub(crate) const LARGE: [[f64; 17]; 2] = [
        [
            494., 395., 516., 434., 476., 557., 413., 442., 650., 433., 417., 656., 267., 478., 178., 423.,
            427.,
        ],
        [
            490., 397., 512., 401., 470., 611., 415., 431., 638., 429., 420., 633., 275., 492., 165., 372.,
            421.,
        ],
    ];
    pub(crate) const MINI: [[f64; 17]; 2] = [
        [
            512., 430., 520., 428., 500., 600., 364., 380., 658., 445., 432., 626., 260., 477., 259., 350.,
            451.,
        ],
        [
            525., 415., 508., 444., 500., 625., 460., 390., 642., 432., 420., 605., 227., 467., 268., 370.,
            443.,
        ],
    ];

    /// Bland & Altman 1986, Lancet i:307-310, peak expiratory flow of 17 subjects, l/min: bias −2.1, SD 38.8; the bias between
    /// −22.0 and 17.8; limits with 1.96 SD (the paper takes 2) and their intervals (the paper: −114 to −45, 41 to 110, with 2 SD).
    #[test]
    fn peak_flow() {
        let found = agreement(&LARGE[0], &MINI[0], 0.95).unwrap();
        let near = |a: f64, b: f64, by: f64| assert!((a - b).abs() < by, "{a} {b}");
        near(found.bias.value, -2.117_647, 1e-6);
        near(found.sd, 38.765_130, 1e-6);
        near(found.bias.low, -22.048_8, 1e-4);
        near(found.bias.high, 17.813_5, 1e-4);
        near(found.lower.value, -78.097, 2e-3);
        near(found.upper.value, 73.862, 2e-3);
        near(found.upper.high - found.upper.value, 109.934 - 75.4126, 1e-3);
        assert!(found.bias_trend.p > 0.05 && found.scatter_trend.p > 0.05, "nothing grows: {found:?}");
        assert_eq!(found.sizes, (218.5, 654.0));
    }

    #[test]
    fn a_bias_that_grows_is_seen() {
        let first: Vec<f64> = (1..=20).map(|k| 1.1 * f64::from(k) + f64::from(k % 3) * 0.01).collect();
        let second: Vec<f64> = (1..=20).map(f64::from).collect();
        let found = agreement(&first, &second, 0.95).unwrap();
        assert!(found.bias_trend.slope.low > 0.05 && found.bias_trend.p < 1e-6);
        assert!(agreement(&[1.0, 2.0, f64::NAN], &[1.0, 2.0, 3.0], 0.95).is_none());
    }
}
