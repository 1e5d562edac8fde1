//! From a plate's channels to the reaction on the player, as a wrench in the golf frame.
use crate::finding::{self, Checked, Finding};
use crate::frame::Frame;
use crate::plate::{Measures, Plate, ReducedAxes, Sensing};
use crate::recording::{Analog, Recording};
use crate::rig::Rig;
use glam::{DMat3, DVec3};

/// A force and moment for every sample. Frame: golf; moment about the golf origin; reaction on the player.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wrenches {
    /// N.
    pub force_n: Vec<DVec3>,
    /// N·m about the golf origin.
    pub moment_nm: Vec<DVec3>,
}

impl Wrenches {
    /// Samples.
    pub fn len(&self) -> usize {
        self.force_n.len()
    }
    /// True where there is not one sample.
    pub fn is_empty(&self) -> bool {
        self.force_n.is_empty()
    }
    /// Adds another wrench, sample by sample.
    pub fn add(&mut self, other: &Self) {
        for (a, b) in self.force_n.iter_mut().zip(&other.force_n) {
            *a += *b;
        }
        for (a, b) in self.moment_nm.iter_mut().zip(&other.moment_nm) {
            *a += *b;
        }
    }
}

/// The surface on which a centre of pressure lies. Frame: golf, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surface {
    /// A point of the surface: its centre.
    pub centre_m: DVec3,
    /// Unit normal, pointing up.
    pub normal: DVec3,
    /// Outline, in the order of the plate's corners.
    pub corners_m: [DVec3; 4],
}

impl Surface {
    /// The plane z = 0 of the golf frame with an outline around the given surfaces.
    pub fn around(surfaces: &[Self]) -> Self {
        let corners = || surfaces.iter().flat_map(|s| s.corners_m);
        let low = corners().fold(DVec3::INFINITY, DVec3::min);
        let high = corners().fold(DVec3::NEG_INFINITY, DVec3::max);
        let (low, high) = if surfaces.is_empty() { (DVec3::ZERO, DVec3::ZERO) } else { (low, high) };
        let at = |x: f64, y: f64| DVec3::new(x, y, 0.0);
        Self {
            centre_m: at((low.x + high.x) / 2.0, (low.y + high.y) / 2.0),
            normal: DVec3::Z,
            corners_m: [at(high.x, high.y), at(low.x, high.y), at(low.x, low.y), at(high.x, low.y)],
        }
    }
}

/// One plate after reading: its surface and its wrench.
#[derive(Clone, Debug, PartialEq)]
pub struct PlateWrench {
    /// Name of the plate.
    pub name: String,
    /// Index of the plate in the rig.
    pub plate: usize,
    /// Where it lies.
    pub surface: Surface,
    /// What it measured.
    pub wrench: Wrenches,
    /// True where the channels held the force on the plate, and force and moment were turned into the reaction.
    pub turned: bool,
}

/// Reads every plate of a rig.
///
/// Frame: channels in plate or laboratory axes → golf frame, reaction on the player, about the golf origin.
/// Undefined: NaN where a channel has no value. Plates without axes are left out, with a finding.
/// Source: transfer of a wrench, M_P = M_O + (O − P) × F (any textbook of statics); plate types: C3D user guide.
pub fn wrenches(recording: &Recording, rig: &Rig, frame: &Frame) -> Checked<Vec<PlateWrench>> {
    let mut findings = Vec::new();
    let mut plates = Vec::with_capacity(rig.plates.len());
    for (index, plate) in rig.plates.iter().enumerate() {
        let Some(surface) = surface_of(plate, frame) else {
            findings.push(
                Finding::new(&finding::CORNERS_DEGENERATE, format!("corners {:?} m", plate.corners_m))
                    .on_plate(index),
            );
            continue;
        };
        let mut wrench = match &plate.sensing {
            Sensing::Linear { channels, columns, origin_m } => {
                let to_golf = LinearMap::new(plate, frame, columns, *origin_m);
                to_golf.apply(&recording.analog, channels)
            }
            Sensing::Reduced { .. } => reduced(&recording.analog, plate, frame, &surface),
        };
        gaps(&wrench, index, &recording.analog, &mut findings);
        let turn = match plate.measures {
            Measures::OnPlayer => false,
            Measures::OnPlate => true,
            Measures::BySign => {
                let (low, high) = vertical_range(&wrench);
                let down = -low > high && -low > 2.0 * rig.load_floor_n;
                if down {
                    findings.push(
                        Finding::new(
                            &finding::FORCE_SIGN_TURNED,
                            format!("vertical force between {low:.1} and {high:.1} N as stored"),
                        )
                        .on_plate(index),
                    );
                }
                down
            }
        };
        if turn {
            wrench.force_n.iter_mut().chain(wrench.moment_nm.iter_mut()).for_each(|v| *v = -*v);
        }
        plates.push(PlateWrench { name: plate.name.clone(), plate: index, surface, wrench, turned: turn });
    }
    Checked { value: plates, findings }
}

