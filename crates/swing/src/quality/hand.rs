//! Whether the body turns the way a player of the hand given turns.
use super::pendulum::pendulum;
use super::reading;
use crate::address::Address;
use crate::analyse::Swing;
use mechanics::feet::Foot;
use mechanics::finding::{self, Finding};
use mechanics::{Hand, Recording, Rig};

/// Turns smaller than this are no swing's, N·m. Peaks of 40 to 100 N·m are usual (from memory, literature).
const LEAST_NM: f64 = 15.0;

/// So much larger must the wrong way be than the right one: in the backswing the turn is away from the target too.
const CLEARLY: f64 = 1.5;

/// The largest turn away from the target, where it is clearly larger than that toward it.
pub(super) struct Away {
    /// Sample at which it is.
    at: usize,
    /// Its size, N·m.
    away_nm: f64,
    /// The largest toward the target, N·m.
    toward_nm: f64,
}

/// Tells a swing whose body turns the wrong way.
pub(super) fn check(recording: &Recording, rig: &Rig, swing: &Swing, findings: &mut Vec<Finding>) {
    let Some(address) = &swing.address else { return };
    if let Some(seen) = away(&swing.series.net, address, swing.player.hand) {
        let text = format!(
            "about the net centre of pressure {:.0} N·m away from the target at {:.2} s, at most {:.0} N·m toward it",
            seen.away_nm,
            seen.at as f64 / swing.rate_hz + swing.start_s,
            seen.toward_nm
        );
        let mut found = Finding::new(&finding::TURNS_AWAY, text);
        found.remedy_here = remedy(recording, rig, swing, findings);
        findings.push(found);
    }
}

/// The hand or the forces: where quiet standing tells whose force the horizontal channels hold, one of the two; else the
/// hand first, and the lines that turn the forces where it is right.
fn remedy(recording: &Recording, rig: &Rig, swing: &Swing, findings: &[Finding]) -> Option<String> {
    let other = match swing.player.hand {
        Hand::Right => "left",
        Hand::Left => "right",
    };
    let standing = pendulum(&swing.series.net, swing.rate_hz);
    if standing.is_some_and(|seen| seen.reads_as_action()) {
        return Some(
            "Follow Q303: quiet standing says that the horizontal forces have the wrong sign.".into(),
        );
    }
    if standing.is_some_and(|seen| seen.reads_as_reaction()) {
        return Some(format!(
            "State --hand {other}: quiet standing says that the horizontal forces have the right sign. If that is not \
             the player's hand, look whether the plates stand where the rig says."
        ));
    }
    let lines = reading::turns_level(recording, rig, swing, findings)?;
    Some(format!(
        "Check the hand first: --hand {other}. If the hand is right, these lines turn the horizontal forces and the \
         vertical moment, and leave centres of pressure where they are:{lines}"
    ))
}

/// Compares the largest turn toward the target with the largest away from it, about the net centre of pressure, from
/// the address until the vertical force has fallen to weight again after its peak. Only recordings that look like a
/// swing are judged: quiet first, then a push well above weight, and the feet never off the plates.
pub(super) fn away(net: &Foot, address: &Address, hand: Hand) -> Option<Away> {
    let up: Vec<f64> = net.wrench.force_n.iter().map(|f| f.z).collect();
    let (peak, most) = largest(&up)?;
    let weight = address.vertical_n;
    let jumps = up.iter().any(|v| *v < 0.1 * weight);
    if address.after_movement || most < 1.2 * weight || peak <= address.samples.end || jumps {
        return None;
    }
    let fallen = (peak..up.len()).find(|k| up[*k] < weight).unwrap_or(up.len());
    let part = net.contact.get(address.samples.end..fallen)?;
    let toward: Vec<f64> = part.iter().map(|c| hand.turn_sign() * c.free_nm).collect();
    let away: Vec<f64> = toward.iter().map(|t| -t).collect();
    let ((_, toward), (at, away)) = (largest(&toward)?, largest(&away)?);
    let toward_nm = toward.max(0.0);
    let clear = away > LEAST_NM && away > CLEARLY * toward_nm;
    clear.then_some(Away { at: address.samples.end + at, away_nm: away, toward_nm })
}

/// Place and value of the largest number; `None` where there is none.
fn largest(column: &[f64]) -> Option<(usize, f64)> {
    let finite = column.iter().copied().enumerate().filter(|(_, v)| v.is_finite());
    finite.reduce(|best, now| if now.1 > best.1 { now } else { best })
}
