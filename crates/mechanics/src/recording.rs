//! A recording as a file gave it: columns of numbers and what the file says they are.
use crate::plate::Plate;

/// What was read from one file. Channels keep the file's unit; [`Plate`] says how to turn them into N and N·m.
/// Markers and corners are in metres, in the laboratory axes of the file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Recording {
    /// The file's name, without its folder.
    pub name: String,
    /// In words: "C3D, Intel, float" or "table, tab-separated".
    pub format: String,
    /// Force channels and everything else sampled with them.
    pub analog: Analog,
    /// Markers, sampled at their own rate.
    pub markers: Vec<Marker>,
    /// Samples a second of the markers; 0 where there are none.
    pub marker_rate_hz: f64,
    /// Time of the first marker sample, in seconds of the recording (0 = first analog sample).
    pub marker_start_s: f64,
    /// Events written in the file.
    pub marks: Vec<Mark>,
    /// The plates as the file describes them; empty for a table without a rig.
    pub plates: Vec<Plate>,
    /// Body mass written in the file, kg. Never a name.
    pub mass_kg: Option<f64>,
    /// Laboratory up axis written in the file, as a signed axis letter ("+z"), if any.
    pub up: Option<Axis>,
}

/// The channels that share one clock.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Analog {
    /// Samples a second; NaN where nobody states it.
    pub rate_hz: f64,
    /// Time of the first sample as the file states it (a time column may not begin at 0).
    pub start_s: f64,
    /// Columns of equal length.
    pub channels: Vec<Channel>,
}

impl Analog {
    /// Faster than this no plate is sampled, Hz: a larger rate is taken for a mistake and not believed.
    pub const FASTEST_HZ: f64 = 1e7;

    /// True for a rate that a recording can have: above 0 and no more than [`Analog::FASTEST_HZ`].
    pub fn is_rate(rate_hz: f64) -> bool {
        rate_hz > 0.0 && rate_hz <= Self::FASTEST_HZ
    }

    /// Samples per channel.
    pub fn len(&self) -> usize {
        self.channels.first().map_or(0, |c| c.samples.len())
    }
    /// True where there is not one sample.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
    /// Index of the channel with this label (exact, then ignoring case and surrounding space).
    pub fn find(&self, label: &str) -> Option<usize> {
        let same = |c: &Channel| c.label.trim().eq_ignore_ascii_case(label.trim());
        self.channels.iter().position(|c| c.label == label).or_else(|| self.channels.iter().position(same))
    }
    /// Duration in seconds: samples divided by rate; NaN without a rate.
    pub fn duration_s(&self) -> f64 {
        self.len() as f64 / self.rate_hz
    }
}

/// One column.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Channel {
    /// Label, unique within the recording (a repeated one gets "#2", "#3"…).
    pub label: String,
    /// Unit as the file writes it; may be empty or wrong.
    pub unit: String,
    /// Free text of the file.
    pub description: String,
    /// Values in the file's unit after its own scale and offset; NaN where there is none.
    pub samples: Vec<f64>,
}

impl Channel {
    /// Least and greatest value; NaN where the channel has none.
    pub fn extent(&self) -> (f64, f64) {
        signal::stats::extent(&self.samples).unwrap_or((f64::NAN, f64::NAN))
    }
    /// Mean of the values that are there; NaN where none is.
    pub fn mean(&self) -> f64 {
        signal::stats::mean(&self.samples)
    }
}

/// One marker's path.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Marker {
    /// Label, unique within the recording.
    pub label: String,
    /// Free text of the file.
    pub description: String,
    /// Positions in metres, laboratory axes; NaN where the marker was not seen.
    pub path_m: Vec<[f32; 3]>,
}

/// An event written in a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// Label as written.
    pub label: String,
    /// Context as written ("Left", "Right", "General"), or empty.
    pub context: String,
    /// Seconds of the recording: 0 is the first stored sample.
    pub time_s: f64,
}

/// A signed laboratory axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// Along +x.
    PlusX,
    /// Along −x.
    MinusX,
    /// Along +y.
    PlusY,
    /// Along −y.
    MinusY,
    /// Along +z.
    PlusZ,
    /// Along −z.
    MinusZ,
}

impl Axis {
    /// All six, in the order x, y, z, plus before minus.
    pub const ALL: [Self; 6] =
        [Self::PlusX, Self::MinusX, Self::PlusY, Self::MinusY, Self::PlusZ, Self::MinusZ];

    /// Unit vector in laboratory axes.
    pub fn unit(self) -> glam::DVec3 {
        use glam::DVec3 as V;
        match self {
            Self::PlusX => V::X,
            Self::MinusX => V::NEG_X,
            Self::PlusY => V::Y,
            Self::MinusY => V::NEG_Y,
            Self::PlusZ => V::Z,
            Self::MinusZ => V::NEG_Z,
        }
    }
    /// "+x", "-y"…
    pub fn name(self) -> &'static str {
        match self {
            Self::PlusX => "+x",
            Self::MinusX => "-x",
            Self::PlusY => "+y",
            Self::MinusY => "-y",
            Self::PlusZ => "+z",
            Self::MinusZ => "-z",
        }
    }
    /// Reads "+x", "x", "-Y", "−z" (with or without sign, either case).
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim().to_ascii_lowercase().replace('\u{2212}', "-");
        let text = if text.starts_with(['+', '-']) { text } else { format!("+{text}") };
        Self::ALL.into_iter().find(|a| a.name() == text)
    }
}
