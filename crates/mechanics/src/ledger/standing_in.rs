//! Where a foot's force is booked when the foot has no centre of pressure.
use super::turn_of_force;
use crate::pressure::Contact;
use glam::DVec3;

/// Points of application and free moments to book, golf frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing {
    /// Point of the lead foot, m.
    pub lead_m: DVec3,
    /// Point of the trail foot, m.
    pub trail_m: DVec3,
    /// Moment of the lead foot about its point, N·m about +z.
    pub free_lead_nm: f64,
    /// Moment of the trail foot about its point, N·m about +z.
    pub free_trail_nm: f64,
}

/// A loaded foot acts at its centre of pressure with its free moment. A foot under the load floor has neither,
/// but its plate still reads a small wrench: that is booked at the *other* foot's centre of pressure, so that it
/// makes no couple (one foot alone cannot), and its moment about that point goes to its own free entry. With
/// neither foot loaded both are booked at the reference point. Nothing is dropped, so the sum stays exact.
///
/// Each argument: force, moment about the golf origin, contact. Source: ours; the transfer rule of statics.
#[inline]
pub fn standing_in(
    lead: (DVec3, DVec3, Contact),
    trail: (DVec3, DVec3, Contact),
    reference_m: DVec3,
) -> Standing {
    let (lead_loaded, trail_loaded) = (!lead.2.free_nm.is_nan(), !trail.2.free_nm.is_nan());
    let lead_m = match (lead_loaded, trail_loaded) {
        (true, _) => lead.2.cop_m,
        (false, true) => trail.2.cop_m,
        (false, false) => reference_m,
    };
    let trail_m = if trail_loaded { trail.2.cop_m } else { lead_m };
    let about = |(force, moment, contact): (DVec3, DVec3, Contact), point: DVec3, loaded: bool| {
        if loaded { contact.free_nm } else { moment.z - turn_of_force(point, force) }
    };
    Standing {
        lead_m,
        trail_m,
        free_lead_nm: about(lead, lead_m, lead_loaded),
        free_trail_nm: about(trail, trail_m, trail_loaded),
    }
}
