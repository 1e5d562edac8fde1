//! Bridging gaps, low-pass filters and resampling of a plate's six components.
use super::{PlateDone, on};
use glam::DVec3;
use mechanics::conditioning::{Conditioning, LowPass};
use mechanics::finding::{self, Finding};
use mechanics::wrench::PlateWrench;
use signal::filter::{self, Band, Section, ShortRuns};
use std::ops::Range;

/// Bridges gaps of at most `longest_s` in force and moment; returns the samples that were bridged.
///
/// The bridge is a monotone piecewise cubic ([`signal::gaps`]), so it makes no peak that the samples beside the gap do
/// not have.
pub fn bridge(
    plate: &mut PlateWrench,
    rate_hz: f64,
    longest_s: f64,
    findings: &mut Vec<Finding>,
) -> Vec<Range<usize>> {
    let longest = (longest_s * rate_hz).floor() as usize;
    if longest == 0 {
        return Vec::new();
    }
    let mut bridged = Vec::new();
    for vectors in [&mut plate.wrench.force_n, &mut plate.wrench.moment_nm] {
        if vectors.iter().all(|v| v.is_finite()) {
            continue;
        }
        // One missing component is a missing wrench.
        vectors.iter_mut().filter(|v| !v.is_finite()).for_each(|v| *v = DVec3::NAN);
        in_columns(vectors, |column| bridged = signal::gaps::fill(column, longest));
    }
    if !bridged.is_empty() {
        let samples: usize = bridged.iter().map(Range::len).sum();
        let (first, last) = (bridged[0].start as f64, bridged[bridged.len() - 1].end as f64);
        let seen = format!("{samples} samples in {}", crate::about::count(bridged.len(), "gap"));
        findings.push(on(plate, &finding::GAPS_BRIDGED, seen).during(first / rate_hz, last / rate_hz));
    }
    bridged
}

/// The low-passes of forces and of moments, designed once for all plates.
pub struct LowPasses {
    force: Option<Result<Designed, String>>,
    moment: Option<Result<Designed, String>>,
    /// True where the two have different cut-offs.
    apart: bool,
}

/// A filter, and what it leaves of white noise.
#[derive(Clone)]
struct Designed {
    sections: Vec<Section>,
    noise_left: f64,
}

impl LowPasses {
    /// As asked.
    pub fn new(how: &Conditioning, rate_hz: f64) -> Self {
        let design = |low: LowPass| {
            let sections = filter::butterworth_both_ways(low.order, Band::Low(low.cut_off_hz), rate_hz)
                .map_err(|error| error.to_string())?;
            Ok(Designed { noise_left: filter::noise_gain(&sections), sections })
        };
        let apart = how.force != how.moment;
        let force = how.force.map(design);
        let moment = if apart { how.moment.map(design) } else { force.clone() };
        Self { force, moment, apart }
    }
}

/// Filters force and moment as asked; returns what is left of white noise in each. `noise_n`: the largest white noise
/// of a force component as recorded.
pub fn low_pass(
    plate: &mut PlateWrench,
    how: &LowPasses,
    noise_n: f64,
    findings: &mut Vec<Finding>,
) -> (f64, f64) {
    // The moment about the golf origin holds the force times an arm; with two cut-offs it must be taken about the
    // plate's own centre first. With one cut-off filtering commutes with moving the point.
    let centre = plate.surface.centre_m;
    let apart = how.apart;
    let wrench = &mut plate.wrench;
    let shift = |force: &[DVec3], moment: &mut [DVec3], sign: f64| {
        for (f, m) in force.iter().zip(moment) {
            *m -= sign * centre.cross(*f);
        }
    };
    if apart {
        shift(&wrench.force_n, &mut wrench.moment_nm, 1.0);
    }
    let before = how.force.as_ref().map(|_| wrench.force_n.clone());
    let mut dropped = 0;
    let mut problem = None;
    let mut pass = |low: &Option<Result<Designed, String>>, vectors: &mut [DVec3]| -> f64 {
        match low {
            None => 1.0,
            Some(Ok(low)) => {
                dropped += filtered(&low.sections, vectors);
                low.noise_left
            }
            Some(Err(error)) => {
                problem = Some(error.clone());
                1.0
            }
        }
    };
    let left = (pass(&how.force, &mut wrench.force_n), pass(&how.moment, &mut wrench.moment_nm));
    if apart {
        shift(&wrench.force_n, &mut wrench.moment_nm, -1.0);
    }
    if let Some((share, name)) = before.and_then(|before| cut(&before, &plate.wrench.force_n, noise_n)) {
        let seen = format!("it takes up to {:.0} % of the range of the force {name}", 100.0 * share);
        findings.push(on(plate, &finding::FILTER_CUTS, seen));
    }
    if let Some(error) = problem {
        findings.push(on(plate, &finding::FILTER_NOT_POSSIBLE, error));
    }
    if dropped > 0 {
        let seen = format!("{dropped} samples between gaps are too few to filter; they were left out");
        findings.push(on(plate, &finding::FILTER_DROPS, seen));
    }
    left
}

