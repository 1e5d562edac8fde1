//! The kinds of plate the bench can build: the types of the C3D standard, and two table layouts.
use glam::DVec3;
use mechanics::Sensing;
use mechanics::plate::{ReducedAxes, piezo8_columns};

/// How a plate measures. Matrices and depths are invented.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlateType {
    /// Force, centre of pressure, free moment, in plate axes (C3D TYPE 1).
    One,
    /// Six components about the sensor origin (C3D TYPE 2).
    Two,
    /// Eight channels of a piezo plate (C3D TYPE 3).
    Three,
    /// Six channels through a 6×6 calibration matrix (C3D TYPE 4).
    Four,
    /// Eight channels through a 6×8 calibration matrix (C3D TYPE 5).
    Five,
    /// Twelve channels, three a corner sensor, through a 12×12 matrix (C3D TYPE 6).
    Six,
    /// Eight piezo channels through an 8×8 matrix (C3D TYPE 7).
    Seven,
    /// A table of force, centre of pressure and free moment in laboratory axes.
    Lab,
}

/// The unit in which channels are kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Units {
    /// N, N·m, m.
    Metre,
    /// N, N·mm, mm: what C3D files usually hold.
    Millimetre,
    /// V: 200 N and 100 N·m a volt. Calibrated plates (TYPE 4 to 7) are always in volts.
    Volt,
}

impl PlateType {
    /// All, TYPE 1 to 7 in order, then the table layout.
    pub const ALL: [Self; 8] =
        [Self::One, Self::Two, Self::Three, Self::Four, Self::Five, Self::Six, Self::Seven, Self::Lab];

    /// Its number in the C3D standard; 0 for the table layout.
    pub fn number(self) -> u8 {
        Self::ALL.iter().position(|t| *t == self).map_or(0, |k| if k < 7 { k as u8 + 1 } else { 0 })
    }

    /// In words, for people.
    pub fn words(self) -> &'static str {
        match self {
            Self::One => "TYPE 1, force, centre of pressure and free moment",
            Self::Two => "TYPE 2, six components",
            Self::Three => "TYPE 3, eight piezo channels",
            Self::Four => "TYPE 4, six channels with a calibration matrix",
            Self::Five => "TYPE 5, eight channels with a calibration matrix",
            Self::Six => "TYPE 6, twelve channels with a calibration matrix",
            Self::Seven => "TYPE 7, eight piezo channels with a calibration matrix",
            Self::Lab => "table, force, centre of pressure and free moment in laboratory axes",
        }
    }

    /// Labels and units of the channels of plate `number` (from 1).
    pub fn labels(self, number: usize, units: Units) -> Vec<(String, &'static str)> {
        let (force, moment, length) = match units {
            Units::Metre => ("N", "Nm", "m"),
            Units::Millimetre => ("N", "Nmm", "mm"),
            Units::Volt => ("V", "V", "mm"),
        };
        let names: Vec<(&str, &'static str)> = match self {
            Self::One | Self::Lab => {
                let mut list =
                    vec![("FX", force), ("FY", force), ("FZ", force), ("PX", length), ("PY", length)];
                if self == Self::Lab {
                    list.push(("PZ", length));
                }
                list.push(("TZ", moment));
                list
            }
            Self::Two => {
                vec![
                    ("FX", force),
                    ("FY", force),
                    ("FZ", force),
                    ("MX", moment),
                    ("MY", moment),
                    ("MZ", moment),
                ]
            }
            Self::Three => ["FX12_", "FX34_", "FY14_", "FY23_", "FZ1_", "FZ2_", "FZ3_", "FZ4_"]
                .map(|n| (n, force))
                .to_vec(),
            Self::Four => ["C1_", "C2_", "C3_", "C4_", "C5_", "C6_"].map(|n| (n, "V")).to_vec(),
            Self::Five => ["CZ", "DZ", "AZ", "BZ", "YAC", "XDC", "XAB", "YBD"].map(|n| (n, "V")).to_vec(),
            Self::Six => [
                "FX1_", "FY1_", "FZ1_", "FX2_", "FY2_", "FZ2_", "FX3_", "FY3_", "FZ3_", "FX4_", "FY4_",
                "FZ4_",
            ]
            .map(|n| (n, "V"))
            .to_vec(),
            Self::Seven => ["FX12_", "FX34_", "FY14_", "FY23_", "FZ1_", "FZ2_", "FZ3_", "FZ4_"]
                .map(|n| (n, "V"))
                .to_vec(),
        };
        names.into_iter().map(|(name, unit)| (format!("{name}{number}"), unit)).collect()
    }

    /// The sensing of a plate whose channels begin at `first`; half sizes of the surface along plate x and y, m,
    /// and +1 where the plate's z axis points up, −1 where down.
    pub fn sensing(self, first: usize, half_m: (f64, f64), upward: f64, units: Units) -> Sensing {
        let (newton, newton_metre, metre) = match units {
            Units::Metre => (1.0, 1.0, 1.0),
            Units::Millimetre => (1.0, 0.001, 0.001),
            Units::Volt => (200.0, 100.0, 0.001),
        };
        // Sensors stand 40 mm in from the edges and 42 mm below the surface; the vector runs up to the surface.
        let (a, b) = (half_m.0 - 0.04, half_m.1 - 0.04);
        let depth = 0.042 * upward;
        let origin = DVec3::new(0.0012, -0.0008, 0.040 * upward);
        let reduced = |axes: ReducedAxes| {
            let lab = axes == ReducedAxes::Lab;
            Sensing::Reduced {
                force: [first, first + 1, first + 2],
                force_gain: [newton; 3],
                centre: [Some(first + 3), Some(first + 4), if lab { Some(first + 5) } else { None }],
                centre_gain: metre,
                free_moment: Some(first + if lab { 6 } else { 5 }),
                free_moment_gain: newton_metre,
                axes,
            }
        };
        let many = |columns: Vec<[f64; 6]>, origin_m: DVec3| {
            Sensing::calibrated((first..first + columns.len()).collect(), columns, origin_m)
        };
        let eight = std::array::from_fn(|k| first + k);
        match self {
            Self::One => reduced(ReducedAxes::Plate),
            Self::Lab => reduced(ReducedAxes::Lab),
            Self::Two => Sensing::six(std::array::from_fn(|k| first + k), newton, newton_metre, origin),
            Self::Three => Sensing::piezo8(eight, newton, a, b, depth),
            Self::Four => many(FOUR.to_vec(), origin),
            Self::Five => many(five(a, b), origin),
            Self::Six => many(through(&six_corners(a, b), 150.0), DVec3::new(0.0, 0.0, depth)),
            Self::Seven => many(through(&piezo8_columns(a, b), 200.0), DVec3::new(0.0, 0.0, depth)),
        }
    }
}

