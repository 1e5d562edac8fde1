//! The bench: plates under an invented player, and the recording they would have made.
use crate::chance::{Chance, Purpose};
use crate::club;
use crate::kind::{PlateType, Units};
use crate::noise::{Noise, PlateNoise};
use crate::plate::{Inverse, Wrench};
use crate::truth::{FootTruth, Truth};
use glam::{DMat3, DVec3};
use mechanics::plate::Foothold;
use mechanics::{
    Analog, Axis, Channel, ErrorBudget, Frame, Hand, Mark, Marker, Measures, Plate, Recording, Rig, Target,
    Trigger, TriggerKind,
};
use signal::math;
use std::fmt;

/// Why a recording cannot be made of a spec.
#[derive(Clone, Debug, PartialEq)]
pub enum Unbuildable {
    /// The target points straight up or down, or is no direction.
    Target,
    /// A plate (index from 0) has no surface, or its channels cannot tell all six components.
    Plate(usize),
    /// There is no plate.
    NoPlate,
    /// A figure of the player or the rig is out of range: its name and value.
    Figure(&'static str, f64),
}

impl fmt::Display for Unbuildable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Target => write!(f, "the target has no horizontal direction"),
            Self::Plate(k) => write!(f, "plate {} has no surface or cannot tell all six components", k + 1),
            Self::NoPlate => write!(f, "the rig has no plate"),
            Self::Figure(name, value) => write!(f, "{name} is {value}, which no recording can be made of"),
        }
    }
}

impl std::error::Error for Unbuildable {}

/// A plate to build. Golf frame for places, up to a common shift: the mean of all surface centres becomes the
/// origin.
#[derive(Clone, Debug, PartialEq)]
pub struct PlateSpec {
    /// Centre of the top surface, golf frame, m.
    pub centre_m: DVec3,
    /// Length along plate x and width along plate y, m.
    pub size_m: (f64, f64),
    /// Angle of the plate's x axis from the target direction, counter-clockwise from above, rad.
    pub yaw_rad: f64,
    /// True where the plate's z axis points down, as the C3D standard has it.
    pub z_down: bool,
    /// How it measures.
    pub kind: PlateType,
    /// The unit of its channels.
    pub units: Units,
    /// What its channels hold: the reaction on the player, or the force on the plate.
    pub measures: Measures,
    /// Thickness of a cover, m.
    pub cover_m: f64,
    /// The foot that a rig file would state, if any.
    pub foot: Option<Foothold>,
}

/// Plates, laboratory and clock.
#[derive(Clone, Debug, PartialEq)]
pub struct RigSpec {
    /// Name for people.
    pub name: String,
    /// Plates in the order in which people number them.
    pub plates: Vec<PlateSpec>,
    /// Laboratory axis that points up.
    pub up: Axis,
    /// Target direction in the laboratory; made square to up.
    pub target: DVec3,
    /// Where the golf origin lies in the laboratory, m.
    pub origin_m: DVec3,
    /// Where the player stands: stance centre from the golf origin, toward the target and toward the toes, m.
    pub stand_m: [f64; 2],
    /// Which plates these are: their cross-talk comes from this number and stays the same from day to day. `None`: from
    /// the seed of the session, as if every session had its own.
    pub bay: Option<u64>,
    /// Samples a second of the plates.
    pub rate_hz: f64,
    /// Samples a second of the markers; 0 for none.
    pub marker_rate_hz: f64,
    /// Adds a channel "IMPACT" that jumps from 0 to 5 V at impact.
    pub trigger: bool,
    /// Writes the five events as marks.
    pub marks: bool,
    /// States the body mass.
    pub states_mass: bool,
}

impl PlateSpec {
    /// A plate of 0.4 m along the target and 0.6 m across, level, z down, centred at (`x`, `y`).
    pub fn at(x: f64, y: f64, kind: PlateType) -> Self {
        Self {
            centre_m: DVec3::new(x, y, 0.0),
            size_m: (0.4, 0.6),
            yaw_rad: 0.0,
            z_down: kind != PlateType::Lab,
            kind,
            units: if kind == PlateType::Lab { Units::Metre } else { Units::Millimetre },
            measures: Measures::OnPlayer,
            cover_m: 0.0,
            foot: None,
        }
    }

