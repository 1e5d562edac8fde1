//! Where the weight ends.
use super::reading;
use crate::analyse::Swing;
use mechanics::finding::{self, Finding};
use mechanics::{Recording, Rig};

/// A swing that began on both feet should end on the lead foot.
pub(super) fn check(rig: &Rig, recording: &Recording, swing: &Swing, findings: &mut Vec<Finding>) {
    let (Some(address), Some(lead), Some(trail)) = (&swing.address, &swing.ledger.lead, &swing.ledger.trail)
    else {
        return;
    };
    let samples = swing.ledger.net.up_n.len();
    let share = |from: usize, to: usize| {
        let sum = |column: &[f64]| column.get(from..to).unwrap_or_default().iter().sum::<f64>();
        let (lead, trail) = (sum(&lead.up_n), sum(&trail.up_n));
        trail / (lead + trail)
    };
    let begin = share(address.samples.start, address.samples.end);
    let end = share(samples - samples / 10, samples);
    let peak = swing.ledger.net.up_n.iter().copied().fold(f64::NAN, f64::max);
    // A swing: it begins before the last third on both feet, pushes well above weight, and ends elsewhere.
    let swings =
        !address.after_movement && address.samples.end < samples * 2 / 3 && (0.25..0.75).contains(&begin);
    if swings && peak > 1.2 * address.vertical_n && end > 0.65 {
        let (begin, end) = (100.0 * begin, 100.0 * end);
        let seen = format!("the trail foot carries {begin:.0} % at address and {end:.0} % at the end");
        let mut found = Finding::new(&finding::ENDS_ON_TRAIL, seen);
        found.remedy_here = exchanged(recording, rig, swing);
        findings.push(found);
    }
}

/// Each of two plates in the other's place: what undoes cables plugged in crosswise.
fn exchanged(recording: &Recording, rig: &Rig, swing: &Swing) -> Option<String> {
    let ([a], [b]) = (swing.split.lead.as_slice(), swing.split.trail.as_slice()) else { return None };
    let line = |k: usize| rig.plates.get(k).map(|p| reading::corners_line(&p.corners_m));
    let (first, second) = (a.min(b), a.max(b));
    let lines = [(*first, line(*second)?), (*second, line(*first)?)];
    Some(format!(
        "Check --target and --hand first. If they are right, the plates' cables are exchanged; these lines of a rig \
         file exchange the plates:{}",
        reading::blocks(recording, rig, &lines)
    ))
}
