//! A rig: the plates as they stand, where the target is, and how good the plates are.
use crate::conditioning::Conditioning;
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
    /// What is done to its recordings before accounts are formed.
    pub conditioning: Conditioning,
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

impl Target {
    /// Reads a laboratory axis ("+x", "-y"…), a vector ("0.8,0.6,0") or two plates by number from 1 or by name
    /// ("1>2": from plate 1 to plate 2). `None` for anything else.
    pub fn parse(text: &str, plates: &[Plate]) -> Option<Self> {
        if let Some(axis) = Axis::parse(text) {
            return Some(Self::Axis(axis));
        }
        if let Some((from, to)) = text.split_once('>') {
            let plate = |word: &str| {
                let word = word.trim();
                let named = plates.iter().position(|p| p.name == word);
                named.or_else(|| word.parse::<usize>().ok().and_then(|n| n.checked_sub(1)))
            };
            if let (Some(from), Some(to)) = (plate(from), plate(to)) {
                return Some(Self::FromTo(from, to));
            }
        }
        let parts: Result<Vec<f64>, _> = text.split(',').map(|p| p.trim().parse::<f64>()).collect();
        match parts.as_deref() {
            Ok([x, y, z]) if [x, y, z].iter().all(|v| v.is_finite()) => {
                Some(Self::Vector(DVec3::new(*x, *y, *z)))
            }
            _ => None,
        }
    }
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

/// Standard uncertainties (one standard deviation) of a rig. How they act: [`crate::uncertainty`].
///
/// A limit ±a beyond which an error is not accepted, with nothing else known, is a rectangular distribution, of
/// standard deviation a/√3 (JCGM 100:2008, 4.3.7): so the defaults were made from limits of acceptance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ErrorBudget {
    /// Relative gain of each force component. Default 0.006: a static weight is accepted within 0.5 to 1 %
    /// (common practice, no source); 1 %/√3.
    pub force_gain: f64,
    /// Relative gain of each moment component. Default 0.01: a centre of pressure is accepted within 5 mm in the
    /// middle and 10 mm at the edge of a plate (common practice, no source), so that 5 mm grow over about 0.3 m: 1.7 %/√3.
    pub moment_gain: f64,
    /// Share of a component that appears in another; from a force into a moment at a lever of 0.1 m
    /// ([`crate::uncertainty::CROSSTALK_LEVER_M`]). Default 0.006: a dead weight may show as horizontal force up to
    /// 1 % of itself (common practice, no source); 1 %/√3.
    pub crosstalk: f64,
    /// Zero of each force component, N: what is left of it over a recording. Default 1.2: drift of 2 to 5 N
    /// is accepted over a session (common practice, no source); the lower limit for one recording, 2 N/√3.
    pub force_drift_n: f64,
    /// Zero of each moment component, N·m. Default 0.3: the drift of a force at a sensor 0.25 m from the middle.
    pub moment_drift_nm: f64,
    /// Place of a plate from the golf origin, each horizontal direction, m. Default 0.002: with the other defaults
    /// it makes 2.3 mm of a centre of pressure, which is the 4 mm/√3 of mechanical tests in four laboratories
    /// (2016, Gait Posture).
    pub position_m: f64,
    /// Height of the surface over the sensors (depth of the sensors, thickness of a cover), m. Default 0.003: a mat
    /// or turf known to 5 mm; 5 mm/√3 (common practice, no source).
    pub height_m: f64,
    /// Angle of a plate about the vertical, rad. Default 0.005: an edge of 0.6 m with each end out by `position_m`;
    /// 0.3°, within the 1°/√3 of the same four laboratories.
    pub angle_rad: f64,
    /// Time between plates, s, against the first. Default 0.0005: within one sample at 1000 Hz; 1 ms/√3, rounded down
    /// since one converter often serves all plates (common practice, no source).
    pub skew_s: f64,
}

impl ErrorBudget {
    /// What is taken when a rig states nothing; where each figure comes from is said at its field. A plate's own
    /// certificate is better.
    pub const TYPICAL: Self = Self {
        force_gain: 0.006,
        moment_gain: 0.01,
        crosstalk: 0.006,
        force_drift_n: 1.2,
        moment_drift_nm: 0.3,
        position_m: 0.002,
        height_m: 0.003,
        angle_rad: 0.005,
        skew_s: 0.0005,
    };

    /// A rig without error.
    pub const NONE: Self = Self {
        force_gain: 0.0,
        moment_gain: 0.0,
        crosstalk: 0.0,
        force_drift_n: 0.0,
        moment_drift_nm: 0.0,
        position_m: 0.0,
        height_m: 0.0,
        angle_rad: 0.0,
        skew_s: 0.0,
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
            conditioning: Conditioning::RAW,
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
