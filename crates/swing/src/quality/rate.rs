//! Whether the recording is fast enough for a swing.
use mechanics::Recording;
use mechanics::finding::{self, Finding};

/// Under this rate a downswing of a quarter of a second has fewer than 50 samples, Hz. Common practice, no source.
const LOW_HZ: f64 = 200.0;

/// Under this rate loading rates are not well seen, Hz. Common practice, no source; the golf literature records at
/// 1000 Hz and more.
const MODEST_HZ: f64 = 500.0;

/// A rate that is not stated has its own finding.
pub(super) fn check(recording: &Recording, findings: &mut Vec<Finding>) {
    let rate = recording.analog.rate_hz;
    if !(rate > 0.0 && rate < MODEST_HZ) {
        return;
    }
    let kind = if rate < LOW_HZ { &finding::RATE_TOO_LOW } else { &finding::RATE_MODEST };
    findings.push(Finding::new(kind, format!("{rate} Hz, one sample every {:.1} ms", 1000.0 / rate)));
}
