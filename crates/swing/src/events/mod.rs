//! When things happened, where each instant comes from, and how sure we are. Read [`locate`] first.
//!
//! Force alone defines the takeaway, the finish and the landmarks. It does not define top and impact: without a
//! mark, a channel or a marker those are *estimates*, which [`Events::known`] never returns.
mod accounts;
mod channel;
mod choose;
mod departure;
mod estimate;
mod extremum;
mod file;
mod force;
mod landmarks;
mod marker;
mod movement;
mod path;
mod settings;
mod types;
mod words;

pub use marker::same_marker;
pub use settings::{ByHand, EventSettings};
pub use types::{Event, Events, Landmark, Name, Phases, Source, Span, Tempo, Unit, Unnamed};
pub use words::name_of;

use crate::analyse::Swing;
use accounts::Accounts;
use mechanics::finding::{self, Checked, Finding};
use mechanics::{Recording, Rig};

/// Gathers every candidate and chooses the most trusted of each name ([`Source`] is in the order of trust).
///
/// `recording` and `rig` are those that `swing` was made of. Times in the result count from the first analog
/// sample; places of findings are in the recording's own time, as [`crate::analyse()`] gives them.
/// Undefined: a name without a candidate is in [`Events::absent`], with the reason.
pub fn locate(recording: &Recording, rig: &Rig, swing: &Swing, how: &EventSettings) -> Checked<Events> {
    let mut findings = Vec::new();
    let mut found = Vec::new();
    let mut out = Events::default();
    file::by_hand(recording, how, &mut found, &mut findings);
    file::marks(recording, &mut out, &mut found, &mut findings);
    channel::stated(recording, rig, &mut out, &mut found, &mut findings);

    let accounts = Accounts::of(swing);
    let movement = match &accounts {
        None => Err("the recording is too short, or its rate is not known".to_string()),
        Some(accounts) => movement::find(swing, accounts),
    };
    let unlike = match (&accounts, &movement) {
        (Some(accounts), Ok(movement)) => movement::unlike_a_swing(swing, accounts, movement),
        (_, Err(why)) => Some(why.clone()),
        (None, Ok(_)) => None,
    };
    let mut absent = Vec::new();
    let mut recognised = Vec::new();
    marker::candidates(recording, how, unlike.is_none(), &mut found, &mut findings);
    if let (Some(accounts), Ok(movement), None) = (&accounts, &movement, &unlike) {
        force::candidates(accounts, movement, &mut found, &mut absent);
        let samples = swing.ledger.net.up_n.len();
        let sample = |block: usize| (block * accounts.block).min(samples);
        let within = sample(movement.begin)..movement.end.map_or(samples, sample);
        out.landmarks = landmarks::landmarks(swing, within, rig.budget.skew_s);
        // An impact is heard about the time of the largest force, not at the finish.
        let peak_s = accounts.time_s(movement.peak as f64);
        let window = (accounts.time_s(movement.begin as f64), peak_s + 0.5);
        recognised = channel::recognised(recording, rig, window);
        found.extend(recognised.iter().cloned());
        estimate::candidates(&found.clone(), &out.landmarks, accounts, &mut found);
        if let Some(other) = movement.another {
            let seen = format!("another one at {:.2} s", accounts.time_s(other as f64) + swing.start_s);
            findings.push(Finding::new(&finding::TWO_MOVEMENTS, seen).during(
                accounts.time_s(movement.peak.min(other) as f64),
                accounts.time_s(movement.peak.max(other) as f64),
            ));
        }
    }
    choose::choose(found, swing.start_s, &mut out, &mut findings);
    for event in recognised.iter().filter(|e| out.get(e.name) == Some(*e)) {
        findings.push(Finding::new(&finding::EVENT_CHANNEL_RECOGNISED, event.seen.clone()));
    }
    reasons(&mut out, absent, unlike, &mut findings);
    // As everywhere: people count in the recording's own time.
    for span in findings.iter_mut().filter_map(|f: &mut Finding| f.span_s.as_mut()) {
        *span = (span.0 + swing.start_s, span.1 + swing.start_s);
    }
    Checked { value: out, findings }
}

/// Says of each name without an event why there is none.
fn reasons(
    out: &mut Events,
    absent: Vec<(Name, String)>,
    unlike: Option<String>,
    findings: &mut Vec<Finding>,
) {
    if let Some(why) = &unlike
        && out.chosen.is_empty()
    {
        findings.push(Finding::new(&finding::NO_SWING_SEEN, why.clone()));
    }
    let mut given = std::mem::take(&mut out.absent);
    given.extend(absent);
    for name in Name::ALL {
        if out.get(name).is_some() {
            continue;
        }
        let own = given.iter().find(|(n, _)| *n == name).map(|(_, why)| why.clone());
        let nothing = "nothing in the recording shows it".to_string();
        out.absent.push((name, own.or_else(|| unlike.clone()).unwrap_or(nothing)));
    }
}
