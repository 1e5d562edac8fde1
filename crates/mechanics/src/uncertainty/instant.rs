//! Every number of the accounts at one sample, all at once.
use super::column::{Along, COLUMNS, Column, Flat, Point, Who};
use super::number::{Real, Vec3, constant, cross, cross_from, dot, plus, sub};
use super::scene::{Booked, Place, PlateAt, Scene};
use crate::wrench::Surface;
use glam::DVec3;

/// The numbers of one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Instant {
    /// In the order of [`Column::ALL`]; NaN where not defined.
    pub values: [f64; COLUMNS],
}

impl Instant {
    /// One number.
    pub fn get(&self, column: Column) -> f64 {
        self.values[column.index()]
    }
}

/// Evaluates every column at once.
///
/// Shape: `plates` in the order of [`Scene::plates`]. `given_m`: the reference point of this sample, golf frame,
/// where [`Scene::asked`] is [`Place::Given`]; not looked at otherwise.
/// Frame: player components. Undefined: NaN as in [`crate::ledger`]; everything of a foot where the feet share a
/// plate; the plates' centres and the stance centre where there are none.
/// Source: the same formulas as [`crate::ledger`] and [`crate::pressure`], held equal by a test.
pub fn evaluate(scene: &Scene, plates: &[PlateAt], given_m: DVec3) -> Instant {
    let sum = |booked: Booked| {
        let mut total = Wrench { force: [0.0; 3], moment: [0.0; 3] };
        for (_, at) in scene.plates.iter().zip(plates).filter(|(p, _)| p.booked == booked) {
            total.force = plus(total.force, at.force_n.to_array());
            total.moment = plus(total.moment, at.moment_nm.to_array());
        }
        total
    };
    let feet = match scene.two_feet() {
        true => Feet::Two { lead: sum(Booked::Lead), trail: sum(Booked::Trail) },
        false => Feet::One(sum(Booked::Net)),
    };
    let points = Point::ALL.map(|p| {
        let at = scene.place_m(p, given_m);
        [at.x, at.y]
    });
    Instant { values: columns(scene, weight(plates), &feet, &points) }
}

/// What the load floor is multiplied by: the readings' weight.
pub(super) fn weight(plates: &[PlateAt]) -> f64 {
    plates.first().map_or(f64::NAN, |p| p.weight)
}

impl Scene {
    /// What a reference point is.
    pub fn place(&self, point: Point) -> Place {
        let nowhere = Place::Fixed(DVec3::NAN);
        let plate = |booked| {
            let found = self.plates.iter().find(|p| p.booked == booked);
            found.map_or(nowhere, |p| Place::Plate(p.plate, p.centre_m))
        };
        match point {
            Point::Asked => self.asked,
            Point::NetCop => Place::NetCop,
            Point::MidCop => Place::MidCop,
            Point::RigCentre => Place::Fixed(DVec3::ZERO),
            Point::Stance => Place::Stance,
            Point::LeadPlate => plate(Booked::Lead),
            Point::TrailPlate => plate(Booked::Trail),
        }
    }

    /// Where a reference point is, as far as it does not move with the readings; NaN for the others.
    pub(super) fn place_m(&self, point: Point, given_m: DVec3) -> DVec3 {
        match self.place(point) {
            Place::NetCop | Place::MidCop => DVec3::NAN,
            Place::Fixed(at) | Place::Plate(_, at) => at,
            Place::Stance => self.stance.as_ref().map_or(DVec3::NAN, |s| s.point_m),
            Place::Given => given_m,
        }
    }
}

/// Force, and moment about the golf origin, golf frame.
#[derive(Clone, Copy)]
pub(super) struct Wrench<T> {
    pub force: Vec3<T>,
    pub moment: Vec3<T>,
}

/// What the plates say, booked.
pub(super) enum Feet<T> {
    Two { lead: Wrench<T>, trail: Wrench<T> },
    One(Wrench<T>),
}

/// Where a wrench acts; `free` is about the vertical.
#[derive(Clone, Copy)]
struct Contact<T> {
    cop: Vec3<T>,
    free: T,
    loaded: bool,
}

/// [`crate::pressure::contact`], for numbers that carry derivatives.
fn contact<T: Real>(wrench: &Wrench<T>, surface: &Surface, floor_n: f64) -> Contact<T> {
    let press = dot(wrench.force, surface.normal);
    if !(press.value() >= floor_n && press.value() > 0.0) {
        return Contact { cop: [T::of(f64::NAN); 3], free: T::of(f64::NAN), loaded: false };
    }
    let about_centre = sub(wrench.moment, cross_from(surface.centre_m, wrench.force));
    let arm = cross_from(surface.normal, about_centre).map(|a| a / press);
    let along = dot(sub(about_centre, cross(arm, wrench.force)), surface.normal);
    Contact { cop: plus(constant(surface.centre_m), arm), free: along * surface.normal.z, loaded: true }
}

