//! Where plates lie and how large they are.
use crate::analyse::PlateShadow;
use glam::DVec3;
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

/// Overlap of the two outlines' bounding boxes, m² (exact for plates that lie along the frame's axes).
fn overlap_m2(a: &Surface, b: &Surface) -> f64 {
    let bounds = |s: &Surface| {
        let low = s.corners_m.iter().copied().fold(DVec3::INFINITY, DVec3::min);
        let high = s.corners_m.iter().copied().fold(DVec3::NEG_INFINITY, DVec3::max);
        (low, high)
    };
    let ((low_a, high_a), (low_b, high_b)) = (bounds(a), bounds(b));
    let side = high_a.min(high_b) - low_a.max(low_b);
    side.x.max(0.0) * side.y.max(0.0)
}
