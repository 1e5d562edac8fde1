//! Samples that were lost: everything jumps at one instant and goes on as smoothly as before.
use super::channels;
use crate::analyse::PlateShadow;
use mechanics::finding::{self, Finding};
use mechanics::{Recording, Rig};

/// Samples over which the slope beside an instant is taken.
const BESIDE: usize = 4;

/// A jump stands out of the column's usual ones by so many standard deviations.
const OUT_OF_ALL: f64 = 8.0;

/// And out of those within twice [`BESIDE`] samples by so much: a blow or a heel strike lasts several samples. A clean
/// step leaves an eighth of itself there.
const OUT_OF_NEAR: f64 = 4.0;

/// Channels of one plate that must jump together.
const VOTES: u8 = 2;

/// Looks for instants at which channels of all loaded plates jump. While nothing moves a loss cannot be seen.
pub(super) fn check(recording: &Recording, rig: &Rig, shadows: &[PlateShadow], findings: &mut Vec<Finding>) {
    let samples = recording.analog.len();
    let mut everywhere = vec![true; samples];
    let loaded: Vec<usize> = shadows.iter().filter(|s| s.loaded).map(|s| s.plate).collect();
    // One plate alone must be the surer.
    let needed = if loaded.len() > 1 { VOTES } else { VOTES + 1 };
    for plate in loaded.iter().filter_map(|k| rig.plates.get(*k)) {
        let mut votes = vec![0_u8; samples];
        for channel in channels(&plate.sensing) {
            let Some(channel) = recording.analog.channels.get(channel) else { continue };
            for k in jumps(&channel.samples) {
                votes[k] = votes[k].saturating_add(1);
            }
        }
        everywhere.iter_mut().zip(votes).for_each(|(all, votes)| *all &= votes >= needed);
    }
    let found: Vec<usize> = (0..samples).filter(|k| everywhere[*k] && !loaded.is_empty()).collect();
    let (Some(&first), Some(&last)) = (found.first(), found.last()) else { return };
    let at = |k: usize| k as f64 / recording.analog.rate_hz;
    let seen = match found.len() {
        1 => format!("one jump, at sample {}", first + 1),
        n => format!("{n} jumps, the first at sample {}", first + 1),
    };
    findings.push(Finding::new(&finding::SAMPLES_DROPPED, seen).during(at(first), at(last)));
}

/// Samples at which a column steps from one smooth stretch to another.
fn jumps(column: &[f64]) -> Vec<usize> {
    let m = BESIDE;
    if column.len() < 4 * m {
        return Vec::new();
    }
    let step = |k: usize| -> f64 {
        let (left, right) = (column[k - 1] - column[k - 1 - m], column[k + m] - column[k]);
        (column[k] - column[k - 1] - (left + right) / (2 * m) as f64).abs()
    };
    // What a jump would be at each sample; at the ends, where there is no slope beside, none.
    let inside = m + 1..column.len() - m;
    let size: Vec<f64> = (0..column.len()).map(|k| if inside.contains(&k) { step(k) } else { 0.0 }).collect();
    let usual = signal::stats::median(&size, &mut Vec::new()) / 0.6745;
    let stands_out = |k: &usize| {
        let here = size[*k];
        let mut near = (k.saturating_sub(2 * m)..*k).chain(k + 1..(k + 1 + 2 * m).min(size.len()));
        here > OUT_OF_ALL * usual && near.all(|j| here > OUT_OF_NEAR * size[j])
    };
    // A column that never changes has no usual change to compare with.
    if usual > 0.0 { inside.filter(stands_out).collect() } else { Vec::new() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_loss_is_told_from_a_blow() {
        let wave = |k: usize| {
            let jitter = f64::from((k * 7919 % 101) as u8) / 50.0 - 1.0;
            700.0 + 300.0 * signal::math::sin(k as f64 / 60.0) + jitter
        };
        let whole: Vec<f64> = (0..800).map(wave).collect();
        assert!(jumps(&whole).is_empty());
        let lost: Vec<f64> = (0..800).map(|k| if k < 390 { wave(k) } else { wave(k + 20) }).collect();
        assert_eq!(jumps(&lost), [390]);
        let blow: Vec<f64> = (0..800)
            .map(|k| {
                wave(k) + if k < 390 { 0.0 } else { 400.0 * signal::math::exp(-((k - 390) as f64) / 6.0) }
            })
            .collect();
        assert!(jumps(&blow).len() <= 1, "{:?}", jumps(&blow));
        let spike: Vec<f64> = (0..800).map(|k| wave(k) + if k == 390 { 400.0 } else { 0.0 }).collect();
        assert!(jumps(&spike).is_empty());
        assert!(jumps(&[f64::NAN; 40]).is_empty() && jumps(&[1.0; 3]).is_empty());
    }
}
