//! Removing a baseline the file itself offers.
use mechanics::finding::{self, Checked, Finding};
use mechanics::plate::Sensing;
use mechanics::{Recording, Rig};

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
        // Loaded: over the window the plate's vertical force is far from the least it reads anywhere.
        let means: Vec<f64> = channels.iter().map(|&c| mean(recording, c, from, to)).collect();
        let vertical = vertical_of(plate);
        let in_window: f64 = means.iter().zip(&vertical).map(|(m, v)| m * v).sum();
        let quietest = least_load(recording, channels, &vertical);
        if (in_window - quietest).abs() > crate::address::STANDING_LEAST_N {
            findings.push(
                Finding::new(
                    &finding::BASELINE_LOADED,
                    format!("vertical force in the window {in_window:.1} N, least in the recording {quietest:.1} N"),
                )
                .on_plate(index),
            );
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

/// The vertical force nearest to no load: the median of the smallest tenth in size.
fn least_load(recording: &Recording, channels: &[usize], vertical: &[f64]) -> f64 {
    let mut values: Vec<f64> = (0..recording.analog.len())
        .map(|k| {
            channels
                .iter()
                .zip(vertical)
                .map(|(&c, v)| recording.analog.channels.get(c).map_or(f64::NAN, |c| c.samples[k]) * v)
                .sum::<f64>()
        })
        .filter(|v| v.is_finite())
        .collect();
    values.sort_by(|a, b| a.abs().total_cmp(&b.abs()));
    values.get(values.len() / 20).copied().unwrap_or(f64::NAN)
}
