//! Plate types of the C3D standard as [`Sensing`].
//!
//! Source: C3D user guide, FORCE_PLATFORM:TYPE; channel order and lever arms of types 5 to 7 from public descriptions.
use super::units::{Unit, unit};
use glam::DVec3;
use mechanics::plate::{ReducedAxes, piezo8_columns};
use mechanics::{Analog, Sensing};

/// The plate types that are publicly described well enough to compute with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PlateType {
    /// Force, point of application and free moment.
    One,
    /// Force and moment, six channels.
    Two,
    /// Eight piezo channels.
    Three,
    /// Six channels through a 6 × 6 matrix.
    Four,
    /// Eight channels through a 6 × 8 matrix.
    Five,
    /// Twelve channels (three components of four sensors) through a 12 × 12 matrix.
    Six,
    /// Eight piezo channels through an 8 × 8 matrix.
    Seven,
}

impl PlateType {
    /// All of them, in the order of their codes.
    pub const ALL: [Self; 7] =
        [Self::One, Self::Two, Self::Three, Self::Four, Self::Five, Self::Six, Self::Seven];

    /// From the number in FORCE_PLATFORM:TYPE.
    pub fn from_code(code: usize) -> Option<Self> {
        Self::ALL.into_iter().find(|k| usize::from(k.code()) == code)
    }
    /// The number in FORCE_PLATFORM:TYPE.
    pub fn code(self) -> u8 {
        self as u8 + 1
    }
    /// Channels of a plate.
    pub fn channels(self) -> usize {
        match self {
            Self::One | Self::Two | Self::Four => 6,
            Self::Three | Self::Five | Self::Seven => 8,
            Self::Six => 12,
        }
    }
    /// Rows and columns of the calibration matrix, for types that use one.
    pub fn matrix(self) -> Option<(usize, usize)> {
        match self {
            Self::One | Self::Two | Self::Three => None,
            Self::Four => Some((6, 6)),
            Self::Five => Some((6, 8)),
            Self::Six => Some((12, 12)),
            Self::Seven => Some((8, 8)),
        }
    }
    /// In words.
    pub fn label(self) -> &'static str {
        match self {
            Self::One => "TYPE 1, force, centre of pressure and free moment",
            Self::Two => "TYPE 2, six components",
            Self::Three => "TYPE 3, eight piezo channels",
            Self::Four => "TYPE 4, six channels and a calibration matrix",
            Self::Five => "TYPE 5, eight channels and a calibration matrix",
            Self::Six => "TYPE 6, twelve channels and a calibration matrix",
            Self::Seven => "TYPE 7, eight piezo channels and a calibration matrix",
        }
    }
}

/// Everything the file says about a plate's channels.
pub(super) struct Wiring<'a> {
    pub kind: PlateType,
    /// Indices from 0, as many as the type has.
    pub channels: &'a [usize],
    /// Unit text of each.
    pub units: &'a [&'a str],
    /// Rows of the calibration matrix; empty for types without.
    pub matrix: &'a [Vec<f64>],
    /// ORIGIN with its signs settled, m.
    pub origin_m: DVec3,
    /// Metres per POINT:UNITS.
    pub length_m: f64,
}

