//! Swings as C3D: the recording as it came, with our series as further analog channels in N and N·m at the rate of the channels,
//! and the centres of pressure as further points in laboratory axes at the rate of the markers.
use super::analysed::analysed;
use super::look::{Look, Manner};
use super::{NotWritten, Tell, Written, place, swing_name, words};
use crate::error::StudyError;
use crate::wanted::Wanted;
use formats::Read;
use formats::c3d::{Encoding, encode};
use mechanics::recording::Marker;
use mechanics::{Channel, Plate, Recording};
use rayon::prelude::*;
use std::path::Path;
use swing::Swing;
use view::series::{Column, columns};
use view::{Convention, Shown, Signs};

/// Axes of the points: the recording's own.
const LAB: Convention = Convention { signs: Signs::Reaction, frame: Shown::Lab };

/// Writes a file for every swing; gives the files, and the swings that have none.
pub fn write(
    look: &Look,
    folder: &Path,
    tell: &mut Tell<'_>,
) -> Result<(Vec<Written>, Vec<NotWritten>), StudyError> {
    let (mut files, mut missing) = (Vec::with_capacity(look.swings.len()), Vec::new());
    let (root, how) = (look.study.root.as_path(), &look.manner);
    for hand in look.swings.chunks(4 * rayon::current_num_threads()) {
        let worked: Vec<_> = hand.par_iter().with_max_len(1).map(|w| image(root, how, w)).collect();
        for (wanted, bytes) in hand.iter().zip(worked) {
            tell();
            match bytes {
                Err(why) => missing.push(NotWritten { swing: wanted.swing, why }),
                Ok(bytes) => {
                    let path = format!("{}.c3d", swing_name(wanted.swing));
                    place::put(&folder.join(&path), &bytes)?;
                    files.push(Written {
                        name: swing_name(wanted.swing),
                        path,
                        format: "c3d".into(),
                        title: format!("Swing {}", wanted.swing),
                        what: "The recording with our series.".into(),
                        fields: Vec::new(),
                        rows: 0,
                        table: None,
                    });
                }
            }
        }
    }
    Ok((files, missing))
}

/// The bytes of a swing's file. Errors, in words: why there is none.
fn image(root: &Path, how: &Manner, wanted: &Wanted) -> Result<Vec<u8>, String> {
    let (read, swing) = analysed(root, wanted, &how.basis)?;
    let recording = with_series(how, read, &swing)?;
    encode(&recording, &Encoding::PLAIN).map_err(|e| format!("it cannot be written as C3D: {e}"))
}

/// A recording with our series.
///
/// Errors, in words: series that were resampled, for which C3D has no second rate.
pub fn with_series(how: &Manner, read: Read, swing: &Swing) -> Result<Recording, String> {
    let Read { mut recording, rig } = read;
    let samples = swing.ledger.turn_nm.len();
    if samples != recording.analog.len() || swing.rate_hz != recording.analog.rate_hz {
        return Err(format!(
            "its series were resampled from {} to {} Hz, and C3D has one rate for all channels: export them as Parquet, or take \
             `resample` out of the rig file",
            recording.analog.rate_hz, swing.rate_hz
        ));
    }
    recording.plates = rig.plates;
    recording.up = Some(rig.up);
    if how.bare() {
        strip(&mut recording);
    }
    add_points(&mut recording, &columns(swing, LAB))?;
    for column in columns(swing, Convention::USUAL) {
        let unit = match column.unit {
            "N" => "N",
            "N·m" => "Nm",
            _ => continue, // time is the clock's, centres of pressure are points
        };
        if column.values.iter().all(|v| v.is_nan()) {
            continue; // one plate has no feet
        }
        let wanted = label(&column.name);
        let label = free(&wanted, recording.analog.channels.iter().map(|c| c.label.as_str()));
        let description =
            plain(&format!("{}; ground reaction on the player", words::without_label(how, &column.what)));
        recording.analog.channels.push(Channel {
            label,
            unit: unit.into(),
            description,
            samples: column.values,
        });
    }
    Ok(recording)
}

