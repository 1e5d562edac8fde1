//! From plates to feet: what each foot does, and the net of both. Frame: golf; reaction on the player.
use crate::pressure::{Contact, contacts};
use crate::wrench::{PlateWrench, Surface, Wrenches};

/// One foot, or the net of both.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Foot {
    /// Rig indices of the plates that carry it.
    pub plates: Vec<usize>,
    /// Force, and moment about the golf origin.
    pub wrench: Wrenches,
    /// The plates' own wrenches, in the order of `plates`, where there is more than one: errors belong to plates.
    /// Empty for one plate (it would be `wrench` again) and for the net of two feet (look at the feet).
    pub parts: Vec<PlateWrench>,
    /// Centre of pressure and free moment; not defined under the load floor.
    pub contact: Vec<Contact>,
}

/// What the ledger is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct FootSeries {
    /// Lead and trail foot; `None` where the feet share a plate.
    pub feet: Option<Feet>,
    /// Everything together, on the plane z = 0.
    pub net: Foot,
}

/// The two feet.
#[derive(Clone, Debug, PartialEq)]
pub struct Feet {
    /// The foot nearer the target.
    pub lead: Foot,
    /// The other foot.
    pub trail: Foot,
}

/// A foot on one or more plates. On one plate its centre of pressure lies on that plate's surface; on several,
/// on the plane z = 0 (the wrenches are summed first). Takes the plates, so that nothing is copied.
fn foot(plates: Vec<PlateWrench>, floor_n: f64) -> Foot {
    let indices = plates.iter().map(|p| p.plate).collect();
    let surface = match plates.as_slice() {
        [only] => only.surface,
        many => Surface::around(&many.iter().map(|p| p.surface).collect::<Vec<_>>()),
    };
    let (wrench, parts) = match plates.len() {
        0 | 1 => (plates.into_iter().next().map(|p| p.wrench).unwrap_or_default(), Vec::new()),
        _ => {
            let mut wrench = plates[0].wrench.clone();
            plates[1..].iter().for_each(|p| wrench.add(&p.wrench));
            (wrench, plates)
        }
    };
    Foot { plates: indices, contact: contacts(&wrench, &surface, floor_n), wrench, parts }
}

/// Books plates to feet and sums the net.
///
/// The net centre of pressure lies on the plane z = 0 of the golf frame. For feet on one level this is the
/// force-weighted mean of the feet's centres of pressure; for other rigs the wrenches are summed at one point first.
/// Source: Winter, Biomechanics and Motor Control of Human Movement, ch. 5 (two plates); statics.
pub fn two_feet(lead: Vec<PlateWrench>, trail: Vec<PlateWrench>, floor_n: f64) -> FootSeries {
    let (lead, trail) = (foot(lead, floor_n), foot(trail, floor_n));
    let mut wrench = lead.wrench.clone();
    wrench.add(&trail.wrench);
    let plates = lead.plates.iter().chain(&trail.plates).copied().collect();
    let floor = Surface::around(&[]);
    let net = Foot { plates, contact: contacts(&wrench, &floor, floor_n), wrench, parts: Vec::new() };
    FootSeries { feet: Some(Feet { lead, trail }), net }
}

/// Feet that cannot be told apart: only the net exists. On one plate the centre of pressure is on its surface.
pub fn net_only(plates: Vec<PlateWrench>, floor_n: f64) -> FootSeries {
    FootSeries { feet: None, net: foot(plates, floor_n) }
}
