//! Forward and backward over a column, so that nothing is delayed.
//!
//! The ends are continued by turning the column about its first and last value (odd padding), and each
//! pass starts in the steady state of its first sample: the method and the numbers of
//! `scipy.signal.sosfiltfilt` with its defaults. Checked: refs/butterworth.toml.

use super::Section;

/// What becomes of a run of finite values that is too short to be filtered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShortRuns {
    /// Left as it is, unfiltered: no sample is lost.
    Keep,
    /// Made NaN: no sample is passed off as filtered.
    Drop,
}

/// What [`zero_phase`] did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Runs {
    /// Runs of finite values that were filtered.
    pub filtered: usize,
    /// Runs too short to filter.
    pub short: usize,
    /// Samples in those short runs.
    pub short_samples: usize,
}

/// Samples added at each end before filtering: 3·(2·sections + 1), and 3 fewer where a section is of first order.
/// A run must be longer than this to be filtered.
///
/// Source: the default of `scipy.signal.sosfiltfilt`.
#[must_use]
pub fn pad_length(sections: &[Section]) -> usize {
    let no_b2 = sections.iter().filter(|s| s.b[2] == 0.0).count();
    let no_a2 = sections.iter().filter(|s| s.a[1] == 0.0).count();
    3 * (2 * sections.len() + 1 - no_b2.min(no_a2))
}

/// Filters a column forward and backward, in place.
///
/// Shape: any length; nothing is allocated once `scratch` has grown to the longest run. Unit: that of the column.
/// NaN and infinite values stay where they are and split the column into runs, each filtered by itself, so
/// that a gap never spreads. A run of at most [`pad_length`] samples is dealt with as `short` says.
/// Design the sections with [`super::butterworth_both_ways`] if the cut-off is to hold for both passes.
/// Errors: none. Source: the padding and the initial states of
/// `scipy.signal.sosfiltfilt`. Checked: refs/butterworth.toml.
pub fn zero_phase(
    sections: &[Section],
    column: &mut [f64],
    short: ShortRuns,
    scratch: &mut Vec<f64>,
) -> Runs {
    let (rows, _) = column.as_chunks_mut();
    zero_phase_lanes::<1>(sections, rows, short, scratch)
}

/// Filters `L` columns at once that share a design: row by row, one lane for each column.
///
/// One column alone makes the processor wait for its own last output; several fill that wait. Each lane gets
/// the very bits that [`zero_phase`] gives its column, as long as the columns have their gaps at the same rows.
/// A row with any value that is not finite is a gap for all lanes and splits their runs: a wrench of which one
/// component is missing is no wrench. What is finite in such a row cannot be filtered; it is left unfiltered or
/// made NaN as `short` says, and is not counted in [`Runs`], whose samples are rows.
/// Shape, unit, errors, source: as [`zero_phase`]. Checked: against it, bit for bit.
pub fn zero_phase_lanes<const L: usize>(
    sections: &[Section],
    rows: &mut [[f64; L]],
    short: ShortRuns,
    scratch: &mut Vec<f64>,
) -> Runs {
    let pad = pad_length(sections);
    let mut runs = Runs::default();
    let is_gap = |row: &[f64; L]| row.iter().any(|x| !x.is_finite());
    for run in rows.split_mut(is_gap).filter(|run| !run.is_empty()) {
        if run.len() > pad {
            runs.filtered += 1;
            filter_run(sections, run, pad, scratch);
        } else {
            runs.short += 1;
            runs.short_samples += run.len();
            if short == ShortRuns::Drop {
                run.fill([f64::NAN; L]);
            }
        }
    }
    if short == ShortRuns::Drop && L > 1 {
        let gaps = rows.iter_mut().filter(|row| is_gap(row));
        gaps.flatten().filter(|x| x.is_finite()).for_each(|x| *x = f64::NAN);
    }
    runs
}

