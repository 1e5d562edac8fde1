//! Where errors come from: independent standard uncertainties, plate by plate, and what each does to a reading.
//!
//! Errors act on the force and the moment about the centre of the plate's surface, in the plate's own axes.
use super::linear::Linear;
use super::noise::{Noise, mean_var};
use super::scene::{PlateAt, Scene, ScenePlate};
use super::{Column, Flat, Who};
use crate::rig::ErrorBudget;
use glam::DVec3;

/// Kinds of error, for a line that says what dominates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// Gain of forces and moments.
    Gain,
    /// One component seen in another.
    CrossTalk,
    /// Zero of forces and moments.
    Zero,
    /// Place of a plate on the floor.
    Position,
    /// Height of the surface over the sensors.
    Height,
    /// Angle of a plate about the vertical.
    Angle,
    /// Time between plates.
    Skew,
    /// Random noise of the readings.
    Noise,
}

impl Cause {
    /// In order of their numbers.
    pub const ALL: [Self; 8] = [
        Self::Gain,
        Self::CrossTalk,
        Self::Zero,
        Self::Position,
        Self::Height,
        Self::Angle,
        Self::Skew,
        Self::Noise,
    ];
    /// In plain words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Gain => "gain",
            Self::CrossTalk => "cross-talk",
            Self::Zero => "zero",
            Self::Position => "plate position",
            Self::Height => "surface height",
            Self::Angle => "plate angle",
            Self::Skew => "time between plates",
            Self::Noise => "noise",
        }
    }
}

/// One error. Components are numbered Fx, Fy, Fz, Mx, My, Mz of the plate's own axes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Gain of a component.
    Gain(usize),
    /// A share of component `from` appears in component `into`.
    CrossTalk {
        /// Where it appears.
        into: usize,
        /// Of what.
        from: usize,
    },
    /// Zero of a component.
    Zero(usize),
    /// Place along golf x (0) or y (1).
    Position(usize),
    /// Height of the surface over the sensors.
    Height,
    /// Angle about the vertical through the surface centre.
    Angle,
    /// The plate is late against the first one.
    Skew,
}

impl Kind {
    /// Its kind in plain words.
    pub fn cause(self) -> Cause {
        match self {
            Self::Gain(_) => Cause::Gain,
            Self::CrossTalk { .. } => Cause::CrossTalk,
            Self::Zero(_) => Cause::Zero,
            Self::Position(_) => Cause::Position,
            Self::Height => Cause::Height,
            Self::Angle => Cause::Angle,
            Self::Skew => Cause::Skew,
        }
    }
}

/// An independent source of error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Source {
    /// Index of the plate in the rig.
    pub plate: usize,
    /// What is wrong.
    pub kind: Kind,
    /// Standard uncertainty: a share for gains and cross-talk (force into moment: m), N, N·m, m, rad or s else.
    pub u: f64,
}

/// Lever at which the cross-talk from a force into a moment is taken, m.
///
/// A share has no unit, a moment from a force has a length: a load at this distance from the plate's centre makes
/// the moment that is talked about. Common practice, no source.
pub const CROSSTALK_LEVER_M: f64 = 0.1;

