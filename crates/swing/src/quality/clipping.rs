//! Channels cut off at a limit.
use mechanics::finding::{self, Finding};
use mechanics::{Recording, Rig};

/// A peak passes its highest value in one or two samples; so many in a row at one and the same value is a limit.
const RUN: usize = 5;

/// A rounded top spends no more samples at its highest count than this many times those at the next [`COUNTS`] counts:
/// a parabola half as many, a very flat top (a slow recording drawn smooth) as many.
const PILE: usize = 4;

/// Counts of the converter that are looked at beside the extreme.
const COUNTS: f64 = 10.5;

/// Looks at every channel that a plate reads; the limits of one plate are told together.
pub(super) fn check(recording: &Recording, rig: &Rig, findings: &mut Vec<Finding>) {
    for (k, plate) in rig.plates.iter().enumerate() {
        let mut told = Vec::new();
        let mut span: Option<(usize, usize)> = None;
        for channel in plate.sensing.channels() {
            let Some(channel) = recording.analog.channels.get(channel) else { continue };
            for limit in limits(&channel.samples) {
                let level =
                    format!("{:.*} {}", usize::from(limit.level.abs() < 1000.0), limit.level, channel.unit);
                told.push(format!("{} at {} ({} samples)", channel.label, level.trim_end(), limit.samples));
                let (a, b) = span.unwrap_or((limit.first, limit.last));
                span = Some((a.min(limit.first), b.max(limit.last)));
            }
        }
        if let Some((first, last)) = span {
            let at = |sample: usize| sample as f64 / recording.analog.rate_hz;
            let found =
                Finding::new(&finding::CLIPPED, format!("held at a limit: {}", told.join(", "))).on_plate(k);
            findings.push(found.during(at(first), at(last)));
        }
    }
}

/// A limit that a column was held at.
struct Limit {
    level: f64,
    samples: usize,
    first: usize,
    last: usize,
}

/// The column's highest and lowest values where they are limits: equal values in a row at an extreme, at which far
/// more samples lie than just inside of it.
///
/// An extreme near the resting level (an unloaded plate that reads exactly zero) is none: it must lie farther than half
/// of the column's largest size from zero, and far from the median.
fn limits(column: &[f64]) -> Vec<Limit> {
    let Some((low, high)) = signal::stats::extent(column) else { return Vec::new() };
    let most = low.abs().max(high.abs());
    // The median is asked for only where something was held, which is seldom.
    let far = |level: f64| {
        let middle = signal::stats::median(column, &mut Vec::new());
        (level - middle).abs() > 0.3 * (high - low)
    };
    let large = |level: &f64| high > low && level.abs() >= 0.5 * most;
    let limits = [high, low].into_iter().filter(large).filter_map(|level| held(column, level));
    limits.filter(|limit| far(limit.level)).collect()
}

/// `None` where the extreme `level` of a column is no limit.
#[allow(clippy::float_cmp)] // a limit is one and the same number
fn held(column: &[f64], level: f64) -> Option<Limit> {
    let (mut samples, mut run, mut longest) = (0_usize, 0_usize, 0_usize);
    let (mut first, mut last) = (None, 0);
    for (k, value) in column.iter().enumerate() {
        if *value == level {
            (samples, run) = (samples + 1, run + 1);
            longest = longest.max(run);
            first.get_or_insert(k);
            last = k;
        } else {
            run = 0;
        }
    }
    if longest < RUN {
        return None;
    }
    // The nearest other value: one count of the converter, or less.
    let apart = column.iter().map(|v| (v - level).abs()).filter(|apart| *apart > 0.0);
    let step = apart.fold(f64::INFINITY, f64::min);
    let below = column.iter().filter(|v| **v != level && (**v - level).abs() <= COUNTS * step).count();
    (samples > PILE * below).then_some(Limit { level, samples, first: first?, last })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_is_told_from_a_rounded_top_and_from_rest() {
        let wave = |k: usize| 1000.0 * signal::math::sin(k as f64 / 40.0);
        let clean: Vec<f64> = (0..600).map(wave).collect();
        assert!(limits(&clean).is_empty());
        // In whole steps of a coarse converter the top is a plateau, but so is the step below.
        let coarse: Vec<f64> = clean.iter().map(|v| (v / 20.0).round() * 20.0).collect();
        assert!(limits(&coarse).is_empty());
        let flat = |k: usize| 900.0 - signal::math::powi((k as f64 - 300.0) / 20.0, 4);
        let coarse: Vec<f64> = (0..600).map(|k| (flat(k) / 0.5).round() * 0.5).collect();
        assert!(limits(&coarse).is_empty());
        let cut: Vec<f64> = clean.iter().map(|v| v.min(800.0)).collect();
        let found = limits(&cut);
        assert_eq!(found.len(), 1);
        assert!((found[0].level - 800.0).abs() < 1e-12 && found[0].samples > 50);
        // Unloaded at exactly zero, then a push.
        let rest: Vec<f64> = (0..600).map(|k| if k < 400 { 0.0 } else { wave(k).max(0.0) }).collect();
        assert!(limits(&rest).is_empty());
        assert!(limits(&[f64::NAN; 9]).is_empty() && limits(&[]).is_empty() && limits(&[3.0; 50]).is_empty());
    }
}
