//! From rows of a file to columns of a recording: the one hot loop of reading.
//!
//! A block of frames that fits the first-level cache is read once for every channel and every marker; columns are
//! allocated once and written in order; no sample allocates.
use super::layout::{Layout, Storage};
use super::number::{Processor, dec_f32};
use super::view::{View, word_of};

/// Bytes of a block of frames.
const BLOCK: usize = 16 * 1024;

/// Analog columns after offset and gain, and marker paths in metres with NaN gaps.
pub(super) struct Columns {
    pub analog: Vec<Vec<f64>>,
    pub paths_m: Vec<Vec<[f32; 3]>>,
}

/// What is done to a stored sample: (stored − offset) × gain.
#[derive(Clone, Copy)]
pub(super) struct Gain {
    pub offset: f64,
    pub gain: f64,
}

/// Takes the data section apart. `gains` has one entry a channel, `length_m` is metres per POINT:UNITS.
pub(super) fn columns(view: &View, gains: &[Gain], length_m: f64) -> Columns {
    let Layout { storage, scale, unsigned, .. } = view.layout;
    let int = |step: fn([u8; 2]) -> i16| {
        let point = |[x, y, z, w]: [[u8; 2]; 4]| {
            let word = step(w);
            // Integer files mark a point that was not seen by the residual alone, or by zeros everywhere.
            let seen = word >= 0 && [x, y, z, w].map(step) != [0; 4];
            if seen {
                [x, y, z].map(|c| (f64::from(step(c)) * scale * length_m) as f32)
            } else {
                [f32::NAN; 3]
            }
        };
        if unsigned {
            apart(view, gains, |b| f64::from(step(b) as u16), point)
        } else {
            apart(view, gains, |b| f64::from(step(b)), point)
        }
    };
    match (storage, view.processor) {
        (Storage::Int, Processor::Mips) => int(i16::from_be_bytes),
        (Storage::Int, _) => int(i16::from_le_bytes),
        (Storage::Float, Processor::Intel) => float(view, gains, length_m, f32::from_le_bytes),
        (Storage::Float, Processor::Mips) => float(view, gains, length_m, f32::from_be_bytes),
        (Storage::Float, Processor::Dec) => float(view, gains, length_m, dec_f32),
    }
}

fn float(view: &View, gains: &[Gain], length_m: f64, read: impl Fn([u8; 4]) -> f32 + Copy) -> Columns {
    let point = |words: [[u8; 4]; 4]| {
        let [x, y, z, w] = words.map(read);
        if is_gap([x, y, z], w) { [f32::NAN; 3] } else { [x, y, z].map(|c| (f64::from(c) * length_m) as f32) }
    };
    apart(view, gains, |b| f64::from(read(b)), point)
}

/// A marker that was not seen: negative residual (the standard); or coordinates that some writers put instead, zeros
/// everywhere with an empty fourth word, or 9999999.
fn is_gap([x, y, z]: [f32; 3], word: f32) -> bool {
    word_of(word) < 0 || (x == 0.0 && y == 0.0 && z == 0.0 && word == 0.0) || x == 9_999_999.0
}

fn apart<const N: usize>(
    view: &View,
    gains: &[Gain],
    sample: impl Fn([u8; N]) -> f64,
    point: impl Fn([[u8; N]; 4]) -> [f32; 3],
) -> Columns {
    let Layout { points, channels, samples_per_frame, frames, .. } = view.layout;
    let width = view.layout.frame_values();
    let mut analog: Vec<Vec<f64>> = gains.iter().map(|_| vec![0.0; frames * samples_per_frame]).collect();
    let mut paths_m: Vec<Vec<[f32; 3]>> = (0..points).map(|_| vec![[0.0; 3]; frames]).collect();
    if width == 0 {
        return Columns { analog, paths_m };
    }
    let words = view.data.as_chunks::<N>().0;
    let block = (BLOCK / (width * N)).max(1);
    let mut first = 0;
    for block in words.chunks(block * width) {
        let count = block.len() / width;
        for (channel, (column, &Gain { offset, gain })) in analog.iter_mut().zip(gains).enumerate() {
            let from = first * samples_per_frame;
            let Some(out) = column.get_mut(from..from + count * samples_per_frame) else { continue };
            for (frame, out) in block.chunks_exact(width).zip(out.chunks_exact_mut(samples_per_frame)) {
                for (row, out) in frame[4 * points..].chunks_exact(channels).zip(out) {
                    *out = (sample(row[channel]) - offset) * gain;
                }
            }
        }
        for (index, path) in paths_m.iter_mut().enumerate() {
            let Some(out) = path.get_mut(first..first + count) else { continue };
            for (frame, out) in block.chunks_exact(width).zip(out) {
                let (corners, _) = frame[4 * index..].as_chunks::<4>();
                *out = corners.first().map_or([f32::NAN; 3], |&w| point(w));
            }
        }
        first += count;
    }
    Columns { analog, paths_m }
}