/// How the channels become force and moment, and in words every unit that had to be worked out.
pub(super) fn build(wiring: &Wiring) -> (Sensing, Vec<String>) {
    let Wiring { kind, channels, origin_m, .. } = *wiring;
    let mut assumed = Vec::new();
    let depth = DVec3::new(0.0, 0.0, origin_m.z);
    let at = |k: usize| channels.get(k).copied().unwrap_or(0);
    let sensing = match kind {
        PlateType::One => Sensing::Reduced {
            force: [at(0), at(1), at(2)],
            force_gain: [0, 1, 2].map(|k| newtons(wiring, k, &mut assumed)),
            centre: [Some(at(3)), Some(at(4)), None],
            centre_gain: metres(wiring, 3, &mut assumed),
            free_moment: Some(at(5)),
            free_moment_gain: newton_metres(wiring, 5, &mut assumed),
            axes: ReducedAxes::Plate,
        },
        PlateType::Two => {
            let columns = (0..6).map(|k| {
                let mut column = [0.0; 6];
                column[k] = if k < 3 {
                    newtons(wiring, k, &mut assumed)
                } else {
                    newton_metres(wiring, k, &mut assumed)
                };
                column
            });
            let columns = columns.collect();
            Sensing::Linear { channels: channels.to_vec(), columns, origin_m }
        }
        PlateType::Three => {
            let unit_columns = piezo8_columns(origin_m.x, origin_m.y);
            let columns = (0..).zip(unit_columns).map(|(k, column)| {
                let gain = newtons(wiring, k, &mut assumed);
                column.map(|v| v * gain)
            });
            let columns = columns.collect();
            Sensing::Linear { channels: channels.to_vec(), columns, origin_m: depth }
        }
        PlateType::Four | PlateType::Five => {
            // The matrix gives N and N × POINT:UNITS, unless its diagonal only passes stated moments on.
            let gains: [f64; 6] = std::array::from_fn(|row| {
                if row < 3 { 1.0 } else { matrix_moment(wiring, row).unwrap_or(wiring.length_m) }
            });
            for (row, gain) in gains.iter().enumerate().skip(3) {
                assumed.extend(contradicted(wiring, row, element(wiring.matrix, row, row) * gain));
            }
            let columns = (0..channels.len())
                .map(|k| std::array::from_fn(|row| element(wiring.matrix, row, k) * gains[row]))
                .collect();
            Sensing::calibrated(channels.to_vec(), columns, origin_m)
        }
        PlateType::Six => through(wiring, &twelve_columns(origin_m.x, origin_m.y), depth),
        PlateType::Seven => through(wiring, &piezo8_columns(origin_m.x, origin_m.y), depth),
    };
    assumed.dedup();
    (sensing, assumed)
}

/// Unit columns of twelve channels: Fx, Fy, Fz of sensors 1 to 4, sensor n in quadrant n, all in one plane.
pub(super) fn twelve_columns(a_m: f64, b_m: f64) -> [[f64; 6]; 12] {
    let (a, b) = (a_m, b_m);
    let sensors = [(a, b), (-a, b), (-a, -b), (a, -b)];
    std::array::from_fn(|k| {
        let (x, y) = sensors[k / 3];
        match k % 3 {
            0 => [1.0, 0.0, 0.0, 0.0, 0.0, -y],
            1 => [0.0, 1.0, 0.0, 0.0, 0.0, x],
            _ => [0.0, 0.0, 1.0, y, -x, 0.0],
        }
    })
}

/// Channels through a square matrix, then as the sensors of the type.
fn through(wiring: &Wiring, sensors: &[[f64; 6]], origin_m: DVec3) -> Sensing {
    let columns = (0..wiring.channels.len()).map(|k| {
        let mut column = [0.0; 6];
        for (row, sensor) in sensors.iter().enumerate() {
            let share = element(wiring.matrix, row, k);
            column.iter_mut().zip(sensor).for_each(|(sum, arm)| *sum += share * arm);
        }
        column
    });
    Sensing::calibrated(wiring.channels.to_vec(), columns.collect(), origin_m)
}

fn element(matrix: &[Vec<f64>], row: usize, column: usize) -> f64 {
    matrix.get(row).and_then(|r| r.get(column)).copied().unwrap_or(0.0)
}

fn text<'a>(wiring: &Wiring<'a>, k: usize) -> &'a str {
    wiring.units.get(k).copied().unwrap_or("")
}

/// N per unit of a force channel.
fn newtons(wiring: &Wiring, k: usize, assumed: &mut Vec<String>) -> f64 {
    match unit(text(wiring, k)) {
        Unit::Force(newtons) => newtons,
        _ => {
            assumed.push(format!("force channels are in \"{}\"; N was taken", text(wiring, k)));
            1.0
        }
    }
}

