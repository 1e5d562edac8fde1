//! How many of what lie where in the data section.
//!
//! Header and parameters both say so, and need not agree. The pair that fits the file's size is taken; where several
//! fit, the parameters are preferred (C3D user guide: they are the master copy), except for the place of the data,
//! where all readers follow the header.
use super::header::Header;
use super::params::{Group, Parameter, find};
use mechanics::finding::{FILE_COUNTS_DISAGREE, FILE_FRAMES_FROM_SIZE, FILE_TRUNCATED, Finding};

/// How points and analog samples are stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Storage {
    /// 16-bit integers.
    Int,
    /// 32-bit floats.
    Float,
}

impl Storage {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Int, Self::Float];
    /// Bytes of one value.
    pub fn width(self) -> usize {
        match self {
            Self::Int => 2,
            Self::Float => 4,
        }
    }
    /// Name for people.
    pub fn name(self) -> &'static str {
        match self {
            Self::Int => "integer",
            Self::Float => "float",
        }
    }
}

/// The shape of the data section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layout {
    /// Form of every value.
    pub storage: Storage,
    /// Scale of integer points and of residuals, positive.
    pub scale: f64,
    /// Points in a frame.
    pub points: usize,
    /// Analog channels.
    pub channels: usize,
    /// Analog samples in a frame.
    pub samples_per_frame: usize,
    /// Whole frames in the file.
    pub frames: usize,
    /// Frames the file says it has.
    pub frames_stated: usize,
    /// Number of the first stored frame in the original capture, from 1.
    pub first_frame: usize,
    /// Where the data begin, byte.
    pub data_start: usize,
    /// Analog samples (and offsets) are unsigned.
    pub unsigned: bool,
}

impl Layout {
    /// Values in one frame: four a point, one a channel and sample.
    pub fn frame_values(&self) -> usize {
        4 * self.points + self.channels * self.samples_per_frame
    }
    /// Bytes of one frame.
    pub fn frame_bytes(&self) -> usize {
        self.frame_values() * self.storage.width()
    }
}

/// One reading of the counts.
#[derive(Clone, Copy, PartialEq)]
struct Counts {
    points: usize,
    channels: usize,
    samples: usize,
}

/// One statement of the number of frames and the first of them.
#[derive(Clone, Copy)]
struct Frames {
    count: usize,
    first: usize,
    source: &'static str,
}

