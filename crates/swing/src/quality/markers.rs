//! Feet seen by markers against feet seen by plates.
use crate::analyse::Swing;
use crate::footmarks;
use mechanics::finding::{self, Finding};
use mechanics::{Hand, Recording};

/// Compares feet seen by markers with feet seen by plates, at address.
pub(super) fn check(recording: &Recording, swing: &Swing, findings: &mut Vec<Finding>) {
    let (Some(address), Some(feet)) = (&swing.address, &swing.series.feet) else { return };
    let to_marker = |sample: usize| {
        ((sample as f64 / swing.rate_hz - recording.marker_start_s) * recording.marker_rate_hz).max(0.0)
            as usize
    };
    let samples = to_marker(address.samples.start)..to_marker(address.samples.end).saturating_add(1);
    let marks = footmarks::find(recording, &swing.frame, samples);
    if marks.len() < 2 {
        return;
    }
    let left_leads = swing.player.hand == Hand::Right;
    for (foot, name, left) in [(&feet.lead, "lead", left_leads), (&feet.trail, "trail", !left_leads)] {
        let window = foot.contact.get(address.samples.clone()).unwrap_or_default();
        let cop = crate::analyse::mean_over(window.iter().map(|c| c.cop_m));
        let own = marks.iter().find(|m| m.left == left).map_or(f64::NAN, |m| m.distance_m(cop));
        let other = marks.iter().find(|m| m.left != left).map_or(f64::NAN, |m| m.distance_m(cop));
        let side = if left { "left" } else { "right" };
        if other < own {
            findings.push(Finding::new(
                &finding::FEET_SWAPPED,
                format!(
                    "the {name} foot should be the {side} one, but its centre of pressure lies {:.0} mm from the \
                     other foot's markers and {:.0} mm from its own",
                    other * 1e3,
                    own * 1e3
                ),
            ));
            // The other foot can only say the same.
            return;
        } else if own > 0.12 {
            let mut found = Finding::new(
                &finding::MARKERS_DISAGREE,
                format!(
                    "the {name} foot's centre of pressure lies {:.0} mm from its heel–toe line",
                    own * 1e3
                ),
            );
            if let Some(&plate) = foot.plates.first() {
                found = found.on_plate(plate);
            }
            findings.push(found);
        }
    }
}