/// (r × F)_z.
#[inline]
fn turn_of<T: Real>(x: T, y: T, force: &Vec3<T>) -> T {
    x * force[1] - y * force[0]
}

fn turn_about<T: Real>(wrench: &Wrench<T>, at: [T; 2]) -> T {
    wrench.moment[2] - turn_of(at[0], at[1], &wrench.force)
}

/// All columns. `points` in the order of [`Point::ALL`]; those that move with the readings are found here.
pub(super) fn columns<T: Real>(
    scene: &Scene,
    weight: f64,
    feet: &Feet<T>,
    points: &[[T; 2]; 7],
) -> [T; COLUMNS] {
    let (toe, turn) = (scene.hand.toe_sign(), scene.hand.turn_sign());
    let floor_n = scene.floor_n * weight;
    let mut out = [T::of(f64::NAN); COLUMNS];
    let mut put = |column: Column, value: T| out[column.index()] = value;
    let signs = [1.0, toe, 1.0];

    let net = match feet {
        Feet::One(net) => *net,
        Feet::Two { lead, trail } => {
            Wrench { force: plus(lead.force, trail.force), moment: plus(lead.moment, trail.moment) }
        }
    };
    let net_contact = contact(&net, &scene.surfaces[2], floor_n);
    let mut side = |who: Who, wrench: &Wrench<T>, contact: &Contact<T>| {
        for along in Along::ALL {
            put(Column::Force(who, along), wrench.force[along as usize] * signs[along as usize]);
        }
        for flat in Flat::ALL {
            put(Column::Cop(who, flat), contact.cop[flat as usize] * signs[flat as usize]);
        }
        put(Column::FreeMoment(who), contact.free * turn);
    };
    side(Who::Net, &net, &net_contact);
    let flat = |v: Vec3<T>| [v[0], v[1]];

    let Feet::Two { lead, trail } = feet else {
        for point in Point::ALL {
            let at = match scene.place(point) {
                Place::NetCop | Place::MidCop => flat(net_contact.cop),
                _ => points[point as usize],
            };
            put(Column::Turn(point), turn_about(&net, at) * turn);
            let arm = [net_contact.cop[0] - at[0], net_contact.cop[1] - at[1]];
            put(Column::Offset(point), turn_of(arm[0], arm[1], &net.force) * turn);
        }
        return out;
    };

    let lead_contact = contact(lead, &scene.surfaces[0], floor_n);
    let trail_contact = contact(trail, &scene.surfaces[1], floor_n);
    side(Who::Lead, lead, &lead_contact);
    side(Who::Trail, trail, &trail_contact);
    let mid = [0, 1].map(|i| (lead_contact.cop[i] + trail_contact.cop[i]) * 0.5);

    for point in Point::ALL {
        let at = match scene.place(point) {
            Place::NetCop => flat(net_contact.cop),
            Place::MidCop => mid,
            _ => points[point as usize],
        };
        put(Column::Turn(point), turn_about(&net, at) * turn);
        put(Column::TurnLead(point), turn_about(lead, at) * turn);
        put(Column::TurnTrail(point), turn_about(trail, at) * turn);
        // Where a foot is booked that has no centre of pressure: `ledger::standing_in`.
        let lead_at = match (lead_contact.loaded, trail_contact.loaded) {
            (true, _) => flat(lead_contact.cop),
            (false, true) => flat(trail_contact.cop),
            (false, false) => at,
        };
        let trail_at = if trail_contact.loaded { flat(trail_contact.cop) } else { lead_at };
        let centre = [0, 1].map(|i| (lead_at[i] + trail_at[i]) * 0.5);
        let offset = turn_of(centre[0] - at[0], centre[1] - at[1], &net.force);
        put(Column::Offset(point), offset * turn);
        if point == Point::Asked {
            let apart = [lead_at[0] - trail_at[0], lead_at[1] - trail_at[1]];
            let differ = [0, 1].map(|i| (lead.force[i] - trail.force[i]) * 0.5);
            put(Column::CoupleToe, apart[0] * differ[1] * turn);
            put(Column::CoupleTarget, -apart[1] * differ[0] * turn);
            let free = |wrench: &Wrench<T>, contact: &Contact<T>, at: [T; 2]| {
                if contact.loaded { contact.free } else { turn_about(wrench, at) }
            };
            put(Column::FreeLead, free(lead, &lead_contact, lead_at) * turn);
            put(Column::FreeTrail, free(trail, &trail_contact, trail_at) * turn);
        }
    }
    for along in Along::ALL {
        let (a, b) = (lead.force[along as usize], trail.force[along as usize]);
        put(Column::Opposition(along), (a.abs() + b.abs() - (a + b).abs()) * 0.5);
    }
    // Without load on the whole there is nothing to share.
    if net.force[2].value() >= floor_n {
        put(Column::LeadShare, lead.force[2] / net.force[2]);
    }
    out
}
