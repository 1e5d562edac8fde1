//! When something begins to move, and when it has come to rest: change against a quiet baseline.

use crate::{line, stats};
use std::ops::Range;

/// Which change is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// The first departure after a quiet stretch: the search runs forward.
    Onset,
    /// The last return to a quiet stretch: the search runs backward from the quiet stretch's side.
    Settling,
}

/// When a column counts as departed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rules {
    /// Beyond so many standard deviations of the quiet stretch a column has departed.
    pub departed: f64,
    /// Within so many it is still quiet; at most `departed`. The change is placed where this is crossed.
    pub quiet: f64,
    /// So many samples in a row must have departed, so that a spike of fewer is none.
    pub sustain: usize,
}

/// A change and how well its place is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// Where the column crossed its quiet threshold, samples from the start, between two samples.
    pub place: f64,
    /// Standard uncertainty of the place, samples.
    pub uncertainty: f64,
    /// Which column changed first (settling: last).
    pub column: usize,
    /// First sample of the sustained departure, in the direction of the search.
    pub seen_at: usize,
}

/// The first sustained departure of any column from its own quiet stretch, dated back to where it began.
///
/// Shape: columns of one recording, a `floors` entry for each; places in samples. `quiet` is the stretch that gives
/// each column its mean and standard deviation; where the deviation is below the column's floor (unit of the column), as in a
/// constant stretch, the floor stands in for it. `search` is where departures are looked for; to either side it may
/// overlap `quiet`. Each column is searched by itself, [`Direction::Onset`] forward, [`Direction::Settling`] backward: the first
/// `sustain` samples in a row beyond `departed` deviations. From there it is followed back to the last sample within
/// `quiet` deviations, outside `search` too if need be, and the crossing is put between that sample and the next by a
/// straight line. The earliest column wins (settling: the latest); of equals, the first.
/// A value that is not finite counts as not departed. Where the way back ends at a gap, the change may lie anywhere in it: the place is the
/// gap's edge and the gap's length goes into the uncertainty.
/// Uncertainty: noise over slope (the deviation, or floor, over the steepness of the line through the samples from quiet to
/// departed), a sample's grid (1/√12), and the gap (length/√3), as root sum of squares. It does not say how
/// long a movement was too small for the threshold: about `quiet` times noise over slope.
/// `None`: no column departs, a departure reaches back to the end of its column, a column has fewer than two quiet values, or
/// a rule makes no sense (thresholds not positive, `quiet` above `departed`, `sustain` 0, a floor missing). A
/// column without quiet values is passed over.
/// Source: five standard deviations and then a fixed 30 ms back are of OwenEtAl2014 (from memory); here the lower
/// threshold replaces the fixed step, so that slow beginnings are followed further than fast ones. Checked: ramps by hand
/// and the scatter of seeded trials.
#[must_use]
pub fn change(
    columns: &[&[f64]],
    floors: &[f64],
    quiet: Range<usize>,
    search: Range<usize>,
    direction: Direction,
    rules: &Rules,
) -> Option<Change> {
    let sane =
        rules.quiet > 0.0 && rules.departed >= rules.quiet && rules.departed.is_finite() && rules.sustain > 0;
    if !sane || floors.len() != columns.len() {
        return None;
    }
    let mut first: Option<Change> = None;
    for (number, (&column, &floor)) in columns.iter().zip(floors).enumerate() {
        let Some(band) = Band::of(column, quiet.clone(), floor) else { continue };
        let Some(found) = one(column, &band, search.clone(), direction, rules) else { continue };
        let sooner = |than: &Change| match direction {
            Direction::Onset => found.place < than.place,
            Direction::Settling => found.place > than.place,
        };
        if first.as_ref().is_none_or(sooner) {
            first = Some(Change { column: number, ..found });
        }
    }
    first
}

/// A column at rest.
struct Band {
    mean: f64,
    deviation: f64,
}

impl Band {
    fn of(column: &[f64], quiet: Range<usize>, floor: f64) -> Option<Self> {
        let stretch = column.get(quiet.start.min(column.len())..quiet.end.min(column.len()))?;
        let (mean, own) = (stats::mean(stretch), stats::standard_deviation(stretch));
        let deviation = own.max(floor);
        // A NaN fails; so does a constant without a floor.
        (own.is_finite() && mean.is_finite() && deviation > 0.0).then_some(Self { mean, deviation })
    }

    /// How far from rest, in deviations; NaN where the value is not finite.
    fn off_rest(&self, value: f64) -> f64 {
        if value.is_finite() { (value - self.mean).abs() / self.deviation } else { f64::NAN }
    }
}

