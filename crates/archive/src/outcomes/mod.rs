//! What the ball and the club did, from other instruments: read with their units, matched to swings, kept in SI.
pub mod columns;
pub mod matching;
pub mod names;
pub mod rows;
mod store;

use serde::Serialize;

/// A figure of a row, before it belongs to a swing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Given {
    /// Name under which it is kept.
    pub name: String,
    /// SI.
    pub value: f64,
    /// The SI unit.
    pub unit: &'static str,
    /// As it was given, with its unit.
    pub given: String,
}

/// An outcome of a swing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outcome {
    /// The swing.
    pub swing: i64,
    /// Name.
    pub name: String,
    /// SI.
    pub value: f64,
    /// The SI unit.
    pub unit: String,
    /// As it was given, with its unit.
    pub given: String,
    /// The file it came from.
    pub source: String,
}

/// An outcome that took the place of another.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Replaced {
    /// The swing.
    pub swing: i64,
    /// Name.
    pub name: String,
    /// What was there, as it was given.
    pub before: String,
    /// What is there now.
    pub after: String,
}

/// What writing outcomes did.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Written {
    /// Swings that have outcomes from it.
    pub swings: usize,
    /// Outcomes that were not there before.
    pub new: usize,
    /// Outcomes that were there with the same value.
    pub same: usize,
    /// Outcomes that were there with another value.
    pub replaced: Vec<Replaced>,
}