    /// Axes in the golf frame: columns plate x, y, z.
    fn axes(&self) -> DMat3 {
        let (sin, cos) = math::sin_cos(self.yaw_rad);
        let x = DVec3::new(cos, sin, 0.0);
        let z = if self.z_down { DVec3::NEG_Z } else { DVec3::Z };
        DMat3::from_cols(x, z.cross(x), z)
    }
}

impl RigSpec {
    /// Two plates side by side along the target line, 0.1 m apart: plate 1 under the lead foot. The laboratory
    /// is the golf frame; 1000 samples a second, markers at 250.
    pub fn two_plates(kind: PlateType) -> Self {
        Self {
            name: "two plates".into(),
            plates: vec![PlateSpec::at(0.25, 0.0, kind), PlateSpec::at(-0.25, 0.0, kind)],
            up: Axis::PlusZ,
            target: DVec3::X,
            origin_m: DVec3::ZERO,
            stand_m: [0.0, 0.0],
            bay: None,
            rate_hz: 1000.0,
            marker_rate_hz: 250.0,
            trigger: true,
            marks: true,
            states_mass: true,
        }
    }

    /// One plate of 0.9 m by 0.6 m under both feet.
    pub fn one_plate(kind: PlateType) -> Self {
        let plate = PlateSpec { size_m: (0.9, 0.6), ..PlateSpec::at(0.0, 0.0, kind) };
        Self { name: "one plate".into(), plates: vec![plate], ..Self::two_plates(kind) }
    }

    /// A plate for each foot and a third one ahead, toward the target, on which nobody stands.
    pub fn three_plates(kind: PlateType) -> Self {
        let mut rig = Self::two_plates(kind);
        rig.name = "two plates and one ahead".into();
        rig.plates.push(PlateSpec::at(0.75, 0.0, kind));
        // The mean of the three centres is the origin, and lies 0.25 m nearer the target.
        rig.stand_m = [-0.25, 0.0];
        rig
    }

    /// The same rig in another laboratory: any upward axis, any target direction, any origin.
    pub fn in_lab(self, up: Axis, target: DVec3, origin_m: DVec3) -> Self {
        Self { up, target, origin_m, ..self }
    }
}

/// A recording, what is true of it, and the rig that reads it rightly.
#[derive(Clone, Debug, PartialEq)]
pub struct Simulated {
    /// As a file would give it: plates as a C3D describes them, without saying whose force they hold.
    pub recording: Recording,
    /// What really happened.
    pub truth: Truth,
    /// The rig, all said: target, whose force, impact channel.
    pub rig: Rig,
}

