//! What a swing is measured with: everything that a person decided, as one text with one hash.
use crate::error::StudyError;
use crate::keep;
use mechanics::{Hand, Plate, Target};
use serde::{Deserialize, Serialize};
use swing::events::{ByHand, EventSettings, name_of};
use swing::{About, MeasureSettings, Settings};

/// What was decided for one swing. Its JSON is what is hashed, so the order of the fields is part of the format.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Recipe {
    /// Hash of the rig file's text; `None`: as the recording says.
    pub rig: Option<String>,
    /// Target as `--target` takes it; `None`: the rig's.
    pub target: Option<String>,
    /// "right" or "left"; `None`: right is assumed, with a finding.
    pub hand: Option<String>,
    /// Body mass, kg; `None`: the recording's, else quiet standing is weighed.
    pub mass_kg: Option<f64>,
    /// Label of the marker on the clubhead.
    pub club_marker: Option<String>,
    /// Whether estimates of events may stand in.
    pub estimates: bool,
    /// Events placed by hand.
    pub marks: Vec<Mark>,
}

/// An event placed by hand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Mark {
    /// "address", "takeaway", "top", "impact" or "finish".
    pub event: String,
    /// Seconds of the recording's own time.
    pub time_s: f64,
    /// Standard uncertainty, s; `None`: the usual.
    pub u_s: Option<f64>,
}

/// How a swing is looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct Basis {
    /// All plates put together as one.
    pub collapse: bool,
    /// Reference point of turn.
    pub about: About,
}

impl Mark {
    /// For the pipeline; `start_s`: the recording's first instant.
    fn by_hand(&self, start_s: f64) -> Option<ByHand> {
        Some(ByHand { name: name_of(&self.event)?, time_s: self.time_s - start_s, u_s: self.u_s })
    }
}

impl Recipe {
    /// As it is kept.
    pub fn text(&self) -> Result<String, StudyError> {
        serde_json::to_string(self).map_err(|e| StudyError::Bug(e.to_string()))
    }

    /// The name of the series that follow from this on a basis: events do not change them, the point of turn does.
    pub fn series_name(&self, original: &str, edition: &str, basis: &Basis) -> Result<String, StudyError> {
        let without = Self { marks: Vec::new(), estimates: false, club_marker: None, ..self.clone() };
        let (collapse, about) = (basis.collapse, &basis.about);
        let whole = format!("{original}\n{}\n{edition}\ncollapse {collapse}\nabout {about}", without.text()?);
        Ok(keep::hash(whole.as_bytes()))
    }

    /// For the pipeline. `plates`: the rig's; `start_s`: the recording's first instant.
    ///
    /// Errors: a target that is none in this rig, in words.
    pub fn settings(
        &self,
        basis: &Basis,
        plates: &[Plate],
        start_s: f64,
    ) -> Result<(Settings, MeasureSettings), String> {
        let target = self
            .target
            .as_deref()
            .map(|text| Target::parse(text, plates).ok_or(format!("\"{text}\" is no target in this rig")))
            .transpose()?;
        let hand = self.hand.as_deref().map(|word| if word == "left" { Hand::Left } else { Hand::Right });
        let mut by_hand: Vec<_> = self.marks.iter().filter_map(|m| m.by_hand(start_s)).collect();
        by_hand.sort_by_key(|b| b.name);
        let settings = Settings {
            target,
            hand,
            mass_kg: self.mass_kg,
            about: basis.about.clone(),
            collapse: basis.collapse,
            conditioning: None,
        };
        let events = EventSettings { by_hand, club_marker: self.club_marker.clone() };
        Ok((settings, MeasureSettings { events, estimates: self.estimates }))
    }
}
