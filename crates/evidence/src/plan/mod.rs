//! How many measurements would show a difference: the power of the tests with which a difference is looked for.
//!
//! By formula ([`Test::power`]) where the noncentral t has one, and by simulation ([`simulated`]) with the permutation tests
//! themselves. Both see means of units that are free of one another; what a unit is and how its mean scatters, [`Noise`] says.
mod noise;
mod simulated;

pub use noise::{Noise, Sides};
pub use simulated::{Simulated, Simulation, simulated};

use signal::{noncentral, student};

/// How a difference is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Test {
    /// Two groups, so many units in each.
    Two,
    /// The same units twice: differences of so many units.
    Paired,
    /// A single difference against a scatter that is known.
    Known,
}

impl Test {
    /// Chance of seeing a difference, two-sided at `alpha`.
    ///
    /// `sd`: scatter of a unit ([`Test::Two`]), of a unit's difference ([`Test::Paired`]), of the difference ([`Test::Known`], for
    /// which `units` does not count). Unit: 1. Undefined: NaN with fewer than two units.
    /// Source: the noncentral t distribution (Owen1968; textbook). Checked: statsmodels' TTestIndPower and TTestPower.
    pub fn power(self, difference: f64, sd: f64, units: usize, alpha: f64) -> f64 {
        let n = units as f64;
        let (degrees, size) = match self {
            Self::Two => (2.0 * n - 2.0, (0.5 * n).sqrt()),
            Self::Paired => (n - 1.0, n.sqrt()),
            Self::Known => (f64::INFINITY, 1.0),
        };
        if self != Self::Known && units < 2 {
            return f64::NAN;
        }
        let moved = difference.abs() / sd * size;
        if !(alpha > 0.0 && alpha < 1.0) || moved.is_nan() {
            return f64::NAN;
        }
        let limit = student::quantile(1.0 - 0.5 * alpha, degrees);
        noncentral::share_above(limit, degrees, moved) + noncentral::share_below(-limit, degrees, moved)
    }
}

/// Most units that are looked for.
pub const MOST: usize = 100_000;

/// The least number of units with which the chance of seeing a difference reaches `wanted`; `None` where [`MOST`] do not.
///
/// `power`: of a number of units; it must not fall. Starts at `least`.
pub fn needed(wanted: f64, least: usize, power: impl Fn(usize) -> f64) -> Option<usize> {
    let reaches = |n: usize| power(n) >= wanted;
    let (mut low, mut high) = (least, least.max(1));
    if least > MOST {
        return None;
    }
    while !reaches(high) {
        if high >= MOST {
            return None;
        }
        low = high + 1;
        high = (2 * high).min(MOST);
    }
    while low < high {
        let middle = low + (high - low) / 2;
        if reaches(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Some(high)
}

#[cfg(test)]
mod tests {
    use super::*;

    const POWERS: [(Test, f64, usize, f64, f64); 8] = [
        (Test::Two, 0.5, 10, 0.05, 0.185_095_656_291),
        (Test::Two, 1.0, 10, 0.05, 0.562_006_646_586),
        (Test::Two, 0.8, 26, 0.05, 0.807_486_615_147),
        (Test::Two, 0.2, 400, 0.01, 0.597_436_823_015),
        (Test::Paired, 0.5, 10, 0.05, 0.293_175_606_514),
        (Test::Paired, 1.0, 4, 0.05, 0.288_752_416_402),
        (Test::Paired, 0.8, 15, 0.05, 0.821_310_538_724),
        (Test::Paired, 0.2, 400, 0.01, 0.920_363_066_387),
    ];

    const NEEDED: [(Test, f64, usize); 6] = [
        (Test::Two, 0.2, 394),
        (Test::Two, 0.5, 64),
        (Test::Two, 0.8, 26),
        (Test::Paired, 0.2, 199),
        (Test::Paired, 0.5, 34),
        (Test::Paired, 0.8, 15),
    ];

    /// statsmodels 0.15.0, TTestIndPower().power(d, n, 0.05) and TTestPower().power(d, n, 0.05); a known scatter: Φ by hand.
    #[test]
    fn powers_of_t_tests() {
        for (test, d, n, alpha, expected) in POWERS {
            let found = test.power(d * 3.0, 3.0, n, alpha);
            assert!((found - expected).abs() < 1e-9, "{test:?} {d} {n}: {found}");
        }
        // 2.8 standard errors, the textbook's 80 % (Φ(2.8 − 1.96) = 0.7995).
        assert!((Test::Known.power(2.8, 1.0, 0, 0.05) - 0.799_555).abs() < 1e-5);
        assert!((Test::Two.power(0.0, 1.0, 9, 0.05) - 0.05).abs() < 1e-12, "no difference: alpha");
        assert!(
            Test::Two.power(1.0, 1.0, 1, 0.05).is_nan()
                && Test::Paired.power(1.0, f64::NAN, 5, 0.05).is_nan()
        );
    }

    /// statsmodels 0.15.0, solve_power at 80 %, rounded up.
    #[test]
    fn units_needed() {
        for (test, d, expected) in NEEDED {
            let found = needed(0.8, 2, |n| test.power(d, 1.0, n, 0.05));
            assert_eq!(found, Some(expected), "{test:?} {d}");
        }
        assert_eq!(needed(0.8, 2, |n| Test::Two.power(1e-4, 1.0, n, 0.05)), None);
        assert_eq!(needed(0.5, 2, |_| 0.9), Some(2));
    }
}