/// All sources of a rig under one swing: 38 a plate (37 for the plate that is the clock).
///
/// The clock is the first plate of the rig that carries a foot. Where the golf origin is the mean of the plates'
/// centres, the place of a plate that carries no foot counts too, since it moves the origin. Errors of size 0 are
/// left out.
pub fn sources(budget: &ErrorBudget, scene: &Scene) -> Vec<Source> {
    let mut out = Vec::new();
    let mut add = |plate: usize, kind: Kind, u: f64| {
        if u != 0.0 {
            out.push(Source { plate, kind, u });
        }
    };
    let clock = scene.plates.iter().map(|p| p.plate).min();
    for plate in 0..scene.rig_plates {
        let loaded = scene.plates.iter().any(|p| p.plate == plate);
        if loaded {
            let of = |c: usize, force: f64, moment: f64| if c < 3 { force } else { moment };
            for c in 0..6 {
                add(plate, Kind::Gain(c), of(c, budget.force_gain, budget.moment_gain));
                add(plate, Kind::Zero(c), of(c, budget.force_drift_n, budget.moment_drift_nm));
                for from in 0..6 {
                    let share = match (c < 3, from < 3) {
                        _ if c == from => 0.0,
                        (true, true) | (false, false) => budget.crosstalk,
                        (false, true) => budget.crosstalk * CROSSTALK_LEVER_M,
                        (true, false) => 0.0,
                    };
                    add(plate, Kind::CrossTalk { into: c, from }, share);
                }
            }
            add(plate, Kind::Height, budget.height_m);
            add(plate, Kind::Angle, budget.angle_rad);
            if Some(plate) != clock {
                add(plate, Kind::Skew, budget.skew_s);
            }
        }
        // One plate whose centre is the origin has no place to be wrong about.
        let bound = !scene.origin_stated && scene.rig_plates == 1;
        if !bound && (loaded || !scene.origin_stated) {
            add(plate, Kind::Position(0), budget.position_m);
            add(plate, Kind::Position(1), budget.position_m);
        }
    }
    out
}

/// A reading as a plate's own channels have it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Local {
    /// Fx, Fy, Fz, Mx, My, Mz about the surface centre, plate axes.
    pub wrench: [f64; 6],
    /// Their rates of change.
    pub rate: [f64; 6],
    /// As [`PlateAt::weight`].
    pub weight: f64,
    /// As [`PlateAt::noise`].
    pub noise: f64,
    /// As [`PlateAt::samples`].
    pub samples: f64,
}

impl Local {
    /// Standard deviation of a component's noise: of `sigma` a sample, `length` samples for each independent one.
    #[inline]
    pub fn noise_of(&self, sigma: f64, length: f64) -> f64 {
        // Single samples are asked for thousands of times.
        let left = if self.samples == 1.0 { 1.0 } else { mean_var(self.samples, length).sqrt() };
        sigma * self.noise * left
    }
}

impl ScenePlate {
    /// A golf-frame wrench about the golf origin as Fx … Mz about this plate's surface centre, in its own axes.
    pub fn local(&self, force_n: DVec3, moment_nm: DVec3) -> [f64; 6] {
        let to = self.axes.transpose();
        let (f, m) = (to * force_n, to * (moment_nm - self.centre_m.cross(force_n)));
        [f.x, f.y, f.z, m.x, m.y, m.z]
    }

    /// The inverse of [`ScenePlate::local`]: golf-frame force, and moment about the golf origin.
    pub fn golf(&self, local: &[f64; 6]) -> (DVec3, DVec3) {
        let [fx, fy, fz, mx, my, mz] = *local;
        let force = self.axes * DVec3::new(fx, fy, fz);
        (force, self.axes * DVec3::new(mx, my, mz) + self.centre_m.cross(force))
    }

    /// A whole reading.
    pub fn reading(&self, at: &PlateAt) -> Local {
        Local {
            wrench: self.local(at.force_n, at.moment_nm),
            rate: self.local(at.force_rate, at.moment_rate),
            weight: at.weight,
            noise: at.noise,
            samples: at.samples,
        }
    }
}

/// How far an error of place moves a plate, or what is bound to it, m along golf x and y.
///
/// Where the golf origin is the mean of the plates' centres, everything is told from the moved origin.
pub(super) fn shift(source: &Source, plate: usize, scene: &Scene) -> [f64; 2] {
    let Kind::Position(along) = source.kind else { return [0.0; 2] };
    let own = if source.plate == plate { 1.0 } else { 0.0 };
    let origin = if scene.origin_stated { 0.0 } else { 1.0 / scene.rig_plates as f64 };
    let mut out = [0.0; 2];
    if let Some(out) = out.get_mut(along) {
        *out = source.u * (own - origin);
    }
    out
}

