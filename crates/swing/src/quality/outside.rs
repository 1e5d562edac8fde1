//! Centres of pressure that leave their plate.
use glam::DVec3;
use mechanics::finding::{self, Finding};
use mechanics::pressure::contact;
use mechanics::wrench::{PlateWrench, Surface};

/// A force cannot act beside the plate that measures it.
pub(super) fn check(plate: &PlateWrench, floor_n: f64, findings: &mut Vec<Finding>) {
    // Far above the floor, so that noise at low load is not reported.
    let least = 5.0 * floor_n;
    let (mut outside, mut loaded, mut farthest) = (0_usize, 0_usize, 0.0_f64);
    for (force, moment) in plate.wrench.force_n.iter().zip(&plate.wrench.moment_nm) {
        let touch = contact(*force, *moment, &plate.surface, least);
        if touch.free_nm.is_nan() {
            continue;
        }
        loaded += 1;
        let beyond = beyond_m(&plate.surface, touch.cop_m);
        if beyond > 0.005 {
            outside += 1;
            farthest = farthest.max(beyond);
        }
    }
    if outside * 100 > loaded {
        findings.push(
            Finding::new(
                &finding::COP_OFF_PLATE,
                format!("in {outside} of {loaded} loaded samples, by up to {:.0} mm", farthest * 1e3),
            )
            .on_plate(plate.plate),
        );
    }
}

/// Half edges of a surface's outline, from its centre, m.
pub(super) fn halves(surface: &Surface) -> (DVec3, DVec3) {
    let [c1, c2, c3, c4] = surface.corners_m;
    (((c1 - c2) + (c4 - c3)) / 4.0, ((c1 - c4) + (c2 - c3)) / 4.0)
}

/// How far a place lies outside a surface's outline, m; 0 inside.
pub fn beyond_m(surface: &Surface, place: DVec3) -> f64 {
    let (half_x, half_y) = halves(surface);
    let past = |half: DVec3| {
        let length = half.length();
        let from = (place - surface.centre_m).dot(half).abs();
        if length == 0.0 { 0.0 } else { (from / length - length).max(0.0) }
    };
    past(half_x).max(past(half_y))
}
