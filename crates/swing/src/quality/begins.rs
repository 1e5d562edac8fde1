//! Whether the recording shows the player at rest before the movement, and is long enough for one.
use crate::address::STANDING_LEAST_N;
use crate::analyse::Swing;
use glam::DVec3;
use mechanics::Recording;
use mechanics::finding::{self, Finding};
use std::ops::Range;

/// A swing takes longer than this from takeaway to finish, s. Backswings alone last 0.7 to 1 s (common practice, no source).
const SHORT_S: f64 = 0.5;

/// The beginning that is looked at, s.
const FIRST_S: f64 = 0.15;

/// Standing still, the net centre of pressure wanders no faster than this, m/s: quiet stance sways at 0.01 to 0.03 (from
/// memory, literature on posture).
const WANDERS_M_S: f64 = 0.15;

/// And the vertical force stays within this share of its mean.
const STILL_SHARE: f64 = 0.05;

/// A rate that is not known has its own finding.
pub(super) fn long_enough(recording: &Recording, findings: &mut Vec<Finding>) {
    let duration_s = recording.analog.duration_s();
    if duration_s < SHORT_S && recording.analog.rate_hz.is_finite() {
        let seen = format!("{} samples, {duration_s:.3} s", recording.analog.len());
        findings.push(Finding::new(&finding::TOO_SHORT, seen));
    }
}

/// Already loaded and moving at the first sample, and never at rest before the largest force.
pub(super) fn check(swing: &Swing, findings: &mut Vec<Finding>) {
    let first = 0..((FIRST_S * swing.rate_hz).round() as usize).max(4);
    let Some(seen) = moves(swing, first.clone()) else { return };
    let rests = |address: &crate::address::Address| {
        !address.after_movement && moves(swing, address.samples.clone()).is_none()
    };
    if swing.address.as_ref().is_some_and(rests) {
        return;
    }
    let found = Finding::new(&finding::BEGINS_MOVING, seen);
    findings.push(found.during(0.0, (first.end - 1) as f64 / swing.rate_hz));
}

/// How a loaded player moves over some samples; `None` where they stand still, or nobody is there.
fn moves(swing: &Swing, samples: Range<usize>) -> Option<String> {
    let net = &swing.series.net;
    let force: Vec<f64> = net.wrench.force_n.get(samples.clone())?.iter().map(|f| f.z).collect();
    let mean = signal::stats::mean(&force);
    let (low, high) = signal::stats::extent(&force)?;
    if mean.is_nan() || mean < STANDING_LEAST_N {
        return None;
    }
    // Thirds, so that noise is no movement.
    let third = (samples.len() / 3).max(1);
    let mid = |range: Range<usize>| {
        crate::analyse::mean_over(net.contact.get(range).unwrap_or_default().iter().map(|c| c.cop_m))
    };
    let places: [DVec3; 3] =
        std::array::from_fn(|k| mid(samples.start + k * third..samples.start + (k + 1) * third));
    let farthest = |a: DVec3, b: DVec3| (a - b).length() / (third as f64 / swing.rate_hz);
    let speed = farthest(places[0], places[1]).max(farthest(places[1], places[2]));
    let levels: Vec<f64> = force.chunks(third).take(3).map(signal::stats::mean).collect();
    let swing_n = signal::stats::extent(&levels).map_or(high - low, |(a, b)| b - a);
    (speed > WANDERS_M_S || swing_n > STILL_SHARE * mean).then(|| {
        format!(
            "in the first {:.2} s the centre of pressure moves at {:.0} mm/s, and the vertical force by {:.0} % of itself",
            samples.len() as f64 / swing.rate_hz,
            1e3 * speed,
            100.0 * swing_n / mean
        )
    })
}
