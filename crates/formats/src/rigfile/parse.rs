//! TOML text to a [`RigFile`], with errors that help.
use super::error::{RigError, RigFault, line_at};
use super::schema::{RigFile, Source};
use super::words::nearest;

/// Keys that belong above the first [[plate]]; below it TOML gives them to the plate.
const TOP_KEYS: [&str; 5] = ["up", "target", "load_floor_n", "rate_hz", "table"];
/// Keys of a [[plate]] that people put inside `six`, `piezo`, `reduced` or at the top.
const PLATE_KEYS: [&str; 12] = [
    "force_unit",
    "moment_unit",
    "origin_m",
    "depth_mm",
    "force",
    "z",
    "corners_m",
    "corners_mm",
    "size_m",
    "centre_m",
    "angle_deg",
    "cover_mm",
];

/// Reads a rig file. `name` is the file's name, for errors.
///
/// # Errors
/// [`RigFault::Syntax`] with the line, and a suggestion where a key or a word is nearly right.
pub fn parse(name: &str, text: &str) -> Result<RigFile, RigError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    match toml::from_str::<RigFile>(text) {
        Ok(mut rig) => {
            rig.source = Source { name: name.to_owned(), text: text.to_owned() };
            Ok(rig)
        }
        Err(error) => {
            let line = error.span().map(|span| line_at(text, span.start));
            let message = error.message().trim().replace('\n', "; ");
            let hint = hint(&message);
            Err(RigError { file: name.to_owned(), line, fault: Box::new(RigFault::Syntax { message, hint }) })
        }
    }
}

/// A suggestion for an unknown key or word: the reader's message names it and lists the known ones in backticks.
fn hint(message: &str) -> String {
    if !message.starts_with("unknown ") {
        return String::new();
    }
    let mut words = message.split('`').skip(1).step_by(2);
    let Some(wrong) = words.next() else { return String::new() };
    let known: Vec<&str> = words.collect();
    let in_plate = known.contains(&"corners_m");
    if in_plate && TOP_KEYS.contains(&wrong) {
        return format!("; `{wrong}` belongs above the first [[plate]]");
    }
    if !in_plate && PLATE_KEYS.contains(&wrong) {
        return format!("; `{wrong}` belongs to the [[plate]] itself, on a line of its own");
    }
    nearest(wrong, known.into_iter()).map_or_else(String::new, |near| format!("; did you mean `{near}`?"))
}