/// The plate's top surface (cover included) in the golf frame; `None` where its corners have no axes.
pub fn surface_of(plate: &Plate, frame: &Frame) -> Option<Surface> {
    let normal = frame.turn(plate.axes()?.z_axis);
    let normal = if normal.z < 0.0 { -normal } else { normal };
    let lift = normal * plate.cover_m;
    Some(Surface {
        centre_m: frame.place(plate.centre_m()) + lift,
        normal,
        corners_m: plate.corners_m.map(|c| frame.place(c) + lift),
    })
}

/// Vertical force that a hundredth of the samples stays under, and that a hundredth exceeds, N: the range without
/// single outliers. (0, 0) where there is nothing.
fn vertical_range(wrench: &Wrenches) -> (f64, f64) {
    let mut vertical: Vec<f64> = wrench.force_n.iter().map(|f| f.z).filter(|z| z.is_finite()).collect();
    let Some(last) = vertical.len().checked_sub(1) else { return (0.0, 0.0) };
    let mut ranked = |rank: usize| *vertical.select_nth_unstable_by(rank, f64::total_cmp).1;
    (ranked(last / 100), ranked(last - last / 100))
}

fn gaps(wrench: &Wrenches, index: usize, analog: &Analog, findings: &mut Vec<Finding>) {
    let defined = |k: &usize| wrench.force_n[*k].is_finite() && wrench.moment_nm[*k].is_finite();
    let missing = (0..wrench.len()).filter(|k| !defined(k)).count();
    if missing == 0 {
        return;
    }
    let first = (0..wrench.len()).find(|k| !defined(k)).unwrap_or(0);
    let last = (0..wrench.len()).rev().find(|k| !defined(k)).unwrap_or(0);
    let at = |k: usize| k as f64 / analog.rate_hz;
    findings.push(
        Finding::new(
            &finding::GAP_IN_SIGNAL,
            format!("{missing} of {} samples have no value in some channel of this plate", wrench.len()),
        )
        .on_plate(index)
        .during(at(first), at(last)),
    );
}

/// Channels → golf wrench is linear, so it is one 6×n matrix per plate: sensor, transfer to the golf origin and
/// both rotations are multiplied together once, not per sample.
struct LinearMap {
    columns: Vec<(DVec3, DVec3)>,
}

impl LinearMap {
    fn new(plate: &Plate, frame: &Frame, columns: &[[f64; 6]], origin_m: DVec3) -> Self {
        // `surface_of` has already refused a plate without axes.
        let axes = plate.axes().unwrap_or(DMat3::IDENTITY);
        // Sensor origin in the golf frame: it lies `origin_m` short of the surface centre, in plate axes.
        let sensor_m = frame.place(plate.centre_m() - axes * origin_m);
        let columns = columns
            .iter()
            .map(|c| {
                let force = frame.turn(axes * DVec3::new(c[0], c[1], c[2]));
                let moment = frame.turn(axes * DVec3::new(c[3], c[4], c[5]));
                (force, moment + sensor_m.cross(force))
            })
            .collect();
        Self { columns }
    }

