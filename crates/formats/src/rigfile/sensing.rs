//! What a plate's channels are: names and units of the rig file onto the recording's channels.
use super::error::{RigError, RigFault, Step};
use super::schema::{AxesWord, Matrix, Piezo, PlateEntry, Reduced, Six, Source, Vertical};
use super::words::{nearest_few, quoted_list};
use crate::table::Column;
use crate::table::unit::{self, Quantity};
use glam::DVec3;
use mechanics::finding::{RIG_OVERRIDES_FILE, SENSORS_ABOVE_SURFACE, UNITS_ASSUMED};
use mechanics::plate::{ReducedAxes, piezo8_columns};
use mechanics::{Axis, Finding, Recording, Sensing};

/// Where an entry stands and what it speaks of.
pub(crate) struct Context<'a> {
    pub recording: &'a Recording,
    pub source: &'a Source,
    pub entry: &'a PlateEntry,
    /// Index among the [[plate]] entries.
    pub index: usize,
    /// Name for people.
    pub plate: &'a str,
    pub up: Axis,
}

impl Context<'_> {
    pub(crate) fn fail(&self, path: &[Step], fault: RigFault) -> RigError {
        let mut whole = vec![Step::Key("plate"), Step::Index(self.index)];
        whole.extend_from_slice(path);
        self.source.fail(&whole, fault)
    }
    fn what(&self, role: &str) -> String {
        format!("plate {}, {role}", self.plate)
    }
}

/// Index of the channel a rig file means by a name or a number.
///
/// A name is looked up as written, then without its unit ("Fx[N]" means "Fx"). A number is the n-th channel;
/// in a table without names it is the n-th column of the file.
pub(crate) fn find(recording: &Recording, wanted: &Column) -> Option<usize> {
    let analog = &recording.analog;
    match wanted {
        Column::Name(name) => analog.find(name).or_else(|| match unit::split(name) {
            (_, "") => None,
            (bare, _) => analog.find(bare),
        }),
        Column::Number(number) => analog
            .find(&format!("column {number}"))
            .or_else(|| number.checked_sub(1).filter(|n| *n < analog.channels.len())),
    }
}

/// The fault of naming a channel that is not there.
pub(crate) fn no_channel(recording: &Recording, what: String, wanted: &Column) -> RigFault {
    let labels: Vec<&str> = recording.analog.channels.iter().map(|c| c.label.as_str()).collect();
    let near = match wanted {
        _ if labels.is_empty() => "it has none".to_owned(),
        Column::Number(_) => format!("its {} channels count from 1", labels.len()),
        Column::Name(name) => {
            let near: Vec<String> =
                nearest_few(name, labels.into_iter(), 4).into_iter().map(str::to_owned).collect();
            format!("the nearest names are {}", quoted_list(&near, 4))
        }
    };
    let wanted = match wanted {
        Column::Name(name) => format!("\"{name}\""),
        Column::Number(number) => format!("number {number}"),
    };
    RigFault::NoChannel { what, wanted, near }
}

/// What an entry's channels are; `None` where it states none.
pub(crate) fn sensing(
    context: &Context,
    points: Option<Vertical>,
    findings: &mut Vec<Finding>,
) -> Result<Option<(Sensing, String)>, RigError> {
    let entry = context.entry;
    let stated = [
        ("six", entry.six.is_some()),
        ("piezo", entry.piezo.is_some()),
        ("reduced", entry.reduced.is_some()),
        ("matrix", entry.matrix.is_some()),
    ];
    let mut kinds = stated.into_iter().filter_map(|(key, is)| is.then_some(key));
    let (first, second) = (kinds.next(), kinds.next());
    if let (Some(first), Some(second)) = (first, second) {
        let plate = context.plate.to_owned();
        return Err(context.fail(&[Step::Key(second)], RigFault::Both { plate, first, second }));
    }
    let words = |kind: &str| format!("{kind}, as the rig file says");
    if let Some(six) = &entry.six {
        let (channels, columns) = from_six(context, six, findings)?;
        let origin_m = origin(context, points)?.unwrap_or(DVec3::ZERO);
        return Ok(Some((Sensing::Linear { channels, columns, origin_m }, words("six components"))));
    }
    if let Some(piezo) = &entry.piezo {
        let (channels, columns) = from_piezo(context, piezo, findings)?;
        let origin_m = piezo_origin(context, piezo, points)?;
        return Ok(Some((Sensing::Linear { channels, columns, origin_m }, words("eight piezo channels"))));
    }
    if let Some(matrix) = &entry.matrix {
        let (channels, columns) = from_matrix(context, matrix)?;
        let origin_m = origin(context, points)?.unwrap_or(DVec3::ZERO);
        return Ok(Some((
            Sensing::Linear { channels, columns, origin_m },
            words("channels through a matrix"),
        )));
    }
    if let Some(reduced) = &entry.reduced {
        return Ok(Some((from_reduced(context, reduced, findings)?, words("already reduced"))));
    }
    Ok(None)
}

