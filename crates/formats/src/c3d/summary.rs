//! What a file is, at a glance: header and parameters only, no sample is read.
use super::error::C3dError;
use super::layout::Storage;
use super::number::Processor;
use super::params::{Parameter, find};
use super::plates;
use super::view::View;
use mechanics::Checked;

/// Facts of a file for people. Rates are NaN where the file states none.
#[derive(Clone, Debug, PartialEq)]
pub struct Summary {
    /// Who wrote it.
    pub processor: Processor,
    /// Integer or float data.
    pub storage: Storage,
    /// Analog samples and offsets are unsigned.
    pub unsigned: bool,
    /// Points (markers) in a frame.
    pub points: usize,
    /// Frames a second, Hz.
    pub frame_rate_hz: f64,
    /// Whole frames stored.
    pub frames: usize,
    /// Number of the first stored frame in the capture, from 1, and of the last.
    pub frame_numbers: (usize, usize),
    /// Analog channels.
    pub channels: usize,
    /// Analog samples in a frame.
    pub samples_per_frame: usize,
    /// Analog samples a second, Hz.
    pub analog_rate_hz: f64,
    /// POINT:UNITS as written.
    pub length_unit: String,
    /// Type numbers of the force plates as written, in the order of the file.
    pub plate_types: Vec<usize>,
    /// Events in the header.
    pub header_events: usize,
    /// Groups in the order of the file: name, locked, number of parameters.
    pub groups: Vec<(String, bool, usize)>,
    /// Where the data begin, byte, and how many bytes they take.
    pub data: (usize, usize),
}

/// Looks at a file without reading a sample. Errors and findings as [`View::read`].
pub fn inspect(bytes: &[u8]) -> Result<Checked<Summary>, C3dError> {
    let view = View::read(bytes)?;
    let layout = view.layout;
    let rate = |group| find(&view.groups, group, "RATE").and_then(|p| p.number(0)).filter(|r| *r > 0.0);
    let header_rate = Some(f64::from(view.header.rate_hz)).filter(|r| *r > 0.0);
    let frame_rate_hz = rate("POINT").or(header_rate);
    let by_frames = frame_rate_hz.map(|r| r * layout.samples_per_frame as f64);
    let types = find(&view.groups, "FORCE_PLATFORM", "TYPE");
    let used = plates::used(&view.groups).unwrap_or(0).min(plates::MOST_PLATES);
    let value = Summary {
        processor: view.processor,
        storage: layout.storage,
        unsigned: layout.unsigned,
        points: layout.points,
        frame_rate_hz: frame_rate_hz.unwrap_or(f64::NAN),
        frames: layout.frames,
        frame_numbers: (layout.first_frame, (layout.first_frame + layout.frames).saturating_sub(1)),
        channels: layout.channels,
        samples_per_frame: layout.samples_per_frame,
        analog_rate_hz: by_frames.or(rate("ANALOG")).unwrap_or(f64::NAN),
        length_unit: find(&view.groups, "POINT", "UNITS").and_then(Parameter::text).unwrap_or_default(),
        plate_types: (0..used).map_while(|k| types.and_then(|t| t.count(k))).collect(),
        header_events: usize::from(view.header.events).min(18),
        groups: view.groups.iter().map(|g| (g.name.to_string(), g.locked, g.parameters.len())).collect(),
        data: (layout.data_start, view.data.len()),
    };
    Ok(Checked { value, findings: view.findings })
}
