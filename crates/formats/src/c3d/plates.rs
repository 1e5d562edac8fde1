//! The FORCE_PLATFORM group as plates.
//!
//! Source: C3D user guide, FORCE_PLATFORM group and TYPE-1 to TYPE-7; signs of ORIGIN as found in measured files.
//! Whatever is odd becomes a finding; a plate that cannot be understood is left out and the others stay.
use super::corners::{Order, normal, order, repaired};
use super::layout::Layout;
use super::params::{Group, Parameter, find};
use super::sensing::{self, PlateType, Wiring};
use glam::DVec3;
use mechanics::finding::{
    CORNERS_DEGENERATE, CORNERS_EXCHANGED, CORNERS_NORMAL_UP, FILE_NO_PLATES, FILE_PARAMETER_ODD,
    FILE_PLATE_INCOMPLETE, FILE_PLATE_TYPE_UNKNOWN, Finding, ORIGIN_TURNED, UNITS_ASSUMED,
};
use mechanics::{Analog, Axis, Measures, Plate};

/// More plates than this are a damaged count.
pub(super) const MOST_PLATES: usize = 64;

/// How many plates FORCE_PLATFORM:USED states.
pub(super) fn used(groups: &[Group]) -> Option<usize> {
    find(groups, GROUP, "USED").and_then(|p| p.count(0))
}

const GROUP: &str = "FORCE_PLATFORM";

/// Corners of all plates as written, in the file's length unit; `None` where a value is missing.
pub(super) fn raw_corners(groups: &[Group], plate: usize) -> Option<[DVec3; 4]> {
    let parameter = find(groups, GROUP, "CORNERS")?;
    let mut out = [DVec3::ZERO; 4];
    for (k, corner) in out.iter_mut().enumerate() {
        *corner = vector(parameter, 12 * plate + 3 * k)?;
    }
    Some(out)
}

fn vector(parameter: &Parameter, at: usize) -> Option<DVec3> {
    Some(DVec3::new(parameter.number(at)?, parameter.number(at + 1)?, parameter.number(at + 2)?))
}

/// All plates of the file, in its order. `length_m`: metres per unit of length; `up`: the file's upward axis, if known.
pub(super) fn read(
    groups: &[Group],
    layout: &Layout,
    analog: &Analog,
    length_m: f64,
    up: Option<Axis>,
    findings: &mut Vec<Finding>,
) -> Vec<Plate> {
    let Some(stated) = used(groups).filter(|&n| n > 0) else {
        let seen = match find(groups, GROUP, "USED") {
            Some(_) => "FORCE_PLATFORM:USED is 0 or no number",
            None => "there is no FORCE_PLATFORM:USED",
        };
        findings.push(Finding::new(&FILE_NO_PLATES, seen));
        return Vec::new();
    };
    if stated > MOST_PLATES {
        let seen = format!("FORCE_PLATFORM:USED is {stated}; {MOST_PLATES} were looked for");
        findings.push(Finding::new(&FILE_PARAMETER_ODD, seen));
    }
    let places = places(groups, stated.min(MOST_PLATES), length_m, up);
    let baseline = baseline(groups, layout, findings);
    let mut plates = Vec::new();
    for (number, place) in (1..).zip(places) {
        // Findings of a plate that is left out carry no index: there is no such plate in the recording.
        let index = plates.len();
        let mut own = Vec::new();
        let plate = one(groups, analog, number, place, length_m, &mut own);
        let left_out = plate.is_none();
        findings.extend(own.into_iter().map(|f| if left_out { f } else { f.on_plate(index) }));
        plates.extend(plate.map(|plate| Plate { baseline, ..plate }));
    }
    plates
}

/// Where a plate lies.
struct Place {
    /// Corners in order, m; `None` where CORNERS is too short or the corners span nothing.
    corners_m: Option<[DVec3; 4]>,
    /// As written.
    order: Order,
    /// The plate's z axis points up.
    normal_up: bool,
    /// In words, what was exchanged.
    note: Option<String>,
}

