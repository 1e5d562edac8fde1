//! A [`Sensing`] as one of the plate types of C3D: the inverse of [`super::sensing::build`].
use super::number::Processor;
use super::sensing::{PlateType, twelve_columns};
use super::units::{Unit, unit};
use glam::DVec3;
use mechanics::plate::{ReducedAxes, piezo8_columns};
use mechanics::{Analog, Sensing};

/// A plate as the FORCE_PLATFORM group has it.
pub(super) struct Expressed {
    pub kind: PlateType,
    /// Indices from 0.
    pub channels: Vec<usize>,
    /// Unit texts that have to stand in ANALOG:UNITS for the plate to be read as it is.
    pub units: Vec<(usize, String)>,
    /// Rows of the calibration matrix, in N and N × the length unit; empty for types without.
    pub matrix: Vec<Vec<f64>>,
    /// ORIGIN, m.
    pub origin_m: DVec3,
}

/// Tries the types in order (`asked` alone, if given); `Err` holds the type last tried and why it does not do.
pub(super) fn express(
    sensing: &Sensing,
    asked: Option<PlateType>,
    analog: &Analog,
    length_m: f64,
) -> Result<Expressed, (String, String)> {
    use PlateType as T;
    let fitting: &[T] = match sensing {
        Sensing::Reduced { .. } => &[T::One],
        Sensing::Linear { channels, .. } => match channels.len() {
            6 => &[T::Two, T::Four],
            8 => &[T::Three, T::Seven, T::Five],
            12 => &[T::Six],
            n => return Err(("any type".into(), format!("it has {n} channels; C3D plates have 6, 8 or 12"))),
        },
    };
    let mut last = ("any type".to_string(), String::new());
    for &kind in fitting.iter().filter(|k| asked.is_none_or(|a| a == **k)) {
        match as_type(sensing, kind, analog, length_m) {
            Ok(expressed) => return Ok(expressed),
            Err(why) => last = (format!("TYPE {}", kind.code()), why),
        }
    }
    if let Some(asked) = asked.filter(|a| !fitting.contains(a)) {
        let possible = fitting.iter().map(|k| k.code().to_string()).collect::<Vec<_>>().join(", ");
        return Err((format!("TYPE {}", asked.code()), format!("its channels fit type {possible} only")));
    }
    Err(last)
}

fn as_type(sensing: &Sensing, kind: PlateType, analog: &Analog, length_m: f64) -> Result<Expressed, String> {
    match sensing {
        Sensing::Reduced { force, force_gain, centre, centre_gain, free_moment, free_moment_gain, axes } => {
            if *axes != ReducedAxes::Plate {
                let why = "it is reduced in laboratory axes; state force and moment (six components) in the plate's axes";
                return Err(why.into());
            }
            let ([Some(x), Some(y), None], Some(t)) = (*centre, *free_moment) else {
                return Err(
                    "TYPE 1 has channels for the point of application in x and y and for the free moment"
                        .into(),
                );
            };
            let mut wanted: Vec<_> = (0..3).map(|k| (force[k], Unit::Force(force_gain[k]))).collect();
            wanted.extend([(x, Unit::Length(*centre_gain)), (y, Unit::Length(*centre_gain))]);
            wanted.push((t, Unit::Moment(*free_moment_gain)));
            let units = units(&wanted, analog)?;
            let channels = wanted.iter().map(|w| w.0).collect();
            Ok(Expressed { kind, channels, units, matrix: Vec::new(), origin_m: DVec3::ZERO })
        }
        Sensing::Linear { channels, columns, origin_m } => {
            if columns.len() != channels.len() {
                return Err(format!("{} channels and {} columns", channels.len(), columns.len()));
            }
            linear(kind, channels, columns, *origin_m, analog, length_m)
        }
    }
}

fn linear(
    kind: PlateType,
    channels: &[usize],
    columns: &[[f64; 6]],
    origin_m: DVec3,
    analog: &Analog,
    length_m: f64,
) -> Result<Expressed, String> {
    let mut out =
        Expressed { kind, channels: channels.to_vec(), units: Vec::new(), matrix: Vec::new(), origin_m };
    match kind {
        PlateType::One => return Err("TYPE 1 holds reduced channels".into()),
        PlateType::Two => {
            let mixed = |(k, column): (usize, &[f64; 6])| (0..6).any(|row| row != k && column[row] != 0.0);
            if columns.iter().enumerate().any(mixed) {
                return Err("its components mix channels, which needs a calibration matrix (TYPE 4)".into());
            }
            let wanted = columns.iter().enumerate().map(|(k, column)| {
                (channels[k], if k < 3 { Unit::Force(column[k]) } else { Unit::Moment(column[k]) })
            });
            out.units = units(&wanted.collect::<Vec<_>>(), analog)?;
        }
        PlateType::Three => {
            let (gains, a, b) = sensors(columns, &[0, 0, 1, 1, 2, 2, 2, 2], piezo8_columns, 2, 1)?;
            let wanted: Vec<_> =
                channels.iter().zip(&gains).map(|(&c, &gain)| (c, Unit::Force(gain))).collect();
            out.units = units(&wanted, analog)?;
            out.origin_m = at_depth(a, b, origin_m)?;
        }
        PlateType::Four | PlateType::Five => {
            let row = |row: usize| {
                let scale = if row < 3 { 1.0 } else { 1.0 / length_m };
                columns.iter().map(|column| column[row] * scale).collect()
            };
            out.matrix = (0..6).map(row).collect();
        }
        PlateType::Six => {
            let force = [0, 1, 2, 0, 1, 2, 0, 1, 2, 0, 1, 2];
            let (matrix, a, b) = mixed(columns, &force, twelve_columns, 1, 3)?;
            out.matrix = matrix;
            out.origin_m = at_depth(a, b, origin_m)?;
        }
        PlateType::Seven => {
            let (matrix, a, b) = mixed(columns, &[0, 0, 1, 1, 2, 2, 2, 2], piezo8_columns, 2, 1)?;
            out.matrix = matrix;
            out.origin_m = at_depth(a, b, origin_m)?;
        }
    }
    Ok(out)
}

