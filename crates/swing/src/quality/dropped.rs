//! Samples that were lost: everything jumps at one instant and goes on as smoothly as before.
use crate::analyse::PlateShadow;
use mechanics::finding::{self, Finding};
use mechanics::{Recording, Rig};

/// Samples over which the slope beside an instant is taken.
const BESIDE: usize = 4;

/// The jump of all channels together, in their own noise, that is told.
const LEAST: f64 = 12.0;

/// And that of every plate for itself: a blow on one plate is no loss of samples.
const LEAST_EACH: f64 = 5.0;

/// A jump stands out of those within twice [`BESIDE`] samples by so much: a blow or a heel strike lasts several samples.
/// A clean step leaves an eighth of itself there, beside the noise.
const OUT_OF_NEAR: f64 = 2.5;

/// Looks for instants at which the channels of all loaded plates jump. While little moves a loss cannot be seen.
pub(super) fn check(recording: &Recording, rig: &Rig, shadows: &[PlateShadow], findings: &mut Vec<Finding>) {
    let loaded = shadows.iter().filter(|s| s.loaded).filter_map(|s| rig.plates.get(s.plate));
    let squares: Vec<Vec<f64>> = loaded
        .map(|plate| {
            let mut sum = vec![0.0; recording.analog.len()];
            for channel in plate.sensing.channels() {
                if let Some(channel) = recording.analog.channels.get(channel) {
                    sum.iter_mut().zip(jumps(&channel.samples)).for_each(|(sum, jump)| *sum += jump * jump);
                }
            }
            sum
        })
        .collect();
    let found = together(&squares);
    let (Some(&first), Some(&last)) = (found.first(), found.last()) else { return };
    let at = |k: usize| k as f64 / recording.analog.rate_hz;
    let seen = match found.len() {
        1 => format!("one jump, at sample {}", first + 1),
        n => format!("{n} jumps, the first at sample {}", first + 1),
    };
    findings.push(Finding::new(&finding::SAMPLES_DROPPED, seen).during(at(first), at(last)));
}

/// Samples at which all plates jump, from the squared jumps of each.
fn together(squares: &[Vec<f64>]) -> Vec<usize> {
    let samples = squares.first().map_or(0, Vec::len);
    let all: Vec<f64> = (0..samples).map(|k| squares.iter().map(|s| s[k]).sum::<f64>().sqrt()).collect();
    let stands_out = |k: &usize| {
        let here = all[*k];
        let mut near = (k.saturating_sub(2 * BESIDE)..*k).chain(k + 1..(k + 1 + 2 * BESIDE).min(samples));
        here > LEAST
            && squares.iter().all(|s| s[*k] > LEAST_EACH * LEAST_EACH)
            && near.all(|j| here > OUT_OF_NEAR * all[j])
    };
    (0..samples).filter(stands_out).collect()
}

/// What a column would have jumped at each sample, in standard deviations of that over the column: the step less what
/// the slopes beside it explain. 0 where there is no slope beside; all 0 for a column that never changes.
fn jumps(column: &[f64]) -> Vec<f64> {
    const M: usize = BESIDE;
    // The two samples in the middle, and those over which the slopes beside them are taken.
    let step = |around: &[f64; 2 * M + 2]| {
        let (before, after) = (around[M], around[M + 1]);
        let (left, right) = (before - around[0], around[2 * M + 1] - after);
        after - before - (left + right) / (2 * M) as f64
    };
    let mut size = vec![0.0_f64; column.len()];
    for (size, around) in size.iter_mut().skip(M + 1).zip(column.array_windows()) {
        *size = step(around);
    }
    // Every third sample tells the usual size as well.
    let sizes: Vec<f64> = size.iter().step_by(3).map(|s| s.abs()).collect();
    let usual = signal::stats::median(&sizes, &mut Vec::new()) / 0.6745;
    // Beside a gap nothing is known of a jump.
    let scaled = |s: f64| if usual > 0.0 && s.is_finite() { s / usual } else { 0.0 };
    size.iter_mut().for_each(|s| *s = scaled(*s));
    size
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(column: &[f64]) -> Vec<usize> {
        together(&[jumps(column).iter().map(|j| j * j).collect()])
    }

    #[test]
    fn a_loss_is_told_from_a_blow() {
        let wave = |k: usize| {
            let jitter = f64::from((k * 7919 % 101) as u8) / 50.0 - 1.0;
            700.0 + 300.0 * signal::math::sin(k as f64 / 60.0) + jitter
        };
        let whole: Vec<f64> = (0..800).map(wave).collect();
        assert!(found(&whole).is_empty());
        let lost: Vec<f64> = (0..800).map(|k| if k < 390 { wave(k) } else { wave(k + 20) }).collect();
        assert_eq!(found(&lost), [390]);
        // A heel strike: up within some samples.
        let blow = |k: usize| {
            if k < 390 { 0.0 } else { 400.0 * (1.0 - signal::math::exp(-((k - 389) as f64) / 3.0)) }
        };
        let struck: Vec<f64> = (0..800).map(|k| wave(k) + blow(k)).collect();
        assert!(found(&struck).is_empty(), "{:?}", found(&struck));
        let spike: Vec<f64> = (0..800).map(|k| wave(k) + if k == 390 { 400.0 } else { 0.0 }).collect();
        assert!(found(&spike).is_empty());
        assert!(found(&[f64::NAN; 40]).is_empty() && found(&[1.0; 3]).is_empty() && found(&[]).is_empty());
        let lost_on_one =
            [jumps(&lost), jumps(&whole)].map(|j| j.iter().map(|j| j * j).collect::<Vec<f64>>());
        assert!(together(&lost_on_one).is_empty(), "the other plate does not jump");
    }
}
