//! The golf frame of a rig: where up, target and origin are.
use glam::DVec3;
use mechanics::finding::{self, Checked, Finding};
use mechanics::{Axis, Frame, Hand, Recording, Rig, Target};

use crate::footmarks;

/// The golf frame. `stated` (the user's) goes before the rig's; with neither a guess is made and said: from foot
/// markers and the hand where there are any, else along the plates.
///
/// Errors: a sentence where the target has no horizontal part or names a plate that is not there.
pub fn frame(
    recording: &Recording,
    rig: &Rig,
    stated: Option<Target>,
    hand: Hand,
) -> Result<Checked<Frame>, String> {
    let centres: Vec<DVec3> = rig.plates.iter().map(|p| p.centre_m() + rig.up.unit() * p.cover_m).collect();
    let mut findings = Vec::new();
    let target = match stated.or(rig.target) {
        Some(target) => target,
        None => {
            let (axis, why) = match by_feet(recording, rig.up, hand) {
                Some(axis) => (axis, "toward which the lead side of the foot markers points"),
                None => (along_plates(rig.up, &centres), "along which the plates lie"),
            };
            findings.push(Finding::new(
                &finding::TARGET_ASSUMED,
                format!("{} was taken, the laboratory axis {why}", axis.name()),
            ));
            Target::Axis(axis)
        }
    };
    let direction = match target {
        Target::Axis(axis) => axis.unit(),
        Target::Vector(vector) => vector,
        Target::FromTo(from, to) => {
            let centre = |k: usize| {
                centres.get(k).copied().ok_or_else(|| {
                    format!("the target names plate {}, but there are {} plates", k + 1, centres.len())
                })
            };
            centre(to)? - centre(from)?
        }
    };
    let origin_m = rig.origin_m.unwrap_or_else(|| {
        if centres.is_empty() { DVec3::ZERO } else { centres.iter().sum::<DVec3>() / centres.len() as f64 }
    });
    let frame = Frame::new(origin_m, rig.up.unit(), direction).ok_or_else(|| {
        format!("the target direction {direction} has no horizontal part (up is {})", rig.up.name())
    })?;
    Ok(Checked { value: frame, findings })
}

/// The signed laboratory axis nearest to the player's lead side, from heel and toe markers; `None` without them.
///
/// A right-handed player stands with the target to the left of where the feet point; a left-handed one to the right.
/// Source: definition of the golf frame (DESIGN §2).
fn by_feet(recording: &Recording, up: Axis, hand: Hand) -> Option<Axis> {
    let samples = recording.markers.first()?.path_m.len();
    let lab = Frame { origin_m: DVec3::ZERO, axes: glam::DMat3::IDENTITY };
    let feet = footmarks::find(recording, &lab, 0..samples);
    let facing: DVec3 = feet.iter().map(|f| f.toe_m - f.heel_m).sum();
    let lead = up.unit().cross(facing) * hand.turn_sign();
    let near = |axis: &Axis| axis.unit().dot(lead);
    let best = Axis::ALL.into_iter().max_by(|a, b| near(a).total_cmp(&near(b)))?;
    (feet.len() == 2 && near(&best) > 0.0).then_some(best)
}

/// The positive horizontal laboratory axis nearest to the line between the plates that lie farthest apart.
fn along_plates(up: Axis, centres: &[DVec3]) -> Axis {
    let mut apart = DVec3::ZERO;
    for (k, a) in centres.iter().enumerate() {
        for b in &centres[k + 1..] {
            if (*b - *a).length() > apart.length() {
                apart = *b - *a;
            }
        }
    }
    let level = |axis: &Axis| axis.unit().dot(up.unit()) == 0.0;
    let mut axes = [Axis::PlusX, Axis::PlusY, Axis::PlusZ].into_iter().filter(level);
    let first = axes.next().unwrap_or(Axis::PlusX);
    let second = axes.next().unwrap_or(Axis::PlusY);
    if second.unit().dot(apart).abs() > first.unit().dot(apart).abs() { second } else { first }
}
