//! What an export says about itself: conventions, the meaning of ± and of an empty cell, what was left out.
use super::look::Manner;
use crate::log::PROGRAM;
use crate::wanted::edition;
use serde_json::{Value, json};
use swing::About;
use view::Convention;
use view::quantity::COVERAGE;
use view::series::UNLOADED;

/// The manual's page of frames, signs and formulas: goes with every package.
pub const SIGNS: &str = include_str!("../../../../docs/signs.md");

/// The reference point of turn in words; the label of a marker is not told without identity.
pub fn about(how: &Manner) -> String {
    match &how.basis.about {
        About::Marker(_) if how.bare() => "a marker".into(),
        point => view::words::about(point),
    }
}

/// A text about columns, without the label of a marker that it may name.
pub fn without_label(how: &Manner, text: &str) -> String {
    text.replace(&view::words::about(&how.basis.about), &about(how))
}

/// The name of the study; without identity, none.
pub fn name(how: &Manner) -> &str {
    if how.bare() { "A study of golf swings on force plates" } else { &how.settings.name }
}

/// What holds for every number, for machines.
pub fn conventions(how: &Manner) -> Value {
    json!({
        "units": "SI; the unit is stated for every column, or in every row",
        "signs": Convention::USUAL.sentence(),
        "turn_about": about(how),
        "plus_minus": plus_minus(),
        "coverage_factor": COVERAGE,
        "empty": EMPTY,
        "unloaded_foot": UNLOADED,
        "time": TIME,
        "collapsed": how.basis.collapse,
        "estimates": how.settings.estimates,
        "identity": identity(how),
        "exported_by": PROGRAM,
        "methods": "which program and which edition of its methods measured a swing stands in swings; series are made anew",
        "series_methods": edition(),
    })
}

/// The meaning of ±.
pub fn plus_minus() -> String {
    format!(
        "u is a standard uncertainty (one standard deviation); plus_minus_95 is the half width of a 95 % interval, \
         {COVERAGE} times u (JCGM 100:2008, 6.2)"
    )
}

/// The meaning of an empty cell.
pub const EMPTY: &str =
    "an empty cell (null) is not defined or not stated, never 0; a figure without a value says why in absent";

/// The meaning of times.
pub const TIME: &str =
    "times of a swing are seconds of its recording's own clock; swings.start_s is the first sample";

/// What may be known from it.
pub fn identity(how: &Manner) -> &'static str {
    if how.bare() { WITHOUT } else { WITH }
}

const WITH: &str = "players stand under the aliases of the study, with everything that was written about them; handle it as personal data";

const WITHOUT: &str = "players are numbered in the order in which they came into the study, as swings and sessions are, so that \
     the study's keeper can find them again; no names, free text, files, days or times are told, but days since a player's first \
     session. It is not anonymous: body weight, handicap and the movement itself may be known again by somebody who knows \
     the player";

/// The same as one line of text inside a file.
pub fn about_file(how: &Manner) -> String {
    json!({ "study": name(how), "conventions": conventions(how) }).to_string()
}
