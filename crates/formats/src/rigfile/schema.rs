//! What may stand in a rig file. Plain data; every field a rig may leave out is an `Option`.
use super::conditioning::ConditioningEntry;
use crate::table::{Column, TableLayout};
use mechanics::plate::Foothold;
use mechanics::{Axis, ErrorBudget, Measures};
use serde::{Deserialize, Deserializer};

/// A rig file as written.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RigFile {
    /// Name for people.
    pub name: Option<String>,
    /// Laboratory axis that points up; `+z` where neither the rig nor the recording says.
    #[serde(default, deserialize_with = "axis")]
    pub up: Option<Axis>,
    /// Where the target is.
    pub target: Option<TargetEntry>,
    /// Origin of the golf frame, laboratory axes, m; left out: the middle of the plates.
    pub origin_m: Option<[f64; 3]>,
    /// Vertical force under which nothing has a centre of pressure, N.
    pub load_floor_n: Option<f64>,
    /// Samples a second, for recordings that do not say, or say it wrongly.
    pub rate_hz: Option<f64>,
    /// Shape of the tables recorded with this rig.
    pub table: Option<TableLayout>,
    /// The plates.
    #[serde(default)]
    pub plate: Vec<PlateEntry>,
    /// Channel that marks an instant.
    pub trigger: Option<TriggerEntry>,
    /// How good the rig is.
    pub uncertainty: Option<UncertaintyEntry>,
    /// What is done to its recordings before accounts are formed.
    pub conditioning: Option<ConditioningEntry>,
    /// The text it was read from, so that errors found later can name a line.
    #[serde(skip)]
    pub source: Source,
}

/// Name and text of the file a rig was read from; empty for a rig made in memory. Equal to every other source,
/// so that two rigs are equal when they say the same.
#[derive(Clone, Debug, Default)]
pub struct Source {
    /// File name.
    pub name: String,
    /// Full text.
    pub text: String,
}

impl PartialEq for Source {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// One `[[plate]]`.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlateEntry {
    /// Which plate of the recording this completes, from 1. Left out: the entries are all the plates, in order.
    pub number: Option<usize>,
    /// Name for people.
    pub name: Option<String>,
    /// Corners (+x,+y), (−x,+y), (−x,−y), (+x,−y) of the plate's own axes, laboratory coordinates, m.
    pub corners_m: Option<[[f64; 3]; 4]>,
    /// The same in mm.
    pub corners_mm: Option<[[f64; 3]; 4]>,
    /// Length along the plate's x and along its y, m.
    pub size_m: Option<[f64; 2]>,
    /// Centre of the top surface, laboratory coordinates, m.
    pub centre_m: Option<[f64; 3]>,
    /// From the laboratory's first horizontal axis to the plate's x, counter-clockwise seen from above, degrees.
    pub angle_deg: Option<f64>,
    /// Where the plate's own z points.
    pub z: Option<Vertical>,
    /// Whose force the channels hold.
    pub force: Option<Force>,
    /// Thickness of a cover lying on the plate, mm.
    pub cover_mm: Option<f64>,
    /// Which foot stands here.
    pub foot: Option<Foot>,
    /// Six components.
    pub six: Option<Six>,
    /// Eight channels of a piezo plate.
    pub piezo: Option<Piezo>,
    /// Forces, centre of pressure and free moment.
    pub reduced: Option<Reduced>,
    /// Channels through a calibration matrix.
    pub matrix: Option<Matrix>,
    /// Unit of the force channels; left out: as the recording says.
    pub force_unit: Option<String>,
    /// Unit of the moment channels; left out: as the recording says.
    pub moment_unit: Option<String>,
    /// From the sensor origin to the centre of the top surface, plate axes, m.
    pub origin_m: Option<[f64; 3]>,
    /// How deep under the surface the sensor origin lies, mm, positive.
    pub depth_mm: Option<f64>,
}

/// Up or down.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Vertical {
    /// Away from the floor.
    Up,
    /// Into the floor.
    Down,
}

impl Vertical {
    /// As written.
    pub fn word(self) -> &'static str {
        match self {
            Self::Up => "up",
            Self::Down => "down",
        }
    }
}

