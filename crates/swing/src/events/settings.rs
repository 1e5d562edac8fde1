//! What a person may say about the events of a recording.
use super::types::Name;

/// What the user decides about events. No hidden default: every face states each field.
#[derive(Clone, Debug, PartialEq)]
pub struct EventSettings {
    /// Placed by hand.
    pub by_hand: Vec<ByHand>,
    /// Label of a marker on the clubhead; otherwise one is recognised by its label.
    pub club_marker: Option<String>,
}

impl EventSettings {
    /// Nothing stated. Not a `Default`: a face names it, so that what is left unstated can be seen.
    pub const UNSTATED: Self = Self { by_hand: Vec::new(), club_marker: None };
}

/// An event placed by hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ByHand {
    /// Which.
    pub name: Name,
    /// Seconds from the first analog sample.
    pub time_s: f64,
    /// Standard uncertainty, s; `None`: 5 ms, never less than half a sample.
    pub u_s: Option<f64>,
}

impl ByHand {
    /// With the usual uncertainty.
    pub fn at(name: Name, time_s: f64) -> Self {
        Self { name, time_s, u_s: None }
    }
}
