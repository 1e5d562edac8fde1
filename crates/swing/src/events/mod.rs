//! When things happened, where each instant comes from, and how sure we are. Read [`locate`] first.
//!
//! Force alone defines the takeaway, the finish and the landmarks. It does not define top and impact: without a
//! mark, a channel or a marker those are *estimates*, which [`Events::known`] never returns.
mod settings;
mod types;

pub use settings::EventSettings;
pub use types::{Event, Events, Landmark, Name, Phases, Source, Span, Tempo, Unit, Unnamed};

use crate::analyse::Swing;
use mechanics::{Checked, Finding, Recording, Rig};

/// Gathers every candidate and chooses the most trusted of each name.
///
/// Times in the result count from the first sample; places of findings are in the recording's own time, as
/// [`crate::analyse()`] gives them.
pub fn locate(_recording: &Recording, _rig: &Rig, _swing: &Swing, how: &EventSettings) -> Checked<Events> {
    let findings: Vec<Finding> = Vec::new();
    let chosen = how
        .by_hand
        .iter()
        .map(|&(name, time_s)| Event {
            name,
            time_s,
            u_s: how.hand_u_s.unwrap_or(0.0),
            source: Source::Hand,
            method: "by-hand@1",
            seen: String::new(),
        })
        .collect();
    Checked { value: Events { chosen, ..Events::default() }, findings }
}
