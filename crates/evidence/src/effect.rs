//! How large a difference is beside the scatter: standardised differences with Hedges' correction, and their intervals by the
//! noncentral t. All differences are second less first.
//!
//! What a difference is divided by makes the number. Two groups: the pooled standard deviation of their units ([`two_groups`]).
//! Pairs ([`pairs`]): the average of the two conditions' standard deviations (d_av, comparable with two groups), or that of
//! the changes (d_z, which grows with the correlation of the conditions and belongs to the paired test).
use crate::interval::Interval;
use signal::{math, noncentral, stats};

/// A standardised difference.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effect {
    /// Difference over the standard deviation, second less first (Cohen's d).
    pub d: f64,
    /// Hedges' g, the same without its bias in small samples; with the interval of the true standardised difference.
    pub g: Interval,
    /// Degrees of freedom of the correction.
    pub degrees: f64,
}

impl Effect {
    /// Not defined.
    pub const NONE: Self = Self { d: f64::NAN, g: Interval::NONE, degrees: f64::NAN };
}

/// Standardised differences of pairs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairedEffect {
    /// Over the average standard deviation of the two conditions, √((s₁² + s₂²)/2): d_av.
    pub average: Effect,
    /// Over the standard deviation of the changes: d_z.
    pub of_changes: Effect,
}

/// Standardised difference of two groups; values that are not defined are left out.
///
/// Unit: 1. Undefined: NaN where a group has fewer than two values or nothing varies. Source: Hedges1981 for g, with his exact
/// factor Γ(m/2)/(√(m/2)·Γ((m−1)/2)); SteigerFouladi1997 for the interval: t = d/√(1/n₁ + 1/n₂) is noncentral, and the limits are
/// the noncentralities that leave the tails, exact for normal groups of equal scatter. Checked: a worked example, its limits by
/// scipy's nct, and coverage by simulation.
pub fn two_groups(first: &[f64], second: &[f64], level: f64) -> Effect {
    let (n, m) = (stats::count(first) as f64, stats::count(second) as f64);
    let degrees = n + m - 2.0;
    let pooled = ((n - 1.0) * stats::variance(first) + (m - 1.0) * stats::variance(second)) / degrees;
    let difference = stats::mean(second) - stats::mean(first);
    let over = real(pooled.sqrt(), [first, second]);
    finish(difference / over, degrees, degrees, (1.0 / n + 1.0 / m).sqrt(), level)
}

/// Standardised differences of pairs; pairs with a value that is not defined are left out.
///
/// Unit: 1. Undefined: NaN with fewer than three pairs or where nothing varies. Source: d_av, Cumming2012 ch. 11, with the
/// degrees of freedom 2(n − 1)/(1 + r²) of the average of two correlated variances (Cousineau2020) in Hedges' factor, and the
/// limits of d_z scaled by s_D/s_av (AlginaKeselman2003, nearly right); d_z with limits that are exact for normal changes.
/// Checked: pingouin's paired Cohen d, and coverage and bias by simulation.
pub fn pairs(first: &[f64], second: &[f64], level: f64) -> PairedEffect {
    let whole: Vec<(f64, f64)> =
        first.iter().copied().zip(second.iter().copied()).filter(|(a, b)| !(a - b).is_nan()).collect();
    let n = whole.len() as f64;
    if whole.len() < 3 {
        return PairedEffect { average: Effect::NONE, of_changes: Effect::NONE };
    }
    let column = |of: fn(&(f64, f64)) -> f64| whole.iter().map(of).collect::<Vec<f64>>();
    let (a, b, changes) = (column(|p| p.0), column(|p| p.1), column(|p| p.1 - p.0));
    let (mean, of_changes) = (stats::mean(&changes), real(stats::standard_deviation(&changes), [&a, &b]));
    let average = real((0.5 * (stats::variance(&a) + stats::variance(&b))).sqrt(), [&a, &b]);
    let r = stats::correlation(&a, &b);
    let step = 1.0 / n.sqrt();
    let z = finish(mean / of_changes, n - 1.0, n - 1.0, step, level);
    let average_degrees = 2.0 * (n - 1.0) / (1.0 + r * r);
    let mut av = finish(mean / average, average_degrees, n - 1.0, step, f64::NAN);
    let scale = of_changes / average;
    (av.g.low, av.g.high) = (z.g.low * scale, z.g.high * scale);
    PairedEffect { average: av, of_changes: z }
}

