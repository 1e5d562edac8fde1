//! Conditioning: gaps, zero, drift, low-pass and rate of the plates' wrenches, before feet are told apart.
//!
//! Every step acts on force and moment of a plate; centres of pressure come after, so that none is filtered across
//! a stretch in which it does not exist. What was done is recorded with the result ([`Done`]); the recording itself
//! is never changed, and [`Conditioning::RAW`] shows it as it is.
mod empty;
mod passes;
mod suggest;
mod zero;

use glam::{DMat3, DVec3};
use mechanics::finding;
use mechanics::uncertainty::Noise;
use mechanics::wrench::{PlateWrench, Wrenches};
use mechanics::{Checked, Conditioning, Finding, Frame, Recording, Rig};
use std::ops::Range;

pub use empty::{Level, empty_level};
pub use suggest::{Component, Suggestion, suggest};

/// The plates as everything after sees them, and what was done to them.
#[derive(Clone, Debug, PartialEq)]
pub struct Conditioned {
    /// The plates.
    pub plates: Vec<PlateWrench>,
    /// Samples a second.
    pub rate_hz: f64,
    /// What was done.
    pub done: Done,
}

/// What was done to a recording.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// What was asked for.
    pub asked: Conditioning,
    /// Plate by plate, in the order of the plates that could be read.
    pub plates: Vec<PlateDone>,
}

/// What was done to one plate. Golf frame; moments about the golf origin.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PlateDone {
    /// Index of the plate in the rig.
    pub plate: usize,
    /// The zero that was taken off.
    pub zero: Option<Level>,
    /// What the plate read empty at first and at last, where it was empty twice: the drift is their difference.
    pub empty: Option<(Level, Level)>,
    /// True where that drift was taken off.
    pub drift_removed: bool,
    /// Samples that were bridged.
    pub bridged: Vec<Range<usize>>,
    /// White noise as recorded: standard deviation of Fx … Mz in the plate's own axes about its surface centre, N, N·m;
    /// NaN where it is not known.
    pub noise: [f64; 6],
    /// What low-pass and resampling leave of the noise of forces and of moments: 1 where there is neither.
    pub noise_left: (f64, f64),
    /// Samples after resampling for each one before: 1 where there is none.
    pub samples_ratio: f64,
}

/// Conditions the plates of a recording.
///
/// Errors: none; what cannot be done is a finding, and the plate is left as it was.
pub fn condition(
    mut plates: Vec<PlateWrench>,
    recording: &Recording,
    rig: &Rig,
    frame: &Frame,
    how: &Conditioning,
) -> Checked<Conditioned> {
    let mut findings = Vec::new();
    let rate_hz = recording.analog.rate_hz;
    let mut done: Vec<PlateDone> = plates.iter().map(|p| measured(p, rig, frame, &mut findings)).collect();
    for (plate, done) in plates.iter_mut().zip(&mut done) {
        done.bridged = passes::bridge(plate, rate_hz, how.bridge_s, &mut findings);
    }
    zero::remove(&mut plates, &mut done, recording, rig, frame, &how.zero, &mut findings);
    let low_passes = passes::LowPasses::new(how, rate_hz);
    for (plate, done) in plates.iter_mut().zip(&mut done) {
        done.empty = empty::early_and_late(plate, done, rate_hz);
        zero::drift(plate, done, how.drift, &mut findings);
        let noise_n = done.noise[..3].iter().copied().fold(0.0, f64::max);
        done.noise_left = passes::low_pass(plate, &low_passes, noise_n, &mut findings);
    }
    let rate_hz = passes::resample(&mut plates, &mut done, rate_hz, how.resample_hz, &mut findings);
    Checked {
        value: Conditioned { plates, rate_hz, done: Done { asked: how.clone(), plates: done } },
        findings,
    }
}

impl Done {
    /// Noise of a plate after everything that was done; none for a plate that could not be read, or whose noise is not
    /// known (which is a finding).
    ///
    /// The noise below the cut-off is all that is left, and all of it: g² of the power makes 1/g² samples alike.
    pub fn noise_of(&self, plate: usize) -> Noise {
        let Some(done) = self.plates.iter().find(|d| d.plate == plate) else { return Noise::default() };
        let left = |c: usize| if c < 3 { done.noise_left.0 } else { done.noise_left.1 };
        let known = done.noise.map(|n| if n.is_finite() { n } else { 0.0 });
        let length = |left: f64| done.samples_ratio / (left * left);
        Noise {
            sigma: std::array::from_fn(|c| known[c] * left(c)),
            length: std::array::from_fn(|c| Some(length(left(c))).filter(|l| *l > 1.0).unwrap_or(1.0)),
        }
    }
}

/// A plate's own noise, as recorded.
fn measured(plate: &PlateWrench, rig: &Rig, frame: &Frame, findings: &mut Vec<Finding>) -> PlateDone {
    let axes = rig.plates.get(plate.plate).and_then(|p| p.axes()).unwrap_or(DMat3::IDENTITY);
    // Golf frame to the plate's own axes.
    let to = (frame.axes.transpose() * axes).transpose();
    let centre = plate.surface.centre_m;
    let stretches =
        plate.wrench.force_n.chunks(NOISE_SAMPLES).zip(plate.wrench.moment_nm.chunks(NOISE_SAMPLES));
    // The beginning: a player at address, or an empty plate. Where that is a gap, what comes after it.
    let known = stretches
        .map(|(force, moment)| {
            let mut columns: [Vec<f64>; 6] = std::array::from_fn(|_| Vec::with_capacity(force.len()));
            for (force, moment) in force.iter().zip(moment) {
                let (f, m) = (to * *force, to * (*moment - centre.cross(*force)));
                for (column, value) in columns.iter_mut().zip([f.x, f.y, f.z, m.x, m.y, m.z]) {
                    column.push(value);
                }
            }
            columns.map(|c| signal::white::white_noise(&c))
        })
        .find(|noise| noise.iter().all(|n| n.is_finite()));
    if known.is_none() {
        let seen = "nowhere are four samples on end defined".to_string();
        findings.push(on(plate, &finding::NOISE_NOT_KNOWN, seen));
    }
    PlateDone {
        plate: plate.plate,
        noise: known.unwrap_or([f64::NAN; 6]),
        noise_left: (1.0, 1.0),
        samples_ratio: 1.0,
        ..PlateDone::default()
    }
}

/// Samples that noise is estimated from: enough for one part in thirty, few enough to cost nothing.
const NOISE_SAMPLES: usize = 1024;

/// Adds to or takes from a wrench, sample by sample.
fn take_off(wrench: &mut Wrenches, level: impl Fn(usize) -> (DVec3, DVec3)) {
    for (k, (force, moment)) in wrench.force_n.iter_mut().zip(&mut wrench.moment_nm).enumerate() {
        let (f, m) = level(k);
        *force -= f;
        *moment -= m;
    }
}

/// A finding about a plate.
fn on(plate: &PlateWrench, kind: &'static mechanics::finding::Kind, seen: String) -> Finding {
    Finding::new(kind, seen).on_plate(plate.plate)
}
