//! What a plate reads while nobody is on it.
use crate::analyse::PlateShadow;
use mechanics::Rig;
use mechanics::finding::{self, Finding};

/// The force a plate reads while nobody is on it, where the recording shows that: a plate that is loaded
/// throughout shows no offset; only a low level far under any load is one.
pub(super) fn check(shadow: &PlateShadow, rig: &Rig, findings: &mut Vec<Finding>) {
    let low = shadow.low_n;
    let empty = low < 0.1 * shadow.peak_n.max(1.0) || !shadow.loaded;
    if empty && low.abs() > rig.load_floor_n / 4.0 {
        let seen = format!("about {low:+.1} N vertical while unloaded");
        let large = low.abs() > 5.0 * rig.load_floor_n;
        let kind = if large { &finding::OFFSET_LARGE } else { &finding::BASELINE_SEEN };
        findings.push(Finding::new(kind, seen).on_plate(shadow.plate));
    }
}
