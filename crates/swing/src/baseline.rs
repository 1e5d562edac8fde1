//! Removing a baseline the file itself offers.
use mechanics::finding::{self, Checked, Finding};
use mechanics::plate::Sensing;
use mechanics::{Recording, Rig};

use crate::address::STANDING_LEAST_N;
use crate::analyse::Zero;

/// Takes the mean over each plate's own baseline window from its channels; `None` where nothing was removed.
///
/// A window that is loaded is left alone, with a finding: subtracting it would subtract the player. The format says
/// that the window's presence does not mean that it was applied. Source: C3D user guide, FORCE_PLATFORM:ZERO.
pub fn remove(recording: &Recording, rig: &Rig, zero: Zero) -> Checked<Option<Recording>> {
    let mut findings = Vec::new();
    if zero == Zero::Nothing {
        return Checked::clean(None);
    }
    let mut out = recording.clone();
    let mut removed = false;
    for (index, plate) in rig.plates.iter().enumerate() {
        let (Some((from, to)), Sensing::Linear { channels, .. }) = (plate.baseline, &plate.sensing) else {
            continue;
        };
        let means: Vec<f64> = channels.iter().map(|&c| mean(recording, c, from, to)).collect();
        let vertical = vertical_of(plate);
        let in_window: f64 = means.iter().zip(&vertical).map(|(m, v)| m * v).sum();
        let load = Load::of(recording, channels, &vertical);
        if load.is_on(in_window) {
            let seen = format!(
                "load in the window {:.1} N, least in the recording {:.1} N",
                load.sign * in_window,
                load.least_n
            );
            findings.push(Finding::new(&finding::BASELINE_LOADED, seen).on_plate(index));
            continue;
        }
        for (&channel, mean) in channels.iter().zip(&means) {
            if let Some(column) = out.analog.channels.get_mut(channel)
                && mean.is_finite()
            {
                column.samples.iter_mut().for_each(|v| *v -= mean);
                removed = true;
            }
        }
    }
    Checked { value: removed.then_some(out), findings }
}

/// Contribution of each channel to the force along the plate's own z, N per channel unit.
fn vertical_of(plate: &mechanics::Plate) -> Vec<f64> {
    match &plate.sensing {
        Sensing::Linear { columns, .. } => columns.iter().map(|c| c[2]).collect(),
        Sensing::Reduced { .. } => Vec::new(),
    }
}

fn mean(recording: &Recording, channel: usize, from: usize, to: usize) -> f64 {
    let samples = recording.analog.channels.get(channel).map_or(&[][..], |c| &c.samples);
    let window = samples.get(from..to.min(samples.len())).unwrap_or_default();
    window.iter().sum::<f64>() / window.len() as f64
}

/// Which way a plate is loaded, and how little load it ever has.
struct Load {
    /// Sign of the plate's own vertical force under load.
    sign: f64,
    /// Load that a twentieth of the samples stays under, N.
    least_n: f64,
}

impl Load {
    /// The larger extreme is the load: nobody pulls a plate upward.
    fn of(recording: &Recording, channels: &[usize], vertical: &[f64]) -> Self {
        let at = |channel: usize, k: usize| {
            recording.analog.channels.get(channel).and_then(|c| c.samples.get(k)).copied().unwrap_or(f64::NAN)
        };
        let mut values: Vec<f64> = (0..recording.analog.len())
            .map(|k| channels.iter().zip(vertical).map(|(&c, v)| at(c, k) * v).sum::<f64>())
            .filter(|v| v.is_finite())
            .collect();
        values.sort_by(f64::total_cmp);
        // Without single outliers.
        let last = values.len().saturating_sub(1);
        let at_rank = |rank: usize| values.get(rank).copied().unwrap_or(f64::NAN);
        let (low, high) = (at_rank(last / 100), at_rank(last - last / 100));
        let sign = if -low > high { -1.0 } else { 1.0 };
        let rank = values.len() / 20;
        let least = if sign > 0.0 { values.get(rank) } else { values.iter().rev().nth(rank) };
        Self { sign, least_n: least.map_or(f64::NAN, |v| sign * v) }
    }

    /// A window is loaded when it presses like a person, by itself or against the plate's emptiest moments.
    fn is_on(&self, window_n: f64) -> bool {
        let load = self.sign * window_n;
        load > STANDING_LEAST_N || load - self.least_n > STANDING_LEAST_N
    }
}