/// N·m per unit of a moment channel; N × POINT:UNITS unless a moment is stated.
fn newton_metres(wiring: &Wiring, k: usize, assumed: &mut Vec<String>) -> f64 {
    match unit(text(wiring, k)) {
        Unit::Moment(newton_metres) => newton_metres,
        _ => {
            let taken = wiring.length_m;
            assumed.push(format!(
                "moment channels are in \"{}\"; {taken} N·m a unit was taken (N × POINT:UNITS)",
                text(wiring, k)
            ));
            taken
        }
    }
}

/// Metres per unit of a channel that holds a place; POINT:UNITS unless a length is stated.
fn metres(wiring: &Wiring, k: usize, assumed: &mut Vec<String>) -> f64 {
    match unit(text(wiring, k)) {
        Unit::Length(metres) => metres,
        _ => {
            let taken = wiring.length_m;
            assumed.push(format!("channels of the point of application are in \"{}\"; {taken} m a unit was taken (POINT:UNITS)", text(wiring, k)));
            taken
        }
    }
}

/// N·m per unit of a moment row of a 6 × 6 matrix whose input is already a stated moment and passes (nearly) unchanged.
fn matrix_moment(wiring: &Wiring, row: usize) -> Option<f64> {
    let passes =
        wiring.kind == PlateType::Four && (0.5..2.0).contains(&element(wiring.matrix, row, row).abs());
    match unit(text(wiring, row)) {
        Unit::Moment(newton_metres) if passes => Some(newton_metres),
        _ => None,
    }
}

/// In words, a moment channel of a TYPE 4 plate whose stated unit is not what the matrix makes of it.
fn contradicted(wiring: &Wiring, row: usize, made: f64) -> Option<String> {
    let Unit::Moment(stated) = unit(text(wiring, row)) else { return None };
    let text = text(wiring, row);
    let differs = wiring.kind == PlateType::Four && !(0.5..2.0).contains(&(made / stated).abs());
    differs.then(|| format!("moment channels are in \"{text}\", but CAL_MATRIX makes {made:.6} N·m of a unit; the matrix was followed"))
}

/// Least vertical force at which a sample says something about the moments, N.
const LOADED_N: f64 = 50.0;

/// Turns moments by a factor of 1000 where the loaded centre of pressure shows that the matrix of a TYPE 4 or 5 plate
/// gives N·m where N·mm is due, or the other way round; says so in words.
///
/// A force cannot act twenty plate sizes away; nor do feet keep within a thousandth of a plate about its centre.
pub(super) fn fit_moments(
    sensing: &mut Sensing,
    kind: PlateType,
    analog: &Analog,
    corners_m: &[DVec3; 4],
) -> Option<String> {
    if !matches!(kind, PlateType::Four | PlateType::Five) {
        return None;
    }
    let Sensing::Linear { channels, columns, .. } = sensing else { return None };
    let half = corners_m[0].distance(corners_m[2]) / 2.0;
    let mut reach = Vec::new();
    let step = (analog.len() / 256).max(1);
    for sample in (0..analog.len()).step_by(step) {
        let mut wrench = [0.0; 6];
        for (&channel, column) in channels.iter().zip(columns.iter()) {
            let value =
                analog.channels.get(channel).and_then(|c| c.samples.get(sample)).copied().unwrap_or(f64::NAN);
            wrench.iter_mut().zip(column).for_each(|(sum, share)| *sum += share * value);
        }
        let [_, _, fz, mx, my, _] = wrench;
        if fz.abs() > LOADED_N {
            reach.push((mx * mx + my * my).sqrt() / fz.abs() / half);
        }
    }
    reach.retain(|r| r.is_finite());
    reach.sort_unstable_by(f64::total_cmp);
    let middle = *reach.get(reach.len() / 2)?;
    let far = *reach.get(reach.len() * 95 / 100)?;
    let factor = if middle > 20.0 && middle / 1000.0 < 1.5 {
        1e-3
    } else if far < 1e-3 && (0.1..1.5).contains(&(middle * 1000.0)) {
        1e3
    } else {
        return None;
    };
    for column in columns {
        column[3..].iter_mut().for_each(|v| *v *= factor);
    }
    Some(format!(
        "as written the centre of pressure lies {middle:.4} half plates from the centre (median under load); moments \
         were multiplied by {factor}"
    ))
}
