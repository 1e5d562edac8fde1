//! Where plates lie and how large they are.
use crate::analyse::PlateShadow;
use glam::DVec2;
use mechanics::Rig;
use mechanics::finding::{self, Finding};
use mechanics::wrench::Surface;

/// Plates that lie on one another as described.
pub(super) fn overlaps(shadows: &[PlateShadow], findings: &mut Vec<Finding>) {
    for (k, a) in shadows.iter().enumerate() {
        for b in &shadows[k + 1..] {
            let area = overlap_m2(&a.surface, &b.surface);
            if area > 0.005 {
                let seen = format!("plates {} and {} share {area:.2} m²", a.name, b.name);
                findings.push(Finding::new(&finding::PLATES_OVERLAP, seen).on_plate(b.plate));
            }
        }
    }
}

/// Edges of a plate that are not one's: outside these lengths, m. Common practice, no source; a small plate measures
/// 0.3 m, the belt of a treadmill 2 m.
const EDGE_M: std::ops::RangeInclusive<f64> = 0.1..=5.0;

/// Plates too large or too small to be plates.
pub(super) fn sizes(rig: &Rig, findings: &mut Vec<Finding>) {
    for (k, plate) in rig.plates.iter().enumerate() {
        let (length, width) = plate.size_m();
        // Corners that span nothing have their own finding.
        let spans = length > 0.0 && width > 0.0;
        if spans && !(EDGE_M.contains(&length) && EDGE_M.contains(&width)) {
            let seen = format!("plate {} measures {length} m by {width} m", plate.name);
            findings.push(Finding::new(&finding::LENGTHS_ODD, seen).on_plate(k));
        }
    }
}

/// Area that two convex outlines share as seen from above, m²: the one is cut along every edge of the other.
///
/// The level projection does not ask which way the frame is turned. Source: Sutherland & Hodgman 1974, Comm ACM
/// 17:32-42 (from memory); area by the shoelace sum.
fn overlap_m2(a: &Surface, b: &Surface) -> f64 {
    let level = |s: &Surface| s.corners_m.map(|c| c.truncate()).to_vec();
    let (mut left, mut edges) = (level(a), level(b));
    if !left.iter().chain(&edges).all(|c| c.is_finite()) {
        return 0.0;
    }
    if area_m2(&edges) < 0.0 {
        edges.reverse();
    }
    for (k, from) in edges.iter().enumerate() {
        let along = edges[(k + 1) % edges.len()] - *from;
        left = cut(&left, *from, along);
    }
    area_m2(&left).abs()
}

/// What of a convex outline lies to the left of a line.
fn cut(outline: &[DVec2], from: DVec2, along: DVec2) -> Vec<DVec2> {
    let side = |place: DVec2| along.perp_dot(place - from);
    let mut kept = Vec::with_capacity(outline.len() + 1);
    for (k, &here) in outline.iter().enumerate() {
        let next = outline[(k + 1) % outline.len()];
        let (a, b) = (side(here), side(next));
        if a >= 0.0 {
            kept.push(here);
        }
        if (a > 0.0 && b < 0.0) || (a < 0.0 && b > 0.0) {
            kept.push(here + (next - here) * (a / (a - b)));
        }
    }
    kept
}

/// Area of an outline, m²; negative where it runs clockwise.
fn area_m2(outline: &[DVec2]) -> f64 {
    let pairs = outline.iter().zip(outline.iter().cycle().skip(1));
    pairs.map(|(a, b)| a.perp_dot(*b)).sum::<f64>() / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec3;

    /// A plate 0.4 m by 0.6 m about a place, turned, its corners the one way round or the other.
    fn plate(centre: DVec2, degrees: f64, clockwise: bool) -> Surface {
        let turn = |x: f64, y: f64| {
            let (sin, cos) = signal::math::sin_cos(degrees.to_radians());
            DVec3::new(centre.x + cos * x - sin * y, centre.y + sin * x + cos * y, 0.0)
        };
        let mut corners_m = [turn(0.2, 0.3), turn(-0.2, 0.3), turn(-0.2, -0.3), turn(0.2, -0.3)];
        if clockwise {
            corners_m.reverse();
        }
        Surface { centre_m: centre.extend(0.0), normal: DVec3::Z, corners_m }
    }

    /// By hand: 0.1 m of overlap over 0.6 m is 0.06 m²; a square turned by an eighth in one that holds it keeps its area.
    #[test]
    fn outlines_share_what_they_share_however_they_are_turned() {
        for degrees in [0.0, 11.3, 45.0, 101.3] {
            for (first, second) in [(false, false), (false, true), (true, false)] {
                let (sin, cos) = signal::math::sin_cos(f64::to_radians(degrees));
                let beside = |m: f64| DVec2::new(cos, sin) * m;
                let one = plate(DVec2::ZERO, degrees, first);
                let share = |m: f64| overlap_m2(&one, &plate(beside(m), degrees, second));
                assert!((share(0.3) - 0.06).abs() < 1e-12, "{degrees} {}", share(0.3));
                assert!(share(0.5) < 1e-12 && (share(0.0) - 0.24).abs() < 1e-12, "{degrees}");
            }
        }
        let mut large = plate(DVec2::ZERO, 0.0, false);
        large.corners_m = large.corners_m.map(|c| c * 3.0);
        assert!((overlap_m2(&plate(DVec2::ZERO, 45.0, true), &large) - 0.24).abs() < 1e-12);
    }
}
