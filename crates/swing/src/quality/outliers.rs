//! Single samples that no body could have made.
use mechanics::finding::{self, Finding};
use mechanics::{Recording, Rig, Sensing};
use std::ops::Range;

/// Longer than this is no outlier, samples: a blow lasts longer than three.
const LONGEST: usize = 3;

/// Neighbours on either side that say what is allowed.
const BESIDE: usize = 3;

/// Farther from the neighbours' median than so many times the channel's white noise …
const NOISES: f64 = 12.0;

/// … and so many times the neighbours' own range, which is that of the movement …
const RANGES: f64 = 4.0;

/// … and by a force that matters, N, or a moment, N·m.
const LEAST_N: f64 = 40.0;
const LEAST_NM: f64 = 15.0;

/// So many are named; the rest are counted.
const NAMED: usize = 3;

/// One plate's outliers are told together.
pub(super) fn check(recording: &Recording, rig: &Rig, findings: &mut Vec<Finding>) {
    let at = |k: usize| k as f64 / recording.analog.rate_hz;
    for (k, plate) in rig.plates.iter().enumerate() {
        let mut told = Vec::new();
        let mut span: Option<(usize, usize)> = None;
        for (channel, least) in watched(&plate.sensing) {
            let Some(channel) = recording.analog.channels.get(channel) else { continue };
            for run in runs(&channel.samples, least) {
                let value = channel.samples[run.start];
                told.push(format!(
                    "{} reads {:.1} {} {} at {:.3} s",
                    channel.label,
                    value,
                    channel.unit.trim(),
                    if run.len() == 1 { "once".into() } else { format!("for {} samples", run.len()) },
                    at(run.start) + recording.analog.start_s
                ));
                let (a, b) = span.unwrap_or((run.start, run.end));
                span = Some((a.min(run.start), b.max(run.end)));
            }
        }
        let Some((first, end)) = span else { continue };
        let more = told.len().saturating_sub(NAMED);
        told.truncate(NAMED);
        let rest = if more > 0 { format!("; {more} more") } else { String::new() };
        let seen = format!("{}{rest}", told.join("; "));
        findings.push(Finding::new(&finding::OUTLIERS, seen).on_plate(k).during(at(first), at(end - 1)));
    }
}

/// Channels whose outliers matter, with the least change of each, in its own unit, that does. Centres of pressure jump
/// by themselves where the load is small.
fn watched(sensing: &Sensing) -> Vec<(usize, f64)> {
    match sensing {
        Sensing::Linear { channels, columns, .. } => {
            let size = |c: &[f64]| c.iter().map(|v| v * v).sum::<f64>().sqrt();
            let least = |c: &[f64; 6]| (LEAST_N / size(&c[..3])).min(LEAST_NM / size(&c[3..]));
            channels.iter().copied().zip(columns.iter().map(least)).collect()
        }
        Sensing::Reduced { force, force_gain, .. } => {
            force.iter().copied().zip(force_gain.map(|gain| LEAST_N / gain.abs())).collect()
        }
    }
}

/// Runs of at most [`LONGEST`] samples that stand out of a column by more than `least` and all that its neighbours allow.
fn runs(column: &[f64], least: f64) -> Vec<Range<usize>> {
    let mut out = Vec::new();
    let noise = signal::white::white_noise(column);
    let least = least.max(NOISES * if noise.is_finite() { noise } else { 0.0 });
    if !least.is_finite() {
        return out;
    }
    let mut k = BESIDE;
    while k + BESIDE < column.len() {
        // Most samples are near the one before.
        if (column[k] - column[k - 1]).abs() <= least {
            k += 1;
            continue;
        }
        let run = (1..=LONGEST).map(|n| k..k + n).find(|run| stands_out(column, run, least));
        k = run.as_ref().map_or(k + 1, |run| run.end);
        out.extend(run);
    }
    out
}

fn stands_out(column: &[f64], run: &Range<usize>, least: f64) -> bool {
    let (Some(before), Some(after)) =
        (column.get(run.start - BESIDE..run.start), column.get(run.end..run.end + BESIDE))
    else {
        return false;
    };
    let beside: Vec<f64> = before.iter().chain(after).copied().collect();
    let Some((low, high)) = signal::stats::extent(&beside).filter(|_| beside.iter().all(|v| v.is_finite()))
    else {
        return false;
    };
    let middle = signal::stats::median(&beside, &mut Vec::new());
    let limit = least.max(RANGES * (high - low));
    column[run.clone()].iter().all(|v| (v - middle).abs() > limit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(k: usize) -> f64 {
        let jitter = f64::from((k * 7919 % 101) as u8) / 50.0 - 1.0;
        700.0 + 300.0 * signal::math::sin(k as f64 / 40.0) + jitter
    }

    #[test]
    fn an_outlier_is_told_from_a_blow() {
        let with = |more: &dyn Fn(usize) -> f64| (0..800).map(|k| wave(k) + more(k)).collect::<Vec<f64>>();
        assert!(runs(&with(&|_| 0.0), 40.0).is_empty());
        for length in 1..=3 {
            let spoilt = with(&|k| if (390..390 + length).contains(&k) { -400.0 } else { 0.0 });
            assert_eq!(runs(&spoilt, 40.0), vec![390..390 + length]);
        }
        assert!(runs(&with(&|k| if (390..394).contains(&k) { 400.0 } else { 0.0 }), 40.0).is_empty());
        // A blow of five samples, a heel strike, a step.
        let blow = [0.2, 0.7, 1.0, 0.6, 0.2];
        let struck = with(&|k| k.checked_sub(390).and_then(|k| blow.get(k)).map_or(0.0, |b| 600.0 * b));
        assert!(runs(&struck, 40.0).is_empty());
        assert!(runs(&with(&|k| if k < 390 { 0.0 } else { 500.0 }), 40.0).is_empty());
        assert!(runs(&[f64::NAN; 40], 40.0).is_empty() && runs(&[1.0; 3], 40.0).is_empty());
        assert!(runs(&[], 40.0).is_empty() && runs(&[5.0; 90], 40.0).is_empty());
    }
}
