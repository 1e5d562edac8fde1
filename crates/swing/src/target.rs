//! The golf frame of a rig: where up, target and origin are.
use glam::DVec3;
use mechanics::finding::{self, Checked, Finding};
use mechanics::plate::Foothold;
use mechanics::{Axis, Frame, Hand, Recording, Rig, Target};

use crate::feet::leads;
use crate::footmarks;

/// The golf frame. `stated` (the user's) goes before the rig's; with neither a guess is made and said: from foot
/// markers and the hand where there are any, else from the feet the rig states, else along the plates.
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
            let (axis, why) = if let Some(axis) = by_feet(recording, rig.up, hand) {
                (axis, "toward which the lead side of the foot markers points")
            } else if let Some(axis) = by_footholds(rig, &centres, hand) {
                (
                    axis,
                    "that leads from the trail foot's plate to the lead foot's, as the rig states the feet",
                )
            } else {
                (along_plates(rig.up, &centres), "along which the plates lie")
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
    nearest(lead).filter(|_| feet.len() == 2)
}

/// The signed laboratory axis nearest to the line from the trail foot's plates to the lead foot's; `None` unless the rig
/// states both feet.
fn by_footholds(rig: &Rig, centres: &[DVec3], hand: Hand) -> Option<Axis> {
    let middle = |lead: bool| {
        let of_foot = |foot: Option<Foothold>| foot.and_then(|f| leads(f, hand)) == Some(lead);
        let places = || rig.plates.iter().zip(centres).filter(|(p, _)| of_foot(p.foot)).map(|(_, c)| *c);
        let count = places().count();
        (count > 0).then(|| places().sum::<DVec3>() / count as f64)
    };
    let apart = middle(true)? - middle(false)?;
    nearest(apart - rig.up.unit() * apart.dot(rig.up.unit()))
}

/// The signed laboratory axis nearest to a direction; `None` where it has no length.
fn nearest(direction: DVec3) -> Option<Axis> {
    let near = |axis: &Axis| axis.unit().dot(direction);
    Axis::ALL.into_iter().max_by(|a, b| near(a).total_cmp(&near(b))).filter(|best| near(best) > 0.0)
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

#[cfg(test)]
mod tests {
    use super::*;
    use mechanics::plate::{Measures, Plate, Sensing};

    /// Two plates along z, y up; the left foot's at −z.
    fn rig(feet: [Option<Foothold>; 2]) -> Rig {
        let plate = |foot, z: f64| {
            let corner = |x: f64, across: f64| DVec3::new(x, 0.0, z + across);
            let corners_m = [corner(0.3, 0.2), corner(-0.3, 0.2), corner(-0.3, -0.2), corner(0.3, -0.2)];
            Plate {
                name: String::new(),
                corners_m,
                sensing: Sensing::Linear { channels: Vec::new(), columns: Vec::new(), origin_m: DVec3::ZERO },
                measures: Measures::OnPlayer,
                cover_m: 0.0,
                baseline: None,
                foot,
                kind: String::new(),
            }
        };
        let plates = vec![plate(feet[0], -0.2), plate(feet[1], 0.2)];
        Rig { up: Axis::PlusY, plates, ..Rig::of_recording(&Recording::default()) }
    }

    fn taken(feet: [Option<Foothold>; 2], hand: Hand) -> (DVec3, String) {
        let found = frame(&Recording::default(), &rig(feet), None, hand).unwrap();
        (found.value.axes.x_axis, found.findings[0].seen.clone())
    }

    /// The lead foot is nearer the target, by definition: left for a right-handed player, right for a left-handed one.
    #[test]
    fn an_assumed_target_lies_beyond_the_lead_foot() {
        use Foothold::{Both, Lead, Left, Right, Trail};
        for (feet, hand, z) in [
            ([Some(Left), Some(Right)], Hand::Right, -1.0),
            ([Some(Left), Some(Right)], Hand::Left, 1.0),
            ([Some(Trail), Some(Lead)], Hand::Right, 1.0),
            ([Some(Lead), Some(Trail)], Hand::Left, -1.0),
        ] {
            let (target, seen) = taken(feet, hand);
            assert_eq!(target, DVec3::Z * z, "{feet:?} {hand:?}");
            assert!(seen.contains("trail foot's plate"), "{seen}");
        }
        for feet in [[None, None], [Some(Left), None], [Some(Both), Some(Both)]] {
            let (target, seen) = taken(feet, Hand::Right);
            assert_eq!(target, DVec3::Z);
            assert!(seen.contains("along which the plates lie"), "{seen}");
        }
    }
}