/// Takes a truth whose feet stand on z = 0 down to the plates of a rig and records it.
///
/// Each foot stands wholly on the plate that is nearest under its middle.
pub fn record(
    mut truth: Truth,
    spec: &RigSpec,
    noise: &Noise,
    seed: u64,
    k: u32,
) -> Result<Simulated, Unbuildable> {
    let placed = place(spec)?;
    // A C3D file holds a whole number of plate samples for every marker frame: the recording ends with a frame.
    let per_frame = (spec.rate_hz / spec.marker_rate_hz).round();
    if spec.marker_rate_hz > 0.0 && per_frame >= 1.0 {
        truth.truncate(truth.len() / per_frame as usize * per_frame as usize);
    }
    let stands = [under(&truth.lead, &placed), under(&truth.trail, &placed)];
    for (foot, plate) in [(&mut truth.lead, stands[0]), (&mut truth.trail, stands[1])] {
        let surface = &placed[plate];
        foot.stand_at(surface.centre_m.z + surface.spec.cover_m);
    }
    let frame = Frame::new(spec.origin_m, spec.up.unit(), spec.target).ok_or(Unbuildable::Target)?;
    let lab = |golf: DVec3| frame.origin_m + frame.axes * golf;

    let mut analog = Analog { rate_hz: spec.rate_hz, start_s: 0.0, channels: Vec::new() };
    let mut plates = Vec::with_capacity(placed.len());
    for (index, p) in placed.iter().enumerate() {
        let plate = p.plate(index, analog.channels.len(), &lab);
        let inverse = Inverse::of(&plate, spec.up).ok_or(Unbuildable::Plate(index))?;
        let mut error = PlateNoise::new(noise, spec.bay.unwrap_or(seed), seed, k, index, spec.rate_hz);
        let labels = p.spec.kind.labels(index + 1, p.spec.units);
        let mut columns: Vec<Channel> = labels
            .into_iter()
            .map(|(label, unit)| Channel {
                label,
                unit: unit.into(),
                description: format!("plate {}", index + 1),
                samples: Vec::with_capacity(truth.len()),
            })
            .collect();
        // Linear channels are rounded one by one; a reduced plate rounds what it measures before it reduces.
        let steps = noise.adc.and_then(|adc| adc.steps(&inverse)).unwrap_or_default();
        let whole = noise.adc.filter(|_| steps.is_empty());
        for i in 0..truth.len() {
            let mut wrench = Wrench::ZERO;
            for (foot, at) in [(&truth.lead, stands[0]), (&truth.trail, stands[1])] {
                if at == index {
                    p.add(foot, i, &mut wrench);
                }
            }
            let wrench = error.spoil(wrench, i);
            let wrench = whole.map_or(wrench, |adc| adc.round_wrench(wrench));
            for (c, (column, value)) in columns.iter_mut().zip(inverse.values(&wrench)).enumerate() {
                let value = steps.get(c).map_or(value, |s| s.round(value));
                column.samples.push(value);
            }
        }
        analog.channels.append(&mut columns);
        plates.push(plate);
    }
    let trigger = (spec.trigger && truth.events.impact_s.is_finite()).then(|| {
        let channel = analog.channels.len();
        analog.channels.push(impact_channel(&truth));
        Trigger {
            channel,
            level: Some(2.5),
            marks: "impact".into(),
            kind: TriggerKind::Step,
            distance_m: None,
        }
    });
    let marks = if spec.marks { marks(&truth) } else { Vec::new() };
    let markers = if spec.marker_rate_hz > 0.0 {
        markers(&truth, spec.marker_rate_hz, noise, seed, k, &lab)
    } else {
        Vec::new()
    };
    let recording = Recording {
        name: format!("{}-{:02}", truth.alias.to_lowercase(), k + 1),
        format: "simulated".into(),
        analog,
        marker_rate_hz: if markers.is_empty() { 0.0 } else { spec.marker_rate_hz },
        markers,
        marker_start_s: 0.0,
        marks,
        plates: plates
            .iter()
            .map(|p| Plate { measures: Measures::BySign, cover_m: 0.0, foot: None, ..p.clone() })
            .collect(),
        mass_kg: spec.states_mass.then_some(truth.mass_kg),
        up: Some(spec.up),
    };
    let rig = Rig {
        name: spec.name.clone(),
        plates,
        up: spec.up,
        target: Some(Target::Vector(spec.target)),
        origin_m: None,
        load_floor_n: mechanics::rig::LOAD_FLOOR_N,
        trigger,
        budget: ErrorBudget::TYPICAL,
        conditioning: mechanics::Conditioning::RAW,
    };
    Ok(Simulated { recording, truth, rig })
}

/// A plate with its place settled.
struct Placed<'a> {
    spec: &'a PlateSpec,
    centre_m: DVec3,
    axes: DMat3,
}

fn place(spec: &RigSpec) -> Result<Vec<Placed<'_>>, Unbuildable> {
    if spec.plates.is_empty() {
        return Err(Unbuildable::NoPlate);
    }
    if !(spec.rate_hz >= 20.0 && spec.rate_hz <= 50_000.0) {
        return Err(Unbuildable::Figure("rate_hz", spec.rate_hz));
    }
    if !(spec.marker_rate_hz >= 0.0 && spec.marker_rate_hz <= 10_000.0) {
        return Err(Unbuildable::Figure("marker_rate_hz", spec.marker_rate_hz));
    }
    let mean = spec.plates.iter().map(|p| p.centre_m).sum::<DVec3>() / spec.plates.len() as f64;
    Ok(spec.plates.iter().map(|p| Placed { spec: p, centre_m: p.centre_m - mean, axes: p.axes() }).collect())
}

/// Index of the plate a foot stands on: the one whose outline its middle is deepest in, or else nearest to.
fn under(foot: &FootTruth, placed: &[Placed]) -> usize {
    let middle = foot.print.centre_m();
    let outside = |p: &Placed| {
        let from = p.axes.transpose() * (middle - p.centre_m);
        (from.x.abs() - p.spec.size_m.0 / 2.0).max(from.y.abs() - p.spec.size_m.1 / 2.0)
    };
    (0..placed.len()).min_by(|&a, &b| outside(&placed[a]).total_cmp(&outside(&placed[b]))).unwrap_or(0)
}

