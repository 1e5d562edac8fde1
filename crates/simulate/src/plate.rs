//! The inverse of a plate: which channel values would have been read for a given wrench.
use crate::least::least;
use glam::{DMat3, DVec3};
use mechanics::plate::ReducedAxes;
use mechanics::{Axis, Plate, Sensing};

/// Force and moment about the centre of the top surface, in the plate's own axes, N and N·m, in the sense in
/// which the channels hold it (reaction or force on the plate).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wrench {
    /// N.
    pub force_n: DVec3,
    /// N·m about the surface centre.
    pub moment_nm: DVec3,
}

impl Wrench {
    /// Nothing.
    pub const ZERO: Self = Self { force_n: DVec3::ZERO, moment_nm: DVec3::ZERO };

    /// (Fx, Fy, Fz, Mx, My, Mz).
    pub fn to_array(self) -> [f64; 6] {
        let (f, m) = (self.force_n, self.moment_nm);
        [f.x, f.y, f.z, m.x, m.y, m.z]
    }
    /// From (Fx, Fy, Fz, Mx, My, Mz).
    pub fn from_array([fx, fy, fz, mx, my, mz]: [f64; 6]) -> Self {
        Self { force_n: DVec3::new(fx, fy, fz), moment_nm: DVec3::new(mx, my, mz) }
    }
}

/// A plate read backwards.
#[derive(Clone, Debug)]
pub struct Inverse {
    sensing: Sensing,
    /// For linear sensing: what each channel gives for one unit of each component about the sensor origin.
    rows: Vec<[f64; 6]>,
    axes: DMat3,
    centre_m: DVec3,
    /// +1 where the plate's z axis points up, −1 where down.
    upward: f64,
}

impl Inverse {
    /// `None` where the corners span no surface, a gain is zero, or the channels cannot tell all six components.
    pub fn of(plate: &Plate, up: Axis) -> Option<Self> {
        let axes = plate.axes()?;
        let rows = match &plate.sensing {
            Sensing::Linear { columns, .. } => linear_rows(columns)?,
            Sensing::Reduced { force_gain, centre_gain, free_moment, free_moment_gain, .. } => {
                let gains = force_gain.iter().chain([centre_gain, free_moment_gain]);
                if free_moment.is_none() || gains.into_iter().any(|g| *g == 0.0 || !g.is_finite()) {
                    return None;
                }
                Vec::new()
            }
        };
        let upward = if axes.z_axis.dot(up.unit()) < 0.0 { -1.0 } else { 1.0 };
        Some(Self { sensing: plate.sensing.clone(), rows, axes, centre_m: plate.centre_m(), upward })
    }

    /// Channel numbers in the order in which [`Inverse::values`] gives values; recorded centres included.
    pub fn channels(&self) -> Vec<usize> {
        match &self.sensing {
            Sensing::Linear { channels, .. } => channels.clone(),
            Sensing::Reduced { force, centre, free_moment, .. } => {
                force.iter().chain(centre.iter().flatten()).chain(free_moment).copied().collect()
            }
        }
    }

