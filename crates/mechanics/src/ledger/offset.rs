//! Turn of a force at a place: the only file that knows this formula.
use glam::DVec3;

/// (r × F)_z, N·m, golf sign. Source: definition of a moment.
#[inline]
pub fn turn_of_force(arm_m: DVec3, force_n: DVec3) -> f64 {
    arm_m.x * force_n.y - arm_m.y * force_n.x
}