    /// Sums channel by channel over blocks that stay in the cache; the order of the sum is the channels' order.
    fn apply(&self, analog: &Analog, channels: &[usize]) -> Wrenches {
        const BLOCK: usize = 512;
        let samples = analog.len();
        let mut out =
            Wrenches { force_n: Vec::with_capacity(samples), moment_nm: Vec::with_capacity(samples) };
        let mut start = 0;
        while start < samples {
            let end = (start + BLOCK).min(samples);
            let mut force = [DVec3::ZERO; BLOCK];
            let mut moment = [DVec3::ZERO; BLOCK];
            for (&channel, &(f, m)) in channels.iter().zip(&self.columns) {
                let values = analog.channels.get(channel).and_then(|c| c.samples.get(start..end));
                match values {
                    Some(values) => {
                        for ((&v, force), moment) in values.iter().zip(&mut force).zip(&mut moment) {
                            *force += f * v;
                            *moment += m * v;
                        }
                    }
                    // A rig naming a channel that is not there is refused when it is read; NaN keeps us honest.
                    None => force.iter_mut().for_each(|v| *v = DVec3::NAN),
                }
            }
            out.force_n.extend_from_slice(&force[..end - start]);
            out.moment_nm.extend_from_slice(&moment[..end - start]);
            start = end;
        }
        out
    }
}

/// Force, point of application and free moment → golf wrench.
///
/// Where the point is missing (a reduced export has none for an unloaded plate) the force is taken at the
/// surface centre: nothing better is known, and the force there is small.
fn reduced(analog: &Analog, plate: &Plate, frame: &Frame, surface: &Surface) -> Wrenches {
    let Sensing::Reduced { force, force_gain, centre, centre_gain, free_moment, free_moment_gain, axes } =
        &plate.sensing
    else {
        return Wrenches::default();
    };
    let column = |channel: usize| analog.channels.get(channel).map_or(&[][..], |c| c.samples.as_slice());
    let value = |column: &[f64], k: usize| column.get(k).copied().unwrap_or(f64::NAN);
    let (rotate, base_m) = match axes {
        // TYPE 1: plate axes, from the surface centre.
        ReducedAxes::Plate => (plate.axes().unwrap_or(DMat3::IDENTITY), plate.centre_m()),
        ReducedAxes::Lab => (DMat3::IDENTITY, DVec3::ZERO),
    };
    // A coordinate that is not recorded is the surface's own.
    let own = match axes {
        ReducedAxes::Plate => DVec3::ZERO,
        ReducedAxes::Lab => plate.centre_m(),
    };
    let about = match axes {
        ReducedAxes::Plate => frame.turn(rotate.z_axis),
        ReducedAxes::Lab => DVec3::Z,
    };
    let force = force.map(column);
    let centre = centre.map(|c| c.map(column));
    let free = free_moment.map(column);
    let samples = analog.len();
    let mut out = Wrenches { force_n: Vec::with_capacity(samples), moment_nm: Vec::with_capacity(samples) };
    for k in 0..samples {
        let f = DVec3::from_array(std::array::from_fn(|i| value(force[i], k) * force_gain[i]));
        let p = DVec3::from_array(std::array::from_fn(|i| {
            centre[i].map_or(own[i], |c| value(c, k) * centre_gain)
        }));
        let f = frame.turn(rotate * f);
        let known = p.is_finite();
        let at = if known { frame.place(base_m + rotate * p) } else { surface.centre_m };
        let t = match free {
            Some(column) => value(column, k) * free_moment_gain,
            None => 0.0,
        };
        let t = if t.is_nan() && !known { 0.0 } else { t };
        out.force_n.push(f);
        out.moment_nm.push(at.cross(f) + about * t);
    }
    out
}

/// Several plates as the one plate they would have been: the sum of their wrenches on the plane z = 0.
///
/// Source: statics; wrenches about one point add.
pub fn collapse(plates: &[PlateWrench]) -> Option<PlateWrench> {
    let (first, rest) = plates.split_first()?;
    let mut wrench = first.wrench.clone();
    for plate in rest {
        wrench.add(&plate.wrench);
    }
    let surfaces: Vec<Surface> = plates.iter().map(|p| p.surface).collect();
    Some(PlateWrench {
        name: plates.iter().map(|p| p.name.as_str()).collect::<Vec<_>>().join(" + "),
        plate: first.plate,
        surface: Surface::around(&surfaces),
        wrench,
        turned: first.turned,
    })
}