    /// What the channels read, in the order of [`Inverse::channels`].
    ///
    /// Linear sensing: M_o = M_s − F × origin, then the shortest channel vector that gives (F, M_o); for eight
    /// piezo channels this shares a vertical load between the sensors as a rigid plate does. Reduced sensing:
    /// cop = (−My, Mx)/Fz, T = Mz − cop_x Fy + cop_y Fx; without vertical force the point is the surface centre.
    /// Source: C3D user guide, TYPE-1 to TYPE-4, solved for the channels.
    pub fn values(&self, wrench: &Wrench) -> Vec<f64> {
        let (f, m) = (wrench.force_n, wrench.moment_nm);
        match &self.sensing {
            Sensing::Linear { origin_m, .. } => {
                let about_sensor = Wrench { force_n: f, moment_nm: m - f.cross(*origin_m) }.to_array();
                self.rows.iter().map(|r| r.iter().zip(about_sensor).map(|(a, w)| a * w).sum()).collect()
            }
            Sensing::Reduced { force_gain, centre, centre_gain, free_moment_gain, axes, .. } => {
                let cop = if f.z == 0.0 { DVec3::ZERO } else { DVec3::new(-m.y / f.z, m.x / f.z, 0.0) };
                let free = m.z - cop.x * f.y + cop.y * f.x;
                let (f, cop, free) = match axes {
                    ReducedAxes::Plate => (f, cop, free),
                    ReducedAxes::Lab => (self.axes * f, self.centre_m + self.axes * cop, self.upward * free),
                };
                let mut out: Vec<f64> = (0..3).map(|k| f[k] / force_gain[k]).collect();
                out.extend((0..3).filter(|k| centre[*k].is_some()).map(|k| cop[k] / centre_gain));
                out.push(free / free_moment_gain);
                out
            }
        }
    }

    /// The largest value of each channel for components within ± `full`; `None` for reduced sensing.
    pub fn ranges(&self, full: [f64; 6]) -> Option<Vec<f64>> {
        match &self.sensing {
            Sensing::Linear { .. } => {
                let range = |r: &[f64; 6]| r.iter().zip(full).map(|(a, f)| a.abs() * f).sum();
                Some(self.rows.iter().map(range).collect())
            }
            Sensing::Reduced { .. } => None,
        }
    }

    /// The wrench that channel values stand for: the plate read forwards, for faults and for closing the loop.
    /// Values in the order of [`Inverse::channels`].
    pub fn wrench(&self, values: &[f64]) -> Wrench {
        let value = |k: usize| values.get(k).copied().unwrap_or(f64::NAN);
        match &self.sensing {
            Sensing::Linear { columns, origin_m, .. } => {
                let mut sum = [0.0; 6];
                for (k, column) in columns.iter().enumerate() {
                    for (s, c) in sum.iter_mut().zip(column) {
                        *s += c * value(k);
                    }
                }
                let about_sensor = Wrench::from_array(sum);
                let f = about_sensor.force_n;
                Wrench { force_n: f, moment_nm: about_sensor.moment_nm + f.cross(*origin_m) }
            }
            Sensing::Reduced { force_gain, centre, centre_gain, free_moment_gain, axes, .. } => {
                let mut f = DVec3::from_array([0, 1, 2].map(|k| value(k) * force_gain[k]));
                let recorded = centre.iter().flatten().count();
                let own = match axes {
                    ReducedAxes::Plate => DVec3::ZERO,
                    ReducedAxes::Lab => self.centre_m,
                };
                let mut next = 3;
                let mut cop = DVec3::from_array([0, 1, 2].map(|k| match centre[k] {
                    Some(_) => {
                        next += 1;
                        value(next - 1) * centre_gain
                    }
                    None => own[k],
                }));
                let mut free = value(3 + recorded) * free_moment_gain;
                if *axes == ReducedAxes::Lab {
                    (f, cop) = (self.axes.transpose() * f, self.axes.transpose() * (cop - self.centre_m));
                    free *= self.upward;
                }
                Wrench { force_n: f, moment_nm: cop.cross(f) + DVec3::Z * free }
            }
        }
    }
}

/// One row a channel: its value for a unit of each component. The shortest solution is linear in the wrench, so
/// solving for the six unit wrenches once is enough.
fn linear_rows(columns: &[[f64; 6]]) -> Option<Vec<[f64; 6]>> {
    let equations: Vec<Vec<f64>> = (0..6).map(|i| columns.iter().map(|c| c[i]).collect()).collect();
    let mut rows = vec![[0.0; 6]; columns.len()];
    for component in 0..6 {
        let mut unit = [0.0; 6];
        unit[component] = 1.0;
        for (row, value) in rows.iter_mut().zip(least(&equations, &unit)?) {
            row[component] = value;
        }
    }
    Some(rows)
}
