//! Integrals and derivatives of a column: impulse from force, velocity from acceleration, loading rate.
//!
//! A *place* in a column is a real number: 2.25 lies a quarter of the way from sample 2 to sample 3. A time in seconds
//! becomes a place by (time − start)·rate. Between samples a column is taken as the straight line.

use crate::{line, runs};

/// Running integral from the first sample on, by the trapezoidal rule; 0 at the first sample.
///
/// Shape: as the column. Unit: that of the column times that of `step`, the distance from sample to sample.
/// Undefined: NaN from the first value on that is not finite, since nobody knows what was gathered in the gap: fill or
/// cut first. Errors: none. Source: trapezoidal rule, as `scipy.integrate.cumulative_trapezoid(initial=0)`.
/// Checked: refs/calculus.toml.
#[must_use]
pub fn cumulative(column: &[f64], step: f64) -> Vec<f64> {
    let mut sum = 0.0;
    let mut before = None;
    let running = |&value: &f64| {
        // The first sample has nothing to its left; 0·value is 0, or NaN where the value is not finite.
        sum += before.map_or(0.0 * value, |last: f64| step * (last + value) / 2.0);
        sum = if value.is_finite() { sum } else { f64::NAN };
        before = Some(value);
        sum
    };
    column.iter().map(running).collect()
}

/// Value of a column at a place, on the straight line between its neighbours.
///
/// Undefined: NaN outside the samples, and where a neighbour that counts is NaN. Source: definition.
#[must_use]
pub fn at(column: &[f64], place: f64) -> f64 {
    let below = place.floor();
    let part = place - below;
    if place.is_nan() || place < 0.0 {
        return f64::NAN;
    }
    // `as` saturates, so a far place finds no sample.
    let index = below as usize;
    match (column.get(index), column.get(index.saturating_add(1))) {
        (Some(&low), _) if part == 0.0 => low,
        (Some(&low), Some(&high)) => low + part * (high - low),
        _ => f64::NAN,
    }
}

/// Integral between two places, by the trapezoidal rule with the pieces of a sample at both ends.
///
/// Shape: places in samples, 0 the first sample. Unit: that of the column times that of `step`, the distance from
/// sample to sample. Where `to` is before `from` the sign turns, as that of an integral does. Undefined: NaN where a
/// place is outside the column, or a value on the way is NaN. Source: trapezoidal rule. Checked: against
/// [`cumulative`], and a parabola by hand.
#[must_use]
pub fn between(column: &[f64], step: f64, from: f64, to: f64) -> f64 {
    if to < from {
        return -between(column, step, to, from);
    }
    let last = column.len() as f64 - 1.0;
    // A NaN place fails the comparison.
    if !(from >= 0.0 && to <= last) {
        return f64::NAN;
    }
    let trapezoid = |width: f64, a: f64, b: f64| if width > 0.0 { width * (a + b) / 2.0 } else { 0.0 };
    let (head, tail) = (from.ceil(), to.floor());
    if head > tail {
        return step * trapezoid(to - from, at(column, from), at(column, to));
    }
    let whole = column.get(head as usize..=tail as usize).unwrap_or_default();
    let middle: f64 = whole.windows(2).map(|w| (w[0] + w[1]) / 2.0).sum();
    let first = trapezoid(head - from, at(column, from), at(column, head));
    let end = trapezoid(to - tail, at(column, tail), at(column, to));
    step * (first + middle + end)
}

/// Rate of change at each sample: central differences, one-sided at both ends of a run.
///
/// Shape: as the column. Unit: that of the column divided by that of `step`, the distance from sample to sample.
/// Undefined: NaN where the value is not finite, and in a run of one; each run between gaps is taken by itself, so no
/// difference reaches across a gap. Errors: none. Source: as `numpy.gradient`. Checked: refs/calculus.toml.
#[must_use]
pub fn derivative(column: &[f64], step: f64) -> Vec<f64> {
    let mut out = vec![f64::NAN; column.len()];
    for run in runs::finite(column) {
        let (x, y) = (&column[run.clone()], &mut out[run]);
        let [first, .., last] = x else { continue };
        let n = x.len();
        for (y, w) in y.iter_mut().skip(1).zip(x.windows(3)) {
            *y = (w[2] - w[0]) / (2.0 * step);
        }
        y[0] = (x[1] - first) / step;
        y[n - 1] = (last - x[n - 2]) / step;
    }
    out
}