fn one(
    column: &[f64],
    band: &Band,
    search: Range<usize>,
    direction: Direction,
    rules: &Rules,
) -> Option<Change> {
    let onset = direction == Direction::Onset;
    let search = search.start.min(column.len())..search.end.min(column.len());
    let mut in_a_row = 0;
    // A NaN is beyond nothing.
    let mut sustained = |i: &usize| {
        in_a_row =
            if column.get(*i).is_some_and(|&x| band.off_rest(x) > rules.departed) { in_a_row + 1 } else { 0 };
        in_a_row >= rules.sustain
    };
    let seen_last =
        if onset { search.clone().find(&mut sustained) } else { search.clone().rev().find(&mut sustained) }?;
    let seen_at = if onset { seen_last + 1 - rules.sustain } else { seen_last + rules.sustain - 1 };

    // Back to where it began.
    let back = |i: usize| if onset { i.checked_sub(1) } else { i.checked_add(1) };
    let mut outside = seen_at;
    let (inside, value) = loop {
        let next = back(outside)?;
        let &value = column.get(next)?;
        let off = band.off_rest(value);
        if off.is_nan() || off <= rules.quiet {
            break (next, value);
        }
        outside = next;
    };
    let place = |i: usize| i as f64;
    let edge = band.off_rest(*column.get(outside)?);
    let (crossing, gap) = if value.is_finite() {
        let rest = band.off_rest(value);
        // Both sides of the threshold, so the two differ; a jump from one side of rest to the other counts as a jump.
        let part = (edge - rules.quiet) / (edge - rest);
        (place(outside) + part * (place(inside) - place(outside)), 0.0)
    } else {
        let mut length = 1.0;
        let mut at = inside;
        while let Some(next) = back(at).filter(|&i| column.get(i).is_some_and(|x| !x.is_finite())) {
            length += 1.0;
            at = next;
        }
        (place(outside), length)
    };
    let (low, high) = (inside.min(seen_at), inside.max(seen_at));
    let way = (low..=high).filter_map(|i| Some((place(i), band.off_rest(*column.get(i)?))));
    let steepness = line::fit(way.clone()).map_or(f64::NAN, |l| l.slope.abs());
    // A single sample after a gap has no slope; then the whole gap is all that is known.
    let noise = if steepness > 0.0 { 1.0 / steepness } else { 0.0 };
    let uncertainty = (noise * noise + 1.0 / 12.0 + gap * gap / 3.0).sqrt();
    Some(Change { place: crossing, uncertainty, column: 0, seen_at })
}

#[cfg(test)]
mod tests {
    use super::*;

    const RULES: Rules = Rules { departed: 5.0, quiet: 2.0, sustain: 4 };

    /// Alternating ±1 about 700 (deviation just over 1), then a ramp of `slope` a sample from sample 100 on.
    fn ramp(slope: f64) -> Vec<f64> {
        (0..200)
            .map(|i| {
                700.0
                    + if i % 2 == 0 { 1.0 } else { -1.0 } * f64::from(u8::from(i < 100))
                    + slope * f64::from((i - 99).max(0))
            })
            .collect()
    }

    fn onset(column: &[f64]) -> Option<Change> {
        change(&[column], &[0.1], 0..80, 0..column.len(), Direction::Onset, &RULES)
    }

    /// Ramp 2 a sample: deviation s = √(80/79) = 1.00631; 5 s is passed at sample 102 (6 > 5.03), 2 s between
    /// samples 100 (2 ≤ 2.0126) and 101 (4): at 100 + 0.0126/2.
    #[test]
    fn a_ramp_by_hand() {
        let s = (80.0_f64 / 79.0).sqrt();
        let found = onset(&ramp(2.0)).unwrap();
        assert_eq!((found.seen_at, found.column), (102, 0));
        assert!((found.place - (100.0 + (2.0 * s - 2.0) / 2.0)).abs() < 1e-9, "{found:?}");
        let expected = (s / 2.0 * (s / 2.0) + 1.0 / 12.0).sqrt();
        assert!((found.uncertainty - expected).abs() < 1e-9, "{found:?}");
        // Downward is a departure as well.
        let down: Vec<f64> = ramp(2.0).iter().map(|x| 1400.0 - x).collect();
        assert!((onset(&down).unwrap().place - found.place).abs() < 1e-9);
    }

    /// A slow beginning is followed further back than a fast one.
    #[test]
    fn slow_beginnings() {
        let slow = onset(&ramp(0.2)).unwrap();
        assert!((slow.place - 109.063).abs() < 0.001 && slow.seen_at == 125, "{slow:?}");
        assert!(slow.uncertainty > 5.0);
    }

