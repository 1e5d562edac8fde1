//! A [`Recording`] as a C3D file.
use super::build::{WIDEST, float, group, int, labels, numbered, text};
use super::document::{Document, Words};
use super::error::C3dError;
use super::express::{Expressed, float_name};
use super::header::{FOUR_CHARACTERS, Header};
use super::layout::Storage;
use super::number::{Processor, put_dec_f32};
use super::params::Group;
use super::plates_write::{check_plates, expressed, plates_group};
use super::sensing::PlateType;
use mechanics::recording::Mark;
use mechanics::{Channel, Recording};

/// How to write a file. Every combination is allowed by the standard and read by [`super::decode`].
#[derive(Clone, Debug, PartialEq)]
pub struct Encoding {
    /// Order of bytes and form of floats.
    pub processor: Processor,
    /// Floats keep 24 bits of every value. Integers keep 16: an analog channel is off by at most 1/64,000 of its
    /// range (1/64,000 of twice its magnitude where it stays far from zero), a marker by at most 1/64,000 of the
    /// largest coordinate of all.
    pub storage: Storage,
    /// Analog integers and offsets are unsigned (ANALOG:FORMAT).
    pub unsigned: bool,
    /// POINT:UNITS, for markers, corners, origins and (times N) moments.
    pub length: Length,
    /// The type of each plate; `None`: the simplest type that holds the plate.
    pub types: Option<Vec<PlateType>>,
}

/// Length units for writing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Length {
    /// What most programs expect.
    Millimetres,
    /// Marker coordinates in metres then pass through unrounded.
    Metres,
}

impl Length {
    /// Metres per unit.
    pub fn metres(self) -> f64 {
        match self {
            Self::Millimetres => 1e-3,
            Self::Metres => 1.0,
        }
    }
    fn text(self) -> &'static str {
        match self {
            Self::Millimetres => "mm",
            Self::Metres => "m",
        }
    }
}

impl Encoding {
    /// Intel, floats, signed, millimetres: what most programs write.
    pub const PLAIN: Self = Self {
        processor: Processor::Intel,
        storage: Storage::Float,
        unsigned: false,
        length: Length::Millimetres,
        types: None,
    };
}

/// Writes a recording. Reading the bytes gives the recording back to the precision of the storage.
///
/// What C3D cannot say is not written: whose force a plate measures, cover, feet, the time of the first sample, text
/// over 235 bytes in descriptions and events. Unit texts of plate channels are set so that the plate reads as it is.
///
/// Errors: a plate that no type (or not the type asked for) describes; values without a form (NaN in integers or DEC
/// floats); analog samples that are no whole multiple of the marker frames; more than the format can count.
pub fn encode(recording: &Recording, how: &Encoding) -> Result<Vec<u8>, C3dError> {
    let shape = Shape::of(recording)?;
    let plates = expressed(recording, how)?;
    let ranges = ranges(recording, how)?;
    let mut groups = Vec::new();
    groups.push(points_group(recording, how, &shape));
    if shape.channels > 0 {
        groups.push(analog_group(recording, how, &shape, &plates, &ranges));
    }
    if !plates.is_empty() {
        groups.push(plates_group(recording, how, &shape, &plates)?);
    }
    if !recording.marks.is_empty() {
        groups.push(events_group(&recording.marks)?);
    }
    if shape.frames > 65_535 {
        groups.push(trial_group(shape.frames));
    }
    if let Some(mass) = recording.mass_kg {
        groups.push(group(
            "PROCESSING",
            "Figures of the player",
            vec![float("BODYMASS", &[], vec![mass as f32])],
        ));
    }
    for (id, group) in (1..).zip(&mut groups) {
        group.id = id;
    }
    let scale = marker_scale(recording, how);
    let document = Document {
        processor: how.processor,
        header: header(recording, how, &shape, scale),
        parameter_prefix: [1, 0x50],
        before_parameters: Vec::new(),
        groups,
        data_block: 2,
        points: recording.markers.len(),
        channels: shape.channels,
        samples_per_frame: shape.samples,
        scale: f64::from(scale),
        words: words(recording, how, &shape, scale, &ranges),
    };
    let bytes = document.write()?;
    check_plates(recording, &bytes, &plates)?;
    Ok(bytes)
}

/// Counts of the file.
pub(super) struct Shape {
    pub frames: usize,
    pub samples: usize,
    pub channels: usize,
    pub frame_rate_hz: f64,
}

