//! Interval of a sum or a difference of variances that are each known from a mean square.
use crate::interval::Interval;
use signal::{chi_square, fisher};

/// A mean square: degrees·value/expectation is chi-square with its degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanSquare {
    /// The estimate, in the unit of the values, squared.
    pub value: f64,
    /// Degrees of freedom.
    pub degrees: f64,
}

impl MeanSquare {
    /// Not defined.
    pub const NONE: Self = Self { value: f64::NAN, degrees: 0.0 };
}

/// Interval of Σ weight·E(mean square) of independent mean squares; weights of either sign.
///
/// Unit: weights times those of the mean squares. Undefined: NaN where a mean square with a weight is. A limit may lie below 0
/// even where the sum cannot: the caller cuts it, and says so.
/// Source: TingEtAl1990 (modified large sample; for two terms of opposite sign the limit passes 0 exactly where the F test
/// does). Checked: that F limit, and coverage in tests/repeat_coverage.rs.
pub fn combined(terms: &[(f64, MeanSquare)], level: f64) -> Interval {
    let p = 0.5 * (1.0 + level);
    let used: Vec<Term> = terms.iter().filter(|(w, _)| *w != 0.0).map(|(w, m)| Term::of(*w, *m, p)).collect();
    let value: f64 = used.iter().map(|t| t.size).sum();
    if used.is_empty() || !value.is_finite() || used.iter().any(|t| t.degrees <= 0.0) {
        return Interval::NONE;
    }
    // The lower limit takes what is added to be overestimated, the upper limit what is taken away.
    let (added, taken): (Vec<Term>, Vec<Term>) = used.iter().partition(|t| t.size > 0.0);
    Interval { value, low: value - reach(&added, &taken, p), high: value + reach(&taken, &added, p) }
}

/// A weighted mean square.
#[derive(Clone, Copy)]
struct Term {
    /// Weight times mean square.
    size: f64,
    degrees: f64,
    /// Share by which the estimate may lie above its expectation.
    over: f64,
    /// Share of the estimate by which it may lie below its expectation.
    under: f64,
}

impl Term {
    fn of(weight: f64, m: MeanSquare, p: f64) -> Self {
        Self {
            size: weight * m.value,
            degrees: m.degrees,
            over: over(m.degrees, p),
            under: m.degrees / chi_square::quantile(1.0 - p, m.degrees) - 1.0,
        }
    }
}

fn over(degrees: f64, p: f64) -> f64 {
    1.0 - degrees / chi_square::quantile(p, degrees)
}

fn square(x: f64) -> f64 {
    x * x
}

/// How far a limit lies from the sum: root of the modified variance, with some terms overestimated and the others under.
fn reach(large: &[Term], small: &[Term], p: f64) -> f64 {
    let mut sum: f64 = large.iter().map(|t| square(t.over * t.size)).sum();
    sum += small.iter().map(|t| square(t.under * t.size)).sum::<f64>();
    for a in large {
        for b in small {
            let f = fisher::quantile(p, a.degrees, b.degrees);
            let both = square(f - 1.0) - square(a.over * f) - square(b.under);
            sum += both / f * (a.size * b.size).abs();
        }
    }
    // Terms that are overestimated together: less than each for itself.
    let others = (large.len() as f64 - 1.0).max(1.0);
    for (k, a) in large.iter().enumerate() {
        for b in large.iter().skip(k + 1) {
            let (n, m) = (a.degrees, b.degrees);
            let both = square(over(n + m, p) * (n + m)) / (n * m);
            let apart = square(a.over) * n / m + square(b.over) * m / n;
            sum += (both - apart) / others * (a.size * b.size).abs();
        }
    }
    sum.max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One term is the chi-square interval of a variance, to the last digits.
    #[test]
    fn one_term_is_chi_square() {
        let of = combined(&[(2.0, MeanSquare { value: 3.0, degrees: 12.0 })], 0.95);
        let limit = |p: f64| 2.0 * 3.0 * 12.0 / chi_square::quantile(p, 12.0);
        assert!((of.low - limit(0.975)).abs() < 1e-12 && (of.high - limit(0.025)).abs() < 1e-12, "{of:?}");
    }

    /// A difference of two mean squares is above 0 with its whole interval exactly where their ratio passes the quantile of F.
    #[test]
    fn a_difference_passes_nothing_where_f_does() {
        let (n, m) = (7.0, 40.0);
        for (p, upper) in [(0.975, false), (0.025, true)] {
            let f = fisher::quantile(p, n, m);
            let of = |ratio: f64| {
                let terms = [
                    (1.0, MeanSquare { value: ratio, degrees: n }),
                    (-1.0, MeanSquare { value: 1.0, degrees: m }),
                ];
                let found = combined(&terms, 0.95);
                if upper { found.high } else { found.low }
            };
            assert!(of(f).abs() < 1e-9, "{}", of(f));
            assert!(of(f * 1.001) > 0.0 && of(f * 0.999) < 0.0);
        }
    }

    #[test]
    fn what_is_not_known_is_not_defined() {
        let known = MeanSquare { value: 1.0, degrees: 4.0 };
        assert!(combined(&[(1.0, known), (1.0, MeanSquare::NONE)], 0.95).value.is_nan());
        assert!(combined(&[(1.0, known), (0.0, MeanSquare::NONE)], 0.95).value == 1.0, "without weight");
        assert!(combined(&[], 0.95).low.is_nan());
    }
}