/// Gains of sensors and their half distances, if the columns are those of sensors in the four quadrants.
///
/// `force` names the force component of each channel; the moment about z of channel `at_x` shows the distance along x,
/// that of channel `at_y` the distance along y.
fn sensors<const N: usize>(
    columns: &[[f64; 6]],
    force: &[usize; N],
    pattern: impl Fn(f64, f64) -> [[f64; 6]; N],
    at_x: usize,
    at_y: usize,
) -> Result<(Vec<f64>, f64, f64), String> {
    let no = || "its columns are not those of sensors in the plate's four quadrants".to_string();
    if columns.len() != N {
        return Err(no());
    }
    let gains: Vec<f64> = columns.iter().zip(force).map(|(column, &row)| column[row]).collect();
    let a = columns[at_x][5] / gains[at_x];
    // The channel that shows b acts along x at +b or −b; b is a length.
    let b = (columns[at_y][5] / gains[at_y]).abs();
    if !(a > 0.0 && b > 0.0) {
        return Err(no());
    }
    let fits = columns.iter().zip(pattern(a, b)).zip(&gains).all(|((column, unit), gain)| {
        column.iter().zip(unit).all(|(have, want)| (have - want * gain).abs() <= 1e-9 * gain.abs())
    });
    if fits { Ok((gains, a, b)) } else { Err(no()) }
}

/// Half distance of the sensors from the plate's axes, m, where the columns do not show one: any will do, since the
/// matrix makes up for it.
const SOME_HALF_M: f64 = 0.2;

/// A square matrix C from channels to sensors, and the half distances to state, so that sensors in the quadrants after
/// C make these columns.
///
/// Sensors alone: C is the diagonal of their gains. Otherwise, with S the pattern's 6×N columns, C = Sᵀ(SSᵀ)⁻¹·columns
/// gives S·C = columns exactly; SSᵀ is diagonal because the sensors lie in pairs about both axes.
fn mixed<const N: usize>(
    columns: &[[f64; 6]],
    force: &[usize; N],
    pattern: impl Fn(f64, f64) -> [[f64; 6]; N],
    at_x: usize,
    at_y: usize,
) -> Result<(Vec<Vec<f64>>, f64, f64), String> {
    if let Ok((gains, a, b)) = sensors(columns, force, &pattern, at_x, at_y) {
        return Ok((diagonal(&gains), a, b));
    }
    if columns.len() != N {
        return Err(format!("it has {} channels, not {N}", columns.len()));
    }
    let pattern = pattern(SOME_HALF_M, SOME_HALF_M);
    let square = |row: usize| pattern.iter().map(|p| p[row] * p[row]).sum::<f64>();
    let share = |sensor: &[f64; 6], column: &[f64; 6]| {
        (0..6).map(|row| sensor[row] * column[row] / square(row)).sum::<f64>()
    };
    let rows = pattern.iter().map(|sensor| columns.iter().map(|column| share(sensor, column)).collect());
    Ok((rows.collect(), SOME_HALF_M, SOME_HALF_M))
}

fn at_depth(a: f64, b: f64, origin_m: DVec3) -> Result<DVec3, String> {
    if origin_m.x != 0.0 || origin_m.y != 0.0 || origin_m.z > 0.0 {
        return Err(format!(
            "its sensors must lie about the centre and its surface at negative z (z down), here the surface is at {origin_m} m"
        ));
    }
    Ok(DVec3::new(a, b, origin_m.z))
}

fn diagonal(gains: &[f64]) -> Vec<Vec<f64>> {
    let row = |(k, &gain): (usize, &f64)| (0..gains.len()).map(|c| if c == k { gain } else { 0.0 }).collect();
    gains.iter().enumerate().map(row).collect()
}

/// Unit texts for what the channels must be: the channel's own where it says so, else a common one.
fn units(wanted: &[(usize, Unit)], analog: &Analog) -> Result<Vec<(usize, String)>, String> {
    let mut out = Vec::new();
    for &(channel, want) in wanted {
        let label = analog.channels.get(channel).map_or("", |c| c.label.as_str());
        let own = analog.channels.get(channel).map_or("", |c| c.unit.as_str());
        let text = [own, "N", "Nm", "mm", "Nmm", "m", "cm", "kN", "Ncm", "kNm", "lbf", "lbf in", "lbf ft"]
            .into_iter()
            .find(|text| same(unit(text), want))
            .ok_or_else(|| format!("no unit text says what channel \"{label}\" holds ({want:?}, SI per unit); scale the channel to N, N·m or m"))?;
        out.push((channel, text.to_string()));
    }
    Ok(out)
}

fn same(a: Unit, b: Unit) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs();
    match (a, b) {
        (Unit::Length(a), Unit::Length(b))
        | (Unit::Force(a), Unit::Force(b))
        | (Unit::Moment(a), Unit::Moment(b)) => near(a, b),
        _ => false,
    }
}

/// What the encoding is called in messages.
pub(super) fn float_name(processor: Processor) -> &'static str {
    match processor {
        Processor::Intel => "Intel floats",
        Processor::Dec => "DEC floats",
        Processor::Mips => "MIPS floats",
    }
}