/// Corners of all plates, put in order; exchanged ones take the orientation of their neighbours.
fn places(groups: &[Group], count: usize, length_m: f64, up: Option<Axis>) -> Vec<Place> {
    let written: Vec<_> =
        (0..count).map(|p| raw_corners(groups, p).map(|c| c.map(|corner| corner * length_m))).collect();
    let orders: Vec<_> = written.iter().map(|c| c.as_ref().map_or(Order::Degenerate, order)).collect();
    let sound =
        || written.iter().zip(&orders).filter(|(_, o)| **o == Order::Round).filter_map(|(c, _)| c.as_ref());
    let up = up.map_or_else(|| up_of_normals(sound().map(normal)), Axis::unit);
    let ups = sound().filter(|c| normal(c).dot(up) > 0.0).count();
    let downs = sound().count() - ups;
    let mut out = Vec::new();
    for (corners, order) in written.into_iter().zip(orders) {
        let Some(corners) = corners.filter(|_| order != Order::Degenerate) else {
            out.push(Place { corners_m: None, order, normal_up: false, note: None });
            continue;
        };
        let [first, second] = repaired(&corners, order);
        let wanted_up = if ups == downs { normal(&first).dot(up) > 0.0 } else { ups > downs };
        let take_second = (normal(&first).dot(up) > 0.0) != wanted_up;
        let note = match (order, take_second) {
            (Order::Crossed34, false) => Some("corners 3 and 4"),
            (Order::Crossed34, true) => Some("corners 1 and 2"),
            (Order::Crossed23, false) => Some("corners 2 and 3"),
            (Order::Crossed23, true) => Some("corners 1 and 4"),
            _ => None,
        };
        let why = if ups == downs {
            "corner 1 keeps its place"
        } else {
            "so it faces as the file's other plates do"
        };
        let taken = if take_second && note.is_some() { second } else { first };
        out.push(Place {
            corners_m: Some(taken),
            order,
            normal_up: normal(&taken).dot(up) > 0.0,
            note: note.map(|pair| format!("the outline crosses itself; {pair} were exchanged back ({why})")),
        });
    }
    out
}

/// The positive laboratory axis nearest to the plates' normals; z where there are none.
fn up_of_normals(normals: impl Iterator<Item = DVec3>) -> DVec3 {
    let sum = normals.fold(DVec3::ZERO, |s, n| s + n.abs());
    if sum.x > sum.y && sum.x > sum.z {
        DVec3::X
    } else if sum.y > sum.z {
        DVec3::Y
    } else {
        DVec3::Z
    }
}

/// FORCE_PLATFORM:ZERO as analog samples, from (included) to (not included), counted from 0.
///
/// The parameter counts stored frames from 1, both ends included; a first 0 means 1, 0 0 none, as does an empty range.
fn baseline(groups: &[Group], layout: &Layout, findings: &mut Vec<Finding>) -> Option<(usize, usize)> {
    let zero = find(groups, GROUP, "ZERO")?;
    let (Some(first), Some(last)) = (zero.count(0), zero.count(1)) else {
        let seen = "FORCE_PLATFORM:ZERO does not hold two frame numbers; no baseline window was taken";
        findings.push(Finding::new(&FILE_PARAMETER_ODD, seen));
        return None;
    };
    let first = first.max(1);
    if last < first || layout.channels == 0 {
        return None;
    }
    if first > layout.frames {
        let seen = format!("FORCE_PLATFORM:ZERO is {first} to {last}, the file has {} frames", layout.frames);
        findings.push(Finding::new(&FILE_PARAMETER_ODD, seen));
        return None;
    }
    let last = last.min(layout.frames);
    Some(((first - 1) * layout.samples_per_frame, last * layout.samples_per_frame))
}

