//! The quiet interval before the swing.
use mechanics::wrench::PlateWrench;
use signal::quiet::{Search, quietest};
use std::ops::Range;

/// The quietest loaded interval: the player at address, or standing.
#[derive(Clone, Debug, PartialEq)]
pub struct Address {
    /// Samples of the recording.
    pub samples: Range<usize>,
    /// True where a movement went before: the interval tells the player's weight, but not where they addressed.
    pub after_movement: bool,
    /// Standard deviation of the total vertical force over it, N.
    pub vertical_sd_n: f64,
    /// Mean total vertical force over it, N.
    pub vertical_n: f64,
}

/// Length of the interval that is looked for, s.
pub const ADDRESS_S: f64 = 0.5;

/// Standing is called quiet while the total vertical force varies by less than this share of itself.
/// Common practice, no source: quiet stance varies by well under 1 %.
const QUIET_SHARE: f64 = 0.03;

/// Least total vertical force of a standing person, N (a child of 15 kg).
pub const STANDING_LEAST_N: f64 = 150.0;

/// The quietest half second (or a quarter of a shorter recording) in which the plates together carry a person;
/// of equally quiet ones the first. It is looked for before the largest vertical force, since a finish is held as
/// still as an address; where there is none before, the rest of the recording is taken. `None` where nothing is quiet.
///
/// Quiet is the variance of the total vertical force; sums run in order, so the answer is reproducible.
pub fn find_address(plates: &[PlateWrench], rate_hz: f64) -> Option<Address> {
    let samples = plates.first()?.wrench.len();
    if !rate_hz.is_finite() || rate_hz <= 0.0 {
        return None;
    }
    let length = ((ADDRESS_S * rate_hz).round() as usize).min(samples / 4).max(2);
    let mut total = vec![0.0; samples];
    for plate in plates {
        for (sum, force) in total.iter_mut().zip(&plate.wrench.force_n) {
            *sum += force.z;
        }
    }
    let finite = |k: &usize| total[*k].is_finite();
    let peak = (0..samples).filter(finite).max_by(|a, b| total[*a].total_cmp(&total[*b])).unwrap_or(samples);
    let before = quiet(&total, 0..peak, length);
    before.or_else(|| {
        let found = quiet(&total, 0..samples, length)?;
        let moved = total.get(peak).is_some_and(|most| *most > MOVING_SHARE * found.vertical_n);
        Some(Address { after_movement: moved, ..found })
    })
}

/// A vertical force above weight by this much is a movement, not sway. Common practice, no source.
const MOVING_SHARE: f64 = 1.2;

fn quiet(total: &[f64], within: Range<usize>, length: usize) -> Option<Address> {
    let search = Search { within, length, lowest_mean: STANDING_LEAST_N, highest_mean: f64::INFINITY };
    let found = quietest(total, &search)?;
    let sd = found.variance.sqrt();
    (sd <= QUIET_SHARE * found.mean).then_some(Address {
        samples: found.start..found.end,
        after_movement: false,
        vertical_sd_n: sd,
        vertical_n: found.mean,
    })
}
