//! What the numbers of one swing are made from: plates, surfaces and reference points, and the plates' readings.
use crate::feet::{Foot, FootSeries};
use crate::frame::{Frame, Hand};
use crate::plate::Plate;
use crate::rig::Rig;
use crate::wrench::{Surface, Wrenches};
use glam::{DMat3, DVec3};
use std::ops::Range;

/// A plate's reading at one sample: its wrench in the golf frame about the golf origin, reaction on the player.
///
/// The same type holds an integral over time, so that the same errors act on impulses: then force and moment are
/// ∫F dt and ∫M dt, `force_rate` and `moment_rate` the differences of the end values, `weight` the duration in s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlateAt {
    /// Force, N (integral: N·s).
    pub force_n: DVec3,
    /// Moment about the golf origin, N·m (integral: N·m·s).
    pub moment_nm: DVec3,
    /// Rate of change of the force, N/s (integral: end minus start, N).
    pub force_rate: DVec3,
    /// Rate of change of the moment, N·m/s (integral: end minus start, N·m).
    pub moment_rate: DVec3,
    /// How much of a constant error is in it: 1 for a sample or a mean, the duration in s for an integral.
    pub weight: f64,
    /// How much of the noise of one sample would be in it if noise were alike throughout: 1 for a sample or a mean, the
    /// duration in s for an integral.
    pub noise: f64,
    /// Over how many samples noise is evened out ([`super::noise::mean_var`]): 1 for a sample.
    pub samples: f64,
}

impl PlateAt {
    /// Nothing at all.
    pub const ZERO: Self = Self {
        force_n: DVec3::ZERO,
        moment_nm: DVec3::ZERO,
        force_rate: DVec3::ZERO,
        moment_rate: DVec3::ZERO,
        weight: 0.0,
        noise: 0.0,
        samples: 1.0,
    };
    /// Not defined.
    pub const NAN: Self = Self {
        force_n: DVec3::NAN,
        moment_nm: DVec3::NAN,
        force_rate: DVec3::NAN,
        moment_rate: DVec3::NAN,
        weight: f64::NAN,
        noise: f64::NAN,
        samples: f64::NAN,
    };

    /// Sample `k`. Rates from the neighbours (central; one-sided at the ends). NaN outside the recording.
    pub fn sample(wrench: &Wrenches, k: usize, rate_hz: f64) -> Self {
        let last = wrench.len().saturating_sub(1);
        if k > last || wrench.is_empty() {
            return Self::NAN;
        }
        let (before, after) = (k.saturating_sub(1), (k + 1).min(last));
        let per_s = if after > before { rate_hz / (after - before) as f64 } else { 0.0 };
        let rate = |column: &[DVec3]| (column[after] - column[before]) * per_s;
        Self {
            force_n: wrench.force_n[k],
            moment_nm: wrench.moment_nm[k],
            force_rate: rate(&wrench.force_n),
            moment_rate: rate(&wrench.moment_nm),
            weight: 1.0,
            noise: 1.0,
            samples: 1.0,
        }
    }

    /// Mean over a range of samples. NaN where the range is empty or leaves the recording.
    pub fn mean(wrench: &Wrenches, range: Range<usize>, rate_hz: f64) -> Self {
        let (Some(force), Some(moment)) =
            (wrench.force_n.get(range.clone()), wrench.moment_nm.get(range.clone()))
        else {
            return Self::NAN;
        };
        let n = force.len() as f64;
        let drift = |column: &[DVec3]| match column {
            [first, .., last] => (*last - *first) * (rate_hz / (n - 1.0)),
            _ => DVec3::ZERO,
        };
        Self {
            force_n: force.iter().sum::<DVec3>() / n,
            moment_nm: moment.iter().sum::<DVec3>() / n,
            force_rate: drift(force),
            moment_rate: drift(moment),
            weight: 1.0,
            noise: 1.0,
            samples: n,
        }
    }

    /// Integral from sample `from` to sample `to` by the trapezoid rule. NaN outside the recording.
    pub fn integral(wrench: &Wrenches, from: usize, to: usize, rate_hz: f64) -> Self {
        if from > to || to >= wrench.len() {
            return Self::NAN;
        }
        let steps = (to - from) as f64;
        let sum = |column: &[DVec3]| {
            let inner: DVec3 = column[from..=to].iter().sum();
            (inner - (column[from] + column[to]) / 2.0) / rate_hz
        };
        let change = |column: &[DVec3]| column[to] - column[from];
        Self {
            force_n: sum(&wrench.force_n),
            moment_nm: sum(&wrench.moment_nm),
            force_rate: change(&wrench.force_n),
            moment_rate: change(&wrench.moment_nm),
            weight: steps / rate_hz,
            // Weights 1 inside and ½ at the ends: their squares sum to steps − 1 + 2/4.
            noise: (steps - 0.5).max(0.0) / rate_hz,
            samples: (steps - 0.5).max(0.5),
        }
    }
}

/// To whom a plate is booked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Booked {
    /// The lead foot.
    Lead,
    /// The trail foot.
    Trail,
    /// Both feet, which cannot be told apart.
    Net,
}

/// A plate under a foot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScenePlate {
    /// Index of the plate in the rig.
    pub plate: usize,
    /// Whose it is.
    pub booked: Booked,
    /// Centre of its surface, golf frame, m: errors act on the moment about it.
    pub centre_m: DVec3,
    /// The plate's own axes, as columns in the golf frame: errors act in them.
    pub axes: DMat3,
}