/// One plate, or `None` with findings that say why it is left out. `number` counts from 1.
fn one(
    groups: &[Group],
    analog: &Analog,
    number: usize,
    place: Place,
    length_m: f64,
    findings: &mut Vec<Finding>,
) -> Option<Plate> {
    let index = number - 1;
    let code = find(groups, GROUP, "TYPE").and_then(|p| p.count(index));
    let Some(code) = code else {
        let seen = format!("plate {number}: FORCE_PLATFORM:TYPE has no entry for it; left out");
        findings.push(Finding::new(&FILE_PLATE_INCOMPLETE, seen));
        return None;
    };
    let Some(kind) = PlateType::from_code(code) else {
        let seen = format!("plate {number} is TYPE {code}; types 1 to 7 are understood; left out");
        findings.push(Finding::new(&FILE_PLATE_TYPE_UNKNOWN, seen));
        return None;
    };
    let Some(corners_m) = place.corners_m else {
        let (finding, why) = match raw_corners(groups, index) {
            None => {
                (&FILE_PLATE_INCOMPLETE, "FORCE_PLATFORM:CORNERS has fewer than 12 numbers for it".into())
            }
            Some(corners) => (&CORNERS_DEGENERATE, format!("corners {}", list(&corners))),
        };
        findings.push(Finding::new(finding, format!("plate {number}: {why}; left out")));
        return None;
    };
    if let Some(note) = &place.note {
        findings.push(Finding::new(&CORNERS_EXCHANGED, format!("plate {number}: {note}")));
    }
    if place.normal_up {
        let seen = format!(
            "plate {number}: corners {} put the plate's z axis up; kept as written",
            list(&corners_m)
        );
        findings.push(Finding::new(&CORNERS_NORMAL_UP, seen));
    }
    let incomplete =
        |why: String| Finding::new(&FILE_PLATE_INCOMPLETE, format!("plate {number}: {why}; left out"));

    let channels = match channels(groups, index, kind, analog) {
        Ok(channels) => channels,
        Err(why) => {
            findings.push(incomplete(why));
            return None;
        }
    };
    let matrix = match matrix(groups, index, kind) {
        Ok(matrix) => matrix,
        Err(why) => {
            findings.push(incomplete(why));
            return None;
        }
    };
    let written = find(groups, GROUP, "ORIGIN").and_then(|p| vector(p, 3 * index));
    let written = match written {
        Some(origin) if origin.is_finite() => origin,
        _ if matches!(kind, PlateType::Three | PlateType::Six | PlateType::Seven) => {
            findings.push(incomplete(
                "FORCE_PLATFORM:ORIGIN, which holds the distances between its sensors, is missing".into(),
            ));
            return None;
        }
        _ => {
            if kind != PlateType::One {
                let seen = format!("plate {number}: FORCE_PLATFORM:ORIGIN is missing; (0, 0, 0) was taken");
                findings.push(Finding::new(&FILE_PARAMETER_ODD, seen));
            }
            DVec3::ZERO
        }
    };
    let origin = turned(written, kind, place.normal_up);
    if origin != written {
        let seen = format!(
            "plate {number}, TYPE {}: ORIGIN is {}, read as {}",
            kind.code(),
            shown(written),
            shown(origin)
        );
        findings.push(Finding::new(&ORIGIN_TURNED, seen));
    }
    let units: Vec<&str> =
        channels.iter().map(|&c| analog.channels.get(c).map_or("", |c| c.unit.as_str())).collect();
    let wiring = Wiring {
        kind,
        channels: &channels,
        units: &units,
        matrix: &matrix,
        origin_m: origin * length_m,
        length_m,
    };
    let (mut sensing, assumed) = sensing::build(&wiring);
    for seen in assumed {
        findings.push(Finding::new(&UNITS_ASSUMED, format!("plate {number}: {seen}")));
    }
    if let Some(seen) = sensing::fit_moments(&mut sensing, kind, analog, &corners_m) {
        findings.push(Finding::new(&UNITS_ASSUMED, format!("plate {number}: {seen}")));
    }
    debug_assert!(place.order != Order::Degenerate);
    Some(Plate {
        name: number.to_string(),
        corners_m,
        sensing,
        measures: Measures::BySign,
        cover_m: 0.0,
        baseline: None,
        foot: None,
        kind: kind.label().into(),
    })
}

/// A vector with no more digits than the file's floats hold.
fn shown(v: DVec3) -> String {
    let [x, y, z] = v.to_array().map(|c| c as f32);
    format!("({x}, {y}, {z})")
}

