//! The noncentral t distribution: what Student's t becomes where there is a true difference. Intervals of effect sizes and the
//! power of tests come from it.
//!
//! T = (Z + δ)/S with Z normal and ν·S² chi-square of ν degrees: given S = s, the share below t is Φ(t·s − δ), to be averaged over S.
use crate::{chi_square, math};

/// Share of the noncentral t below `t`.
///
/// Unit: 1. `degrees` need not be whole, infinite ones give the normal distribution about `noncentrality`. Accurate to 1e-12.
/// Undefined: NaN where an argument is or the degrees are not positive. Source: its definition (Owen1968), the mean over S taken
/// by the trapezoid rule in ln s, whose error falls faster than any power of the step; or that over Z, where Φ is too steep a
/// step for it. Checked: refs/noncentral.toml (scipy),
/// Student's t at δ = 0, and Owen's identity of the two tails in the tests.
#[must_use]
pub fn share_below(t: f64, degrees: f64, noncentrality: f64) -> f64 {
    if t.is_nan() || noncentrality.is_nan() || degrees.is_nan() || degrees <= 0.0 {
        return f64::NAN;
    }
    if t.is_infinite() || noncentrality.is_infinite() {
        return if t > noncentrality { 1.0 } else { 0.0 };
    }
    if degrees == f64::INFINITY {
        return below_normal(t - noncentrality);
    }
    // Φ(t·s − δ) rises over 1/δ of s; where S is wide beside that, and Z + δ has one sign, the mean is taken over Z instead.
    if noncentrality.abs() > 30.0 && t.abs() > 10.0 * (2.0 * degrees).sqrt() {
        if t * noncentrality < 0.0 {
            return if t > 0.0 { 1.0 } else { 0.0 };
        }
        let above = |z: f64| {
            let s = (z + noncentrality) / t;
            chi_square::upper_tail(degrees * s * s, degrees)
        };
        let share = settled(-9.0, 9.0, |z| (math::exp(-0.5 * z * z), above(z)));
        return if t > 0.0 { share } else { 1.0 - share };
    }
    mean_over_scatter(degrees, |s| below_normal(t * s - noncentrality))
}

/// Share of the noncentral t above `t`, of its own, so that a small one keeps what digits it has.
///
/// Unit, undefined, source, checked: as [`share_below`].
#[must_use]
pub fn share_above(t: f64, degrees: f64, noncentrality: f64) -> f64 {
    share_below(-t, degrees, -noncentrality)
}

/// The noncentrality for which a share `p` of the noncentral t lies below `t`: a limit of the interval of a noncentrality of
/// which `t` was seen.
///
/// Unit: 1. The share below falls as δ grows, so that there is one. Undefined: NaN where an argument is, p is not inside 0..1 or
/// the degrees are not positive. Source: [`share_below`], inverted by the
/// chord with halved ends (Illinois rule). Checked: refs/noncentral.toml (scipy), there and back in the tests.
#[must_use]
pub fn noncentrality(p: f64, t: f64, degrees: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && degrees > 0.0 && t.is_finite()) {
        return f64::NAN;
    }
    // How much more than p lies below, told by the smaller tail, which has the digits. Falls as δ grows.
    let too_much = |noncentral: f64| {
        if p <= 0.5 {
            share_below(t, degrees, noncentral) - p
        } else {
            (1.0 - p) - share_above(t, degrees, noncentral)
        }
    };
    let mut reach = 4.0;
    let (mut low, mut high) = (t - reach, t + reach);
    let (mut at_low, mut at_high) = (too_much(low), too_much(high));
    while !(at_low > 0.0 && at_high < 0.0) && reach < 1e300 {
        reach *= 2.0;
        if at_low <= 0.0 {
            low = t - reach;
            at_low = too_much(low);
        }
        if at_high >= 0.0 {
            high = t + reach;
            at_high = too_much(high);
        }
    }
    let mut kept = 0;
    for _ in 0..200 {
        if high - low <= 1e-12 * (1.0 + t.abs()) {
            break;
        }
        // Where the chord crosses zero; an end that stays is let count half, so that both ends move.
        let chord = (low * at_high - high * at_low) / (at_high - at_low);
        let middle = if chord > low && chord < high { chord } else { 0.5 * (low + high) };
        let here = too_much(middle);
        if here == 0.0 || middle == low || middle == high {
            return middle;
        }
        if here > 0.0 {
            (low, at_low) = (middle, here);
            at_high *= if kept > 0 { 0.5 } else { 1.0 };
            kept = 1;
        } else {
            (high, at_high) = (middle, here);
            at_low *= if kept < 0 { 0.5 } else { 1.0 };
            kept = -1;
        }
    }
    0.5 * (low + high)
}

fn below_normal(z: f64) -> f64 {
    0.5 * math::erfc(-z / std::f64::consts::SQRT_2)
}

