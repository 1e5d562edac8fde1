//! A rig: the plates as they stand, where the target is, and how good the plates are.
use crate::plate::Plate;
use crate::recording::{Axis, Recording};
use glam::DVec3;

/// Everything needed to turn a recording's channels into reactions in the golf frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Rig {
    /// Name for people.
    pub name: String,
    /// Plates, in the order in which people number them (plate 1 first).
    pub plates: Vec<Plate>,
    /// Laboratory axis that points up.
    pub up: Axis,
    /// Where the target is; `None` where nobody has said.
    pub target: Option<Target>,
    /// Origin of the golf frame, laboratory axes, m; `None`: the mean of the plates' surface centres.
    pub origin_m: Option<DVec3>,
    /// Vertical force under which a plate or foot has no centre of pressure, N.
    pub load_floor_n: f64,
    /// Channel that marks impact or a trigger.
    pub trigger: Option<Trigger>,
    /// How good the rig is.
    pub budget: ErrorBudget,
}

/// Least vertical force for a centre of pressure unless the rig states another, N.
/// Common practice, no source: 10 to 50 N are used, 20 N most.
pub const LOAD_FLOOR_N: f64 = 20.0;

/// Target direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Target {
    /// Along a laboratory axis.
    Axis(Axis),
    /// Along a vector, laboratory axes, any length.
    Vector(DVec3),
    /// From the centre of one plate to the centre of another (indices from 0).
    FromTo(usize, usize),
}

/// A channel that marks an instant.
#[derive(Clone, Debug, PartialEq)]
pub struct Trigger {
    /// Index into the recording's analog channels.
    pub channel: usize,
    /// The instant is where the channel first crosses this level, in the channel's unit. A step always states it;
    /// `None` for a sound: it is found above the channel's own noise.
    pub level: Option<f64>,
    /// What it marks ("impact", "trigger").
    pub marks: String,
    /// Whether it steps at the instant or hears it.
    pub kind: TriggerKind,
    /// From what is heard to the microphone, m, where stated: sound takes its time.
    pub distance_m: Option<f64>,
}

/// How a channel marks its instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TriggerKind {
    /// It crosses its level at the instant: a switch, a light barrier, an electrical contact.
    Step,
    /// It hears it: a microphone, or a vibration sensor.
    Sound,
}

/// Standard uncertainties (one standard deviation) of a rig. Defaults are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ErrorBudget {
    /// Relative gain of force channels.
    pub force_gain: f64,
    /// Relative gain of moment channels.
    pub moment_gain: f64,
    /// Share of a component that appears in another.
    pub crosstalk: f64,
    /// Zero drift of a force component over a recording, N.
    pub force_drift_n: f64,
    /// Zero drift of a moment component over a recording, N·m.
    pub moment_drift_nm: f64,
    /// Place of a plate, each horizontal direction, m.
    pub position_m: f64,
    /// Angle of a plate about the vertical, rad.
    pub angle_rad: f64,
    /// Time skew between plates, s.
    pub skew_s: f64,
}

impl ErrorBudget {
    /// What is taken when a rig states nothing. Common practice, no source.
    pub const TYPICAL: Self = Self {
        force_gain: 0.005,
        moment_gain: 0.01,
        crosstalk: 0.01,
        force_drift_n: 1.0,
        moment_drift_nm: 0.5,
        position_m: 0.002,
        angle_rad: 0.0044,
        skew_s: 0.0005,
    };
}

impl Rig {
    /// The rig that a recording describes by itself: its plates, its up axis if stated, no target.
    ///
    /// Where the recording does not state up, the positive laboratory axis nearest to the plates' normals is taken.
    pub fn of_recording(recording: &Recording) -> Self {
        Self {
            name: "as the file says".into(),
            plates: recording.plates.clone(),
            up: recording.up.unwrap_or_else(|| up_of_plates(&recording.plates)),
            target: None,
            origin_m: None,
            load_floor_n: LOAD_FLOOR_N,
            trigger: None,
            budget: ErrorBudget::TYPICAL,
        }
    }
}

/// The positive laboratory axis nearest to the plates' mean normal line; +z for no plates.
pub fn up_of_plates(plates: &[Plate]) -> Axis {
    let along = |axis: Axis| -> f64 {
        plates.iter().filter_map(Plate::axes).map(|a| a.z_axis.dot(axis.unit()).abs()).sum()
    };
    let mut best = Axis::PlusZ;
    for axis in [Axis::PlusY, Axis::PlusX] {
        if along(axis) > along(best) {
            best = axis;
        }
    }
    best
}