impl Placed<'_> {
    fn plate(&self, index: usize, first: usize, lab: &dyn Fn(DVec3) -> DVec3) -> Plate {
        let half = (self.spec.size_m.0 / 2.0, self.spec.size_m.1 / 2.0);
        let upward = if self.spec.z_down { -1.0 } else { 1.0 };
        let corner =
            |x: f64, y: f64| lab(self.centre_m + self.axes * DVec3::new(x * half.0, y * half.1, 0.0));
        Plate {
            name: (index + 1).to_string(),
            corners_m: [corner(1.0, 1.0), corner(-1.0, 1.0), corner(-1.0, -1.0), corner(1.0, -1.0)],
            sensing: self.spec.kind.sensing(first, half, upward, self.spec.units),
            measures: self.spec.measures,
            cover_m: self.spec.cover_m,
            baseline: None,
            foot: self.spec.foot,
            kind: self.spec.kind.words().into(),
        }
    }

    /// Adds a foot's reaction, as this plate's channels hold it.
    fn add(&self, foot: &FootTruth, i: usize, wrench: &mut Wrench) {
        let force = foot.force_n[i];
        let arm = if foot.cop_m[i].is_nan() { DVec3::ZERO } else { foot.cop_m[i] - self.centre_m };
        let moment = arm.cross(force) + DVec3::Z * foot.free_moment_nm[i];
        let sign = if self.spec.measures == Measures::OnPlate { -1.0 } else { 1.0 };
        let to_plate = self.axes.transpose();
        wrench.force_n += to_plate * force * sign;
        wrench.moment_nm += to_plate * moment * sign;
    }
}

impl FootTruth {
    /// Sets the height on which the foot stands, m.
    fn stand_at(&mut self, z: f64) {
        self.print.heel_m.z = z;
        self.print.toe_m.z = z;
        self.cop_m.iter_mut().for_each(|c| c.z += z);
    }
}

fn impact_channel(truth: &Truth) -> Channel {
    let impact = truth.events.impact_s;
    let at = |i: usize| i as f64 / truth.rate_hz;
    let high = |t: f64| t >= impact && t < impact + 0.02;
    Channel {
        label: "IMPACT".into(),
        unit: "V".into(),
        description: "club meets ball".into(),
        samples: (0..truth.len()).map(|i| if high(at(i)) { 5.0 } else { 0.0 }).collect(),
    }
}

fn marks(truth: &Truth) -> Vec<Mark> {
    let mark = |(label, time_s): (&str, f64)| Mark { label: label.into(), context: "General".into(), time_s };
    truth.events.list().into_iter().filter(|(_, t)| t.is_finite()).map(mark).collect()
}

/// Heel and toe of each side, and the clubhead where there is a swing.
fn markers(
    truth: &Truth,
    rate_hz: f64,
    noise: &Noise,
    seed: u64,
    k: u32,
    lab: &dyn Fn(DVec3) -> DVec3,
) -> Vec<Marker> {
    let n = ((truth.len() as f64 / truth.rate_hz) * rate_hz).floor() as usize;
    let mut chance = Chance::new(seed, k, Purpose::Markers);
    let mut marker = |label: &str, description: &str, place: &dyn Fn(f64) -> DVec3| Marker {
        label: label.into(),
        description: description.into(),
        path_m: (0..n)
            .map(|i| {
                let wobble = noise.marker_m;
                let error = match wobble {
                    w if w > 0.0 => DVec3::from_array([0; 3].map(|_| w * chance.normal())),
                    _ => DVec3::ZERO,
                };
                (lab(place(i as f64 / rate_hz)) + error).as_vec3().to_array()
            })
            .collect(),
    };
    let (left, right) = match truth.hand {
        Hand::Right => (truth.lead.print, truth.trail.print),
        Hand::Left => (truth.trail.print, truth.lead.print),
    };
    let lift = |p: DVec3, up: f64| p + DVec3::Z * up;
    let mut out = vec![
        marker("LHEEL", "left heel", &|_| lift(left.heel_m, 0.04)),
        marker("LTOE", "left toe", &|_| lift(left.toe_m, 0.03)),
        marker("RHEEL", "right heel", &|_| lift(right.heel_m, 0.04)),
        marker("RTOE", "right toe", &|_| lift(right.toe_m, 0.03)),
    ];
    if let Some(club) = club::Path::of(truth) {
        out.push(marker("CLUBHEAD", "clubhead", &|t| club.place_m(t)));
    }
    out
}