impl Shape {
    fn of(recording: &Recording) -> Result<Self, C3dError> {
        let Recording { analog, markers, .. } = recording;
        let channels = analog.channels.len();
        let limit = |what, count, limit| {
            if count > limit { Err(C3dError::TooLarge { what, count, limit }) } else { Ok(()) }
        };
        limit("markers", markers.len(), 65_535)?;
        for channel in &analog.channels {
            limit("characters in a label", channel.label.len(), WIDEST)?;
            limit("characters in a unit", channel.unit.len(), WIDEST)?;
        }
        for marker in markers {
            limit("characters in a label", marker.label.len(), WIDEST)?;
        }
        if let Some(odd) = analog.channels.iter().find(|c| c.samples.len() != analog.len()) {
            let seen = format!("\"{}\" has {}, the first {}", odd.label, odd.samples.len(), analog.len());
            return Err(C3dError::Inconsistent { what: "samples of a channel", seen });
        }
        let frames = markers.first().map_or(analog.len(), |m| m.path_m.len());
        if let Some(odd) = markers.iter().find(|m| m.path_m.len() != frames) {
            let seen = format!("\"{}\" has {}, the first {frames}", odd.label, odd.path_m.len());
            return Err(C3dError::Inconsistent { what: "frames of a marker", seen });
        }
        let (mut samples, mut frame_rate_hz) = (1, analog.rate_hz);
        if !markers.is_empty() {
            frame_rate_hz = recording.marker_rate_hz;
            if channels > 0 {
                let ratio = analog.rate_hz / frame_rate_hz;
                let whole =
                    (ratio - ratio.round()).abs() < 1e-6 * ratio && ratio.round() >= 1.0 && ratio < 65_536.0;
                samples = if whole { ratio.round() as usize } else { 0 };
                if samples == 0 || analog.len() != frames * samples || recording.marker_start_s.abs() > 1e-9 {
                    let seen = format!(
                        "{} samples at {} Hz, {frames} frames at {frame_rate_hz} Hz that start {} s later; C3D needs a \
                         whole number of samples in every frame and one start; resample or cut the markers",
                        analog.len(),
                        analog.rate_hz,
                        recording.marker_start_s,
                    );
                    return Err(C3dError::RatesDoNotFit { seen });
                }
            }
        }
        limit("analog values in a frame", channels * samples, 65_535)?;
        Ok(Self { frames, samples, channels, frame_rate_hz })
    }
}

/// Stored integer = value / scale + offset.
#[derive(Clone, Copy)]
struct Range {
    scale: f32,
    offset: i16,
}

/// Largest stored integer that is aimed at; the rest is headroom, as the guide recommends.
const FULL: f64 = 32_000.0;

/// A scale and offset for each channel. Errors: a value without a form in the storage.
fn ranges(recording: &Recording, how: &Encoding) -> Result<Vec<Range>, C3dError> {
    let mut out = Vec::with_capacity(recording.analog.channels.len());
    for (number, channel) in (1..).zip(&recording.analog.channels) {
        let bad = |v: &f64| match (how.storage, how.processor) {
            (Storage::Int, _) => !v.is_finite(),
            (Storage::Float, Processor::Dec) => put_dec_f32(*v as f32).is_none(),
            (Storage::Float, _) => v.is_finite() && !(*v as f32).is_finite(),
        };
        if let Some(sample) = channel.samples.iter().position(bad) {
            return Err(C3dError::NotRepresentable {
                what: format!("channel {number} \"{}\", sample {}", channel.label, sample + 1),
                value: channel.samples[sample].to_string(),
                encoding: if how.storage == Storage::Int { "integers" } else { float_name(how.processor) },
            });
        }
        out.push(if how.storage == Storage::Int { range(channel) } else { Range { scale: 1.0, offset: 0 } });
    }
    Ok(out)
}

fn range(channel: &Channel) -> Range {
    let low = channel.samples.iter().copied().fold(f64::INFINITY, f64::min);
    let high = channel.samples.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if low > high {
        return Range { scale: 1.0, offset: 0 };
    }
    // A scale that a float of every processor can hold.
    let scale = |span: f64| (span / FULL).clamp(1e-30, 1e30) as f32;
    let (middle, half) = ((low + high) / 2.0, (high - low) / 2.0);
    let fine = scale(half);
    let offset = (-middle / f64::from(fine)).round();
    // The offset is a 16-bit integer as well: a channel that stays far from zero is stored about zero.
    if offset.abs() <= 32_000.0 {
        Range { scale: fine, offset: offset as i16 }
    } else {
        Range { scale: scale(low.abs().max(high.abs())), offset: 0 }
    }
}