/// Whose force the channels hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
pub enum Force {
    /// The reaction of the ground on the player.
    #[serde(rename = "on player")]
    OnPlayer,
    /// The force of the player on the plate.
    #[serde(rename = "on plate")]
    OnPlate,
}

impl Force {
    /// As written.
    pub fn word(self) -> &'static str {
        match self {
            Self::OnPlayer => "on player",
            Self::OnPlate => "on plate",
        }
    }
    /// As mechanics says it.
    pub fn measures(self) -> Measures {
        match self {
            Self::OnPlayer => Measures::OnPlayer,
            Self::OnPlate => Measures::OnPlate,
        }
    }
}

/// Which foot stands on a plate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Foot {
    /// The foot nearer the target.
    Lead,
    /// The foot farther from the target.
    Trail,
    /// The player's left foot.
    Left,
    /// The player's right foot.
    Right,
    /// Both feet.
    Both,
}

impl Foot {
    /// As written.
    pub fn word(self) -> &'static str {
        match self {
            Self::Lead => "lead",
            Self::Trail => "trail",
            Self::Left => "left",
            Self::Right => "right",
            Self::Both => "both",
        }
    }
    /// As mechanics says it.
    pub fn foothold(self) -> Foothold {
        match self {
            Self::Lead => Foothold::Lead,
            Self::Trail => Foothold::Trail,
            Self::Left => Foothold::Left,
            Self::Right => Foothold::Right,
            Self::Both => Foothold::Both,
        }
    }
}

/// Six components in the plate's own axes, about the sensor origin.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // the names say it
pub struct Six {
    pub fx: Column,
    pub fy: Column,
    pub fz: Column,
    pub mx: Column,
    pub my: Column,
    pub mz: Column,
}

/// Eight channels of a piezo plate: sensor n lies in quadrant n of the plate's own axes.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // the names of the channels say it
pub struct Piezo {
    pub fx12: Column,
    pub fx34: Column,
    pub fy14: Column,
    pub fy23: Column,
    pub fz1: Column,
    pub fz2: Column,
    pub fz3: Column,
    pub fz4: Column,
    /// Half the distance between the sensors along the plate's x, mm.
    pub half_x_mm: f64,
    /// Half the distance between the sensors along the plate's y, mm.
    pub half_y_mm: f64,
    /// How deep under the surface the sensors lie, mm, positive.
    pub depth_mm: Option<f64>,
}

/// Forces, centre of pressure and free moment, as another program computed them.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reduced {
    /// Force along x, y, z of `axes`.
    pub force: [Column; 3],
    /// Centre of pressure along x, y, z of `axes`, or along the two horizontal ones; "-" for one that is not there.
    pub cop: Vec<Column>,
    /// Free moment.
    pub free_moment: Option<Column>,
    /// The axes the numbers are in.
    pub axes: AxesWord,
    /// Unit of the centre of pressure; left out: as the recording says.
    pub cop_unit: Option<String>,
}

/// The axes of reduced channels.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AxesWord {
    /// Laboratory axes and coordinates.
    Lab,
    /// The plate's own axes, from the centre of its surface.
    Plate,
}

/// Channels through a calibration matrix, in the plate's own axes, about the sensor origin.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Matrix {
    /// The channels, as many as the matrix has columns.
    pub channels: Vec<Column>,
    /// Six rows (Fx, Fy, Fz, Mx, My, Mz), one number a channel, in `force_unit` and `moment_unit`.
    pub rows: Vec<Vec<f64>>,
}

/// A channel that marks an instant.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TriggerEntry {
    /// The channel.
    pub channel: Column,
    /// Level that it crosses first at the instant, in its own unit; a sound need not state it.
    pub level: Option<f64>,
    /// What it marks.
    pub marks: String,
    /// A step, unless stated.
    pub kind: Option<TriggerWord>,
    /// For a sound: from what is heard to the microphone.
    pub distance_m: Option<f64>,
}

/// How a channel marks its instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum TriggerWord {
    /// It crosses its level.
    Step,
    /// It hears it.
    Sound,
}

