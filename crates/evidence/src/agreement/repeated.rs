//! Subjects with several pairs each: single differences vary between subjects and within.
use super::{Agreement, LIMIT, sizes, trends};
use crate::interval::Interval;
use crate::repeatability::{MeanSquare, combined};
use signal::{stats, student};

/// Agreement where subjects have several pairs each, in any number; every subject counts alike.
///
/// Shape: one list of pairs a subject; pairs with a value that is not defined are left out. Undefined: `None` with fewer than three
/// subjects. The trends are those of subjects' means, since pairs of a subject are not free of one another.
/// Source: BlandAltman2007 (what varies between subjects and within); estimates from unweighted means and intervals of the limits by
/// the recovery of variances, Zou2013. Checked: Zou's worked example.
pub fn repeated(subjects: &[Vec<(f64, f64)>], level: f64) -> Option<Agreement> {
    let defined = |g: &Vec<(f64, f64)>| g.iter().copied().filter(|(a, b)| (a - b).is_finite()).collect();
    let groups: Vec<Vec<(f64, f64)>> =
        subjects.iter().map(defined).filter(|g: &Vec<_>| !g.is_empty()).collect();
    let n = groups.len() as f64;
    if groups.len() < 3 {
        return None;
    }
    let differences: Vec<Vec<f64>> = groups.iter().map(|g| g.iter().map(|(a, b)| a - b).collect()).collect();
    let means: Vec<f64> = differences.iter().map(|d| stats::mean(d)).collect();
    let pairs = differences.iter().map(Vec::len).sum::<usize>();
    let squares: f64 =
        differences.iter().zip(&means).flat_map(|(d, m)| d.iter().map(move |v| (v - m) * (v - m))).sum();
    let degrees = pairs as f64 - n;
    let of_means = MeanSquare { value: stats::variance(&means), degrees: n - 1.0 };
    let within = MeanSquare { value: squares / degrees, degrees };
    // A mean of m pairs holds an m-th of what varies within; the rest of it is added.
    let missing = 1.0 - differences.iter().map(|d| 1.0 / d.len() as f64).sum::<f64>() / n;
    let parts = [(1.0, of_means), (missing, within)].into_iter().filter(|(weight, _)| *weight > 0.0);
    let variance = recovered(parts.map(|part| combined(&[part], level)));
    let (sd, low, high) = (variance.value.sqrt(), variance.low.max(0.0).sqrt(), variance.high.sqrt());
    let bias = stats::mean(&means);
    let of_bias = student::quantile(0.5 * (1.0 + level), n - 1.0) * (of_means.value / n).sqrt();
    // What is not known of the scatter counts in that of the limits already, so that the mean's part is a normal one.
    let of_mean = student::quantile(0.5 * (1.0 + level), f64::INFINITY) * (of_means.value / n).sqrt();
    let inward = signal::math::hypot(of_mean, LIMIT * (sd - low));
    let outward = signal::math::hypot(of_mean, LIMIT * (high - sd));
    let (lower, upper) = (bias - LIMIT * sd, bias + LIMIT * sd);
    let (bias_trend, scatter_trend) = trends(&groups, level);
    Some(Agreement {
        pairs,
        subjects: groups.len(),
        bias: Interval::around(bias, of_bias),
        sd,
        within: within.value.sqrt(),
        lower: Interval { value: lower, low: lower - outward, high: lower + inward },
        upper: Interval { value: upper, low: upper - inward, high: upper + outward },
        bias_trend,
        scatter_trend,
        sizes: sizes(&groups.concat()),
    })
}