/// POINT:SCALE, positive: units per integer of a coordinate; of the residual alone in float files.
fn marker_scale(recording: &Recording, how: &Encoding) -> f32 {
    let all = recording.markers.iter().flat_map(|m| m.path_m.iter().flatten());
    let largest = all.filter(|v| v.is_finite()).fold(0.0f32, |a, v| a.max(v.abs()));
    let scale = f64::from(largest) / how.length.metres() / FULL;
    if scale > 0.0 { scale.clamp(1e-30, 1e30) as f32 } else { 1.0 }
}

fn words(recording: &Recording, how: &Encoding, shape: &Shape, scale: f32, ranges: &[Range]) -> Words {
    let Shape { frames, samples, channels, .. } = *shape;
    let count = frames * (4 * recording.markers.len() + channels * samples);
    let length = how.length.metres();
    // A marker at the very origin gets a camera, since zeros everywhere mean "not seen" to many programs.
    const SEEN: i16 = 0x0100;
    match how.storage {
        Storage::Float => {
            let mut out = Vec::with_capacity(count);
            for frame in 0..frames {
                for marker in &recording.markers {
                    let place = marker.path_m[frame];
                    let [x, y, z] = place.map(|v| (f64::from(v) / length) as f32);
                    let finite = [x, y, z].iter().all(|v| v.is_finite());
                    out.extend(match [x, y, z] {
                        _ if !finite => [0.0, 0.0, 0.0, -1.0],
                        [0.0, 0.0, 0.0] => [x, y, z, f32::from(SEEN)],
                        _ => [x, y, z, 0.0],
                    });
                }
                for sample in frame * samples..(frame + 1) * samples {
                    out.extend(recording.analog.channels.iter().map(|c| c.samples[sample] as f32));
                }
            }
            Words::Float(out)
        }
        Storage::Int => {
            let mut out = Vec::with_capacity(count);
            let lift = if how.unsigned { 32_768 } else { 0 };
            for frame in 0..frames {
                for marker in &recording.markers {
                    let place = marker.path_m[frame];
                    let stored = place.map(|v| (f64::from(v) / length / f64::from(scale)).round() as i16);
                    let finite = place.iter().all(|v| v.is_finite());
                    let [x, y, z] = stored;
                    out.extend(match stored {
                        _ if !finite => [0, 0, 0, -1],
                        [0, 0, 0] => [x, y, z, SEEN],
                        _ => [x, y, z, 0],
                    });
                }
                for sample in frame * samples..(frame + 1) * samples {
                    out.extend(recording.analog.channels.iter().zip(ranges).map(|(c, range)| {
                        let counts = (c.samples[sample] / f64::from(range.scale)).round();
                        (counts as i32 + i32::from(range.offset) + lift) as u16 as i16
                    }));
                }
            }
            Words::Int(out)
        }
    }
}

fn header(recording: &Recording, how: &Encoding, shape: &Shape, scale: f32) -> Header {
    let count = |n: usize| u16::try_from(n).unwrap_or(u16::MAX);
    let rate = if shape.frame_rate_hz.is_finite() { shape.frame_rate_hz as f32 } else { 0.0 };
    let mut header = Header {
        points: count(recording.markers.len()),
        analog_per_frame: count(shape.channels * shape.samples),
        first_frame: 1,
        last_frame: count(shape.frames),
        scale: if how.storage == Storage::Float { -scale } else { scale },
        samples_per_frame: count(shape.samples),
        rate_hz: rate,
        label_key: FOUR_CHARACTERS,
        ..Header::empty()
    };
    // The first events stand in the header as well, for programs that look only there.
    let plain = |m: &&Mark| m.label.is_ascii() && rate > 0.0 && put_dec_f32(m.time_s as f32).is_some();
    for mark in recording.marks.iter().filter(plain).take(18) {
        let index = usize::from(header.events);
        let label = &mut header.event_labels[index];
        label.iter_mut().zip(mark.label.bytes()).for_each(|(to, from)| *to = from);
        header.event_times_s[index] = mark.time_s as f32;
        header.event_flags[index] = 1;
        header.events += 1;
    }
    header
}

