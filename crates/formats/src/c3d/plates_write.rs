//! Plates as the FORCE_PLATFORM group: the inverse of [`super::plates`].
use super::build::{float, group, int};
use super::decode::length_of;
use super::encode::{Encoding, Shape};
use super::error::C3dError;
use super::express::{Expressed, express};
use super::params::Group;
use super::plates;
use super::view::View;
use mechanics::{Plate, Recording, Sensing};

/// Each plate in its type.
pub(super) fn expressed(recording: &Recording, how: &Encoding) -> Result<Vec<Expressed>, C3dError> {
    let plates = &recording.plates;
    if let Some(types) = how.types.as_ref().filter(|t| t.len() != plates.len()) {
        let seen = format!("{} types stated for {} plates", types.len(), plates.len());
        return Err(C3dError::Inconsistent { what: "plate types", seen });
    }
    let mut out = Vec::with_capacity(plates.len());
    for (index, plate) in plates.iter().enumerate() {
        let asked = how.types.as_ref().and_then(|t| t.get(index).copied());
        let channels = recording.analog.channels.len();
        let wrong = match &plate.sensing {
            Sensing::Linear { channels: used, .. } => used.iter().any(|&c| c >= channels),
            Sensing::Reduced { force, centre, free_moment, .. } => {
                let rest = centre.iter().chain([free_moment]).flatten();
                force.iter().chain(rest).any(|&c| c >= channels)
            }
        };
        if wrong {
            let why = format!("it names a channel that is not among the {channels} of the recording");
            return Err(C3dError::PlateNotExpressible { plate: index + 1, kind: "any type".into(), why });
        }
        let expressed = express(&plate.sensing, asked, &recording.analog, how.length.metres());
        let refuse = |(kind, why)| C3dError::PlateNotExpressible { plate: index + 1, kind, why };
        out.push(expressed.map_err(refuse)?);
    }
    Ok(out)
}

pub(super) fn plates_group(
    recording: &Recording,
    how: &Encoding,
    shape: &Shape,
    plates: &[Expressed],
) -> Result<Group, C3dError> {
    let count = plates.len();
    if count > plates::MOST_PLATES {
        return Err(C3dError::TooLarge { what: "plates", count, limit: plates::MOST_PLATES });
    }
    let length = how.length.metres();
    let rows = plates.iter().map(|p| p.channels.len()).max().unwrap_or(6);
    let mut channels = Vec::new();
    for plate in plates {
        let numbers = plate.channels.iter().map(|&c| (c + 1) as u16);
        channels.extend(numbers.chain(std::iter::repeat(0)).take(rows));
    }
    let corners = recording.plates.iter().flat_map(|p| p.corners_m).flat_map(|c| c.to_array());
    let origins = plates.iter().flat_map(|p| p.origin_m.to_array());
    let units = |v: f64| (v / length) as f32;
    let mut list = vec![
        int("USED", &[], vec![count as u16]),
        int("TYPE", &[count], plates.iter().map(|p| u16::from(p.kind.code())).collect()),
        int("ZERO", &[2], zero(&recording.plates, shape)?),
        float("CORNERS", &[3, 4, count], corners.map(units).collect()),
        float("ORIGIN", &[3, count], origins.map(units).collect()),
        int("CHANNEL", &[rows, count], channels),
    ];
    let (r, c) =
        plates.iter().filter_map(|p| p.kind.matrix()).fold((0, 0), |(a, b), (r, c)| (a.max(r), b.max(c)));
    if r > 0 {
        let mut stored = Vec::with_capacity(r * c * count);
        for plate in plates {
            let element = |row: usize, column: usize| plate.matrix.get(row).and_then(|m| m.get(column));
            let by_column = (0..c).flat_map(|column| (0..r).map(move |row| (row, column)));
            stored.extend(by_column.map(|(row, column)| element(row, column).map_or(0.0, |v| *v as f32)));
        }
        list.push(float("CAL_MATRIX", &[r, c, count], stored));
    }
    Ok(group("FORCE_PLATFORM", "Force plates", list))
}

