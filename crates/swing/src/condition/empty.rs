//! What a plate reads when nobody is on it.
use super::PlateDone;
use glam::DVec3;
use mechanics::wrench::{PlateWrench, Wrenches};
use signal::quiet::{Search, quietest};
use std::ops::Range;

/// Mean wrench of an empty plate. Golf frame; moment about the golf origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// N.
    pub force_n: DVec3,
    /// N·m.
    pub moment_nm: DVec3,
    /// Samples it was taken over; empty where it comes from another recording.
    pub samples: Range<usize>,
}

/// Length of the interval that is looked for, s.
const EMPTY_S: f64 = 0.2;

/// An empty plate is as still as its own noise, which a foot never is: the spread of the vertical force within this
/// many times the white noise. Ours; tried on the measured recordings.
const STILL: f64 = 1.5;

/// What hum and the steps of a converter may add to that, N.
const STILL_FLOOR_N: f64 = 0.5;

/// The largest vertical force that is taken for an offset of an empty plate and not for a resting foot, N.
const OFFSET_MOST_N: f64 = 100.0;

/// The mean wrench of a plate over its stillest 0.2 s within a range of samples, where that looks empty: as still as
/// the plate's own noise, and not pressing like a foot. `None` where there is no such interval.
///
/// `noise_n`: white noise of the vertical force, N (the third of [`PlateDone::noise`]).
pub fn empty_level(plate: &PlateWrench, within: Range<usize>, rate_hz: f64, noise_n: f64) -> Option<Level> {
    let length = (EMPTY_S * rate_hz).round() as usize;
    let vertical: Vec<f64> = plate.wrench.force_n.iter().map(|f| f.z).collect();
    let search = Search { within, length, lowest_mean: f64::NEG_INFINITY, highest_mean: OFFSET_MOST_N };
    let window = quietest(&vertical, &search)?;
    let still = window.variance.sqrt() <= STILL * noise_n + STILL_FLOOR_N;
    if !still {
        return None;
    }
    mean(&plate.wrench, window.start..window.end)
}

/// The mean wrench over a range of samples; `None` where nothing is defined there.
pub fn mean(wrench: &Wrenches, samples: Range<usize>) -> Option<Level> {
    let over = |column: &[DVec3]| {
        crate::analyse::mean_over(column.get(samples.clone()).unwrap_or_default().iter().copied())
    };
    let level = Level {
        force_n: over(&wrench.force_n),
        moment_nm: over(&wrench.moment_nm),
        samples: samples.clone(),
    };
    (level.force_n.is_finite() && level.moment_nm.is_finite()).then_some(level)
}

/// What the plate reads empty in the first and in the last third of the recording, where it is empty in both.
pub fn early_and_late(plate: &PlateWrench, done: &PlateDone, rate_hz: f64) -> Option<(Level, Level)> {
    let samples = plate.wrench.len();
    let early = empty_level(plate, 0..samples / 3, rate_hz, done.noise[2])?;
    let late = empty_level(plate, samples - samples / 3..samples, rate_hz, done.noise[2])?;
    Some((early, late))
}