/// A standard deviation, NaN where it is nothing beside the values' last digits.
fn real(sd: f64, of: [&[f64]; 2]) -> f64 {
    let size = of.iter().flat_map(|g| g.iter()).fold(0.0_f64, |most, v| most.max(v.abs()));
    if sd > 1e-12 * size { sd } else { f64::NAN }
}

/// `step`: what d is divided by to be a t; `t_degrees`: that t's degrees of freedom.
fn finish(d: f64, degrees: f64, t_degrees: f64, step: f64, level: f64) -> Effect {
    if !d.is_finite() {
        return Effect::NONE;
    }
    let tail = 0.5 * (1.0 - level);
    let limit = |p: f64| step * noncentral::noncentrality(p, d / step, t_degrees);
    let g = Interval { value: d * unbiased(degrees), low: limit(1.0 - tail), high: limit(tail) };
    Effect { d, g, degrees }
}

/// Hedges' factor, exact.
pub fn unbiased(degrees: f64) -> f64 {
    let half = 0.5 * degrees;
    math::exp(math::ln_gamma(half) - math::ln_gamma(half - 0.5)) / half.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    const A: [f64; 9] = [8., 9., 11., 7., 10., 9., 8., 10., f64::NAN];
    const B: [f64; 8] = [10., 12., 9., 11., 14., 13., 10., 12.];

    fn near(a: f64, b: f64, by: f64) {
        assert!((a - b).abs() < by, "{a}, not {b}");
    }

    /// Exact factors (gamma function), and two groups of eight: d 1.573992, g 1.487875; limits as refs/noncentral.toml has them
    /// (scipy's nct) for t = 3.147984 with 14 degrees, times √(2/8).
    #[test]
    fn worked_values() {
        for (degrees, expected) in
            [(4.0, 0.797_884_6), (8.0, 0.902_703_3), (18.0, 0.957_646_4), (50.0, 0.984_911_9)]
        {
            near(unbiased(degrees), expected, 1e-7);
        }
        let found = two_groups(&A, &B, 0.95);
        near(found.d, 1.573_992, 1e-6);
        near(found.g.value, 1.487_875, 1e-6);
        near(found.g.low, 0.5 * 0.831_582_403_7, 1e-6);
        near(found.g.high, 0.5 * 5.381_532_059_1, 1e-6);
        let other_way = two_groups(&B, &A, 0.95);
        near(other_way.g.low, -found.g.high, 1e-9);
        assert!(two_groups(&[1.0, 1.0], &[2.0, 2.0], 0.95).d.is_nan(), "nothing varies");
    }

    /// pingouin 0.7.0, `compute_effsize(paired=True, eftype="cohen")`; changes worked by hand.
    #[test]
    fn pairs_over_their_average_and_over_their_changes() {
        let found = pairs(&A, &B, 0.95);
        near(found.average.d, 1.573_992_052_2, 1e-9);
        let uneven = pairs(&A, &[9., 9.5, 11., 6., 12., 9., 7., 11.], 0.95);
        near(uneven.average.d, 0.181_573_960_8, 1e-9);
        // Changes 2 3 −2 4 4 4 2 2: mean 2.375, squares 73, variance (73 − 8·2.375²)/7.
        let z = 2.375 / ((73.0 - 8.0 * 2.375 * 2.375) / 7.0_f64).sqrt();
        near(found.of_changes.d, z, 1e-12);
        near(found.of_changes.g.value, z * unbiased(7.0), 1e-12);
        let ratio = found.average.d / found.of_changes.d;
        near(found.average.g.low / found.of_changes.g.low, ratio, 1e-12);
        assert!(pairs(&[1.0, 2.0], &[2.0, 4.0], 0.95).average.d.is_nan());
        let alike = pairs(&[0.1, 0.2, 0.7], &[1.1, 1.2, 1.7], 0.95);
        assert!(alike.of_changes.d.is_nan() && alike.average.d.is_finite(), "all change by as much");
    }
}