/// Mean of a bounded function of S = √(χ²/ν).
fn mean_over_scatter(degrees: f64, of: impl Fn(f64) -> f64) -> f64 {
    // The density of u = ln s is proportional to exp(−ν·g(u)); what is proportional is divided out below.
    let g = |u: f64| 0.5 * math::exp_m1(2.0 * u) - u;
    let edge = |sign: f64| {
        // Beyond the edges there is less than e⁻⁴⁵ of the density's height.
        let (mut inside, mut outside) = (0.0, 1.0);
        while g(sign * outside) < 45.0 / degrees && outside < 1e300 {
            outside *= 2.0;
        }
        for _ in 0..30 {
            let middle = 0.5 * (inside + outside);
            if g(sign * middle) < 45.0 / degrees { inside = middle } else { outside = middle }
        }
        sign * outside
    };
    settled(edge(-1.0), edge(1.0), |u| (math::exp(-degrees * g(u)), of(math::exp(u))))
}

/// Weighted mean of a function over a stretch, at ever more places until it no longer moves; `of` gives weight and value. The
/// weight has vanished at both ends.
fn settled(low: f64, high: f64, of: impl Fn(f64) -> (f64, f64)) -> f64 {
    let (mut weights, mut sum) = (0.0, 0.0);
    let mut add = |share: f64| {
        let (weight, value) = of(low + (high - low) * share);
        weights += weight;
        sum += weight * value;
        sum / weights
    };
    let mut mean = f64::NAN;
    let mut parts = 32_u32;
    for k in 0..=parts {
        mean = add(f64::from(k) / f64::from(parts));
    }
    let mut same = 0;
    // Each round puts a place between every two; twice the same is the answer.
    while same < 2 && parts < 1 << 16 {
        let before = mean;
        for k in 0..parts {
            mean = add((f64::from(k) + 0.5) / f64::from(parts));
        }
        parts *= 2;
        same = if (mean - before).abs() <= 1e-14 + 1e-13 * mean { same + 1 } else { 0 };
    }
    mean
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::student;

    #[test]
    fn without_a_difference_it_is_student() {
        for degrees in [0.7, 1.0, 2.5, 14.0, 300.0, 1e6] {
            for t in [-30.0, -2.0, 0.0, 0.3, 5.0] {
                let (ours, known) = (share_below(t, degrees, 0.0), student::upper_tail(-t, degrees));
                assert!((ours - known).abs() < 1e-13, "{degrees} {t}: {ours} {known}");
            }
        }
    }

    /// Known at once: at t = 0 the share is Φ(−δ) for any degrees; the mirror image has the other tail (Owen 1968); with
    /// infinite degrees it is normal.
    #[test]
    fn identities() {
        for noncentral in [-40.0, -3.0, 0.0, 0.5, 6.0] {
            for degrees in [1.0, 9.5, 80.0] {
                assert!((share_below(0.0, degrees, noncentral) - below_normal(-noncentral)).abs() < 1e-15);
                let both = share_below(1.3, degrees, noncentral) + share_above(1.3, degrees, noncentral);
                assert!((both - 1.0).abs() < 1e-13, "{degrees} {noncentral}");
            }
            let many = share_below(1.0, 1e9, noncentral);
            assert!((many - share_below(1.0, f64::INFINITY, noncentral)).abs() < 1e-8);
        }
    }

    /// Far out, where Z is nothing beside δ, T is δ/S: the share below t is that of S above δ/t. The two ways of averaging meet
    /// where one gives way to the other.
    #[test]
    fn far_out() {
        for (degrees, t) in [(3.0, 1e6), (13.0, 1e9), (200.0, 1e15)] {
            for s in [0.8, 1.0, 1.1] {
                let known = chi_square::upper_tail(degrees * s * s, degrees);
                assert!((share_below(t, degrees, s * t) - known).abs() < 1e-6, "{degrees} {t} {s}");
                assert!((share_above(-t, degrees, -s * t) - known).abs() < 1e-6);
            }
            let found = noncentrality(0.025, t, degrees);
            assert!((share_below(t, degrees, found) - 0.025).abs() < 1e-9, "{degrees} {t}");
        }
        let edge = 10.0 * 26.0_f64.sqrt();
        for noncentral in [31.0, 40.0, 55.0, 80.0] {
            let (one, other) =
                (share_below(edge, 13.0, noncentral), share_below(edge + 1e-9, 13.0, noncentral));
            assert!((one - other).abs() < 1e-10, "{noncentral}: {one} {other}");
        }
    }

    #[test]
    fn there_and_back() {
        for (t, degrees) in [(3.147_984, 14.0), (-0.2, 5.0), (0.0, 1.0), (40.0, 3.0), (2.0, 1e4)] {
            for p in [1e-6, 0.025, 0.5, 0.975] {
                let found = noncentrality(p, t, degrees);
                assert!((share_below(t, degrees, found) - p).abs() < 1e-11, "{t} {degrees} {p}: {found}");
            }
            assert!(noncentrality(0.975, t, degrees) < noncentrality(0.025, t, degrees));
        }
    }

    #[test]
    fn outside_is_not_a_number() {
        let gap = f64::NAN;
        for (t, degrees, noncentral) in [(gap, 5.0, 0.0), (1.0, 0.0, 0.0), (1.0, gap, 0.0), (1.0, 5.0, gap)] {
            assert!(share_below(t, degrees, noncentral).is_nan());
        }
        assert_eq!((share_below(f64::INFINITY, 5.0, 1.0), share_above(f64::INFINITY, 5.0, 1.0)), (1.0, 0.0));
        assert!(noncentrality(0.0, 1.0, 5.0).is_nan() && noncentrality(0.5, f64::INFINITY, 5.0).is_nan());
    }
}
