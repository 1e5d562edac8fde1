//! What a careful reader would notice: findings about plates and about the whole swing. One family a file.
//!
//! Three moments of the analysis call in: [`recorded`] sees the plates as they were recorded, before anything is
//! filtered or zeroed; [`plates`] sees them as the accounts will; [`swing`] sees the accounts.
mod begins;
mod clipping;
mod dead;
mod dropped;
mod edge;
mod finish;
mod gaps;
mod hand;
mod markers;
mod noise;
mod offset;
mod outliers;
mod outside;
mod pendulum;
mod places;
mod rate;
mod reading;
mod reversed;
mod signs;
mod skew;
mod units;
mod weight;

use crate::analyse::{PlateShadow, Swing};
use mechanics::finding::{FORCE_UNITS_ODD, FORCE_UNITS_WEIGHT, MOMENT_UNITS_ODD, OFFSET_LARGE, TIMES_ODD};
use mechanics::wrench::PlateWrench;
use mechanics::{Finding, Frame, Player, Recording, Rig};

pub use outside::beyond_m;
pub use pendulum::{Pendulum, pendulum};

/// A plate carries a foot when its vertical force is well above the load floor for more than a hundredth of the
/// recording; `high_n` is the force that a hundredth of the samples exceeds. Common practice, no source.
pub fn is_loaded(high_n: f64, floor_n: f64) -> bool {
    high_n > 2.5 * floor_n
}

/// True where the units of a plate are known to be off: what its centre of pressure says then is no news.
fn units_doubted(plate: usize, findings: &[Finding]) -> bool {
    let forces = [&FORCE_UNITS_ODD, &FORCE_UNITS_WEIGHT];
    findings
        .iter()
        .any(|f| forces.contains(&f.kind) || (f.kind == &MOMENT_UNITS_ODD && f.plate == Some(plate)))
}

/// What was recorded, on what, and how it lies in the golf frame.
#[derive(Clone, Copy)]
pub struct Place<'a> {
    /// As it was recorded.
    pub recording: &'a Recording,
    /// The plates it was recorded on.
    pub rig: &'a Rig,
    /// The golf frame of the rig.
    pub frame: &'a Frame,
}

/// Findings about the recording itself, before anything is done to it.
pub fn recorded(recording: &Recording, rig: &Rig, plates: &[PlateWrench], findings: &mut Vec<Finding>) {
    rate::check(recording, findings);
    begins::long_enough(recording, findings);
    gaps::remedies(plates, recording.analog.rate_hz, findings);
    clipping::check(recording, rig, findings);
    outliers::check(recording, rig, findings);
    dead::check(recording, rig, plates, findings);
    places::sizes(rig, findings);
    noise::check(plates, recording.analog.rate_hz, findings);
}

/// Findings that need only the plates, and who the player is said to be.
pub fn plates(
    at: &Place,
    plates: &[PlateWrench],
    rate_hz: f64,
    shadows: &[PlateShadow],
    player: &Player,
    findings: &mut Vec<Finding>,
) {
    let Place { recording, rig, .. } = *at;
    gaps::bridged(plates, findings);
    places::overlaps(shadows, findings);
    reversed::check(at, plates, player.hand, findings);
    units::check(at, plates, rate_hz, shadows, player.mass_kg, findings);
    for (plate, shadow) in plates.iter().zip(shadows) {
        if reversed::is_reversed(plate.plate, findings) {
            continue;
        }
        offset::check(plate, shadows, rig, rate_hz, findings);
        let offset = findings.iter().any(|f| f.kind == &OFFSET_LARGE && f.plate == Some(plate.plate));
        if shadow.loaded && !offset && !units_doubted(shadow.plate, findings) {
            outside::check(plate, rig.load_floor_n, findings);
        }
    }
    dropped::check(recording, rig, shadows, findings);
}

/// Findings that need the whole swing.
pub fn swing(recording: &Recording, rig: &Rig, swing: &Swing, findings: &mut Vec<Finding>) {
    signs::check(recording, rig, swing, findings);
    // Units that are off by a large factor explain all that follows from the numbers.
    let units = [&FORCE_UNITS_ODD, &FORCE_UNITS_WEIGHT, &MOMENT_UNITS_ODD, &TIMES_ODD];
    if findings.iter().any(|f| units.contains(&f.kind)) {
        return;
    }
    weight::check(swing, findings);
    offset::drifting(findings);
    begins::check(swing, findings);
    edge::check(swing, rig.load_floor_n, findings);
    markers::check(recording, swing, findings);
    finish::check(rig, recording, swing, findings);
    hand::check(recording, rig, swing, findings);
    skew::check(swing, findings);
    pendulum::check(recording, rig, swing, findings);
}
