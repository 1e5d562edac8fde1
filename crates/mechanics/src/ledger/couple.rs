//! The shear couple: the only file that knows this formula.
use glam::DVec3;

/// Turn from the feet pushing differently in the plane of the floor, N·m, golf sign (about +z).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Couple {
    /// From opposing toe–heel forces, lever arm along the target line.
    pub toe_nm: f64,
    /// From opposing forces along the target line, lever arm toe–heel.
    pub target_nm: f64,
}

/// (s × D)_z with s = lead − trail point of application and D = (F_lead − F_trail)/2, in its two parts.
///
/// Frame: golf (y is ∓toe, so y forces make the toe–heel part for either hand). Does not depend on any
/// reference point. Source: DESIGN §3; Σ (p_i − c) × F_i with c the midpoint of the two points.
#[inline]
pub fn couple(apart_m: DVec3, lead_n: DVec3, trail_n: DVec3) -> Couple {
    let differ = (lead_n - trail_n) / 2.0;
    Couple { toe_nm: apart_m.x * differ.y, target_nm: -apart_m.y * differ.x }
}