/// Looks up several channels of one plate; a channel may serve once.
fn channels(
    context: &Context,
    group: &'static str,
    wanted: &[(&'static str, &Column)],
) -> Result<Vec<usize>, RigError> {
    let mut found: Vec<usize> = Vec::with_capacity(wanted.len());
    for (role, column) in wanted {
        let path = [Step::Key(group), Step::Key(role)];
        let what = context.what(&format!("{group}.{role}"));
        let Some(index) = find(context.recording, column) else {
            return Err(context.fail(&path, no_channel(context.recording, what, column)));
        };
        if let Some(earlier) = found.iter().position(|f| *f == index) {
            let label = context.recording.analog.channels[index].label.clone();
            let other = wanted[earlier].0.to_owned();
            return Err(context.fail(&path, RigFault::ChannelTwice { what, label, other }));
        }
        found.push(index);
    }
    Ok(found)
}

/// SI units in one unit of a channel: as the rig states, else as the recording states, else 1 with a finding.
fn gain(
    context: &Context,
    channel: usize,
    quantity: Quantity,
    findings: &mut Vec<Finding>,
) -> Result<f64, RigError> {
    let channel = &context.recording.analog.channels[channel];
    let (wants, key, example, si, stated) = match quantity {
        Quantity::Force => ("force", "force_unit", "N", "N", context.entry.force_unit.as_deref()),
        Quantity::Moment => ("moment", "moment_unit", "Nm", "N·m", context.entry.moment_unit.as_deref()),
        _ => {
            let stated = context.entry.reduced.as_ref().and_then(|r| r.cop_unit.as_deref());
            ("length", "cop_unit", "mm", "m", stated)
        }
    };
    let read = |text: &str| unit::parse(text).filter(|u| u.quantity == quantity).map(|u| u.factor);
    let in_file = read(&channel.unit);
    if let Some(unit) = stated {
        let path: &[Step] = match key {
            "cop_unit" => &[Step::Key("reduced"), Step::Key("cop_unit")],
            _ => &[Step::Key(key)],
        };
        let what = context.what(key);
        let stated = read(unit).ok_or_else(|| {
            context.fail(path, RigFault::Unit { what, unit: unit.to_owned(), wants, key, example })
        })?;
        if let Some(file) = in_file
            && (file / stated - 1.0).abs() > 1e-9
        {
            findings.push(Finding::new(
                &RIG_OVERRIDES_FILE,
                format!(
                    "plate {}: channel \"{}\" is in {} by the recording, in {unit} by the rig; the rig was followed",
                    context.plate, channel.label, channel.unit
                ),
            ));
        }
        return Ok(stated);
    }
    if let Some(factor) = in_file {
        return Ok(factor);
    }
    if !channel.unit.trim().is_empty() {
        let what = context.what(&format!("channel \"{}\"", channel.label));
        return Err(
            context.fail(&[], RigFault::Unit { what, unit: channel.unit.clone(), wants, key, example })
        );
    }
    findings.push(Finding::new(
        &UNITS_ASSUMED,
        format!(
            "plate {}: channel \"{}\" has no unit; {si} was taken (state {key} to settle it)",
            context.plate, channel.label
        ),
    ));
    Ok(1.0)
}

type Columns = (Vec<usize>, Vec<[f64; 6]>);

fn from_six(context: &Context, six: &Six, findings: &mut Vec<Finding>) -> Result<Columns, RigError> {
    let wanted = [
        ("fx", &six.fx),
        ("fy", &six.fy),
        ("fz", &six.fz),
        ("mx", &six.mx),
        ("my", &six.my),
        ("mz", &six.mz),
    ];
    let channels = channels(context, "six", &wanted)?;
    let mut columns = Vec::with_capacity(6);
    for (k, channel) in channels.iter().enumerate() {
        let quantity = if k < 3 { Quantity::Force } else { Quantity::Moment };
        let mut column = [0.0; 6];
        column[k] = gain(context, *channel, quantity, findings)?;
        columns.push(column);
    }
    Ok((channels, columns))
}

fn from_piezo(context: &Context, piezo: &Piezo, findings: &mut Vec<Finding>) -> Result<Columns, RigError> {
    let wanted = [
        ("fx12", &piezo.fx12),
        ("fx34", &piezo.fx34),
        ("fy14", &piezo.fy14),
        ("fy23", &piezo.fy23),
        ("fz1", &piezo.fz1),
        ("fz2", &piezo.fz2),
        ("fz3", &piezo.fz3),
        ("fz4", &piezo.fz4),
    ];
    let channels = channels(context, "piezo", &wanted)?;
    for (key, value) in [("half_x_mm", piezo.half_x_mm), ("half_y_mm", piezo.half_y_mm)] {
        if !(value > 1.0 && value < 5000.0) {
            let what = context.what(key);
            let why = format!(
                "{value} mm cannot be half the distance between two sensors; it is a length, positive"
            );
            return Err(context.fail(&[Step::Key("piezo"), Step::Key(key)], RigFault::Value { what, why }));
        }
    }
    let units = piezo8_columns(piezo.half_x_mm / 1000.0, piezo.half_y_mm / 1000.0);
    let mut columns = Vec::with_capacity(8);
    for (channel, column) in channels.iter().zip(units) {
        let newton = gain(context, *channel, Quantity::Force, findings)?;
        columns.push(column.map(|v| v * newton));
    }
    Ok((channels, columns))
}

fn from_matrix(context: &Context, matrix: &Matrix) -> Result<Columns, RigError> {
    let fail = |key, what: &str, why: String| {
        Err(context
            .fail(&[Step::Key("matrix"), Step::Key(key)], RigFault::Value { what: context.what(what), why }))
    };
    let width = matrix.channels.len();
    if width == 0 {
        return fail("channels", "matrix.channels", "no channel is listed".into());
    }
    if matrix.rows.len() != 6 {
        let why = format!("{} rows; write six, for Fx, Fy, Fz, Mx, My, Mz", matrix.rows.len());
        return fail("rows", "matrix.rows", why);
    }
    if let Some(row) = matrix.rows.iter().position(|r| r.len() != width || !r.iter().all(|v| v.is_finite())) {
        let why = format!("row {} must hold {width} numbers, one a channel", row + 1);
        return fail("rows", "matrix.rows", why);
    }
    let mut found = Vec::with_capacity(width);
    for column in &matrix.channels {
        let path = [Step::Key("matrix"), Step::Key("channels")];
        let what = context.what("matrix.channels");
        let index = find(context.recording, column)
            .ok_or_else(|| context.fail(&path, no_channel(context.recording, what, column)))?;
        found.push(index);
    }
    // The matrix already turns channel units into forces and moments; only the unit of its result is asked.
    let result = |unit: &Option<String>, quantity, wants, key, example| match unit.as_deref() {
        None => Ok(1.0),
        Some(text) => {
            unit::parse(text).filter(|u| u.quantity == quantity).map(|u| u.factor).ok_or_else(|| {
                let what = context.what(key);
                context.fail(
                    &[Step::Key(key)],
                    RigFault::Unit { what, unit: text.to_owned(), wants, key, example },
                )
            })
        }
    };
    let newton = result(&context.entry.force_unit, Quantity::Force, "force", "force_unit", "N")?;
    let newton_metre = result(&context.entry.moment_unit, Quantity::Moment, "moment", "moment_unit", "Nm")?;
    let factor = |row: usize| if row < 3 { newton } else { newton_metre };
    let columns = (0..width).map(|k| std::array::from_fn(|row| matrix.rows[row][k] * factor(row))).collect();
    Ok((found, columns))
}

fn from_reduced(
    context: &Context,
    reduced: &Reduced,
    findings: &mut Vec<Finding>,
) -> Result<Sensing, RigError> {
    let names = ["x", "y", "z"];
    let path = |key| [Step::Key("reduced"), Step::Key(key)];
    let mut force = [0; 3];
    let mut force_gain = [1.0; 3];
    for (k, column) in reduced.force.iter().enumerate() {
        let what = context.what(&format!("reduced.force {}", names[k]));
        force[k] = find(context.recording, column)
            .ok_or_else(|| context.fail(&path("force"), no_channel(context.recording, what, column)))?;
        force_gain[k] = gain(context, force[k], Quantity::Force, findings)?;
    }
    let none = Column::Name("-".into());
    let cop: [&Column; 3] = match (reduced.cop.as_slice(), reduced.axes) {
        ([x, y, z], _) => [x, y, z],
        ([x, y], AxesWord::Plate) => [x, y, &none],
        ([a, b], AxesWord::Lab) => match context.up {
            Axis::PlusX | Axis::MinusX => [&none, a, b],
            Axis::PlusY | Axis::MinusY => [a, &none, b],
            Axis::PlusZ | Axis::MinusZ => [a, b, &none],
        },
        (other, _) => {
            let why = format!(
                "{} channels; write three for x, y, z (\"-\" for one that is not there), or the two horizontal ones",
                other.len()
            );
            let what = context.what("reduced.cop");
            return Err(context.fail(&path("cop"), RigFault::Value { what, why }));
        }
    };
    let vertical = match (reduced.axes, context.up) {
        (AxesWord::Plate, _) | (_, Axis::PlusZ | Axis::MinusZ) => 2,
        (_, Axis::PlusY | Axis::MinusY) => 1,
        (_, Axis::PlusX | Axis::MinusX) => 0,
    };
    let mut centre = [None; 3];
    let mut centre_gain = None;
    for (k, column) in cop.into_iter().enumerate() {
        if column == &none || column == &Column::Name(String::new()) {
            if k != vertical {
                let what = context.what("reduced.cop");
                let why =
                    format!("{} is horizontal and may not be left out; only the vertical one may", names[k]);
                return Err(context.fail(&path("cop"), RigFault::Value { what, why }));
            }
            continue;
        }
        let what = context.what(&format!("reduced.cop {}", names[k]));
        let index = find(context.recording, column)
            .ok_or_else(|| context.fail(&path("cop"), no_channel(context.recording, what, column)))?;
        let metres = gain(context, index, Quantity::Length, findings)?;
        if centre_gain.is_some_and(|g: f64| (g / metres - 1.0).abs() > 1e-9) {
            let what = context.what("reduced.cop");
            let why = "the channels are in different units; state cop_unit".to_owned();
            return Err(context.fail(&path("cop"), RigFault::Value { what, why }));
        }
        centre_gain = Some(metres);
        centre[k] = Some(index);
    }
    let mut free_moment_gain = 1.0;
    let mut free_moment = None;
    if let Some(column) = &reduced.free_moment {
        let what = context.what("reduced.free_moment");
        let index = find(context.recording, column)
            .ok_or_else(|| context.fail(&path("free_moment"), no_channel(context.recording, what, column)))?;
        free_moment_gain = gain(context, index, Quantity::Moment, findings)?;
        free_moment = Some(index);
    }
    let axes = match reduced.axes {
        AxesWord::Lab => ReducedAxes::Lab,
        AxesWord::Plate => ReducedAxes::Plate,
    };
    let centre_gain = centre_gain.unwrap_or(1.0);
    Ok(Sensing::Reduced { force, force_gain, centre, centre_gain, free_moment, free_moment_gain, axes })
}

/// From the sensor origin to the centre of the surface, plate axes, m, as `origin_m` or `depth_mm` states it.
///
/// Sensors lie under the surface, so the way to it leads up: against z where z points down. A stated vector that
/// leads the other way is followed; [`above`] tells.
pub(crate) fn origin(context: &Context, points: Option<Vertical>) -> Result<Option<DVec3>, RigError> {
    let entry = context.entry;
    let value = |key, why: String| {
        let what = context.what(key);
        context.fail(&[Step::Key(key)], RigFault::Value { what, why })
    };
    match (entry.origin_m, entry.depth_mm) {
        (Some(_), Some(_)) => {
            let (first, second) = ("origin_m", "depth_mm");
            let plate = context.plate.to_owned();
            Err(context.fail(&[Step::Key(second)], RigFault::Both { plate, first, second }))
        }
        (Some(origin), None) => {
            if !origin.iter().all(|v| v.abs() < 1.0) {
                return Err(value(
                    "origin_m",
                    "a metre or more from the surface; is it in millimetres?".into(),
                ));
            }
            Ok(Some(DVec3::from_array(origin)))
        }
        (None, Some(depth)) => {
            checked_depth(depth).map_err(|why| value("depth_mm", why))?;
            Ok(Some(below(depth, points)))
        }
        (None, None) => Ok(None),
    }
}

/// The finding of sensors that would lie above the surface, if they do.
pub(crate) fn above(sensing: &Sensing, points: Option<Vertical>, plate: &str) -> Option<Finding> {
    let Sensing::Linear { origin_m, .. } = sensing else { return None };
    let z = origin_m.z;
    let wrong = match points? {
        Vertical::Down => z > 0.0,
        Vertical::Up => z < 0.0,
    };
    let side = if z > 0.0 { "negative" } else { "positive" };
    let points = points?.word();
    let seen =
        format!("plate {plate}: origin_m has z = {z} with the plate's z {points}, where it should be {side}");
    wrong.then(|| Finding::new(&SENSORS_ABOVE_SURFACE, seen))
}

fn piezo_origin(context: &Context, piezo: &Piezo, points: Option<Vertical>) -> Result<DVec3, RigError> {
    match (piezo.depth_mm, origin(context, points)?) {
        (Some(_), Some(_)) => {
            let (first, second) = ("piezo.depth_mm", "origin_m or depth_mm");
            let plate = context.plate.to_owned();
            Err(context.fail(&[Step::Key("piezo")], RigFault::Both { plate, first, second }))
        }
        (Some(depth), None) => {
            checked_depth(depth).map_err(|why| {
                let what = context.what("piezo.depth_mm");
                context.fail(&[Step::Key("piezo"), Step::Key("depth_mm")], RigFault::Value { what, why })
            })?;
            Ok(below(depth, points))
        }
        (None, Some(origin)) => Ok(origin),
        (None, None) => {
            let what = context.what("piezo");
            let why = "depth_mm is missing: how deep under the surface the sensors lie, mm".to_owned();
            Err(context.fail(&[Step::Key("piezo")], RigFault::Value { what, why }))
        }
    }
}

fn checked_depth(depth_mm: f64) -> Result<(), String> {
    match depth_mm {
        d if (0.0..1000.0).contains(&d) => Ok(()),
        d if d < 0.0 => Err(format!(
            "{d} is negative; state how deep the sensors lie as a positive number, whichever way z points"
        )),
        d => Err(format!("{d} mm cannot be the depth of a plate's sensors")),
    }
}

fn below(depth_mm: f64, points: Option<Vertical>) -> DVec3 {
    let sign = if points == Some(Vertical::Up) { 1.0 } else { -1.0 };
    DVec3::new(0.0, 0.0, sign * depth_mm / 1000.0)
}
