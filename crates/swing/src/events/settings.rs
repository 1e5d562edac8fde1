//! What a person may say about the events of a recording.
use super::types::Name;

/// What the user decides about events. No hidden default: every face states each field.
#[derive(Clone, Debug, PartialEq)]
pub struct EventSettings {
    /// Placed by hand: name, and seconds from the first analog sample.
    pub by_hand: Vec<(Name, f64)>,
    /// Label of a marker on the clubhead; otherwise one is recognised by its label.
    pub club_marker: Option<String>,
    /// Standard uncertainty of an instant placed by hand, s; `None`: 5 ms, never less than half a sample.
    pub hand_u_s: Option<f64>,
}

impl EventSettings {
    /// Nothing stated. Not a `Default`: a face names it, so that what is left unstated can be seen.
    pub const UNSTATED: Self = Self { by_hand: Vec::new(), club_marker: None, hand_u_s: None };
}