fn points_group(recording: &Recording, how: &Encoding, shape: &Shape) -> Group {
    let markers = &recording.markers;
    let scale = marker_scale(recording, how);
    let frames = u16::try_from(shape.frames).unwrap_or(u16::MAX);
    let rate = if shape.frame_rate_hz.is_finite() { shape.frame_rate_hz as f32 } else { 0.0 };
    let mut list = vec![
        int("USED", &[], vec![markers.len() as u16]),
        int("FRAMES", &[], vec![frames]),
        int("DATA_START", &[], vec![0]),
        float("SCALE", &[], vec![if how.storage == Storage::Float { -scale } else { scale }]),
        float("RATE", &[], vec![rate]),
        text("UNITS", how.length.text()),
    ];
    if shape.frames > 65_535 {
        list.push(float("LONG_FRAMES", &[], vec![shape.frames as f32]));
    }
    if let Some(up) = recording.up {
        let right = if matches!(up, mechanics::Axis::PlusX | mechanics::Axis::MinusX) { "+Y" } else { "+X" };
        list.push(text("X_SCREEN", right));
        list.push(text("Y_SCREEN", &up.name().to_uppercase()));
    }
    list.extend(labels("LABELS", markers.iter().map(|m| m.label.as_str())));
    list.extend(labels("DESCRIPTIONS", markers.iter().map(|m| m.description.as_str())));
    group("POINT", "Markers", list)
}

fn analog_group(
    recording: &Recording,
    how: &Encoding,
    shape: &Shape,
    plates: &[Expressed],
    ranges: &[Range],
) -> Group {
    let channels = &recording.analog.channels;
    let mut units: Vec<&str> = channels.iter().map(|c| c.unit.as_str()).collect();
    for (channel, unit) in plates.iter().flat_map(|p| &p.units) {
        if let Some(entry) = units.get_mut(*channel) {
            *entry = unit;
        }
    }
    let lift = if how.unsigned && how.storage == Storage::Int { 32_768 } else { 0 };
    let offsets = ranges.iter().map(|r| (i32::from(r.offset) + lift) as u16).collect::<Vec<_>>();
    let scales = ranges.iter().map(|r| r.scale).collect::<Vec<_>>();
    let rate = recording.analog.rate_hz;
    let mut list = vec![
        int("USED", &[], vec![shape.channels as u16]),
        float("RATE", &[], vec![if rate.is_finite() { rate as f32 } else { 0.0 }]),
        float("GEN_SCALE", &[], vec![1.0]),
        text("FORMAT", if how.unsigned { "UNSIGNED" } else { "SIGNED" }),
        int("BITS", &[], vec![16]),
    ];
    for (name, chunk) in numbered("SCALE").zip(scales.chunks(255)) {
        list.push(float(&name, &[chunk.len()], chunk.to_vec()));
    }
    for (name, chunk) in numbered("OFFSET").zip(offsets.chunks(255)) {
        list.push(int(&name, &[chunk.len()], chunk.to_vec()));
    }
    list.extend(labels("LABELS", channels.iter().map(|c| c.label.as_str())));
    list.extend(labels("DESCRIPTIONS", channels.iter().map(|c| c.description.as_str())));
    list.extend(labels("UNITS", units.into_iter()));
    group("ANALOG", "Channels", list)
}

fn events_group(marks: &[Mark]) -> Result<Group, C3dError> {
    let time = |m: &Mark| {
        let minutes = (m.time_s / 60.0).floor();
        [minutes as f32, (m.time_s - 60.0 * minutes) as f32]
    };
    if let Some(mark) = marks.iter().find(|m| !m.time_s.is_finite()) {
        return Err(C3dError::NotRepresentable {
            what: format!("the time of event \"{}\"", mark.label),
            value: mark.time_s.to_string(),
            encoding: "EVENT:TIMES",
        });
    }
    let used = u16::try_from(marks.len()).map_err(|_| C3dError::TooLarge {
        what: "events",
        count: marks.len(),
        limit: 65_535,
    })?;
    let mut list = vec![int("USED", &[], vec![used])];
    for (name, chunk) in numbered("TIMES").zip(marks.chunks(255)) {
        list.push(float(&name, &[2, chunk.len()], chunk.iter().flat_map(time).collect()));
    }
    list.extend(labels("LABELS", marks.iter().map(|m| m.label.as_str())));
    list.extend(labels("CONTEXTS", marks.iter().map(|m| m.context.as_str())));
    Ok(group("EVENT", "Events", list))
}

/// Frame numbers past 16 bits: two words, low and high.
fn trial_group(frames: usize) -> Group {
    let words = |n: usize| vec![(n % 65_536) as u16, (n / 65_536) as u16];
    let list = vec![int("ACTUAL_START_FIELD", &[2], words(1)), int("ACTUAL_END_FIELD", &[2], words(frames))];
    group("TRIAL", "Frame numbers past 65,535", list)
}
