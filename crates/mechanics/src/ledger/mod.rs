//! The ledger: every net quantity as the exact sum of its parts, in the player's components.
//!
//! Components ([`Hand`]): `target` toward the target, `toe` toward the ball, `up`, and `turn` about the vertical,
//! positive toward the target. For a force F at p, `turn = p_toe·F_target − p_target·F_toe` for both hands.
mod couple;
mod offset;
mod standing_in;

use crate::feet::{Foot, FootSeries};
use crate::frame::Hand;
use crate::pressure::Contact;
use glam::DVec3;

pub use couple::{Couple, couple};
pub use offset::turn_of_force;
pub use standing_in::{Standing, standing_in};

/// A reference point for moments, resolved: golf frame, m.
#[derive(Clone, Debug, PartialEq)]
pub enum Reference {
    /// The net centre of pressure, which moves.
    NetCop,
    /// The midpoint of the two centres of pressure, which moves.
    MidCop,
    /// One place.
    Fixed(DVec3),
    /// A place for every sample (a marker, the centre of mass).
    Path(Vec<DVec3>),
}

/// One foot's (or the net's) columns, player components.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Side {
    /// Force toward the target, N.
    pub target_n: Vec<f64>,
    /// Force toward the toes, N.
    pub toe_n: Vec<f64>,
    /// Force up, N.
    pub up_n: Vec<f64>,
    /// Centre of pressure along the target line from the golf origin, m.
    pub cop_target_m: Vec<f64>,
    /// Centre of pressure toward the toes from the golf origin, m.
    pub cop_toe_m: Vec<f64>,
    /// Free moment, N·m, positive turns toward the target.
    pub free_moment_nm: Vec<f64>,
}

/// The account of turn when the feet are known apart. Every column in N·m, positive turns toward the target.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TurnEntries {
    /// Free moment of the lead foot (or what stands in for it, [`standing_in`]).
    pub free_lead_nm: Vec<f64>,
    /// Free moment of the trail foot (or what stands in for it).
    pub free_trail_nm: Vec<f64>,
    /// Shear couple from opposing toe–heel forces.
    pub couple_toe_nm: Vec<f64>,
    /// Shear couple from opposing forces along the target line.
    pub couple_target_nm: Vec<f64>,
    /// Lead foot's whole turn about the reference point.
    pub lead_nm: Vec<f64>,
    /// Trail foot's whole turn about the reference point.
    pub trail_nm: Vec<f64>,
}

/// The ledger of a recording.
#[derive(Clone, Debug, PartialEq)]
pub struct Ledger {
    /// Lead foot; `None` where the feet share a plate.
    pub lead: Option<Side>,
    /// Trail foot; `None` where the feet share a plate.
    pub trail: Option<Side>,
    /// Net of everything.
    pub net: Side,
    /// Net turn about the reference point, from the summed wrench, N·m.
    pub turn_nm: Vec<f64>,
    /// The part of turn that depends on the reference point: the net force at the midpoint of the feet's
    /// centres of pressure (two feet) or at the net centre of pressure (one plate), N·m.
    pub offset_nm: Vec<f64>,
    /// The other entries, where the feet are known apart.
    pub turn: Option<TurnEntries>,
    /// The reference point, player components (target, toe), m.
    pub about_target_m: Vec<f64>,
    /// As above, toward the toes.
    pub about_toe_m: Vec<f64>,
}

impl Ledger {
    /// Entries of the turn account minus the net, N·m: rounding only.
    pub fn turn_residual_nm(&self, k: usize) -> f64 {
        let at = |column: &[f64]| column.get(k).copied().unwrap_or(f64::NAN);
        let parts = match &self.turn {
            Some(t) => {
                at(&t.free_lead_nm) + at(&t.free_trail_nm) + at(&t.couple_toe_nm) + at(&t.couple_target_nm)
            }
            None => at(&self.net.free_moment_nm),
        };
        parts + at(&self.offset_nm) - at(&self.turn_nm)
    }
}