/// A low-pass that changes a component by more than this share of its range cuts into the movement. Ours.
const CUT_SHARE: f64 = 0.05;

/// The component that lost most to the filter, as a share of its range, where that is more than noise and
/// [`CUT_SHARE`]: a hundredth of the samples may differ by more, so that single outliers do not count. `noise_n`: white noise.
fn cut(before: &[DVec3], after: &[DVec3], noise_n: f64) -> Option<(f64, &'static str)> {
    // Every fourth sample: what is looked for is wider.
    const STRIDE: usize = 4;
    let mut scratch = Vec::new();
    let mut component = |axis: usize| {
        let pairs = || before.iter().zip(after).step_by(STRIDE);
        let lost: Vec<f64> = pairs().map(|(b, a)| (b[axis] - a[axis]).abs()).collect();
        let (low, high) = pairs()
            .map(|(b, _)| b[axis])
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        let most = signal::stats::quantile(&lost, 0.99, &mut scratch);
        (most > 6.0 * noise_n).then_some(most / (high - low))
    };
    ["along the target line", "across it", "up"]
        .into_iter()
        .enumerate()
        .filter_map(|(axis, name)| component(axis).map(|share| (share, name)))
        .filter(|(share, _)| *share > CUT_SHARE)
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

/// Runs the filter over all three components at once; returns how many samples were dropped.
fn filtered(sections: &[Section], vectors: &mut [DVec3]) -> usize {
    // A `DVec3` is three f64 in a row.
    let lanes: &mut [[f64; 3]] = bytemuck::cast_slice_mut(vectors);
    filter::zero_phase_lanes(sections, lanes, ShortRuns::Drop, &mut Vec::new()).short_samples
}

/// Slower than this a swing's peaks are lost between samples, Hz; as for recordings (Q328).
const SLOW_HZ: f64 = 200.0;

/// Resamples every plate; returns the rate that was reached, which is that of the recording where none is asked for
/// or the one asked for cannot be had.
pub fn resample(
    plates: &mut [PlateWrench],
    done: &mut [PlateDone],
    rate_hz: f64,
    to_hz: Option<f64>,
    findings: &mut Vec<Finding>,
) -> f64 {
    let Some(to_hz) = to_hz.filter(|hz| *hz != rate_hz) else { return rate_hz };
    let refused = |plate: &PlateWrench, why: String| on(plate, &finding::FILTER_NOT_POSSIBLE, why);
    let ratio = match signal::resample::ratio(rate_hz, to_hz) {
        Ok(ratio) => ratio,
        Err(error) => {
            findings.extend(plates.first().map(|p| refused(p, error.to_string())));
            return rate_hz;
        }
    };
    let reached = ratio.rate_hz(rate_hz);
    if reached < SLOW_HZ {
        let seen = format!("resampled to {reached} Hz");
        findings.push(Finding::new(&finding::RATE_TOO_LOW, seen));
    }
    for (plate, done) in plates.iter_mut().zip(done) {
        let one = |vectors: &mut Vec<DVec3>| -> Result<(), String> {
            let mut columns: [Vec<f64>; 3] = Default::default();
            for (axis, column) in columns.iter_mut().enumerate() {
                let as_read: Vec<f64> = vectors.iter().map(|v| v[axis]).collect();
                *column = signal::resample::resample(&as_read, ratio).map_err(|e| e.to_string())?;
            }
            let [x, y, z] = &columns;
            *vectors = x.iter().zip(y).zip(z).map(|((x, y), z)| DVec3::new(*x, *y, *z)).collect();
            Ok(())
        };
        let made = one(&mut plate.wrench.force_n).and_then(|()| one(&mut plate.wrench.moment_nm));
        if let Err(why) = made {
            // Lengths are alike, so it is refused for the first plate or for none.
            findings.push(refused(plate, why));
            return rate_hz;
        }
        // The resampling filter leaves the noise below the new half rate; a low-pass before it may have left less.
        // Long stretches are as unsure as before, and have another number of samples.
        let ratio = reached / rate_hz;
        let kept = |left: f64| left.min(ratio.sqrt());
        done.noise_left = (kept(done.noise_left.0), kept(done.noise_left.1));
        done.samples_ratio = ratio;
        let moved = |k: usize| (k as f64 * reached / rate_hz).round() as usize;
        let levels = done.zero.iter_mut().chain(done.empty.iter_mut().flat_map(|(a, b)| [a, b]));
        levels.for_each(|level| level.samples = moved(level.samples.start)..moved(level.samples.end));
        done.bridged.iter_mut().for_each(|range| *range = moved(range.start)..moved(range.end));
    }
    reached
}

/// Hands each component over as a column.
fn in_columns(vectors: &mut [DVec3], mut act: impl FnMut(&mut [f64])) {
    for axis in 0..3 {
        let mut column: Vec<f64> = vectors.iter().map(|v| v[axis]).collect();
        act(&mut column);
        for (vector, value) in vectors.iter_mut().zip(column) {
            vector[axis] = value;
        }
    }
}
