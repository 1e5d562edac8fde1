//! A force plate: where it lies, what its channels are, and how they become a wrench.
use glam::{DMat3, DVec3};

/// One plate of a rig. Lengths in metres, laboratory axes unless said otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Plate {
    /// Name for people: "1", "A", "front".
    pub name: String,
    /// Corners of the top surface in the order of the quadrants of the plate's own axes:
    /// (+x,+y), (−x,+y), (−x,−y), (+x,−y). They define the plate's axes ([`Plate::axes`]).
    pub corners_m: [DVec3; 4],
    /// How the channels become force and moment.
    pub sensing: Sensing,
    /// What the channels hold.
    pub measures: Measures,
    /// Thickness of a cover (turf, mat) lying on the plate, m: the surface is this much higher.
    pub cover_m: f64,
    /// Analog samples (from, to) of the file's own baseline window, if it states one.
    pub baseline: Option<(usize, usize)>,
    /// Which foot stands here, where the rig states it.
    pub foot: Option<Foothold>,
    /// In words, for people: "TYPE 2, six components".
    pub kind: String,
}

/// Whose force the channels hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measures {
    /// The reaction of the ground on the player.
    OnPlayer,
    /// The force of the player on the plate.
    OnPlate,
    /// Not stated: turned so that the loaded vertical force comes out upward, with a finding.
    BySign,
}

/// Which foot a rig file says stands on a plate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Foothold {
    /// The foot nearer the target.
    Lead,
    /// The foot farther from the target.
    Trail,
    /// The player's left foot.
    Left,
    /// The player's right foot.
    Right,
    /// Both feet share the plate.
    Both,
}

/// How channels become a wrench. Channel numbers are indices into [`crate::Analog::channels`].
#[derive(Clone, Debug, PartialEq)]
pub enum Sensing {
    /// Force and moment are linear in the channels: (F, M) = Σ column · channel, in N and N·m, about
    /// the sensor origin, in the plate's own axes. Six components, raw piezo channels, calibration matrices.
    Linear {
        /// One index a column.
        channels: Vec<usize>,
        /// Contribution of one unit of each channel to (Fx, Fy, Fz, Mx, My, Mz), N and N·m per channel unit.
        columns: Vec<[f64; 6]>,
        /// Vector from the sensor origin to the centre of the plate's top surface, plate axes, m.
        origin_m: DVec3,
    },
    /// Already reduced: force, point of application on the surface, and free moment about the plate normal.
    Reduced {
        /// Force channels x, y, z.
        force: [usize; 3],
        /// N per channel unit, for x, y, z.
        force_gain: [f64; 3],
        /// Centre-of-pressure channels x, y, z; `None` for a coordinate that is the surface's own.
        centre: [Option<usize>; 3],
        /// Metres per channel unit.
        centre_gain: f64,
        /// Free-moment channel (about the z of `axes`; about the vertical where `axes` is the laboratory).
        free_moment: Option<usize>,
        /// N·m per channel unit.
        free_moment_gain: f64,
        /// The axes the numbers are in.
        axes: ReducedAxes,
    },
}

/// The axes of reduced channels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReducedAxes {
    /// The plate's own axes, point of application from the surface centre (C3D TYPE 1).
    Plate,
    /// Laboratory axes and laboratory coordinates. The free moment is about the laboratory's upward axis.
    Lab,
}

impl Sensing {
    /// Every channel that the plate reads, in the order of the description.
    pub fn channels(&self) -> Vec<usize> {
        match self {
            Self::Linear { channels, .. } => channels.clone(),
            Self::Reduced { force, centre, free_moment, .. } => {
                force.iter().copied().chain(centre.iter().flatten().copied()).chain(*free_moment).collect()
            }
        }
    }

    /// Six components (Fx, Fy, Fz, Mx, My, Mz) about the sensor origin (C3D TYPE 2).
    ///
    /// Unit: N per channel unit for forces, N·m per channel unit for moments; `origin_m` as in [`Sensing::Linear`].
    /// Source: C3D user guide, TYPE-2.
    pub fn six(channels: [usize; 6], newton: f64, newton_metre: f64, origin_m: DVec3) -> Self {
        let columns = (0..6)
            .map(|k| {
                let mut column = [0.0; 6];
                column[k] = if k < 3 { newton } else { newton_metre };
                column
            })
            .collect();
        Self::Linear { channels: channels.to_vec(), columns, origin_m }
    }

