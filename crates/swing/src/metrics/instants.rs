//! Where a curve peaks, between samples, and how surely; its steepest rise.
use std::ops::Range;

/// A place on a curve, in samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peak {
    /// The sample of the extreme value.
    pub sample: usize,
    /// The vertex between samples.
    pub place: f64,
    /// Second derivative there, value per sample²; NaN where the curve has no clear vertex.
    pub curvature: f64,
    /// Half width of the fit, samples.
    pub half: usize,
    /// Standard uncertainty of the place from white noise of the given size, samples.
    pub noise: f64,
}

/// Half width of the parabola that places a peak, s.
pub const VERTEX_S: f64 = 0.008;

/// The greatest (`most`) or least value of a curve within a range, and the vertex of a parabola fitted around it.
///
/// Shape: any length. Undefined: `None` where no value in the range is defined. A fit that is not a peak of the right
/// kind, or whose vertex falls outside its own window, leaves the sample itself, with the window as its uncertainty.
/// `noise`: white noise of the curve, its unit. Source: least squares; the window is ours.
pub fn peak(curve: &[f64], within: Range<usize>, most: bool, rate_hz: f64, noise: f64) -> Option<Peak> {
    let sign = if most { 1.0 } else { -1.0 };
    let end = within.end.min(curve.len());
    let mut best: Option<(usize, f64)> = None;
    for (k, value) in curve.iter().enumerate().take(end).skip(within.start) {
        let value = sign * value;
        if value.is_finite() && best.is_none_or(|(_, b)| value > b) {
            best = Some((k, value));
        }
    }
    let (sample, _) = best?;
    let half = ((VERTEX_S * rate_hz).round() as usize).max(1);
    let mut found =
        Peak { sample, place: sample as f64, curvature: f64::NAN, half, noise: half as f64 / 3f64.sqrt() };
    let Some(window) = sample.checked_sub(half).and_then(|from| curve.get(from..=sample + half)) else {
        return Some(found);
    };
    // Least squares on −half..half: the odd and even parts are independent.
    let (mut x2, mut slope, mut mean) = (0.0, 0.0, 0.0);
    for (i, y) in window.iter().enumerate() {
        let x = i as f64 - half as f64;
        x2 += x * x;
        slope += x * y;
        mean += y;
    }
    let n = window.len() as f64;
    mean /= n;
    let spread = x2 / n;
    let (mut x4, mut bend) = (0.0, 0.0);
    for (i, y) in window.iter().enumerate() {
        let x = i as f64 - half as f64;
        let even = x * x - spread;
        x4 += even * even;
        bend += even * (y - mean);
    }
    let (slope, bend) = (slope / x2, bend / x4);
    let vertex = -slope / (2.0 * bend);
    if sign * bend < 0.0 && vertex.abs() <= half as f64 {
        found.place = sample as f64 + vertex;
        found.curvature = 2.0 * bend;
        found.noise = noise / x2.sqrt() / (2.0 * bend).abs();
    }
    Some(found)
}

/// The steepest straight line over a window of `length` samples, by least squares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steepest {
    /// First sample of the window.
    pub from: usize,
    /// Value per sample.
    pub slope: f64,
    /// Its standard uncertainty from white noise of size 1.
    pub noise: f64,
}

/// The window of a curve whose fitted line rises most. A window with a gap is passed over; `None` where none is left.
///
/// Source: least squares.
pub fn steepest(curve: &[f64], within: Range<usize>, length: usize) -> Option<Steepest> {
    let curve = curve.get(within.start..within.end.min(curve.len()))?;
    if length < 3 || curve.len() < length {
        return None;
    }
    let n = length as f64;
    let centre = (n - 1.0) / 2.0;
    let x2 = n * (n * n - 1.0) / 12.0;
    // Running sums from the first value of each run, so that a large mean costs no digits.
    let mut best: Option<Steepest> = None;
    for run in signal::runs::finite(curve) {
        let Some(values) = curve.get(run.clone()).filter(|v| v.len() >= length) else { continue };
        let base = values[0];
        let (mut sum, mut moment) = (0.0, 0.0);
        for (i, y) in values[..length].iter().enumerate() {
            sum += y - base;
            moment += i as f64 * (y - base);
        }
        for from in 0..=values.len() - length {
            if from > 0 {
                let (out, new) = (values[from - 1] - base, values[from + length - 1] - base);
                // Everything moves one place down.
                moment += out - sum + (n - 1.0) * new;
                sum += new - out;
            }
            let slope = (moment - centre * sum) / x2;
            if best.is_none_or(|b| slope > b.slope) {
                best =
                    Some(Steepest { from: within.start + run.start + from, slope, noise: 1.0 / x2.sqrt() });
            }
        }
    }
    best
}

/// Linear interpolation at a real-valued place; NaN outside or beside a gap.
pub fn at(curve: &[f64], place: f64) -> f64 {
    signal::integrate::at(curve, place)
}
