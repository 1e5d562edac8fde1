//! Feet that stand at the edge of their plate.
use super::outside::{beyond_m, halves};
use crate::analyse::{PlateShadow, Swing};
use glam::DVec3;
use mechanics::feet::Foot;
use mechanics::finding::{self, Finding};

/// Half the width of a foot, rounded down, m. Anatomy; common practice, no source.
const HALF_FOOT_M: f64 = 0.04;

/// A foot that bridges the gap draws its neighbour's centre of pressure toward itself, beyond the edge too; farther out
/// than this, half a stance, it has another reason, m.
const FAR_OUT_M: f64 = 0.25;

/// A good share of the loaded time.
const SHARE: f64 = 0.2;

/// A neighbour lies no farther across the gap than this, m.
const GAP_M: f64 = 0.12;

/// Loads well above the floor count, as for centres of pressure outside the plate.
const LOADED: f64 = 5.0;

/// Each foot that has a plate for itself, and feet that share one.
pub(super) fn check(swing: &Swing, floor_n: f64, findings: &mut Vec<Finding>) {
    let feet: Vec<(&Foot, &str)> = match &swing.series.feet {
        Some(feet) => vec![(&feet.lead, "the lead foot's"), (&feet.trail, "the trail foot's")],
        None => vec![(&swing.series.net, "the net")],
    };
    for (foot, whose) in feet {
        let [plate] = foot.plates.as_slice() else { continue };
        let Some(shadow) = swing.plates.iter().find(|s| s.plate == *plate) else { continue };
        one(swing, foot, whose, shadow, floor_n, findings);
    }
}

fn one(
    swing: &Swing,
    foot: &Foot,
    whose: &str,
    shadow: &PlateShadow,
    floor_n: f64,
    findings: &mut Vec<Finding>,
) {
    let surface = &shadow.surface;
    let (half_x, half_y) = halves(surface);
    let pressing =
        |k: &usize| foot.wrench.force_n[*k].z >= LOADED * floor_n && foot.contact[*k].cop_m.is_finite();
    let loaded: Vec<usize> = (0..foot.contact.len()).filter(pressing).collect();
    for outward in [half_x, -half_x, half_y, -half_y] {
        let length = outward.length();
        let Some(direction) = outward.try_normalize() else { continue };
        let left_m = |k: &usize| length - (foot.contact[*k].cop_m - surface.centre_m).dot(direction);
        // Far outside is another finding, and another reason.
        let at_edge = |k: &usize| (-FAR_OUT_M..HALF_FOOT_M).contains(&left_m(k));
        let near: Vec<usize> = loaded.iter().copied().filter(at_edge).collect();
        if (near.len() as f64) <= SHARE * loaded.len() as f64 {
            continue;
        }
        let place = crate::analyse::mean_over(near.iter().map(|k| foot.contact[*k].cop_m));
        let seen = format!(
            "{whose} centre of pressure is within {:.0} mm of the edge {} or beyond it for {:.0} % of its loaded time{}",
            HALF_FOOT_M * 1e3,
            side(swing, direction),
            100.0 * near.len() as f64 / loaded.len() as f64,
            across(swing, shadow, place, direction),
        );
        let at = |k: usize| k as f64 / swing.rate_hz;
        let span = (near.first().copied().unwrap_or(0), near.last().copied().unwrap_or(0));
        let found = Finding::new(&finding::FOOT_AT_EDGE, seen).on_plate(shadow.plate);
        findings.push(found.during(at(span.0), at(span.1)));
    }
}

/// Which edge, in the player's words.
fn side(swing: &Swing, outward: DVec3) -> &'static str {
    let toe = -outward.y * swing.player.hand.turn_sign();
    match (outward.x.abs() >= toe.abs(), outward.x > 0.0, toe > 0.0) {
        (true, true, _) => "toward the target",
        (true, false, _) => "away from the target",
        (false, _, true) => "at the toes",
        (false, _, false) => "at the heels",
    }
}

/// What lies beyond that edge.
fn across(swing: &Swing, own: &PlateShadow, place: DVec3, outward: DVec3) -> String {
    let reaches = |other: &&PlateShadow| {
        other.plate != own.plate
            && [0.25, 0.5, 0.75, 1.0]
                .iter()
                .any(|share| beyond_m(&other.surface, place + outward * (HALF_FOOT_M + share * GAP_M)) == 0.0)
    };
    match swing.plates.iter().find(reaches) {
        Some(other) => format!("; plate {} lies beyond", other.name),
        None => "; no plate lies beyond".into(),
    }
}
