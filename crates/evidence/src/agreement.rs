//! Whether two ways of measuring agree: limits of agreement.
//!
//! Source: Bland & Altman 1986 (single pairs), 1999 (repeated pairs of a subject).
use crate::interval::Interval;
use crate::repeatability::nested;
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
    /// Lower limit of agreement: what a single difference lies above in 97.5 of 100.
    pub lower: Interval,
    /// Upper limit.
    pub upper: Interval,
    /// Slope of the difference over the mean of the two: a bias that grows with the size.
    pub slope: Interval,
}

/// Agreement of single pairs.
///
/// Shape: two columns of equal length; pairs with a value that is not defined are left out. Undefined: `None` with fewer than
/// three pairs. Source: BlandAltman1986 (limits d̄ ± z·s, their standard error √(3s²/n)). Checked: their peak-flow data.
pub fn agreement(first: &[f64], second: &[f64], level: f64) -> Option<Agreement> {
    let pairs = defined(first, second);
    let n = pairs.len();
    if n < 3 {
        return None;
    }
    let differences: Vec<f64> = pairs.iter().map(|(a, b)| a - b).collect();
    let (bias, sd) = (stats::mean(&differences), stats::standard_deviation(&differences));
    let t = student::quantile(0.5 * (1.0 + level), n as f64 - 1.0);
    let z = student::quantile(0.975, f64::INFINITY);
    let (of_bias, of_limit) = (t * sd / (n as f64).sqrt(), t * (3.0 * sd * sd / n as f64).sqrt());
    Some(Agreement {
        pairs: n,
        subjects: n,
        bias: Interval::around(bias, of_bias),
        sd,
        lower: Interval::around(bias - z * sd, of_limit),
        upper: Interval::around(bias + z * sd, of_limit),
        slope: slope(&pairs, level),
    })
}

/// Agreement where subjects have several pairs each: single differences vary between subjects and within.
///
/// Shape: one list of pairs a subject. Undefined: `None` with fewer than three subjects, or where no subject has two pairs.
/// Source: BlandAltman1999, section 5.2 (variance components of a one-way analysis of the differences); intervals of the limits
/// by the subjects' number, as for single pairs: nearly right where repeats are alike, and never too narrow for it.
pub fn repeated(subjects: &[Vec<(f64, f64)>], level: f64) -> Option<Agreement> {
    let groups: Vec<Vec<(f64, f64)>> =
        subjects.iter().map(|g| g.iter().copied().filter(|(a, b)| (a - b).is_finite()).collect()).collect();
    let groups: Vec<Vec<(f64, f64)>> = groups.into_iter().filter(|g: &Vec<_>| !g.is_empty()).collect();
    let differences: Vec<Vec<f64>> = groups.iter().map(|g| g.iter().map(|(a, b)| a - b).collect()).collect();
    if groups.len() < 3 {
        return None;
    }
    let of = nested(&differences)?;
    let between = ((of.between - of.within) / of.repeats).max(0.0);
    let sd = (between + of.within).sqrt();
    let n = groups.len() as f64;
    let means: Vec<f64> = differences.iter().map(|d| stats::mean(d)).collect();
    let bias = stats::mean(&means);
    let t = student::quantile(0.5 * (1.0 + level), n - 1.0);
    let z = student::quantile(0.975, f64::INFINITY);
    let of_bias = t * stats::standard_deviation(&means) / n.sqrt();
    let of_limit = t * (3.0 * sd * sd / n).sqrt();
    let of_means: Vec<(f64, f64)> = groups
        .iter()
        .map(|g| {
            let mean = |which: fn(&(f64, f64)) -> f64| g.iter().map(which).sum::<f64>() / g.len() as f64;
            (mean(|p| p.0), mean(|p| p.1))
        })
        .collect();
    Some(Agreement {
        pairs: of.values,
        subjects: groups.len(),
        bias: Interval::around(bias, of_bias),
        sd,
        lower: Interval::around(bias - z * sd, of_limit),
        upper: Interval::around(bias + z * sd, of_limit),
        slope: slope(&of_means, level),
    })
}

fn defined(first: &[f64], second: &[f64]) -> Vec<(f64, f64)> {
    first.iter().copied().zip(second.iter().copied()).filter(|(a, b)| (a - b).is_finite()).collect()
}

/// Slope of difference over mean by least squares, with its interval.
fn slope(pairs: &[(f64, f64)], level: f64) -> Interval {
    let n = pairs.len() as f64;
    let x: Vec<f64> = pairs.iter().map(|(a, b)| 0.5 * (a + b)).collect();
    let y: Vec<f64> = pairs.iter().map(|(a, b)| a - b).collect();
    let (mx, my) = (stats::mean(&x), stats::mean(&y));
    let sxx: f64 = x.iter().map(|v| (v - mx) * (v - mx)).sum();
    let sxy: f64 = x.iter().zip(&y).map(|(a, b)| (a - mx) * (b - my)).sum();
    let slope = sxy / sxx;
    let rest: f64 = x.iter().zip(&y).map(|(a, b)| b - my - slope * (a - mx)).map(|r| r * r).sum();
    let t = student::quantile(0.5 * (1.0 + level), n - 2.0);
    Interval::around(slope, t * (rest / (n - 2.0) / sxx).sqrt())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    const LARGE: [[f64; 17]; 2] = [
        [
            494., 395., 516., 434., 476., 557., 413., 442., 650., 433., 417., 656., 267., 478., 178., 423.,
            427.,
        ],
        [
            490., 397., 512., 401., 470., 611., 415., 431., 638., 429., 420., 633., 275., 492., 165., 372.,
            421.,
        ],
    ];
    const MINI: [[f64; 17]; 2] = [
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
        assert!(found.slope.low < 0.0 && found.slope.high > 0.0, "no bias that grows: {:?}", found.slope);
    }

    /// Bland & Altman 1986: within-subject SD of the meters 15.3 and 19.9; the differences' corrected SD 37.7. Pairs of
    /// repeats taken as they come carry the same variance in their components.
    #[test]
    fn repeated_pairs_hold_both_kinds_of_scatter() {
        let pairs: Vec<Vec<(f64, f64)>> =
            (0..17).map(|k| LARGE.iter().zip(&MINI).map(|(l, m)| (l[k], m[k])).collect()).collect();
        let found = repeated(&pairs, 0.95).unwrap();
        assert_eq!((found.pairs, found.subjects), (34, 17));
        assert!((found.bias.value - -6.029_412).abs() < 1e-6);
        assert!((found.sd - 37.7).abs() < 1.0, "{}", found.sd);
        assert!(repeated(&pairs[..2], 0.95).is_none());
    }

    #[test]
    fn a_bias_that_grows_is_seen() {
        let first: Vec<f64> = (1..=20).map(|k| 1.1 * f64::from(k) + f64::from(k % 3) * 0.01).collect();
        let second: Vec<f64> = (1..=20).map(f64::from).collect();
        let found = agreement(&first, &second, 0.95).unwrap();
        assert!(found.slope.low > 0.05, "{:?}", found.slope);
        assert!(agreement(&[1.0, 2.0, f64::NAN], &[1.0, 2.0, 3.0], 0.95).is_none());
    }
}