/// FORCE_PLATFORM:ZERO: one range of frames for all plates, 0 0 for none.
fn zero(plates: &[Plate], shape: &Shape) -> Result<Vec<u16>, C3dError> {
    let first = plates.first().and_then(|p| p.baseline);
    let refuse = |plate: usize, why: String| C3dError::PlateNotExpressible {
        plate: plate + 1,
        kind: "FORCE_PLATFORM:ZERO".into(),
        why,
    };
    if let Some(other) = plates.iter().position(|p| p.baseline != first) {
        return Err(refuse(other, "C3D has one baseline window for all plates".into()));
    }
    let Some((from, to)) = first else { return Ok(vec![0, 0]) };
    let whole = from.is_multiple_of(shape.samples) && to.is_multiple_of(shape.samples) && from < to;
    let frames = (from / shape.samples + 1, to / shape.samples);
    match (u16::try_from(frames.0), u16::try_from(frames.1)) {
        (Ok(first), Ok(last)) if whole => Ok(vec![first, last]),
        _ => Err(refuse(
            0,
            format!("the window of samples {from} to {to} is no range of whole frames up to 65,535"),
        )),
    }
}

/// Reads the plates back and compares: some plates only look as if a type could hold them.
pub(super) fn check_plates(
    recording: &Recording,
    bytes: &[u8],
    plates: &[Expressed],
) -> Result<(), C3dError> {
    let view = View::read(bytes)?;
    let mut findings = Vec::new();
    let length_m = length_of(&view.groups).unwrap_or(1e-3);
    let mut analog = recording.analog.clone();
    for (channel, unit) in plates.iter().flat_map(|p| &p.units) {
        if let Some(channel) = analog.channels.get_mut(*channel) {
            channel.unit.clone_from(unit);
        }
    }
    let again = plates::read(&view.groups, &view.layout, &analog, length_m, recording.up, &mut findings);
    for (index, (plate, expressed)) in recording.plates.iter().zip(plates).enumerate() {
        let read = again.iter().find(|p| p.name == (index + 1).to_string());
        if !read.is_some_and(|read| alike(plate, read)) {
            let said = findings.iter().map(|f| f.seen.as_str()).collect::<Vec<_>>().join("; ");
            let kind = format!("TYPE {}", expressed.kind.code());
            let why = format!(
                "reading it back gives another plate ({said}); state it with z down and its surface at negative z of its sensors"
            );
            return Err(C3dError::PlateNotExpressible { plate: index + 1, kind, why });
        }
    }
    Ok(())
}

/// The same plate to the precision of a float.
fn alike(a: &Plate, b: &Plate) -> bool {
    let scale = |v: &[glam::DVec3]| v.iter().map(|c| c.abs().max_element()).fold(1e-3, f64::max);
    let near = |a: f64, b: f64, scale: f64| (a - b).abs() <= 1e-6 * scale;
    let size = scale(&a.corners_m);
    let corners = a.corners_m.iter().zip(&b.corners_m).all(|(a, b)| a.abs_diff_eq(*b, 1e-6 * size));
    let sensing = match (&a.sensing, &b.sensing) {
        (
            Sensing::Linear { channels, columns, origin_m },
            Sensing::Linear { channels: channels_b, columns: columns_b, origin_m: origin_b },
        ) => {
            let largest = |row: usize| columns.iter().map(|c| c[row].abs()).fold(0.0, f64::max);
            let same =
                |row: usize| columns.iter().zip(columns_b).all(|(a, b)| near(a[row], b[row], largest(row)));
            channels == channels_b && (0..6).all(same) && origin_m.abs_diff_eq(*origin_b, 1e-6)
        }
        (
            Sensing::Reduced { force_gain, centre_gain, free_moment_gain, .. },
            Sensing::Reduced {
                force_gain: force_b, centre_gain: centre_b, free_moment_gain: moment_b, ..
            },
        ) => {
            force_gain.iter().zip(force_b).all(|(a, b)| near(*a, *b, a.abs()))
                && near(*centre_gain, *centre_b, *centre_gain)
                && near(*free_moment_gain, *moment_b, *free_moment_gain)
        }
        _ => false,
    };
    corners && sensing && a.baseline == b.baseline
}
