//! Centre of pressure, free moment and central line of a wrench.
use crate::wrench::{Surface, Wrenches};
use glam::DVec3;

/// Where a wrench acts on a surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contact {
    /// Centre of pressure, golf frame, m.
    pub cop_m: DVec3,
    /// Free moment about the vertical through the centre of pressure, N·m, golf sign (positive about +z).
    pub free_nm: f64,
}

/// A contact that is not defined.
pub const NO_CONTACT: Contact = Contact { cop_m: DVec3::NAN, free_nm: f64::NAN };

/// Centre of pressure and free moment of one wrench on a surface.
///
/// The centre of pressure is the point of the surface about which the moment has no part in the surface; what is
/// left is along the normal, and its vertical part is the free moment. On a level surface at the golf origin this
/// is cop = (−My/Fz, Mx/Fz), T = Mz − cop_x·Fy + cop_y·Fx.
/// Unit: N, N·m, m. Frame: golf, `moment_nm` about the golf origin, reaction.
/// Undefined: [`NO_CONTACT`] where the force along the normal is under `floor_n`; never clamped.
/// Source: Zatsiorsky, Kinetics of Human Motion (2002), ch. 1; free moment: Holden & Cavanagh 1991.
#[inline]
pub fn contact(force_n: DVec3, moment_nm: DVec3, surface: &Surface, floor_n: f64) -> Contact {
    let normal = surface.normal;
    let press = force_n.dot(normal);
    // Written so that NaN is "not loaded".
    if !(press >= floor_n && press > 0.0) {
        return NO_CONTACT;
    }
    let about_centre = moment_nm - surface.centre_m.cross(force_n);
    let arm = normal.cross(about_centre) / press;
    let along = (about_centre - arm.cross(force_n)).dot(normal);
    Contact { cop_m: surface.centre_m + arm, free_nm: along * normal.z }
}

/// [`contact`] for every sample.
pub fn contacts(wrench: &Wrenches, surface: &Surface, floor_n: f64) -> Vec<Contact> {
    wrench
        .force_n
        .iter()
        .zip(&wrench.moment_nm)
        .map(|(&force, &moment)| contact(force, moment, surface, floor_n))
        .collect()
}

/// The central line (screw axis) of a wrench: the line about which the moment is least and along the force.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CentralLine {
    /// Point of the line nearest to the golf origin, m.
    pub nearest_m: DVec3,
    /// Where the line meets the plane z = 0, m; NaN where it runs level.
    pub meets_floor_m: DVec3,
    /// Least moment divided by force, m (positive: along the force).
    pub pitch_m: f64,
    /// The least moment, N·m, along the force.
    pub least_moment_nm: DVec3,
}

/// Central line of a wrench about the golf origin; all NaN for no force.
///
/// Source: Zatsiorsky 2002, ch. 1; the point on z = 0 is the "point of wrench application" of Shimba 1984,
/// J Biomech 17:53-60. It is not the centre of pressure, unless the force is vertical.
pub fn central_line(force_n: DVec3, moment_nm: DVec3) -> CentralLine {
    let square = force_n.length_squared();
    let pitch_m = force_n.dot(moment_nm) / square;
    let nearest_m = force_n.cross(moment_nm) / square;
    let meets_floor_m =
        if force_n.z == 0.0 { DVec3::NAN } else { nearest_m - force_n * (nearest_m.z / force_n.z) };
    CentralLine { nearest_m, meets_floor_m, pitch_m, least_moment_nm: force_n * pitch_m }
}