    /// Eight channels of a piezo plate: Fx12, Fx34, Fy14, Fy23, Fz1..Fz4 (C3D TYPE 3).
    ///
    /// `a_m`, `b_m`: half distances between the sensors along plate x and y, positive; `depth_m`: from the sensor
    /// plane to the surface along plate z (negative with z down). Unit: `newton` N per channel unit.
    /// Source: C3D user guide, TYPE-3; sensor n lies in quadrant n.
    pub fn piezo8(channels: [usize; 8], newton: f64, a_m: f64, b_m: f64, depth_m: f64) -> Self {
        let columns = piezo8_columns(a_m, b_m).iter().map(|c| c.map(|v| v * newton)).collect();
        Self::Linear { channels: channels.to_vec(), columns, origin_m: DVec3::new(0.0, 0.0, depth_m) }
    }

    /// Channels through a calibration matrix (C3D TYPE 4 and 5): (F, M) = matrix · channels.
    ///
    /// Shape: `columns[k]` is the matrix column of channel k. Unit: N and N·m per channel unit.
    pub fn calibrated(channels: Vec<usize>, columns: Vec<[f64; 6]>, origin_m: DVec3) -> Self {
        Self::Linear { channels, columns, origin_m }
    }
}

/// Unit columns of the eight piezo channels: how one newton of each adds to (F, M) about the sensor origin.
pub fn piezo8_columns(a_m: f64, b_m: f64) -> [[f64; 6]; 8] {
    let (a, b) = (a_m, b_m);
    [
        [1.0, 0.0, 0.0, 0.0, 0.0, -b], // Fx12 acts at y = +b
        [1.0, 0.0, 0.0, 0.0, 0.0, b],  // Fx34 acts at y = −b
        [0.0, 1.0, 0.0, 0.0, 0.0, a],  // Fy14 acts at x = +a
        [0.0, 1.0, 0.0, 0.0, 0.0, -a], // Fy23 acts at x = −a
        [0.0, 0.0, 1.0, b, -a, 0.0],   // Fz1 at (+a, +b)
        [0.0, 0.0, 1.0, b, a, 0.0],    // Fz2 at (−a, +b)
        [0.0, 0.0, 1.0, -b, a, 0.0],   // Fz3 at (−a, −b)
        [0.0, 0.0, 1.0, -b, -a, 0.0],  // Fz4 at (+a, −b)
    ]
}

impl Plate {
    /// Centre of the top surface (without cover): the mean of the four corners, laboratory axes, m.
    pub fn centre_m(&self) -> DVec3 {
        self.corners_m.iter().sum::<DVec3>() / 4.0
    }

    /// The plate's own axes as columns (x, y, z) in laboratory axes; `None` where the corners span nothing.
    ///
    /// x and y are the means of opposite edges, z = x × y, then y is made square to both.
    /// Source: C3D user guide, FORCE_PLATFORM:CORNERS (quadrants); the mean of opposite edges is ours, since
    /// surveyed corners are never an exact rectangle.
    pub fn axes(&self) -> Option<DMat3> {
        let [c1, c2, c3, c4] = self.corners_m;
        let x = ((c1 - c2) + (c4 - c3)).try_normalize()?;
        let z = x.cross((c1 - c4) + (c2 - c3)).try_normalize()?;
        Some(DMat3::from_cols(x, z.cross(x), z))
    }

    /// Length along plate x and width along plate y, m.
    pub fn size_m(&self) -> (f64, f64) {
        let [c1, c2, c3, c4] = self.corners_m;
        (((c1 - c2) + (c4 - c3)).length() / 2.0, ((c1 - c4) + (c2 - c3)).length() / 2.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `piezo8_columns` against the published sums, with the worked figures of the C3D TYPE-3 formulas:
    /// Mx = b(Fz1+Fz2−Fz3−Fz4), My = a(−Fz1+Fz2+Fz3−Fz4), Mz = b(−Fx12+Fx34) + a(Fy14−Fy23).
    #[test]
    fn piezo_columns_are_the_published_sums() {
        let (a, b) = (0.22, 0.13);
        let ch = [27.0, 23.0, 43.2272727, -13.2272727, 354.45979, 204.232517, 45.54021, 195.767483];
        let columns = piezo8_columns(a, b);
        let sum = |row: usize| (0..8).map(|k| columns[k][row] * ch[k]).sum::<f64>();
        let expect = [
            ch[0] + ch[1],
            ch[2] + ch[3],
            ch[4] + ch[5] + ch[6] + ch[7],
            b * (ch[4] + ch[5] - ch[6] - ch[7]),
            a * (-ch[4] + ch[5] + ch[6] - ch[7]),
            b * (-ch[0] + ch[1]) + a * (ch[2] - ch[3]),
        ];
        for (row, want) in expect.into_iter().enumerate() {
            assert!((sum(row) - want).abs() < 1e-12, "row {row}");
        }
    }
}
