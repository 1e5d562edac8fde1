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
    /// Middle of the fit.
    pub centre: usize,
    /// Half width of the fit, samples.
    pub half: usize,
    /// Standard uncertainty of the place from noise and from the fit, samples.
    pub noise: f64,
    /// Samples around it that noise makes as good as the greatest; the greatest of so many lies above the curve.
    pub level: usize,
    /// The best other peak of the same kind, with a valley between.
    pub rival: Option<usize>,
}

/// Least half width of the parabola that places a peak, s.
pub const VERTEX_S: f64 = 0.008;

/// Values within so many standard deviations of noise of the extreme one are as good as it: the greatest of some tens
/// lies two above the curve, and one in forty lies two below.
const REACH: f64 = 4.0;

/// Share of the width of a fit by which an uneven peak may shift it. Ours, from simulated swings.
const UNEVEN: f64 = 0.06;

/// The greatest (`most`) or least value of a curve within a range, and the vertex of a parabola fitted around it.
///
/// The parabola spans at least [`VERTEX_S`] to both sides, and all that noise makes as good as the extreme value: a
/// narrower one would follow the noise. `noise_at`: white noise of the curve at a sample, its unit.
/// Shape: any length. Undefined: `None` where no value in the range is defined. A fit that is not a peak of the right
/// kind, or whose vertex falls outside its own window, leaves the sample itself, with the window as its uncertainty.
/// Source: least squares; the window is ours.
pub fn peak(
    curve: &[f64],
    within: Range<usize>,
    most: bool,
    rate_hz: f64,
    noise_at: impl FnOnce(usize) -> f64,
) -> Option<Peak> {
    let sign = if most { 1.0 } else { -1.0 };
    let within = within.start..within.end.min(curve.len());
    let mut best: Option<(usize, f64)> = None;
    for (k, value) in curve.iter().enumerate().take(within.end).skip(within.start) {
        let value = sign * value;
        if value.is_finite() && best.is_none_or(|(_, b)| value > b) {
            best = Some((k, value));
        }
    }
    let (sample, top) = best?;
    let sigma = Some(noise_at(sample)).filter(|s| s.is_finite()).unwrap_or(0.0);
    let least = ((VERTEX_S * rate_hz).round() as usize).max(1);
    let value = |k: usize| sign * curve[k];

    // As good as the top: outward, over gaps no wider than the least window.
    let good = |k: usize| value(k) >= top - REACH * sigma;
    let reach = |steps: &mut dyn Iterator<Item = usize>| {
        let (mut last, mut level) = (sample, 0);
        for k in steps {
            if k.abs_diff(last) > least {
                break;
            }
            if good(k) {
                last = k;
                level += 1;
            }
        }
        (last, level)
    };
    let (first, left) = reach(&mut (within.start..sample).rev());
    let (last, right) = reach(&mut (sample + 1..within.end));
    let centre = first.midpoint(last);
    let half = ((last - first).div_ceil(2)).max(least);

    // Another peak: beyond a valley that noise does not make.
    let beyond = |steps: &mut dyn Iterator<Item = usize>| {
        let (mut valley, mut found) = (top, None::<usize>);
        for k in steps.filter(|k| value(*k).is_finite()) {
            valley = valley.min(value(k));
            let risen = value(k) - valley > REACH * sigma && value(k) > valley;
            if risen && found.is_none_or(|f| value(k) > value(f)) {
                found = Some(k);
            }
        }
        found
    };
    let others = [beyond(&mut (within.start..first).rev()), beyond(&mut (last + 1..within.end))];
    let rival = others.into_iter().flatten().max_by(|a, b| value(*a).total_cmp(&value(*b)));

    let mut found = Peak {
        sample,
        place: sample as f64,
        curvature: f64::NAN,
        centre,
        half,
        noise: half as f64 / 3f64.sqrt(),
        level: left + right + 1,
        rival,
    };
    let Some(window) = centre.checked_sub(half).and_then(|from| curve.get(from..=centre + half)) else {
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
        found.place = centre as f64 + vertex;
        found.curvature = 2.0 * bend;
        // Slope and bend are both made of noise: v = −s/2b.
        let (u_slope, u_bend) = (sigma / x2.sqrt(), sigma / x4.sqrt());
        let parts = [u_slope / (2.0 * bend), vertex * u_bend / bend];
        // A peak that is wide for its noise is seldom even: what a parabola over it misses.
        let uneven = UNEVEN * (half - least) as f64;
        let square = parts.iter().map(|p| p * p).sum::<f64>() + uneven * uneven;
        found.noise = square.sqrt().min(found.noise);
    }
    Some(found)
}

/// How far the greatest of `n` numbers of noise lies up on average, in standard deviations.
/// Source: Cramér, Mathematical Methods of Statistics (1946), 28.6, the first terms; by hand for less than four.
pub fn lift(n: usize) -> f64 {
    if n < 4 {
        return [0.0, 0.0, 0.56, 0.85][n];
    }
    let log = signal::math::ln(n as f64);
    let root = (2.0 * log).sqrt();
    root - (signal::math::ln(log) + signal::math::ln(4.0 * std::f64::consts::PI)) / (2.0 * root)
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
