//! Where a plate lies: corners, or size, centre and angle.
use super::error::{RigError, RigFault, Step};
use super::schema::{PlateEntry, Source, Vertical};
use glam::DVec3;
use mechanics::Axis;
use signal::math;

/// Corners of a rectangle may be this far from square, as a share of its size.
const SKEW: f64 = 0.1;

/// No plate of a laboratory is farther from its origin, m; farther out, its size would be lost in rounding.
const FARTHEST_M: f64 = 10_000.0;

/// The corners an entry states, in laboratory axes, m; `None` where it states no geometry at all.
///
/// With size, centre and angle: x lies at the angle from the laboratory's first horizontal axis,
/// counter-clockwise seen from above; z as stated; y = z × x.
pub(crate) fn corners(
    entry: &PlateEntry,
    plate: &str,
    index: usize,
    up: Axis,
    source: &Source,
) -> Result<Option<[DVec3; 4]>, RigError> {
    let at = |key: &'static str| [Step::Key("plate"), Step::Index(index), Step::Key(key)];
    let fail = |key, fault| Err(source.fail(&at(key), fault));
    let plate = plate.to_owned();
    let listed = match (&entry.corners_m, &entry.corners_mm) {
        (Some(_), Some(_)) => {
            return fail("corners_mm", RigFault::Both { plate, first: "corners_m", second: "corners_mm" });
        }
        (Some(m), None) => Some(("corners_m", m.map(DVec3::from_array))),
        (None, Some(mm)) => Some(("corners_mm", mm.map(|c| DVec3::from_array(c) / 1000.0))),
        (None, None) => None,
    };
    let drawn = entry.size_m.is_some() || entry.centre_m.is_some() || entry.angle_deg.is_some();
    let corners = match (listed, drawn) {
        (Some((key, _)), true) => {
            return fail(
                "size_m",
                RigFault::Both { plate, first: key, second: "size_m, centre_m or angle_deg" },
            );
        }
        (Some((key, corners)), false) => {
            if let Some(why) = odd(&corners) {
                return fail(key, RigFault::Corners { plate, why });
            }
            if let (Some(stated), found) = (entry.z, points(&corners, up))
                && found != Some(stated)
            {
                let found = found.map_or("sideways", Vertical::word);
                return fail("z", RigFault::NormalContradictsZ { plate, stated: stated.word(), found });
            }
            corners
        }
        (None, true) => from_size(entry, plate, up, &|key, fault| source.fail(&at(key), fault))?,
        (None, false) => return Ok(None),
    };
    Ok(Some(corners))
}