/// Slope of the least-squares line through a window of a column: the rate of force development over it.
///
/// Shape: the window is the slice. Unit: that of the column divided by that of `step`, the distance from sample to sample.
/// NaN and infinite values are left out. Undefined: NaN where fewer than two values are finite. Source: definition of
/// least squares. Checked: refs/calculus.toml (`scipy.stats.linregress`).
#[must_use]
pub fn slope(window: &[f64], step: f64) -> f64 {
    let points = window.iter().enumerate().map(|(i, &y)| (i as f64 * step, y));
    line::fit(points).map_or(f64::NAN, |line| line.slope)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const GAP: f64 = f64::NAN;

    fn same(a: &[f64], b: &[f64]) {
        assert_eq!(a.len(), b.len());
        for (x, y) in a.iter().zip(b) {
            assert!(x == y || x.is_nan() && y.is_nan(), "{a:?} is not {b:?}");
        }
    }

    #[test]
    fn running_sum_by_hand() {
        same(&cumulative(&[1.0, 3.0, 5.0, 5.0], 0.5), &[0.0, 1.0, 3.0, 5.5]);
        same(&cumulative(&[1.0, 3.0, GAP, 5.0, 6.0], 1.0), &[0.0, 2.0, GAP, GAP, GAP]);
        same(&cumulative(&[f64::INFINITY, 1.0], 1.0), &[GAP, GAP]);
        same(&cumulative(&[], 1.0), &[]);
        same(&cumulative(&[7.0], 1.0), &[0.0]);
    }

    /// x² at places 0, 1, 2, 3 with straight lines between: from ½ to 2¼ by hand
    /// (½·(½ + 1)/2 = 0.375, (1 + 4)/2 = 2.5, ¼·(4 + 5.25)/2 = 1.15625).
    #[test]
    fn pieces_of_samples() {
        let x = [0.0, 1.0, 4.0, 9.0];
        assert_eq!(between(&x, 2.0, 0.5, 2.25), 2.0 * 4.03125);
        assert_eq!(between(&x, 2.0, 2.25, 0.5), -2.0 * 4.03125);
        assert_eq!(between(&x, 1.0, 2.25, 2.75), 0.5 * (5.25 + 7.75) / 2.0);
        assert_eq!(between(&x, 1.0, 3.0, 3.0), 0.0);
        assert_eq!(at(&x, 2.25), 5.25);
        assert_eq!(at(&x, 3.0), 9.0);
    }

    #[test]
    fn a_gap_or_the_outside_is_not_zero() {
        let x = [1.0, 1.0, 1.0, GAP, 1.0];
        assert_eq!(between(&x, 1.0, 0.0, 2.0), 2.0);
        for (from, to) in
            [(0.0, 2.5), (2.5, 4.0), (3.0, 3.5), (-0.1, 1.0), (0.0, 4.1), (GAP, 1.0), (0.0, GAP)]
        {
            assert!(between(&x, 1.0, from, to).is_nan(), "{from} {to}");
        }
        assert!(between(&[], 1.0, 0.0, 0.0).is_nan());
        for place in [-0.5, 2.5, 3.0, 4.5, 1e300, GAP, f64::INFINITY] {
            assert!(at(&x, place).is_nan(), "{place}");
        }
    }

    #[test]
    fn no_difference_reaches_across_a_gap() {
        let x = [1.0, 2.0, 4.0, GAP, 5.0, GAP, 9.0, 8.0];
        same(&derivative(&x, 0.5), &[2.0, 3.0, 4.0, GAP, GAP, GAP, -2.0, -2.0]);
        same(&derivative(&[], 0.5), &[]);
    }

    #[test]
    fn slopes() {
        assert!((slope(&[5.0, 7.0, GAP, 11.0], 0.01) - 200.0).abs() < 1e-9);
        assert!(slope(&[5.0, GAP], 0.01).is_nan() && slope(&[], 0.01).is_nan());
    }

    proptest! {
        /// Between whole samples the definite integral is the difference of the running one; parts add up.
        #[test]
        fn definite_equals_running(x in prop::collection::vec(-1e3..1e3_f64, 2..50), a in 0.0..1.0_f64, b in 0.0..1.0_f64, c in 0.0..1.0_f64) {
            let last = x.len() as f64 - 1.0;
            let running = cumulative(&x, 0.001);
            let (i, j) = ((a * last) as usize, (b * last) as usize);
            prop_assert!((between(&x, 0.001, i as f64, j as f64) - (running[j] - running[i])).abs() < 1e-9);
            let [a, b, c] = [a * last, b * last, c * last];
            let parts = between(&x, 0.001, a, b) + between(&x, 0.001, b, c);
            prop_assert!((parts - between(&x, 0.001, a, c)).abs() < 1e-9);
        }
    }
}