/// One run of finite rows, longer than `pad`.
fn filter_run<const L: usize>(
    sections: &[Section],
    run: &mut [[f64; L]],
    pad: usize,
    scratch: &mut Vec<f64>,
) {
    let (&[first, ..], &[.., last]) = (&*run, &*run) else { return };
    let turned =
        |about: [f64; L], row: &[f64; L]| std::array::from_fn::<f64, L, _>(|l| 2.0 * about[l] - row[l]);
    scratch.clear();
    scratch.extend(run.iter().skip(1).take(pad).rev().flat_map(|row| turned(first, row)));
    scratch.extend_from_slice(run.as_flattened());
    scratch.extend(run.iter().rev().skip(1).take(pad).flat_map(|row| turned(last, row)));
    let (padded, _) = scratch.as_chunks_mut::<L>();
    cascade(sections, padded, Direction::Forward);
    cascade(sections, padded, Direction::Backward);
    for (x, y) in run.iter_mut().zip(padded.iter().skip(pad)) {
        *x = *y;
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Direction {
    Forward,
    Backward,
}

/// One pass through all sections, starting in the steady state of the first row met.
///
/// Sections run in groups, a group being one loop over the rows: within it the processor works on several
/// sections at once, where one section alone would wait for its own last output.
fn cascade<const L: usize>(sections: &[Section], rows: &mut [[f64; L]], direction: Direction) {
    let first = if direction == Direction::Forward { rows.first() } else { rows.last() };
    let Some(&(mut level)) = first else { return };
    for group in sections.chunks(4) {
        level = match *group {
            [a] => pass([a], level, rows, direction),
            [a, b] => pass([a, b], level, rows, direction),
            [a, b, c] => pass([a, b, c], level, rows, direction),
            [a, b, c, d] => pass([a, b, c, d], level, rows, direction),
            _ => level,
        };
    }
}

/// One pass through `S` sections (transposed direct form II) from the steady state for a constant `level`;
/// returns the constant that this level has become.
fn pass<const S: usize, const L: usize>(
    sections: [Section; S],
    mut level: [f64; L],
    rows: &mut [[f64; L]],
    direction: Direction,
) -> [f64; L] {
    let mut state = [[[0.0; L]; 2]; S];
    for (s, [z0, z1]) in sections.iter().zip(&mut state) {
        for l in 0..L {
            let out = level[l] * ((s.b[0] + s.b[1] + s.b[2]) / (1.0 + s.a[0] + s.a[1]));
            z1[l] = s.b[2] * level[l] - s.a[1] * out;
            z0[l] = s.b[1] * level[l] - s.a[0] * out + z1[l];
            level[l] = out;
        }
    }
    let step = |row: &mut [f64; L]| {
        let mut x = *row;
        for (s, [z0, z1]) in sections.iter().zip(&mut state) {
            for l in 0..L {
                let y = s.b[0] * x[l] + z0[l];
                z0[l] = s.b[1] * x[l] + z1[l] - s.a[0] * y;
                z1[l] = s.b[2] * x[l] - s.a[1] * y;
                x[l] = y;
            }
        }
        *row = x;
    };
    match direction {
        Direction::Forward => rows.iter_mut().for_each(step),
        Direction::Backward => rows.iter_mut().rev().for_each(step),
    }
    level
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::filter::{Band, butterworth, butterworth_both_ways};
    use crate::math;
    use std::f64::consts::TAU;

    /// Corrected 10 Hz low-pass of two sines at 1 kHz; figures made with scipy 1.17.1 (`filtfilt`, which pads
    /// 9 samples here, as `sosfiltfilt` does for one section).
    #[test]
    fn two_sines() {
        let mut x: Vec<f64> = (0..1000)
            .map(|i| f64::from(i) / 1000.0)
            .map(|t| math::sin(TAU * 2.0 * t) + 0.1 * math::sin(TAU * 60.0 * t))
            .collect();
        let sections = butterworth_both_ways(2, Band::Low(10.0), 1000.0).unwrap();
        assert_eq!(pad_length(&sections), 9);
        let runs = zero_phase(&sections, &mut x, ShortRuns::Keep, &mut Vec::new());
        assert_eq!(runs, Runs { filtered: 1, short: 0, short_samples: 0 });
        for (i, y) in [(0, 0.015_883_137_9), (125, 0.999_321_021), (500, 0.0), (999, -0.143_420_372)] {
            assert!((x[i] - y).abs() < 1e-9, "y[{i}] = {} is not {y}", x[i]);
        }
    }

    /// A low-pass leaves a constant alone everywhere, and a straight line alone once the ends' transients,
    /// gone after a few periods of the cut-off, are over: nothing is delayed.
    #[test]
    fn constants_and_lines_stay() {
        for order in 1..=9 {
            let sections = butterworth(order, Band::Low(60.0), 1000.0).unwrap();
            let mut scratch = Vec::new();
            let mut constant = vec![700.0; 100];
            zero_phase(&sections, &mut constant, ShortRuns::Drop, &mut scratch);
            assert!(constant.iter().all(|y| (y - 700.0).abs() < 1e-9), "order {order}");
            let mut line: Vec<f64> = (0..900).map(|i| 700.0 - 0.5 * f64::from(i)).collect();
            zero_phase(&sections, &mut line, ShortRuns::Drop, &mut scratch);
            assert!((line[450] - 475.0).abs() < 1e-7, "order {order}: {}", line[450]);
        }
    }

    /// A gap stays a gap, and each side is filtered as if it stood alone.
    #[test]
    fn a_gap_never_spreads() {
        let sections = butterworth(4, Band::Low(20.0), 1000.0).unwrap();
        let whole: Vec<f64> = (0..200).map(|i| f64::from((i * 37) % 101)).collect();
        let mut x = whole.clone();
        x[80] = f64::NAN;
        x[81] = f64::INFINITY;
        x[90] = f64::NAN;
        let mut scratch = Vec::new();
        let runs = zero_phase(&sections, &mut x, ShortRuns::Drop, &mut scratch);
        assert_eq!(runs, Runs { filtered: 2, short: 1, short_samples: 8 });
        assert!(x[80].is_nan() && x[81] == f64::INFINITY && x[82..=90].iter().all(|v| v.is_nan()));
        for side in [0..80, 91..200] {
            let mut alone = whole[side.clone()].to_vec();
            zero_phase(&sections, &mut alone, ShortRuns::Drop, &mut scratch);
            assert_eq!(x[side], alone);
        }
        let mut kept = vec![1.0, 5.0, 2.0, f64::NAN];
        let runs = zero_phase(&sections, &mut kept, ShortRuns::Keep, &mut scratch);
        assert_eq!((runs.filtered, runs.short, &kept[..3]), (0, 1, &[1.0, 5.0, 2.0][..]));
    }

    /// Six columns of different size and shape, some gaps, every number of sections in a group and beyond.
    #[test]
    fn lanes_equal_columns_bit_for_bit() {
        let mut rows: Vec<[f64; 6]> = (0..300)
            .map(|i| {
                std::array::from_fn(|l| f64::from((i * (7 + l as i32)) % 101) * 10_f64.powi(l as i32 - 3))
            })
            .collect();
        rows[120] = [f64::NAN; 6];
        rows[125] = [f64::INFINITY; 6];
        for order in 1..=10 {
            let sections = butterworth_both_ways(order, Band::Low(60.0), 1000.0).unwrap();
            for short in [ShortRuns::Keep, ShortRuns::Drop] {
                let mut lanes = rows.clone();
                let runs = zero_phase_lanes(&sections, &mut lanes, short, &mut Vec::new());
                for l in 0..6 {
                    let mut alone: Vec<f64> = rows.iter().map(|row| row[l]).collect();
                    assert_eq!(zero_phase(&sections, &mut alone, short, &mut Vec::new()), runs);
                    let bits = |x: f64| x.to_bits();
                    assert!(
                        lanes.iter().map(|row| bits(row[l])).eq(alone.iter().map(|&x| bits(x))),
                        "order {order}, lane {l}"
                    );
                }
            }
        }
    }

    /// One missing value is a gap for every lane, and nothing unfiltered passes for filtered.
    #[test]
    fn a_row_with_a_hole_is_a_gap() {
        let sections = butterworth(2, Band::Low(60.0), 1000.0).unwrap();
        let mut rows: Vec<[f64; 2]> = (0..60).map(|i| [f64::from(i), f64::from(i % 7)]).collect();
        rows[30][1] = f64::NAN;
        let mut kept = rows.clone();
        let runs = zero_phase_lanes(&sections, &mut kept, ShortRuns::Keep, &mut Vec::new());
        assert_eq!(runs, Runs { filtered: 2, short: 0, short_samples: 0 });
        assert!(kept[30][0] == 30.0 && kept[30][1].is_nan());
        zero_phase_lanes(&sections, &mut rows, ShortRuns::Drop, &mut Vec::new());
        assert!(rows[30].iter().all(|x| x.is_nan()));
        assert_eq!((&rows[..30], &rows[31..]), (&kept[..30], &kept[31..]));
        let mut alone: Vec<f64> = (0..30).map(f64::from).collect();
        zero_phase(&sections, &mut alone, ShortRuns::Drop, &mut Vec::new());
        assert!(rows[..30].iter().map(|row| row[0]).eq(alone));
    }

    #[test]
    fn nothing_to_do() {
        let mut x = [1.0, 2.0];
        assert_eq!(zero_phase(&[], &mut x, ShortRuns::Drop, &mut Vec::new()).short, 1);
        let sections = butterworth(2, Band::High(20.0), 1000.0).unwrap();
        assert_eq!(zero_phase(&sections, &mut [], ShortRuns::Drop, &mut Vec::new()), Runs::default());
    }
}