fn from_size(
    entry: &PlateEntry,
    plate: String,
    up: Axis,
    fail: &dyn Fn(&'static str, RigFault) -> RigError,
) -> Result<[DVec3; 4], RigError> {
    // A plate whose numbers are in laboratory axes has no axes of its own to get wrong.
    let reduced_in_lab = entry.reduced.as_ref().is_some_and(|r| r.axes == super::schema::AxesWord::Lab);
    let z = entry.z.or(reduced_in_lab.then_some(Vertical::Up));
    let (Some(size), Some(centre), Some(z)) = (entry.size_m, entry.centre_m, z) else {
        let missing: Vec<&str> =
            [(entry.size_m.is_none(), "size_m"), (entry.centre_m.is_none(), "centre_m"), (z.is_none(), "z")]
                .into_iter()
                .filter_map(|(gone, key)| gone.then_some(key))
                .collect();
        let missing = format!("{} {}", missing.join(" and "), if missing.len() == 1 { "is" } else { "are" });
        return Err(fail("size_m", RigFault::NoGeometry { plate, missing }));
    };
    if !size.iter().all(|s| (0.05..20.0).contains(s)) {
        let why = format!("[{}, {}] cannot be a plate's length and width in metres", size[0], size[1]);
        return Err(fail("size_m", RigFault::Value { what: format!("plate {plate}, size_m"), why }));
    }
    let angle = entry.angle_deg.unwrap_or(0.0);
    if !angle.is_finite() || !centre.iter().all(|c| c.abs() < FARTHEST_M) {
        let why = format!(
            "an angle in degrees, and a place within {FARTHEST_M} m of the laboratory's origin, in metres"
        );
        return Err(fail(
            "centre_m",
            RigFault::Value { what: format!("plate {plate}, centre_m, angle_deg"), why },
        ));
    }
    let (sin, cos) = turn(angle);
    let first = first_horizontal(up).unit();
    let x = first * cos + up.unit().cross(first) * sin;
    let z = match z {
        Vertical::Up => up.unit(),
        Vertical::Down => -up.unit(),
    };
    let (along, across) = (x * size[0] / 2.0, z.cross(x) * size[1] / 2.0);
    let centre = DVec3::from_array(centre);
    Ok([centre + along + across, centre - along + across, centre - along - across, centre + along - across])
}

/// Sine and cosine of an angle in degrees; exact for quarter turns, which most rigs have.
fn turn(degrees: f64) -> (f64, f64) {
    match degrees.rem_euclid(360.0) {
        0.0 => (0.0, 1.0),
        90.0 => (1.0, 0.0),
        180.0 => (0.0, -1.0),
        270.0 => (-1.0, 0.0),
        other => math::sin_cos(other.to_radians()),
    }
}

/// The laboratory's first horizontal axis: +x, or +y where x is vertical.
pub(crate) fn first_horizontal(up: Axis) -> Axis {
    match up {
        Axis::PlusX | Axis::MinusX => Axis::PlusY,
        _ => Axis::PlusX,
    }
}

/// Where the z of a plate with these corners points; `None` where it lies level or the corners span nothing.
pub(crate) fn points(corners: &[DVec3; 4], up: Axis) -> Option<Vertical> {
    let [c1, c2, c3, c4] = *corners;
    let z = ((c1 - c2) + (c4 - c3)).cross((c1 - c4) + (c2 - c3)).try_normalize()?;
    match z.dot(up.unit()) {
        d if d > 0.5 => Some(Vertical::Up),
        d if d < -0.5 => Some(Vertical::Down),
        _ => None,
    }
}

/// The same outline with z turned over: x stays, y is mirrored.
pub(crate) fn turned_over(corners: &[DVec3; 4]) -> [DVec3; 4] {
    let [c1, c2, c3, c4] = *corners;
    [c4, c3, c2, c1]
}

/// What keeps four points from being a plate's corners in order.
fn odd(corners: &[DVec3; 4]) -> Option<String> {
    let [c1, c2, c3, c4] = *corners;
    if !corners.iter().all(|c| c.is_finite()) {
        return Some("a corner is not a number".into());
    }
    if !corners.iter().all(|c| c.abs().max_element() < FARTHEST_M) {
        return Some(format!("a corner is more than {FARTHEST_M} m from the laboratory's origin"));
    }
    let (d1, d2) = ((c1 - c3).length(), (c2 - c4).length());
    let size = d1.max(d2);
    if size < 0.05 {
        return Some(format!(
            "the corners lie within {:.0} mm of each other; are they in metres?",
            size * 1000.0
        ));
    }
    if size > 20.0 {
        return Some(format!("the plate would be {size:.0} m across; are they in millimetres (corners_mm)?"));
    }
    // In order, the diagonals share their middle; exchanged corners put a side where a diagonal should be.
    let middles = ((c1 + c3) / 2.0 - (c2 + c4) / 2.0).length();
    if middles > SKEW * size {
        return Some("two corners are exchanged, or they are no rectangle".into());
    }
    let area = (c1 - c3).cross(c2 - c4).length() / 2.0;
    (area < 0.01 * size * size).then(|| "the corners lie on one line".into())
}

/// Largest distance between two lists of corners, m.
pub(crate) fn farthest(a: &[DVec3; 4], b: &[DVec3; 4]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (*a - *b).length()).fold(0.0, f64::max)
}
