//! Filling short gaps by a curve that does not overshoot.

use std::ops::Range;

/// Fills gaps of at most `most` samples by a monotone piecewise cubic through the finite values.
///
/// Shape: in place; the answer lists what was filled, first to last. Unit: that of the column. A gap is a stretch of values that are not
/// finite; longer ones stay as they are, and so do gaps at either end, where nothing says how it goes on. Between two
/// finite values the curve stays between them, so a filled force never dips below both neighbours. Slopes at
/// a gap's edges come from the finite values next to them, across other gaps where need be.
/// Errors: none; fewer than two finite values fill nothing. Source: FritschButland1984 (weighted harmonic mean of the neighbouring
/// slopes), ends by a three-point formula kept monotone, as `scipy.interpolate.PchipInterpolator`. Checked: refs/gaps.toml.
pub fn fill(column: &mut [f64], most: usize) -> Vec<Range<usize>> {
    let known: Vec<(f64, f64)> =
        column.iter().enumerate().filter(|(_, x)| x.is_finite()).map(|(i, &x)| (i as f64, x)).collect();
    let mut filled = Vec::new();
    for (k, pair) in known.windows(2).enumerate() {
        let [(left, from), (right, to)] = [pair[0], pair[1]];
        let gap = left as usize + 1..right as usize;
        if gap.is_empty() || gap.len() > most {
            continue;
        }
        let width = right - left;
        let (start, end) = (width * slope(&known, k), width * slope(&known, k + 1));
        for (i, x) in column.iter_mut().enumerate().take(gap.end).skip(gap.start) {
            // Hermite's cubic on 0..=1.
            let t = (i as f64 - left) / width;
            let rise = to - from;
            *x = from + t * (start + t * (3.0 * rise - 2.0 * start - end + t * (start + end - 2.0 * rise)));
        }
        filled.push(gap);
    }
    filled
}

/// Slope of the curve at known point `k`.
fn slope(known: &[(f64, f64)], k: usize) -> f64 {
    // Width and slope of the straight line from point `i` to the next.
    let chord = |i: usize| {
        let [(x, y), (u, v)] = *known.get(i..)?.first_chunk()?;
        Some((u - x, (v - y) / (u - x)))
    };
    let before = k.checked_sub(1).and_then(chord);
    match (before, chord(k)) {
        (Some((h0, m0)), Some((h1, m1))) => {
            if m0 * m1 <= 0.0 {
                return 0.0;
            }
            let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
            (w0 + w1) / (w0 / m0 + w1 / m1)
        }
        (None, Some(first)) => end_slope(first, chord(1)),
        (Some(last), None) => end_slope(last, k.checked_sub(2).and_then(chord)),
        (None, None) => f64::NAN,
    }
}

/// Slope at an end from the chord there and the one after it: the parabola's, unless it turns back or runs away.
fn end_slope((h0, m0): (f64, f64), next: Option<(f64, f64)>) -> f64 {
    let Some((h1, m1)) = next else { return m0 };
    let slope = ((2.0 * h0 + h1) * m0 - h0 * m1) / (h0 + h1);
    if slope * m0 <= 0.0 {
        0.0
    } else if m0 * m1 <= 0.0 && slope.abs() > 3.0 * m0.abs() {
        3.0 * m0
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const GAP: f64 = f64::NAN;

    #[test]
    fn short_gaps_only() {
        let mut x = vec![GAP, 1.0, 2.0, GAP, 4.0, GAP, f64::INFINITY, GAP, 4.0, GAP, 9.0, GAP];
        let filled = fill(&mut x, 2);
        assert_eq!(filled, [3..4, 9..10]);
        assert!(x[0].is_nan() && x[5].is_nan() && x[6] == f64::INFINITY && x[11].is_nan());
        // By hand, half-way: mean of the neighbours plus an eighth of the width times the fall of the slope:
        // slopes 1 and 0; 0 and ((2·2 + 4)·2.5 − 2·0)/6 = 10/3.
        assert!((x[3] - 3.25).abs() < 1e-12 && (x[9] - (6.5 - 10.0 / 12.0)).abs() < 1e-12);
        // Three more samples allowed: level neighbours give a level.
        assert_eq!(fill(&mut x, 3), [Range { start: 5, end: 8 }]);
        assert_eq!(x[5..8], [4.0; 3]);
    }

    #[test]
    fn two_points_make_a_line_and_one_makes_nothing() {
        let mut x = [GAP, 2.0, GAP, GAP, 8.0];
        assert_eq!(fill(&mut x, 5), [Range { start: 2, end: 4 }]);
        assert!((x[2] - 4.0).abs() < 1e-12 && (x[3] - 6.0).abs() < 1e-12 && x[0].is_nan());
        assert!(fill(&mut [GAP, 2.0, GAP], 5).is_empty());
        assert!(fill(&mut [], 5).is_empty() && fill(&mut [1.0, GAP, 2.0], 0).is_empty());
    }

    proptest! {
        /// Never outside its neighbours, and what was known is untouched.
        #[test]
        fn never_overshoots(x in prop::collection::vec(prop_oneof![2 => -1e3..1e3_f64, 1 => Just(GAP)], 0..60), most in 0..6_usize) {
            let mut y = x.clone();
            for gap in fill(&mut y, most) {
                prop_assert!(gap.len() <= most);
                let (a, b) = (x[gap.start - 1], x[gap.end]);
                prop_assert!(y[gap].iter().all(|v| *v >= a.min(b) - 1e-9 && *v <= a.max(b) + 1e-9));
            }
            prop_assert!(x.iter().zip(&y).all(|(a, b)| a.is_nan() || a == b));
        }
    }
}
