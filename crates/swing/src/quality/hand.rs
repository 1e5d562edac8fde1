//! Whether the body turns the way a player of the hand given turns.
use crate::analyse::Swing;
use mechanics::finding::{self, Finding};

/// Turns smaller than this are no swing's, N·m. Peaks of 40 to 100 N·m are usual (from memory, literature).
const LEAST_NM: f64 = 15.0;

/// So much larger must the wrong way be than the right one: in the backswing the turn is away from the target too.
const CLEARLY: f64 = 1.5;

/// Compares the largest turn toward the target with the largest away from it, about the net centre of pressure, from
/// the address until the vertical force has fallen to weight again after its peak. Only recordings that look like a
/// swing are judged: quiet first, then a push well above
/// weight, and the feet never off the plates.
pub(super) fn check(swing: &Swing, findings: &mut Vec<Finding>) {
    let Some(address) = swing.address.as_ref().filter(|a| !a.after_movement) else { return };
    let up = &swing.ledger.net.up_n;
    let Some((peak, most)) = largest(up) else { return };
    if most < 1.2 * address.vertical_n || peak <= address.samples.end {
        return;
    }
    // Whoever leaves the ground jumps.
    if up.iter().any(|v| *v < 0.1 * address.vertical_n) {
        return;
    }
    let fallen = (peak..up.len()).find(|k| up[*k] < address.vertical_n).unwrap_or(up.len());
    let sign = swing.player.hand.turn_sign();
    let turn: Vec<f64> = swing.series.net.contact.iter().map(|c| sign * c.free_nm).collect();
    let part = turn.get(address.samples.end..fallen).unwrap_or_default();
    let away: Vec<f64> = part.iter().map(|t| -t).collect();
    let (Some((_, toward)), Some((at, away))) = (largest(part), largest(&away)) else { return };
    if away > LEAST_NM && away > CLEARLY * toward.max(0.0) {
        let at_s = (address.samples.end + at) as f64 / swing.rate_hz;
        let seen = format!(
            "about the net centre of pressure {away:.0} N·m away from the target at {:.2} s, at most {:.0} N·m toward it",
            at_s + swing.start_s,
            toward.max(0.0)
        );
        findings.push(Finding::new(&finding::TURNS_AWAY, seen));
    }
}

/// Place and value of the largest number; `None` where there is none.
fn largest(column: &[f64]) -> Option<(usize, f64)> {
    let finite = column.iter().copied().enumerate().filter(|(_, v)| v.is_finite());
    finite.reduce(|best, now| if now.1 > best.1 { now } else { best })
}