/// Interval of a sum from those of its parts: distances of limits add as squares do. Source: Zou2013.
fn recovered(parts: impl Iterator<Item = Interval>) -> Interval {
    let (mut value, mut below, mut above) = (0.0, 0.0, 0.0);
    for part in parts {
        value += part.value;
        below += (part.value - part.low) * (part.value - part.low);
        above += (part.high - part.value) * (part.high - part.value);
    }
    Interval { value, low: value - below.sqrt(), high: value + above.sqrt() }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::super::tests::{LARGE, MINI};
    use super::*;

    /// Cardiac output of twelve subjects by two methods, l/min (Bland & Altman 1999; a data set of their public page, as public
    /// teaching code carries it).
    fn cardiac() -> Vec<Vec<(f64, f64)>> {
        let of: [&[(f64, f64)]; 12] = [
            &[(7.83, 6.57), (7.42, 5.62), (7.89, 6.9), (7.12, 6.57), (7.88, 6.35)],
            &[(6.16, 4.06), (7.26, 4.29), (6.71, 4.26), (6.54, 4.09)],
            &[(4.75, 4.71), (5.24, 5.5), (4.86, 5.08), (4.78, 5.02), (6.05, 6.01), (5.42, 5.67)],
            &[(4.21, 4.14), (3.61, 4.2), (3.72, 4.61), (3.87, 4.68), (3.92, 5.04)],
            &[(3.13, 3.03), (2.98, 2.86), (2.85, 2.77), (3.17, 2.46), (3.09, 2.32), (3.12, 2.43)],
            &[(5.92, 5.9), (6.42, 5.81), (5.92, 5.7), (6.27, 5.76)],
            &[(7.13, 5.09), (6.62, 4.63), (6.58, 4.61), (6.93, 5.09)],
            &[(4.54, 4.72), (4.81, 4.61), (5.11, 4.36), (5.29, 4.2), (5.39, 4.36), (5.57, 4.2)],
            &[(4.48, 3.17), (4.92, 3.12), (3.97, 2.96)],
            &[(4.22, 4.35), (4.65, 4.62), (4.74, 3.16), (4.44, 3.53), (4.5, 3.53)],
            &[(6.78, 7.2), (6.07, 6.09), (6.52, 7.0), (6.42, 7.1), (6.41, 7.4), (5.76, 6.8)],
            &[(5.06, 4.5), (4.72, 4.2), (4.9, 3.8), (4.8, 3.8), (4.9, 4.2), (5.1, 4.5)],
        ];
        of.iter().map(|s| s.to_vec()).collect()
    }

    /// Zou 2013, the first four subjects, as the tests of the R package SimplyAgree quote the paper: bias .7255, limits −2.14 and
    /// 3.59, their 95 % intervals −9.83 to −.33 and 1.77 to 11.27. All twelve: the R package BAtrending prints by restricted
    /// likelihood a bias of .705, a scatter of 1.022 (.413 within) and limits −1.298 and 2.707, which is near.
    #[test]
    fn a_published_example() {
        let few = repeated(cardiac().get(..4).unwrap(), 0.95).unwrap();
        let near = |ours: f64, theirs: f64, by: f64| assert!((ours - theirs).abs() < by, "{ours} {theirs}");
        near(few.bias.value, 0.7255, 1e-4);
        near(few.lower.value, -2.14, 5e-3);
        near(few.upper.value, 3.59, 5e-3);
        for (ours, theirs) in
            [(few.lower.low, -9.83), (few.lower.high, -0.33), (few.upper.low, 1.77), (few.upper.high, 11.27)]
        {
            near(ours, theirs, 0.011);
        }
        let all = repeated(&cardiac(), 0.95).unwrap();
        assert_eq!((all.pairs, all.subjects), (60, 12));
        near(all.bias.value, 0.705, 0.01);
        near(all.sd, 1.022, 0.01);
        near(all.within, 0.413, 0.001);
        near(all.lower.value, -1.298, 0.01);
        near(all.upper.value, 2.707, 0.01);
        // Not defined takes no part; too few subjects are none.
        let mut holed = cardiac();
        holed.push(vec![(f64::NAN, 1.0)]);
        assert_eq!(repeated(&holed, 0.95), repeated(&cardiac(), 0.95));
        assert!(repeated(holed.get(..2).unwrap(), 0.95).is_none());
    }

    /// Bland & Altman 1986: within-subject SD of the meters 15.3 and 19.9; the differences' corrected SD 37.7. Pairs of
    /// repeats taken as they come carry the same variance in their components.
    #[test]
    fn repeated_pairs_hold_both_kinds_of_scatter() {
        let pairs: Vec<Vec<(f64, f64)>> = (0..17)
            .map(|k| LARGE.iter().zip(&MINI).filter_map(|(l, m)| Some((*l.get(k)?, *m.get(k)?))).collect())
            .collect();
        let found = repeated(&pairs, 0.95).unwrap();
        assert_eq!((found.pairs, found.subjects), (34, 17));
        assert!((found.bias.value - -6.029_412).abs() < 1e-6);
        assert!((found.sd - 37.7).abs() < 1.0, "{}", found.sd);
    }

    /// One pair a subject: the same estimates as single pairs, whose intervals are only rougher.
    #[test]
    fn single_pairs_are_the_same() {
        let [large, mini] = [LARGE, MINI].map(|of| of.first().copied().unwrap());
        let single = super::super::agreement(&large, &mini, 0.95).unwrap();
        let pairs: Vec<Vec<(f64, f64)>> = large.iter().zip(&mini).map(|(a, b)| vec![(*a, *b)]).collect();
        let found = repeated(&pairs, 0.95).unwrap();
        assert_eq!((found.bias, found.sizes), (single.bias, single.sizes));
        assert!((found.sd - single.sd).abs() < 1e-12 && found.within.is_nan());
        assert!((found.upper.high - single.upper.high).abs() < 0.2 * (single.upper.high - single.upper.low));
    }
}