/// Centres of pressure as points.
fn add_points(recording: &mut Recording, columns: &[Column]) -> Result<(), String> {
    let samples = recording.analog.len();
    let frames = match recording.markers.first() {
        Some(marker) => marker.path_m.len(),
        None => {
            recording.marker_rate_hz = recording.analog.rate_hz;
            recording.marker_start_s = 0.0;
            samples
        }
    };
    if frames == 0 || !samples.is_multiple_of(frames) {
        return Err(format!("{samples} samples do not go evenly into {frames} frames of markers"));
    }
    let each = samples / frames;
    for side in ["lead", "trail", "net"] {
        let axis = |letter: &str| {
            columns.iter().find(|c| c.name == format!("{side}_cop_{letter}_m")).map(|c| c.values.as_slice())
        };
        let (Some(x), Some(y), Some(z)) = (axis("x"), axis("y"), axis("z")) else { continue };
        let at = |k: usize| {
            let one = |c: &[f64]| c.get(k).map_or(f32::NAN, |v| *v as f32);
            [one(x), one(y), one(z)]
        };
        // A frame stands at the first of its samples.
        let path_m: Vec<[f32; 3]> = (0..frames).map(|frame| at(frame * each)).collect();
        if path_m.iter().all(|p| p.iter().any(|v| v.is_nan())) {
            continue;
        }
        let wanted = format!("{}_COP", side.to_uppercase());
        let label = free(&wanted, recording.markers.iter().map(|m| m.label.as_str()));
        let description = format!("{side}: centre of pressure, laboratory axes; not seen where not defined");
        recording.markers.push(Marker { label, description, path_m });
    }
    Ok(())
}

/// "lead_target_n" as "LEAD_TARGET".
fn label(column: &str) -> String {
    let name = ["_n", "_nm"].iter().find_map(|unit| column.strip_suffix(unit)).unwrap_or(column);
    name.to_uppercase()
}

/// The label wanted, or the nearest that no other has.
fn free<'a>(wanted: &str, taken: impl Iterator<Item = &'a str>) -> String {
    let taken: Vec<String> = taken.map(|t| t.trim().to_uppercase()).collect();
    let mut tried = wanted.to_string();
    let mut number = 1;
    while taken.contains(&tried) {
        tried = if number == 1 { format!("UF_{wanted}") } else { format!("UF_{wanted}_{number}") };
        number += 1;
    }
    tried
}

/// Letters that every reader of C3D knows.
fn plain(text: &str) -> String {
    let text = text.replace(['–', '−'], "-").replace('·', "").replace('±', "+-");
    text.chars().map(|c| if c.is_ascii() { c } else { '?' }).collect()
}

/// Takes off everything that a person may have written: markers, events, texts, and channels that are no plate's. What is left
/// is the plates' own channels, by numbers.
fn strip(recording: &mut Recording) {
    recording.markers.clear();
    recording.marks.clear();
    let mut kept: Vec<usize> = recording.plates.iter().flat_map(|p| p.sensing.channels()).collect();
    kept.sort_unstable();
    kept.dedup();
    for plate in &mut recording.plates {
        renumber(plate, |old| kept.binary_search(&old).unwrap_or(0));
    }
    let mut channels = Vec::with_capacity(kept.len());
    for (number, from) in kept.iter().enumerate() {
        let Some(channel) = recording.analog.channels.get_mut(*from) else { continue };
        let samples = std::mem::take(&mut channel.samples);
        channels.push(Channel { label: format!("PLATE_{:02}", number + 1), samples, ..Channel::default() });
    }
    recording.analog.channels = channels;
}

/// Gives the channels of a plate other numbers.
pub fn renumber(plate: &mut Plate, number: impl Fn(usize) -> usize) {
    use mechanics::plate::Sensing;
    let new = |channel: &mut usize| *channel = number(*channel);
    match &mut plate.sensing {
        Sensing::Linear { channels, .. } => channels.iter_mut().for_each(new),
        Sensing::Reduced { force, centre, free_moment, .. } => {
            force.iter_mut().chain(centre.iter_mut().flatten()).chain(free_moment).for_each(new);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_are_short_and_nobody_elses() {
        assert_eq!(label("lead_target_n"), "LEAD_TARGET");
        assert_eq!(label("turn_couple_toe_nm"), "TURN_COUPLE_TOE");
        assert_eq!(free("TURN", ["Fz1", "turned"].into_iter()), "TURN");
        assert_eq!(free("TURN", ["turn "].into_iter()), "UF_TURN");
        assert_eq!(free("TURN", ["turn", "UF_turn"].into_iter()), "UF_TURN_2");
        assert_eq!(plain("shear couple, toe–heel"), "shear couple, toe-heel");
    }
}