/// Where a reference point is, and what it is bound to: an error of what it is bound to moves it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    /// The net centre of pressure.
    NetCop,
    /// The midpoint of the two centres of pressure.
    MidCop,
    /// A place of the golf frame, m.
    Fixed(DVec3),
    /// The stance centre ([`Scene::stance`]).
    Stance,
    /// The centre of a plate's surface: index in the rig and place, m. It goes with the plate.
    Plate(usize, DVec3),
    /// Given anew for every sample (a marker), by the caller of [`super::evaluate`]; taken as exact.
    Given,
}

/// The stance centre, and what it was measured from.
#[derive(Clone, Debug, PartialEq)]
pub struct Stance {
    /// Midpoint of the feet's mean centres of pressure at address, m.
    pub point_m: DVec3,
    /// Mean reading of each plate of the scene over address ([`PlateAt::mean`]), in the order of [`Scene::plates`].
    pub address: Vec<PlateAt>,
}

/// What stays the same over a swing.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// The player's hand.
    pub hand: Hand,
    /// Least vertical force for a centre of pressure, N.
    pub floor_n: f64,
    /// The plates that carry a foot: the lead foot's, then the trail foot's; or those of the net.
    pub plates: Vec<ScenePlate>,
    /// The surfaces on which the centres of pressure of lead, trail and net lie.
    pub surfaces: [Surface; 3],
    /// What [`super::Point::Asked`] is.
    pub asked: Place,
    /// The stance centre, where it can be had.
    pub stance: Option<Stance>,
    /// Plates of the rig, loaded or not.
    pub rig_plates: usize,
    /// True where the rig states the golf origin; else it is the mean of the plates' centres, and goes with them.
    pub origin_stated: bool,
}

impl Scene {
    /// From a swing's parts. `asked` and `stance` are the caller's: [`Place::NetCop`] and `None` do for a start.
    ///
    /// Undefined: a plate whose corners have no axes is left out.
    pub fn new(rig: &Rig, frame: &Frame, series: &FootSeries, hand: Hand) -> Self {
        let plate = |index: usize, booked| {
            let plate = rig.plates.get(index)?;
            let surface = crate::wrench::surface_of(plate, frame)?;
            Some(ScenePlate { plate: index, booked, centre_m: surface.centre_m, axes: axes(plate, frame)? })
        };
        let of = |foot: &Foot, booked| -> Vec<ScenePlate> {
            foot.plates.iter().filter_map(|p| plate(*p, booked)).collect()
        };
        let surface = |plates: &[ScenePlate]| match plates {
            [one] => rig.plates.get(one.plate).and_then(|p| crate::wrench::surface_of(p, frame)),
            _ => None,
        };
        let floor = Surface::around(&[]);
        let (plates, surfaces) = match &series.feet {
            Some(feet) => {
                let (mut lead, trail) = (of(&feet.lead, Booked::Lead), of(&feet.trail, Booked::Trail));
                let surfaces = [surface(&lead).unwrap_or(floor), surface(&trail).unwrap_or(floor), floor];
                lead.extend(trail);
                (lead, surfaces)
            }
            None => {
                let net = of(&series.net, Booked::Net);
                let surfaces = [floor, floor, surface(&net).unwrap_or(floor)];
                (net, surfaces)
            }
        };
        Self {
            hand,
            floor_n: rig.load_floor_n,
            plates,
            surfaces,
            asked: Place::NetCop,
            stance: None,
            rig_plates: rig.plates.len(),
            origin_stated: rig.origin_m.is_some(),
        }
    }

    /// True where the feet are known apart.
    pub fn two_feet(&self) -> bool {
        self.plates.iter().any(|p| p.booked == Booked::Lead)
            && self.plates.iter().any(|p| p.booked == Booked::Trail)
    }

    /// What one reading is ([`PlateAt::sample`], …) for every plate of the scene, in order.
    pub fn readings(&self, series: &FootSeries, read: impl Fn(&Wrenches) -> PlateAt) -> Vec<PlateAt> {
        self.plates.iter().map(|p| plate_of(series, p).map_or(PlateAt::NAN, &read)).collect()
    }

    /// All plates at sample `k`.
    pub fn sample(&self, series: &FootSeries, k: usize, rate_hz: f64) -> Vec<PlateAt> {
        self.readings(series, |w| PlateAt::sample(w, k, rate_hz))
    }
}

/// The wrench of one plate of a foot: the foot's own where it stands on one plate.
fn plate_of<'a>(series: &'a FootSeries, plate: &ScenePlate) -> Option<&'a Wrenches> {
    let foot = match (plate.booked, &series.feet) {
        (Booked::Lead, Some(feet)) => &feet.lead,
        (Booked::Trail, Some(feet)) => &feet.trail,
        _ => &series.net,
    };
    match foot.parts.as_slice() {
        [] => Some(&foot.wrench),
        parts => parts.iter().find(|p| p.plate == plate.plate).map(|p| &p.wrench),
    }
}

/// A plate's axes as columns in the golf frame.
fn axes(plate: &Plate, frame: &Frame) -> Option<DMat3> {
    Some(frame.axes.transpose() * plate.axes()?)
}