/// ORIGIN with the sign mistakes of the wild undone.
///
/// - Types 3, 6 and 7 hold two half distances, which are lengths, and a depth that is negative by definition (the
///   formulas belong to axes with z down): magnitudes are taken. A measured file whose corners put z up confirms it: its
///   maker's own table follows from the negative depth, not from the positive one that geometry would ask for.
/// - Types 2, 4 and 5 hold a vector from the sensor origin up to the surface. With z down a positive z is the opposite
///   vector, as older calibration sheets give it: all of it is turned. With z up a positive z is right.
fn turned(origin: DVec3, kind: PlateType, normal_up: bool) -> DVec3 {
    match kind {
        PlateType::One => origin,
        PlateType::Three | PlateType::Six | PlateType::Seven => {
            DVec3::new(origin.x.abs(), origin.y.abs(), -origin.z.abs())
        }
        PlateType::Two | PlateType::Four | PlateType::Five if origin.z > 0.0 && !normal_up => {
            // Not -origin: no coordinate should read −0.
            DVec3::ZERO - origin
        }
        PlateType::Two | PlateType::Four | PlateType::Five => origin,
    }
}

/// Channel indices (from 0) of a plate.
fn channels(groups: &[Group], plate: usize, kind: PlateType, analog: &Analog) -> Result<Vec<usize>, String> {
    let parameter = find(groups, GROUP, "CHANNEL").ok_or("FORCE_PLATFORM:CHANNEL is missing")?;
    let need = kind.channels();
    // Without a second dimension the list belongs to one plate, or is packed.
    let rows = match parameter.dims.as_slice() {
        [rows, _, ..] => usize::from(*rows),
        _ => need,
    };
    if rows < need {
        return Err(format!("FORCE_PLATFORM:CHANNEL has {rows} rows, TYPE {} needs {need}", kind.code()));
    }
    let mut out = Vec::with_capacity(need);
    for row in 0..need {
        let number = parameter.count(plate * rows + row).unwrap_or(0);
        if number == 0 || number > analog.channels.len() {
            return Err(format!(
                "FORCE_PLATFORM:CHANNEL ({}, {}) is {number}, the file has channels 1 to {}",
                row + 1,
                plate + 1,
                analog.channels.len(),
            ));
        }
        out.push(number - 1);
    }
    Ok(out)
}

/// Calibration matrix of a plate as rows; empty for types that have none. Stored column by column.
fn matrix(groups: &[Group], plate: usize, kind: PlateType) -> Result<Vec<Vec<f64>>, String> {
    let Some((rows, columns)) = kind.matrix() else { return Ok(Vec::new()) };
    let parameter = find(groups, GROUP, "CAL_MATRIX").ok_or("FORCE_PLATFORM:CAL_MATRIX is missing")?;
    let [r, c, rest @ ..] = parameter.dims.as_slice() else {
        return Err("FORCE_PLATFORM:CAL_MATRIX has fewer than two dimensions".into());
    };
    let (r, c) = (usize::from(*r), usize::from(*c));
    let stored = rest.first().map_or(1, |&n| usize::from(n));
    // Some files store matrices for the plates that need one only.
    let needs = |p: usize| {
        let code = find(groups, GROUP, "TYPE").and_then(|t| t.count(p));
        code.and_then(PlateType::from_code).is_some_and(|k| k.matrix().is_some())
    };
    let total = used(groups).unwrap_or(0).min(MOST_PLATES);
    let slot = if stored >= total { plate } else { (0..plate).filter(|&p| needs(p)).count() };
    let (step_row, step_column) = if r >= rows && c >= columns {
        (1, r)
    } else if r >= columns && c >= rows {
        (r, 1)
    } else {
        return Err(format!(
            "FORCE_PLATFORM:CAL_MATRIX is {r} × {c}, TYPE {} needs {rows} × {columns}",
            kind.code()
        ));
    };
    let at = |row: usize, column: usize| {
        let value = parameter.number(slot * r * c + row * step_row + column * step_column);
        value
            .filter(|v| v.is_finite())
            .ok_or("FORCE_PLATFORM:CAL_MATRIX has no finite number for each element")
    };
    let mut out = Vec::with_capacity(rows);
    for row in 0..rows {
        out.push((0..columns).map(|column| at(row, column)).collect::<Result<Vec<_>, _>>()?);
    }
    if out.iter().flatten().all(|&v| v == 0.0) {
        return Err("FORCE_PLATFORM:CAL_MATRIX holds only zeros".into());
    }
    Ok(out)
}

/// Corners for people.
fn list(corners: &[DVec3; 4]) -> String {
    let one = |c: &DVec3| format!("({:.4}, {:.4}, {:.4})", c.x, c.y, c.z);
    corners.iter().map(one).collect::<Vec<_>>().join(" ")
}
