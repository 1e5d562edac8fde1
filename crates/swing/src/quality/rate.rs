//! Whether the recording is fast enough for a swing.
use mechanics::Recording;
use mechanics::finding::{self, Finding};

/// Under this rate a downswing of a quarter of a second has fewer than 50 samples, Hz. Common practice, no source.
const LOW_HZ: f64 = 200.0;

/// Under this rate loading rates are not well seen, Hz. Common practice, no source; the golf literature records at
/// 1000 Hz and more.
const MODEST_HZ: f64 = 500.0;

/// No plate is read so slowly, Hz: 5000 samples a second in milliseconds are 5.
const ODD_HZ: f64 = 10.0;

/// Fewer samples say nothing of a swing either way.
const ODD_SAMPLES: usize = 300;

/// Times in milliseconds, or microseconds, that were read as seconds.
fn odd(recording: &Recording) -> Finding {
    let rate = recording.analog.rate_hz;
    let (unit, times) = if rate <= ODD_HZ / 1000.0 { ("us", 1e6) } else { ("ms", 1e3) };
    let word = if unit == "us" { "microseconds" } else { "milliseconds" };
    let seen = format!(
        "{} samples at {rate} Hz would last {:.0} min; in {word} they last {:.1} s at {:.0} Hz",
        recording.analog.len(),
        recording.analog.duration_s() / 60.0,
        recording.analog.duration_s() / times,
        rate * times
    );
    let remedy = if recording.format.starts_with("table") {
        format!("State in a rig file:\n[table]\ntime_unit = \"{unit}\"")
    } else {
        format!("State in a rig file:\nrate_hz = {}", (rate * times * 1e6).round() / 1e6)
    };
    Finding::new(&finding::TIMES_ODD, seen).with_remedy(remedy)
}

/// A rate that is not stated has its own finding.
pub(super) fn check(recording: &Recording, findings: &mut Vec<Finding>) {
    let rate = recording.analog.rate_hz;
    if !(rate > 0.0 && rate < MODEST_HZ) {
        return;
    }
    if rate <= ODD_HZ && recording.analog.len() >= ODD_SAMPLES {
        findings.push(odd(recording));
        return;
    }
    let kind = if rate < LOW_HZ { &finding::RATE_TOO_LOW } else { &finding::RATE_MODEST };
    findings.push(Finding::new(kind, format!("{rate} Hz, one sample every {:.1} ms", 1000.0 / rate)));
}