/// Works the layout out. `data_block` is header word 9; `after_parameters` is where the data begin if nobody says.
pub(super) fn resolve(
    header: &Header,
    groups: &[Group],
    data_block: u16,
    after_parameters: usize,
    file_len: usize,
) -> (Layout, Vec<Finding>) {
    let mut findings = Vec::new();
    let starts = starts(groups, data_block, after_parameters, file_len);
    let counts = counts(header, groups);
    let scales = scales(header, groups);
    let stated = frames(header, groups);

    // Every combination, in order of preference; the first of the best fit wins.
    let mut best: Option<(u8, Layout, &'static str)> = None;
    for &counts in &counts {
        for &scale in &scales {
            for &data_start in &starts {
                for statement in &stated {
                    let layout = Layout {
                        storage: if scale < 0.0 { Storage::Float } else { Storage::Int },
                        scale: f64::from(scale.abs()),
                        points: counts.points,
                        channels: counts.channels,
                        samples_per_frame: counts.samples,
                        frames: statement.count,
                        frames_stated: statement.count,
                        first_frame: statement.first,
                        data_start,
                        unsigned: unsigned(groups),
                    };
                    let misfit = misfit(&layout, file_len);
                    if best.as_ref().is_none_or(|(m, ..)| misfit < *m) {
                        best = Some((misfit, layout, statement.source));
                    }
                }
            }
        }
    }
    let Some((_, mut layout, source)) = best else { return (empty(), findings) };

    let taken =
        Counts { points: layout.points, channels: layout.channels, samples: layout.samples_per_frame };
    if counts.len() > 1 {
        findings.push(Finding::new(&FILE_COUNTS_DISAGREE, format!(
            "header: {} points, {} analog values a frame, {} samples a frame; parameters: {} points, {} channels, \
             {} samples a frame; taken: {} points, {} channels, {} samples a frame",
            header.points, header.analog_per_frame, header.samples_per_frame, counts[0].points, counts[0].channels,
            counts[0].samples, taken.points, taken.channels, taken.samples,
        )));
    }
    if scales.len() > 1 {
        findings.push(Finding::new(
            &FILE_COUNTS_DISAGREE,
            format!(
                "POINT:SCALE is {}, the header's scale (word 7) {}; the data were read as {}",
                scales[0],
                scales[1],
                layout.storage.name(),
            ),
        ));
    }
    if starts.len() > 1 {
        findings.push(Finding::new(
            &FILE_COUNTS_DISAGREE,
            format!(
                "the header puts the data at byte {}, POINT:DATA_START at byte {}; taken: {}",
                starts[0], starts[1], layout.data_start,
            ),
        ));
    }
    fit_frames(&mut layout, source, &stated, file_len, &mut findings);
    (layout, findings)
}

/// Lets the file's size have the last word on the number of frames.
fn fit_frames(
    layout: &mut Layout,
    source: &str,
    stated: &[Frames],
    file_len: usize,
    findings: &mut Vec<Finding>,
) {
    let bytes = layout.frame_bytes();
    if bytes == 0 {
        (layout.frames, layout.frames_stated) = (0, 0);
        return;
    }
    let room = file_len.saturating_sub(layout.data_start) / bytes;
    let differ: Vec<_> = stated.iter().map(|f| format!("{} says {}", f.source, f.count)).collect();
    if stated.iter().any(|f| f.count != layout.frames) {
        findings.push(Finding::new(
            &FILE_COUNTS_DISAGREE,
            format!("number of frames: {}; taken: {} ({source})", differ.join(", "), layout.frames),
        ));
    }
    // A 16-bit count that is full or has wrapped is no count; nor is none at all.
    let wrapped = layout.frames < room
        && room - layout.frames >= 65_536
        && (room - layout.frames).is_multiple_of(65_536);
    let silent = layout.frames == 0 || (layout.frames == 65_535 && room > 65_535);
    if silent || wrapped {
        if layout.frames != room {
            findings.push(Finding::new(
                &FILE_FRAMES_FROM_SIZE,
                format!(
                    "stated: {}; {} bytes from byte {} hold {room} frames of {bytes} bytes",
                    if differ.is_empty() { "nothing".into() } else { differ.join(", ") },
                    file_len.saturating_sub(layout.data_start),
                    layout.data_start,
                ),
            ));
        }
        (layout.frames, layout.frames_stated) = (room, room);
    } else if layout.frames > room {
        findings.push(Finding::new(&FILE_TRUNCATED, format!(
            "{} frames of {bytes} bytes stated, {room} whole ones lie between byte {} and the end at {file_len}",
            layout.frames, layout.data_start,
        )));
        layout.frames = room;
    }
}

/// 0: fills the file up to the last block; 1: the file is longer; 2: the file is shorter.
fn misfit(layout: &Layout, file_len: usize) -> u8 {
    let need = layout.frames.saturating_mul(layout.frame_bytes()).saturating_add(layout.data_start);
    match file_len.checked_sub(need) {
        Some(0..512) => 0,
        Some(_) => 1,
        None => 2,
    }
}

fn empty() -> Layout {
    Layout {
        storage: Storage::Float,
        scale: 1.0,
        points: 0,
        channels: 0,
        samples_per_frame: 1,
        frames: 0,
        frames_stated: 0,
        first_frame: 1,
        data_start: 0,
        unsigned: false,
    }
}

/// Places of the data section: header, POINT:DATA_START; else the block after the parameters.
fn starts(groups: &[Group], data_block: u16, after_parameters: usize, file_len: usize) -> Vec<usize> {
    let stated = find(groups, "POINT", "DATA_START").and_then(|p| p.count(0));
    let mut out = Vec::new();
    for block in [Some(usize::from(data_block)), stated].into_iter().flatten() {
        let start = block.saturating_sub(1).saturating_mul(512);
        if block >= 2 && !out.contains(&start) {
            out.push(start);
        }
    }
    // A place outside the file is no place, unless nothing better is known.
    if out.iter().any(|&s| s <= file_len) {
        out.retain(|&s| s <= file_len);
    }
    if out.is_empty() {
        out.push(after_parameters);
    }
    out
}

/// Readings of the counts: parameters, header, and one of each.
fn counts(header: &Header, groups: &[Group]) -> Vec<Counts> {
    let samples_h = usize::from(header.samples_per_frame).max(1);
    let by_header = Counts {
        points: usize::from(header.points),
        channels: usize::from(header.analog_per_frame) / samples_h,
        samples: samples_h,
    };
    let count = |group, name| find(groups, group, name).and_then(|p| p.count(0)).filter(|&n| n <= 65_535);
    let rate = |group| find(groups, group, "RATE").and_then(|p| p.number(0)).filter(|r| *r > 0.0);
    let ratio = rate("ANALOG").zip(rate("POINT").or(Some(f64::from(header.rate_hz)).filter(|r| *r > 0.0)));
    let samples = ratio.map(|(a, p)| a / p).filter(|r| (0.5..65_535.0).contains(r));
    let samples = samples.filter(|r| (r - r.round()).abs() < 1e-3 * r).map(|r| r.round() as usize);
    let by_parameters = Counts {
        points: count("POINT", "USED").unwrap_or(by_header.points),
        channels: count("ANALOG", "USED").unwrap_or(by_header.channels),
        samples: samples.unwrap_or(samples_h),
    };
    let mut out = vec![by_parameters];
    // Without channels or points the other numbers mean nothing.
    let same = |a: &Counts, b: &Counts| {
        a.points == b.points && a.channels == b.channels && (a.channels == 0 || a.samples == b.samples)
    };
    let mixed_a = Counts { points: by_parameters.points, ..by_header };
    let mixed_b = Counts { points: by_header.points, ..by_parameters };
    let mixed_c = Counts { samples: by_header.samples, ..by_parameters };
    for counts in [by_header, mixed_a, mixed_b, mixed_c] {
        if !out.iter().any(|c| same(c, &counts)) {
            out.push(counts);
        }
    }
    out
}

/// POINT:SCALE and the header's scale; one entry where their signs agree.
fn scales(header: &Header, groups: &[Group]) -> Vec<f32> {
    let parameter = find(groups, "POINT", "SCALE").and_then(|p| p.number(0)).map(|s| s as f32);
    let mut out = Vec::new();
    for scale in [parameter, Some(header.scale)].into_iter().flatten() {
        if scale.is_finite() && scale != 0.0 && !out.iter().any(|&s: &f32| (s < 0.0) == (scale < 0.0)) {
            out.push(scale);
        }
    }
    if out.is_empty() {
        out.push(-1.0);
    }
    out
}

/// Statements of the number of frames, in order of preference.
fn frames(header: &Header, groups: &[Group]) -> Vec<Frames> {
    let first_h = usize::from(header.first_frame).max(1);
    let number = |name| find(groups, "POINT", name).and_then(|p| p.count(0));
    // Two words, low and high: frame = low + 65536 · high. (The guide prints 65535 once; 70,000 shows the misprint.)
    let field = |name| {
        let parameter: &Parameter = find(groups, "TRIAL", name)?;
        Some(parameter.count(0)? + 65_536 * parameter.count(1).unwrap_or(0))
    };
    let trial = field("ACTUAL_START_FIELD").zip(field("ACTUAL_END_FIELD"));
    let trial = trial.filter(|(first, last)| first <= last).map(|(first, last)| Frames {
        count: last - first + 1,
        first: first.max(1),
        source: "TRIAL:ACTUAL_START_FIELD and ACTUAL_END_FIELD",
    });
    let first = trial.filter(|t| t.first % 65_536 == first_h % 65_536).map_or(first_h, |t| t.first);
    let short = number("FRAMES").map(|count| Frames { count, first, source: "POINT:FRAMES" });
    let long = number("LONG_FRAMES").filter(|&n| n > 0);
    let long = long.map(|count| Frames { count, first, source: "POINT:LONG_FRAMES" });
    let last_h = usize::from(header.last_frame);
    let by_header =
        Frames { count: (last_h + 1).saturating_sub(first_h), first, source: "the header (words 4 and 5)" };
    let by_header = Some(by_header).filter(|_| last_h >= first_h && last_h != 65_535 || short.is_none());
    let full = short.is_some_and(|f| f.count == 65_535);
    let order = if full { [trial, long, short, by_header] } else { [short, trial, long, by_header] };
    order.into_iter().flatten().collect()
}

/// ANALOG:FORMAT says UNSIGNED.
fn unsigned(groups: &[Group]) -> bool {
    find(groups, "ANALOG", "FORMAT")
        .and_then(Parameter::text)
        .is_some_and(|t| t.eq_ignore_ascii_case("UNSIGNED"))
}
