//! From rows of a file to columns of a recording: the one hot loop of reading.
//!
//! A block of frames that fits the first-level cache is read once for every channel and every marker; columns are
//! allocated once and written in order; no sample allocates.
use super::layout::{Layout, Storage};
use super::number::{Processor, dec_f32};
use super::view::View;

/// Bytes of a block of frames; half a first-level cache.
const BLOCK: usize = 16 * 1024;

/// Channels that are taken out of a row at once: four floats are one vector register.
const LANES: usize = 4;

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
        let scale_m = (scale * length_m) as f32;
        let point = |words: [[u8; 2]; 4]| {
            let [x, y, z, w] = words.map(step);
            // Integer files mark a point that was not seen by the residual alone, or by zeros everywhere.
            let gap = (w < 0) | ((x | y | z | w) == 0);
            [x, y, z].map(|c| if gap { f32::NAN } else { f32::from(c) * scale_m })
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
    // Dividing by 1000 rounds once; multiplying by 0.001, which no float is, would round twice.
    let per_metre = (1.0 / length_m) as f32;
    let point = |words: [[u8; 4]; 4]| {
        let [x, y, z, w] = words.map(read);
        let gap = is_gap([x, y, z], w);
        [x, y, z].map(|c| if gap { f32::NAN } else { c / per_metre })
    };
    apart(view, gains, |b| f64::from(read(b)), point)
}

/// A marker that was not seen: negative residual (the standard); or coordinates that some writers put instead, zeros
/// everywhere with an empty fourth word, or 9999999.
fn is_gap([x, y, z]: [f32; 3], word: f32) -> bool {
    // Not short-circuit: eight comparisons cost less than one branch that is guessed wrong.
    let seen = (word > -1.0) & (word < 32_768.0);
    let zeros = (x == 0.0) & (y == 0.0) & (z == 0.0) & (word == 0.0);
    !seen | zeros | (x == 9_999_999.0)
}

fn apart<const N: usize>(
    view: &View,
    gains: &[Gain],
    sample: impl Fn([u8; N]) -> f64,
    point: impl Fn([[u8; N]; 4]) -> [f32; 3],
) -> Columns {
    let Layout { points, samples_per_frame, frames, .. } = view.layout;
    let width = view.layout.frame_values();
    let mut analog: Vec<Vec<f64>> = gains.iter().map(|_| vec![0.0; frames * samples_per_frame]).collect();
    let mut paths_m: Vec<Vec<[f32; 3]>> = (0..points).map(|_| vec![[0.0; 3]; frames]).collect();
    if width == 0 {
        return Columns { analog, paths_m };
    }
    let words = view.data.as_chunks::<N>().0;
    analog_columns(words, view.layout, &mut analog, gains, sample);
    marker_paths(words, width, &mut paths_m, point);
    Columns { analog, paths_m }
}

fn analog_columns<const N: usize>(
    words: &[[u8; N]],
    layout: Layout,
    analog: &mut [Vec<f64>],
    gains: &[Gain],
    sample: impl Fn([u8; N]) -> f64,
) {
    let Layout { points, channels, samples_per_frame, .. } = layout;
    if channels == 0 {
        return;
    }
    let width = layout.frame_values();
    let frames = (BLOCK / (width * N)).max(1);
    for (index, block) in words.chunks(frames * width).enumerate() {
        let first = index * frames * samples_per_frame;
        let span = first..first + block.len() / width * samples_per_frame;
        for (group, (columns, gains)) in analog.chunks_mut(LANES).zip(gains.chunks(LANES)).enumerate() {
            let skip = group * LANES;
            let rows = block.chunks_exact(width).flat_map(|f| f[4 * points..].chunks_exact(channels));
            if let ([a, b, c, d], &[ga, gb, gc, gd]) = (&mut *columns, gains) {
                let [a, b, c, d] = [a, b, c, d].map(|column| column[span.clone()].iter_mut());
                for (row, (((a, b), c), d)) in rows.zip(a.zip(b).zip(c).zip(d)) {
                    let Some(&[x, y, z, w]) = row[skip..].first_chunk::<LANES>() else { continue };
                    *a = (sample(x) - ga.offset) * ga.gain;
                    *b = (sample(y) - gb.offset) * gb.gain;
                    *c = (sample(z) - gc.offset) * gc.gain;
                    *d = (sample(w) - gd.offset) * gd.gain;
                }
            } else {
                for (k, (column, gain)) in columns.iter_mut().zip(gains).enumerate() {
                    for (row, out) in rows.clone().zip(&mut column[span.clone()]) {
                        *out = (sample(row[skip + k]) - gain.offset) * gain.gain;
                    }
                }
            }
        }
    }
}

/// Frames of which one line of the cache each is held while the markers on it are taken out.
const LINES: usize = 128;

fn marker_paths<const N: usize>(
    words: &[[u8; N]],
    width: usize,
    paths_m: &mut [Vec<[f32; 3]>],
    point: impl Fn([[u8; N]; 4]) -> [f32; 3],
) {
    for (index, block) in words.chunks(LINES * width).enumerate() {
        let span = index * LINES..index * LINES + block.len() / width;
        for (group, paths) in paths_m.chunks_mut(LANES).enumerate() {
            let skip = 4 * group * LANES;
            if let [a, b, c, d] = &mut *paths {
                let [a, b, c, d] = [a, b, c, d].map(|path| path[span.clone()].iter_mut());
                for (frame, (((a, b), c), d)) in block.chunks_exact(width).zip(a.zip(b).zip(c).zip(d)) {
                    let Some(&[x, y, z, w, ..]) = frame[skip..].as_chunks::<4>().0.first_chunk::<LANES>()
                    else {
                        continue;
                    };
                    *a = point(x);
                    *b = point(y);
                    *c = point(z);
                    *d = point(w);
                }
            } else {
                for (k, path) in paths.iter_mut().enumerate() {
                    for (frame, out) in block.chunks_exact(width).zip(&mut path[span.clone()]) {
                        let Some(&words) = frame[skip + 4 * k..].first_chunk::<4>() else { continue };
                        *out = point(words);
                    }
                }
            }
        }
    }
}