/// Standard uncertainties; what is left out is [`ErrorBudget::TYPICAL`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // documented on `ErrorBudget`, field by field
pub struct UncertaintyEntry {
    pub force_gain: Option<f64>,
    pub moment_gain: Option<f64>,
    pub crosstalk: Option<f64>,
    pub force_drift_n: Option<f64>,
    pub moment_drift_nm: Option<f64>,
    pub position_m: Option<f64>,
    pub height_m: Option<f64>,
    pub angle_rad: Option<f64>,
    pub skew_s: Option<f64>,
}

impl UncertaintyEntry {
    /// The budget, with typical values for what is left out.
    pub fn budget(&self) -> ErrorBudget {
        let typical = ErrorBudget::TYPICAL;
        ErrorBudget {
            force_gain: self.force_gain.unwrap_or(typical.force_gain),
            moment_gain: self.moment_gain.unwrap_or(typical.moment_gain),
            crosstalk: self.crosstalk.unwrap_or(typical.crosstalk),
            force_drift_n: self.force_drift_n.unwrap_or(typical.force_drift_n),
            moment_drift_nm: self.moment_drift_nm.unwrap_or(typical.moment_drift_nm),
            position_m: self.position_m.unwrap_or(typical.position_m),
            height_m: self.height_m.unwrap_or(typical.height_m),
            angle_rad: self.angle_rad.unwrap_or(typical.angle_rad),
            skew_s: self.skew_s.unwrap_or(typical.skew_s),
        }
    }
    /// The fields by name, as stated.
    pub fn fields(&self) -> [(&'static str, Option<f64>); 9] {
        [
            ("force_gain", self.force_gain),
            ("moment_gain", self.moment_gain),
            ("crosstalk", self.crosstalk),
            ("force_drift_n", self.force_drift_n),
            ("moment_drift_nm", self.moment_drift_nm),
            ("position_m", self.position_m),
            ("height_m", self.height_m),
            ("angle_rad", self.angle_rad),
            ("skew_s", self.skew_s),
        ]
    }
}

/// Target direction as written.
#[derive(Clone, Debug, PartialEq)]
pub enum TargetEntry {
    /// "+x"
    Axis(Axis),
    /// [1, 0, 0]
    Vector([f64; 3]),
    /// { from = "A", to = "B" }
    FromTo {
        /// Plate by name or number.
        from: Column,
        /// Plate by name or number.
        to: Column,
    },
}

const AXES: &str = "an axis such as \"+x\", \"-y\" or \"+z\"";

fn axis<'de, D: Deserializer<'de>>(input: D) -> Result<Option<Axis>, D::Error> {
    let text = String::deserialize(input)?;
    Axis::parse(&text)
        .map(Some)
        .ok_or_else(|| serde::de::Error::custom(format!("\"{text}\" is not an axis; write {AXES}")))
}

impl<'de> Deserialize<'de> for TargetEntry {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl<'de> serde::de::Visitor<'de> for Visitor {
            type Value = TargetEntry;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                write!(f, "{AXES}, a vector such as [1, 0, 0], or {{ from = \"A\", to = \"B\" }}")
            }
            fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<TargetEntry, E> {
                let read = Axis::parse(text).map(TargetEntry::Axis);
                read.ok_or_else(|| E::custom(format!("\"{text}\" is not an axis; write {AXES}")))
            }
            fn visit_seq<A: serde::de::SeqAccess<'de>>(self, seq: A) -> Result<TargetEntry, A::Error> {
                let vector = serde::de::value::SeqAccessDeserializer::new(seq);
                <[f64; 3]>::deserialize(vector).map(TargetEntry::Vector)
            }
            fn visit_map<A: serde::de::MapAccess<'de>>(self, map: A) -> Result<TargetEntry, A::Error> {
                #[derive(Deserialize)]
                #[serde(deny_unknown_fields)]
                struct Ends {
                    from: Column,
                    to: Column,
                }
                let ends = Ends::deserialize(serde::de::value::MapAccessDeserializer::new(map))?;
                Ok(TargetEntry::FromTo { from: ends.from, to: ends.to })
            }
        }
        input.deserialize_any(Visitor)
    }
}