/// What an error of one standard uncertainty adds to a plate's reading, in the plate's own axes: `add` is called with
/// each component that changes, and by how much. Most errors touch one component.
#[inline]
pub(super) fn error(
    source: &Source,
    plate: &ScenePlate,
    at: &Local,
    scene: &Scene,
    mut add: impl FnMut(usize, f64),
) {
    let w = &at.wrench;
    let force = || DVec3::new(w[0], w[1], w[2]);
    let mut vector = |first: usize, v: DVec3| (0..3).for_each(|c| add(first + c, v[c]));
    // A vector of the golf frame in the plate's axes.
    let local = |v: DVec3| plate.axes.transpose() * v;
    if let Kind::Position(_) = source.kind {
        let [x, y] = shift(source, plate.plate, scene);
        return vector(3, local(DVec3::new(x, y, 0.0)).cross(force()));
    }
    if source.plate != plate.plate {
        return;
    }
    let u = source.u;
    match source.kind {
        Kind::Gain(c) => add(c, u * w[c]),
        Kind::CrossTalk { into, from } => add(into, u * w[from]),
        Kind::Zero(c) => add(c, u * at.weight),
        Kind::Height => vector(3, local(DVec3::Z * u).cross(force())),
        Kind::Angle => {
            let turn = local(DVec3::Z * u);
            vector(0, turn.cross(force()));
            vector(3, turn.cross(DVec3::new(w[3], w[4], w[5])));
        }
        Kind::Skew => at.rate.iter().enumerate().for_each(|(c, rate)| add(c, -u * rate)),
        Kind::Position(_) => {}
    }
}

/// What an error of one standard uncertainty adds to a plate's reading: force, and moment about the golf origin,
/// golf frame; zero for another plate's error.
pub fn perturb(source: &Source, plate: &ScenePlate, at: &PlateAt, scene: &Scene) -> (DVec3, DVec3) {
    let mut changed = [0.0; 6];
    error(source, plate, &plate.reading(at), scene, |c, by| changed[c] += by);
    plate.golf(&changed)
}

/// Everything that is uncertain about one swing.
#[derive(Clone, Debug, PartialEq)]
pub struct Errors {
    /// Independent sources.
    pub sources: Vec<Source>,
    /// Noise of each plate of the scene.
    pub noise: Vec<Noise>,
    /// What each source does to the stance centre, m along golf x and y; zero where there is none.
    pub stance_m: Vec<[f64; 2]>,
    /// What each noise does to the stance centre, m.
    pub stance_noise_m: Vec<[f64; 2]>,
}

impl Errors {
    /// The budget of a rig under one swing. `noise` in the order of [`Scene::plates`]; plates beyond it have none.
    pub fn new(scene: &Scene, budget: &ErrorBudget, noise: &[Noise]) -> Self {
        let sources = sources(budget, scene);
        let noise: Vec<Noise> =
            (0..scene.plates.len()).map(|k| noise.get(k).copied().unwrap_or_default()).collect();
        let mut out =
            Self { stance_m: vec![[0.0; 2]; sources.len()], stance_noise_m: Vec::new(), sources, noise };
        let Some(stance) = &scene.stance else { return out };
        // The stance centre is the mean of the feet's centres of pressure at address.
        let address = Linear::new(scene, &stance.address, DVec3::NAN);
        let signs = [0.5, 0.5 * scene.hand.toe_sign()];
        let feet = |flat: Flat| [Column::Cop(Who::Lead, flat), Column::Cop(Who::Trail, flat)];
        let columns = Flat::ALL.map(feet);
        let by_source = columns.map(|feet| feet.map(|column| address.of(scene, &out, column).parts));
        out.stance_m = (0..out.sources.len())
            .map(|s| [0, 1].map(|flat| signs[flat] * (by_source[flat][0][s] + by_source[flat][1][s])))
            .collect();
        for (plate, noise) in out.noise.iter().enumerate() {
            for c in (0..6).filter(|c| noise.sigma[*c] > 0.0) {
                let by = |column| address.noise_of(plate, c, noise, column);
                let middle = [0, 1].map(|flat| signs[flat] * (by(columns[flat][0]) + by(columns[flat][1])));
                out.stance_noise_m.push(middle);
            }
        }
        out
    }
}