    /// The same, mirrored in time, is a settling.
    #[test]
    fn settling_is_the_mirror() {
        let x = ramp(2.0);
        let mirrored: Vec<f64> = x.iter().rev().copied().collect();
        let forward = onset(&x).unwrap();
        let back = change(&[&mirrored], &[0.1], 120..200, 0..200, Direction::Settling, &RULES).unwrap();
        assert_eq!(back.seen_at, 199 - forward.seen_at);
        assert!((back.place - (199.0 - forward.place)).abs() < 1e-9);
        assert!((back.uncertainty - forward.uncertainty).abs() < 1e-9);
    }

    /// Seeded noise of 1, ramps of different steepness: the scatter of the places is the stated uncertainty.
    #[test]
    fn uncertainty_is_the_scatter() {
        let mut s = 11_u64;
        let mut draw = || {
            s = s.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((s >> 11) as f64 / (1_u64 << 53) as f64 - 0.5) * 12.0_f64.sqrt()
        };
        for slope in [0.3, 1.0, 3.0] {
            let (mut places, mut stated) = (Vec::new(), 0.0);
            for _ in 0..400 {
                let x: Vec<f64> = (0..300).map(|i| slope * f64::from((i - 200).max(0)) + draw()).collect();
                let found = onset(&x).unwrap();
                places.push(found.place);
                stated += found.uncertainty / 400.0;
            }
            let scatter = stats::standard_deviation(&places);
            assert!(
                (0.5..1.5).contains(&(scatter / stated)),
                "slope {slope}: scatter {scatter}, stated {stated}"
            );
        }
    }

    #[test]
    fn spikes_gaps_and_constants() {
        let clean = onset(&ramp(2.0)).unwrap();
        let mut x = ramp(2.0);
        x[90] = 900.0;
        x[85] = f64::NAN;
        x[95..98].fill(5000.0);
        assert_eq!(onset(&x).unwrap(), clean);
        // The beginning lies in a gap of seven.
        x[97..104].fill(f64::NAN);
        let found = onset(&x).unwrap();
        assert_eq!((found.seen_at, found.place), (104, 104.0));
        assert!(found.uncertainty >= 7.0 / 3.0_f64.sqrt());
        // Constant: the floor decides.
        let mut step = vec![0.0; 100];
        step[60..].fill(1.0);
        let with = |floor: f64| change(&[&step], &[floor], 0..50, 0..100, Direction::Onset, &RULES);
        assert_eq!(with(0.1).unwrap().seen_at, 60);
        assert!((with(0.1).unwrap().place - 59.2).abs() < 1e-9);
        assert_eq!(with(0.3), None);
        assert_eq!(with(0.0), None);
    }

    /// The column that moves first decides, and it says which.
    #[test]
    fn of_several_the_first() {
        let (late, early) = (ramp(2.0)[20..].to_vec(), ramp(1.0)[40..].to_vec());
        let columns = [&late[..], &early[..], &[f64::NAN; 160]];
        let found = change(&columns, &[0.1; 3], 0..50, 0..160, Direction::Onset, &RULES).unwrap();
        assert_eq!(found.column, 1);
        assert!((60.0..63.0).contains(&found.place), "{found:?}");
        // Mirrored, the column that comes to rest last.
        let [late, early] = [late, early].map(|x| x.into_iter().rev().collect::<Vec<f64>>());
        let columns = [&early[..], &late[20..]];
        let last = change(&columns, &[0.1; 2], 100..120, 0..160, Direction::Settling, &RULES).unwrap();
        assert_eq!(last.column, 0);
        assert!((last.place - (159.0 - found.place)).abs() < 0.5, "{last:?}");
    }

    #[test]
    fn no_change_to_tell() {
        let x = ramp(2.0);
        let find = |rules: &Rules, floors: &[f64], search: Range<usize>| {
            change(&[&x], floors, 0..80, search, Direction::Onset, rules)
        };
        assert_eq!(find(&RULES, &[0.1], 0..100), None);
        assert_eq!(find(&RULES, &[], 0..200), None);
        assert_eq!(find(&Rules { sustain: 0, ..RULES }, &[0.1], 0..200), None);
        assert_eq!(find(&Rules { quiet: 6.0, ..RULES }, &[0.1], 0..200), None);
        assert_eq!(find(&Rules { sustain: usize::MAX, ..RULES }, &[0.1], 0..200), None);
        assert!(find(&RULES, &[0.1], 150..usize::MAX).unwrap().place < 101.0);
        assert_eq!(find(&RULES, &[0.1], Range { start: 90, end: 10 }), None);
        assert_eq!(change(&[&x], &[0.1], 300..400, 0..200, Direction::Onset, &RULES), None);
        assert_eq!(change(&[&x], &[0.1], 80..80, 0..200, Direction::Onset, &RULES), None);
        // Departed as far back as the column reaches.
        assert_eq!(change(&[&x], &[0.1], 150..151, 0..20, Direction::Onset, &RULES), None);
        assert_eq!(change(&[], &[], 0..80, 0..200, Direction::Onset, &RULES), None);
    }
}