/// Columns of an invented 6×6 calibration matrix with cross-talk: N and N·m per volt.
const FOUR: [[f64; 6]; 6] = [
    [400.0, 2.0, -3.0, 0.1, -0.2, 0.05],
    [-1.5, 410.0, 4.0, 0.3, 0.1, -0.1],
    [2.5, -1.0, 800.0, -0.2, 0.4, 0.02],
    [0.8, 0.5, -2.0, 180.0, 0.6, 0.1],
    [-0.4, 1.1, 3.0, -0.5, 170.0, 0.2],
    [0.3, -0.9, 1.0, 0.2, -0.3, 90.0],
];

/// Columns of an invented 6×8 matrix: four vertical channels at the corners C, D, A, B, then Yac, Xdc, Xab, Ybd.
fn five(a: f64, b: f64) -> Vec<[f64; 6]> {
    let vertical = |x: f64, y: f64| [1.0, -0.5, 300.0, 300.0 * y, -300.0 * x, 0.1];
    let along_x = |y: f64| [180.0, 0.6, -0.8, 0.0, 0.1, -180.0 * y];
    let along_y = |x: f64| [-0.7, 175.0, 0.9, 0.1, 0.0, 175.0 * x];
    vec![
        vertical(a, b),
        vertical(a, -b),
        vertical(-a, b),
        vertical(-a, -b),
        along_y(a),
        along_x(-b),
        along_x(b),
        along_y(-a),
    ]
}

/// Twelve unit columns: Fx, Fy, Fz of the sensors in the quadrants 1 to 4, each at its place: (F, r × F).
fn six_corners(a: f64, b: f64) -> Vec<[f64; 6]> {
    let places = [(a, b), (-a, b), (-a, -b), (a, -b)];
    places
        .into_iter()
        .flat_map(|(x, y)| {
            [[1.0, 0.0, 0.0, 0.0, 0.0, -y], [0.0, 1.0, 0.0, 0.0, 0.0, x], [0.0, 0.0, 1.0, y, -x, 0.0]]
        })
        .collect()
}

/// Unit columns behind an invented square matrix: each sensor reads `gain` N a volt and 0.4 % of its neighbours.
fn through(units: &[[f64; 6]], gain: f64) -> Vec<[f64; 6]> {
    let n = units.len();
    (0..n)
        .map(|k| {
            let mut column = [0.0; 6];
            for (j, unit) in units.iter().enumerate() {
                let share = if j == k {
                    1.0
                } else if (j + 1) % n == k || (k + 1) % n == j {
                    0.004
                } else {
                    0.0
                };
                for (c, u) in column.iter_mut().zip(unit) {
                    *c += gain * share * u;
                }
            }
            column
        })
        .collect()
}