/// Forms the ledger.
///
/// Shape: one value per sample in every column. Unit: N, N·m, m. Frame: player components about `about`.
/// Undefined: a foot's centre of pressure and free moment under the load floor; everything that needs the
/// reference point where that is not defined (net centre of pressure in flight). A foot without a centre of
/// pressure still contributes its whole wrench, see [`standing_in`]; the sum stays exact.
/// Source: DESIGN §3; identities of statics, facts worked in `tests/ledger.rs`.
pub fn ledger(series: &FootSeries, hand: Hand, about: &Reference) -> Ledger {
    let samples = series.net.wrench.len();
    let turn_sign = hand.turn_sign();
    let mut turn_nm = Vec::with_capacity(samples);
    let mut offset_nm = Vec::with_capacity(samples);
    let mut about_target_m = Vec::with_capacity(samples);
    let mut about_toe_m = Vec::with_capacity(samples);
    let mut entries = series.feet.as_ref().map(|_| TurnEntries::with_capacity(samples));
    for k in 0..samples {
        let point = point_at(series, about, k);
        let (force, moment) = (series.net.wrench.force_n[k], series.net.wrench.moment_nm[k]);
        turn_nm.push(turn_sign * (moment.z - turn_of_force(point, force)));
        about_target_m.push(point.x);
        about_toe_m.push(hand.toe_sign() * point.y);
        if let (Some(feet), Some(out)) = (&series.feet, &mut entries) {
            let at = |foot: &Foot| (foot.wrench.force_n[k], foot.wrench.moment_nm[k], foot.contact[k]);
            let standing = standing_in(at(&feet.lead), at(&feet.trail), point);
            let (lead, trail) = (feet.lead.wrench.force_n[k], feet.trail.wrench.force_n[k]);
            let couple = couple(standing.lead_m - standing.trail_m, lead, trail);
            let centre = (standing.lead_m + standing.trail_m) / 2.0;
            out.free_lead_nm.push(turn_sign * standing.free_lead_nm);
            out.free_trail_nm.push(turn_sign * standing.free_trail_nm);
            out.couple_toe_nm.push(turn_sign * couple.toe_nm);
            out.couple_target_nm.push(turn_sign * couple.target_nm);
            out.lead_nm.push(turn_sign * (feet.lead.wrench.moment_nm[k].z - turn_of_force(point, lead)));
            out.trail_nm.push(turn_sign * (feet.trail.wrench.moment_nm[k].z - turn_of_force(point, trail)));
            offset_nm.push(turn_sign * turn_of_force(centre - point, force));
        } else {
            offset_nm.push(turn_sign * turn_of_force(series.net.contact[k].cop_m - point, force));
        }
    }
    Ledger {
        lead: series.feet.as_ref().map(|f| side(&f.lead, hand)),
        trail: series.feet.as_ref().map(|f| side(&f.trail, hand)),
        net: side(&series.net, hand),
        turn_nm,
        offset_nm,
        turn: entries,
        about_target_m,
        about_toe_m,
    }
}

fn point_at(series: &FootSeries, about: &Reference, k: usize) -> DVec3 {
    match about {
        Reference::NetCop => series.net.contact[k].cop_m,
        Reference::MidCop => series.feet.as_ref().map_or(series.net.contact[k].cop_m, |f| {
            (f.lead.contact[k].cop_m + f.trail.contact[k].cop_m) / 2.0
        }),
        Reference::Fixed(point) => *point,
        Reference::Path(path) => path.get(k).copied().unwrap_or(DVec3::NAN),
    }
}

fn side(foot: &Foot, hand: Hand) -> Side {
    let (toe, turn) = (hand.toe_sign(), hand.turn_sign());
    let force = |f: fn(&DVec3) -> f64, sign: f64| -> Vec<f64> {
        foot.wrench.force_n.iter().map(|v| sign * f(v)).collect()
    };
    let touch = |f: fn(&Contact) -> f64, sign: f64| -> Vec<f64> {
        foot.contact.iter().map(|c| sign * f(c)).collect()
    };
    Side {
        target_n: force(|v| v.x, 1.0),
        toe_n: force(|v| v.y, toe),
        up_n: force(|v| v.z, 1.0),
        cop_target_m: touch(|c| c.cop_m.x, 1.0),
        cop_toe_m: touch(|c| c.cop_m.y, toe),
        free_moment_nm: touch(|c| c.free_nm, turn),
    }
}

impl TurnEntries {
    fn with_capacity(samples: usize) -> Self {
        let column = || Vec::with_capacity(samples);
        Self {
            free_lead_nm: column(),
            free_trail_nm: column(),
            couple_toe_nm: column(),
            couple_target_nm: column(),
            lead_nm: column(),
            trail_nm: column(),
        }
    }
}

/// How far the feet push against each other in one component: (|lead| + |trail| − |lead + trail|) / 2, N.
///
/// Net hides it; it is zero where both push the same way. Source: DESIGN §3, ours.
pub fn opposition(lead_n: f64, trail_n: f64) -> f64 {
    (lead_n.abs() + trail_n.abs() - (lead_n + trail_n).abs()) / 2.0
}
