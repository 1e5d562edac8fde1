//! Plates of one rig that hold opposite forces.
use super::reading;
use crate::analyse::Swing;
use mechanics::finding::{self, Finding};
use mechanics::{Recording, Rig};

/// Some loaded plates had to be turned and others not. Which of the two sorts is the odd one the pendulum tells where
/// it can; else those that were turned are named.
pub(super) fn check(recording: &Recording, rig: &Rig, swing: &Swing, findings: &mut Vec<Finding>) {
    let stated = |k: usize| rig.plates.get(k).is_none_or(|p| p.measures != mechanics::Measures::BySign);
    let loaded: Vec<usize> = swing.plates.iter().filter(|s| s.loaded).map(|s| s.plate).collect();
    let (turned, kept): (Vec<usize>, Vec<usize>) =
        loaded.iter().copied().partition(|k| reading::turned(*k, rig, findings));
    if turned.is_empty() || kept.is_empty() || loaded.iter().all(|k| stated(*k)) {
        return;
    }
    let told = reading::agrees(recording, rig, swing, findings, [&turned, &kept]);
    let (odd, remedy) = match told {
        Some((1, remedy)) => (&kept, Some(remedy)),
        Some((_, remedy)) => (&turned, Some(remedy)),
        None => (&turned, None),
    };
    for (k, plate) in odd.iter().enumerate() {
        let seen = if turned.contains(plate) {
            "its vertical force is negative under load, that of others is not"
        } else {
            "its vertical force is positive under load, that of others is negative"
        };
        let mut found = Finding::new(&finding::SIGNS_DIFFER, seen).on_plate(*plate);
        if k == 0 {
            found.remedy_here = remedy.clone();
        }
        findings.push(found);
    }
}
