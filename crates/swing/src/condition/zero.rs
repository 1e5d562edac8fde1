//! Zero and drift.
use super::{Level, PlateDone, empty, on, take_off};
use crate::address::STANDING_LEAST_N;
use glam::DVec3;
use mechanics::conditioning::{Drift, Zero};
use mechanics::finding::{self, Finding};
use mechanics::wrench::{PlateWrench, wrenches};
use mechanics::{Frame, Measures, Recording, Rig};
use std::ops::Range;

/// Takes the zero off every plate that has one.
///
/// An interval in which the plate is loaded is left alone, with a finding: subtracting it would subtract the player.
/// The C3D format says that a ZERO window's presence does not mean that it was applied.
/// Source: C3D user guide, FORCE_PLATFORM:ZERO.
pub fn remove(
    plates: &mut [PlateWrench],
    done: &mut [PlateDone],
    recording: &Recording,
    rig: &Rig,
    frame: &Frame,
    zero: &Zero,
    findings: &mut Vec<Finding>,
) {
    let rate_hz = recording.analog.rate_hz;
    let empty_plates = match zero {
        Zero::Nothing => return,
        Zero::Empty(empty) => of_empty(plates, empty, recording, rig, frame),
        Zero::FileWindow | Zero::Interval(..) | Zero::Found => Vec::new(),
    };
    for (plate, done) in plates.iter_mut().zip(done) {
        let level = match zero {
            Zero::Nothing => continue,
            Zero::Found => {
                let all = 0..plate.wrench.len();
                let found = empty::empty_level(plate, all, rate_hz, done.noise[2]);
                if found.is_none() {
                    let seen = "it is loaded throughout, so the recording does not show its zero".to_string();
                    findings.push(on(plate, &finding::ZERO_NOT_FOUND, seen));
                }
                found
            }
            Zero::FileWindow => {
                let window = rig.plates.get(plate.plate).and_then(|p| p.baseline);
                if window.is_none() {
                    findings.push(on(
                        plate,
                        &finding::ZERO_NOT_FOUND,
                        "the file states no ZERO window for it".into(),
                    ));
                }
                window.and_then(|(from, to)| unloaded(plate, from..to, findings))
            }
            Zero::Interval(from_s, to_s) => {
                let at = |t: f64| ((t - recording.analog.start_s) * rate_hz).round().max(0.0) as usize;
                let range = at(*from_s)..at(*to_s).min(plate.wrench.len());
                unloaded(plate, range, findings)
            }
            Zero::Empty(_) => match empty_plates.iter().find(|(k, _)| *k == plate.plate) {
                Some((_, Ok(level))) => Some(level.clone()),
                Some((_, Err(why))) => {
                    findings.push(on(plate, &finding::ZERO_NOT_FOUND, why.clone()));
                    None
                }
                None => None,
            },
        };
        if let Some(level) = level {
            take_off(&mut plate.wrench, |_| (level.force_n, level.moment_nm));
            done.zero = Some(level);
        }
    }
}

/// The mean over a range, where the plate is unloaded in it.
fn unloaded(plate: &PlateWrench, samples: Range<usize>, findings: &mut Vec<Finding>) -> Option<Level> {
    let Some(level) = empty::mean(&plate.wrench, samples.clone()) else {
        let seen = format!("samples {} to {} hold no value of it", samples.start, samples.end);
        findings.push(on(plate, &finding::ZERO_NOT_FOUND, seen));
        return None;
    };
    let least_n = least(plate);
    let load_n = level.force_n.z;
    // Loaded: it presses like a person, by itself or against the plate's emptiest moments.
    if load_n > STANDING_LEAST_N || load_n - least_n > STANDING_LEAST_N {
        let seen = format!("load in the window {load_n:.1} N, least in the recording {least_n:.1} N");
        findings.push(on(plate, &finding::BASELINE_LOADED, seen));
        return None;
    }
    Some(level)
}

/// Vertical force that a twentieth of the samples stays under, N.
fn least(plate: &PlateWrench) -> f64 {
    let mut vertical: Vec<f64> = plate.wrench.force_n.iter().map(|f| f.z).filter(|z| z.is_finite()).collect();
    let rank = vertical.len() / 20;
    if rank < vertical.len() { *vertical.select_nth_unstable_by(rank, f64::total_cmp).1 } else { f64::NAN }
}

/// The mean wrench of each plate in a recording of the empty rig, turned as the plate was turned in the swing.
fn of_empty(
    plates: &[PlateWrench],
    empty: &Recording,
    recording: &Recording,
    rig: &Rig,
    frame: &Frame,
) -> Vec<(usize, Result<Level, String>)> {
    let mut as_turned = rig.clone();
    for plate in plates {
        if let Some(described) = as_turned.plates.get_mut(plate.plate) {
            described.measures = if plate.turned { Measures::OnPlate } else { Measures::OnPlayer };
        }
    }
    let read = wrenches(empty, &as_turned, frame).value;
    let label = |of: &Recording, channel: usize| of.analog.channels.get(channel).map(|c| c.label.clone());
    plates
        .iter()
        .map(|plate| {
            let channels = rig.plates.get(plate.plate).map(|p| p.sensing.channels()).unwrap_or_default();
            if let Some(&odd) = channels.iter().find(|&&c| label(recording, c) != label(empty, c)) {
                let name = |of| label(of, odd).unwrap_or_else(|| "nothing".into());
                let why = format!(
                    "its channel {} is \"{}\" here and \"{}\" in {}",
                    odd + 1,
                    name(recording),
                    name(empty),
                    empty.name
                );
                return (plate.plate, Err(why));
            }
            let same = read.iter().find(|p| p.plate == plate.plate);
            let level = same.and_then(|p| empty::mean(&p.wrench, 0..p.wrench.len()));
            let level = match level {
                None => Err(format!("{} has no values for it", empty.name)),
                Some(level) if level.force_n.z.abs() > STANDING_LEAST_N => {
                    Err(format!("it carries {:.1} N in {}: not empty", level.force_n.z, empty.name))
                }
                Some(level) => Ok(Level { samples: 0..0, ..level }),
            };
            (plate.plate, level)
        })
        .collect()
}

/// Takes a straight drift off, from what the plate reads empty early to what it reads empty late. Nothing is taken off
/// where the zero was taken, so that the zero stays true; without one, the early reading stays.
pub fn drift(plate: &mut PlateWrench, done: &mut PlateDone, how: Drift, findings: &mut Vec<Finding>) {
    if how == Drift::Kept {
        return;
    }
    let Some((early, late)) = &done.empty else {
        let seen = "it is not empty both early and late, so its drift cannot be seen".to_string();
        findings.push(on(plate, &finding::DRIFT_NOT_SEEN, seen));
        return;
    };
    let middle = |level: &Level| (level.samples.start + level.samples.end) as f64 / 2.0 - 0.5;
    let (from, to) = (middle(early), middle(late));
    let (force, moment): (DVec3, DVec3) = (late.force_n - early.force_n, late.moment_nm - early.moment_nm);
    let anchor = done.zero.as_ref().filter(|z| !z.samples.is_empty()).map_or(from, middle);
    take_off(&mut plate.wrench, |k| {
        let share = (k as f64 - anchor) / (to - from);
        (force * share, moment * share)
    });
    done.drift_removed = true;
}
