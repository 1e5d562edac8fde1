//! The quietest stretch of a column: where a player stands still at address, or a plate is empty.

use std::ops::Range;

/// Where to look, and for what.
#[derive(Clone, Debug, PartialEq)]
pub struct Search {
    /// Samples to look at; what lies outside the column is ignored.
    pub within: Range<usize>,
    /// Length of the window, samples.
    pub length: usize,
    /// The window's mean must be at least this (unit of the column; −∞ for any).
    pub lowest_mean: f64,
    /// The window's mean must be at most this (∞ for any).
    pub highest_mean: f64,
}

/// A window of a column and its statistics.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// First sample.
    pub start: usize,
    /// One past the last sample.
    pub end: usize,
    /// Mean over the window, unit of the column.
    pub mean: f64,
    /// Sample variance over the window (divisor n − 1), unit squared.
    pub variance: f64,
}

/// The window of lowest variance; of equals, the first.
///
/// Shape: any length, one pass, memory for one window. A window holding a NaN or an infinite value is passed over.
/// `None`: no window of that length lies within the bounds, or the length is under 2.
/// Source: quietest-interval search is common practice, no source; sums of windows are joined by ChanEtAl1983,
/// so a large mean costs no digits and a constant has variance 0 exactly. Checked: against every window's
/// variance computed by itself.
#[must_use]
pub fn quietest(column: &[f64], search: &Search) -> Option<Window> {
    let end = search.within.end.min(column.len());
    let start = search.within.start.min(end);
    let length = search.length;
    if length < 2 || length > end - start {
        return None;
    }
    // Cut the column into blocks of one window's length: every window is the tail of one block and the head of
    // the next. Tails are kept per block, heads grow as we go.
    let mut tails: Vec<Moments> = vec![Moments::default(); length];
    let mut best: Option<Window> = None;
    let mut head = Moments::default();
    for (offset, first) in (start..=end - length).enumerate() {
        let place = offset % length;
        if place == 0 {
            let mut tail = Moments::default();
            for (kept, &value) in tails.iter_mut().zip(&column[first..first + length]).rev() {
                tail = tail.and(value);
                *kept = tail;
            }
            head = Moments::default();
        } else {
            head = head.and(column[first + length - 1]);
        }
        let window = tails[place].join(head);
        let variance = window.squares / (length - 1) as f64;
        let fits = window.mean >= search.lowest_mean && window.mean <= search.highest_mean;
        // A NaN fails both comparisons.
        if fits && variance < best.map_or(f64::INFINITY, |b| b.variance) {
            best = Some(Window { start: first, end: first + length, mean: window.mean, variance });
        }
    }
    best
}

/// Count, mean and sum of squared deviations from the mean.
#[derive(Clone, Copy, Default)]
struct Moments {
    count: f64,
    mean: f64,
    squares: f64,
}

impl Moments {
    fn and(self, value: f64) -> Self {
        self.join(Self { count: 1.0, mean: value, squares: 0.0 })
    }

    fn join(self, other: Self) -> Self {
        let count = self.count + other.count;
        if other.count == 0.0 || self.count == 0.0 {
            return if other.count == 0.0 { self } else { other };
        }
        let step = other.mean - self.mean;
        Self {
            count,
            mean: self.mean + step * (other.count / count),
            squares: self.squares + other.squares + step * step * (self.count * other.count / count),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats;
    use proptest::prelude::*;

    fn anywhere(length: usize) -> Search {
        Search { within: 0..usize::MAX, length, lowest_mean: f64::NEG_INFINITY, highest_mean: f64::INFINITY }
    }

    #[test]
    fn finds_the_still_part() {
        let mut x: Vec<f64> = (0..300).map(|i| 700.0 + f64::from((i * 7919) % 13)).collect();
        x[120..170].fill(702.0);
        let w = quietest(&x, &anywhere(40)).unwrap();
        assert_eq!(w, Window { start: 120, end: 160, mean: 702.0, variance: 0.0 });
    }

    /// An empty plate is quieter than a player: the bounds on the mean keep the two apart.
    #[test]
    fn bounds_choose_the_player_not_the_empty_plate() {
        let mut x = vec![0.0; 100];
        x.extend((0..100).map(|i| 800.0 + f64::from(i % 2)));
        let standing = Search { lowest_mean: 400.0, ..anywhere(20) };
        assert_eq!(quietest(&x, &anywhere(20)).unwrap().start, 0);
        assert_eq!(quietest(&x, &standing).unwrap().mean, 800.5);
        assert_eq!(quietest(&x, &Search { within: 110..125, ..anywhere(20) }), None);
        assert_eq!(quietest(&x, &Search { lowest_mean: 900.0, ..anywhere(20) }), None);
        assert_eq!(quietest(&x, &Search { highest_mean: -1.0, ..anywhere(20) }), None);
    }

    #[test]
    fn gaps_and_edges() {
        let x = [1.0, 1.0, f64::NAN, 2.0, 3.0, f64::INFINITY, 9.0, 9.5];
        assert_eq!(quietest(&x, &anywhere(2)).unwrap().start, 0);
        assert_eq!(quietest(&x, &anywhere(3)), None);
        for length in [0, 1, 9, usize::MAX] {
            assert_eq!(quietest(&x, &anywhere(length)), None);
        }
        assert_eq!(quietest(&[], &anywhere(2)), None);
        assert_eq!(quietest(&x, &Search { within: Range { start: 7, end: 3 }, ..anywhere(2) }), None);
    }

    proptest! {
        /// Slow and fast give the same window.
        #[test]
        fn equals_trying_every_window(
            x in prop::collection::vec(prop_oneof![9 => (-5..5_i32).prop_map(|v| 1e6 + f64::from(v)), 1 => Just(f64::NAN)], 0..60),
            length in 2..9_usize, from in 0..20_usize, to in 0..80_usize,
        ) {
            let search = Search { within: from..to, ..anywhere(length) };
            let windows = (from..to.min(x.len()).saturating_sub(length - 1)).filter_map(|start| {
                let window = &x[start..start + length];
                (stats::count(window) == length).then(|| (start, stats::variance(window)))
            });
            let slow = windows.fold(None, |best: Option<(usize, f64)>, w| match best {
                Some(b) if b.1 <= w.1 + 1e-9 => Some(b),
                _ => Some(w),
            });
            let fast = quietest(&x, &search);
            match (slow, fast) {
                (None, None) => {}
                (Some((_, variance)), Some(w)) => {
                    prop_assert!((w.variance - variance).abs() < 1e-6);
                    prop_assert!((w.variance - stats::variance(&x[w.start..w.end])).abs() < 1e-6);
                    prop_assert!((w.mean - stats::mean(&x[w.start..w.end])).abs() < 1e-6);
                }
                other => prop_assert!(false, "{other:?}"),
            }
        }
    }
}
