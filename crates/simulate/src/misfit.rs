//! Rigs that are a little off: the recording that another rig of the same error budget would have made of a swing.
//!
//! What the budget means is told at [`mechanics::ErrorBudget`]; each error is drawn from a normal distribution and made
//! in full, not to first order, so that first-order propagation can be judged by it.
use crate::chance::{Chance, Purpose};
use crate::plate::{Inverse, Wrench};
use glam::{DMat3, DVec3};
use mechanics::uncertainty::CROSSTALK_LEVER_M;
use mechanics::{ErrorBudget, Plate, Recording, Rig};
use signal::math;

/// How far one plate is from what its rig file says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlateMisfit {
    /// What it reads for a unit of each component: rows and columns Fx … Mz, plate axes, about the surface centre.
    pub response: [[f64; 6]; 6],
    /// What it reads without load, N and N·m.
    pub zero: [f64; 6],
    /// Where it lies from where the rig has it, horizontally, laboratory axes, m.
    pub shift_m: DVec3,
    /// How much higher the surface is over the sensors than stated, m.
    pub height_m: f64,
    /// Angle about the vertical, rad.
    pub angle_rad: f64,
    /// How late it is, s.
    pub late_s: f64,
    /// White noise of each component, standard deviation, N and N·m.
    pub noise: [f64; 6],
}

/// A rig that is off: one entry a plate.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// In the order of the rig's plates.
    pub plates: Vec<PlateMisfit>,
    /// Seed of its noise.
    pub seed: u64,
    /// Number of the rig under this seed.
    pub k: u32,
}

impl PlateMisfit {
    /// As the rig file says.
    pub const NONE: Self = Self {
        response: [
            [1.0, 0.0, 0.0, 0.0, 0.0, 0.0],
            [0.0, 1.0, 0.0, 0.0, 0.0, 0.0],
            [0.0, 0.0, 1.0, 0.0, 0.0, 0.0],
            [0.0, 0.0, 0.0, 1.0, 0.0, 0.0],
            [0.0, 0.0, 0.0, 0.0, 1.0, 0.0],
            [0.0, 0.0, 0.0, 0.0, 0.0, 1.0],
        ],
        zero: [0.0; 6],
        shift_m: DVec3::ZERO,
        height_m: 0.0,
        angle_rad: 0.0,
        late_s: 0.0,
        noise: [0.0; 6],
    };

    /// A rig of so many plates, each of which reads every component this many times too large, and is right otherwise.
    pub fn reading(times: f64, plates: usize) -> Misfit {
        let mut plate = Self::NONE;
        for (k, row) in plate.response.iter_mut().enumerate() {
            row[k] = times;
        }
        Misfit { plates: vec![plate; plates], seed: 0, k: 0 }
    }
}

/// Draws rig `k` of a budget. `noise`: white noise of each component of every plate, standard deviation.
///
/// The first plate is the clock, and where the rig does not state its origin, the origin is the mean of the plates'
/// centres as they really lie, so that what counts of a plate's place is how far it is from that mean.
pub fn draw(rig: &Rig, budget: &ErrorBudget, noise: [f64; 6], seed: u64, k: u32) -> Misfit {
    let mut plates: Vec<PlateMisfit> =
        (0..rig.plates.len()).map(|plate| draw_plate(rig, budget, noise, seed, k, plate)).collect();
    if rig.origin_m.is_none() {
        let mean = plates.iter().map(|p| p.shift_m).sum::<DVec3>() / plates.len() as f64;
        plates.iter_mut().for_each(|p| p.shift_m -= mean);
    }
    Misfit { plates, seed, k }
}

fn number(plate: usize) -> u16 {
    u16::try_from(plate).unwrap_or(u16::MAX)
}

fn draw_plate(rig: &Rig, b: &ErrorBudget, noise: [f64; 6], seed: u64, k: u32, plate: usize) -> PlateMisfit {
    let mut chance = Chance::new(seed, k, Purpose::Misfit(number(plate)));
    let mut normal = |u: f64| u * chance.normal();
    let mut response = [[0.0; 6]; 6];
    for (into, row) in response.iter_mut().enumerate() {
        for (from, share) in row.iter_mut().enumerate() {
            *share = match (into < 3, from < 3) {
                (true, true) if into == from => 1.0 + normal(b.force_gain),
                (false, false) if into == from => 1.0 + normal(b.moment_gain),
                (true, true) | (false, false) => normal(b.crosstalk),
                (false, true) => normal(b.crosstalk * CROSSTALK_LEVER_M),
                (true, false) => 0.0,
            };
        }
    }
    let zero = std::array::from_fn(|c| normal(if c < 3 { b.force_drift_n } else { b.moment_drift_nm }));
    let up = rig.up.unit();
    let along = up.any_orthonormal_vector();
    PlateMisfit {
        response,
        zero,
        shift_m: along * normal(b.position_m) + up.cross(along) * normal(b.position_m),
        height_m: normal(b.height_m),
        angle_rad: normal(b.angle_rad),
        late_s: if plate == 0 { 0.0 } else { normal(b.skew_s) },
        noise,
    }
}

/// What the rig that is off would have recorded where the given rig recorded the truth; to be read as the given rig.
///
/// A plate whose channels cannot be solved for stays as it is.
pub fn record(recording: &Recording, rig: &Rig, misfit: &Misfit) -> Recording {
    let mut out = recording.clone();
    for (index, (plate, off)) in rig.plates.iter().zip(&misfit.plates).enumerate() {
        let Some(inverse) = Inverse::of(plate, rig.up) else { continue };
        let channels = inverse.channels();
        let column = |k: &usize| recording.analog.channels.get(*k).map_or(&[][..], |c| &c.samples);
        let columns: Vec<&[f64]> = channels.iter().map(column).collect();
        let truth: Vec<Wrench> = (0..recording.analog.len())
            .map(|i| {
                let values: Vec<f64> =
                    columns.iter().map(|c| c.get(i).copied().unwrap_or(f64::NAN)).collect();
                inverse.wrench(&values)
            })
            .collect();
        let reader = Reader::new(plate, rig, off);
        let mut noise = Chance::new(misfit.seed, misfit.k, Purpose::MisfitNoise(number(index)));
        let samples_late = off.late_s * recording.analog.rate_hz;
        for i in 0..truth.len() {
            let mut reading = reader.read(at(&truth, i as f64 - samples_late));
            for (value, sigma) in reading.iter_mut().zip(off.noise) {
                if sigma > 0.0 {
                    *value += sigma * noise.normal();
                }
            }
            for (k, value) in channels.iter().zip(inverse.values(&Wrench::from_array(reading))) {
                if let Some(sample) = out.analog.channels.get_mut(*k).and_then(|c| c.samples.get_mut(i)) {
                    *sample = value;
                }
            }
        }
    }
    out
}

/// A plate that is off, in its own axes.
struct Reader<'a> {
    off: &'a PlateMisfit,
    /// Where it lies from where it should, m.
    shift_m: DVec3,
    /// What lies between the moment about its surface centre as it is and as it is taken to be, m.
    height_m: DVec3,
    /// From the plate's axes as stated to those it has.
    turn: DMat3,
}

impl<'a> Reader<'a> {
    fn new(plate: &Plate, rig: &Rig, off: &'a PlateMisfit) -> Self {
        // `Inverse::of` has already refused a plate without axes.
        let to_plate = plate.axes().unwrap_or(DMat3::IDENTITY).transpose();
        let up = rig.up.unit();
        let up = to_plate * up;
        let (sin, cos) = math::sin_cos(-off.angle_rad);
        let turned = |v: DVec3| v * cos + up.cross(v) * sin + up * (up.dot(v) * (1.0 - cos));
        Self {
            off,
            shift_m: to_plate * off.shift_m,
            height_m: up * off.height_m,
            turn: DMat3::from_cols(turned(DVec3::X), turned(DVec3::Y), turned(DVec3::Z)),
        }
    }

    /// What it reads for a wrench about its surface centre as stated.
    fn read(&self, truth: Wrench) -> [f64; 6] {
        let force = self.turn * truth.force_n;
        let moment =
            self.turn * (truth.moment_nm - self.shift_m.cross(truth.force_n)) + self.height_m.cross(force);
        let clean = Wrench { force_n: force, moment_nm: moment }.to_array();
        std::array::from_fn(|c| {
            self.off.response[c].iter().zip(clean).map(|(share, w)| share * w).sum::<f64>() + self.off.zero[c]
        })
    }
}

/// The truth between samples: the cubic through the four around it; the end values beyond the ends.
fn at(truth: &[Wrench], place: f64) -> Wrench {
    let last = truth.len() as f64 - 1.0;
    let before = place.clamp(0.0, last.max(0.0)).floor();
    let t = place.clamp(0.0, last.max(0.0)) - before;
    let near = |step: f64| {
        let k = (before + step).clamp(0.0, last.max(0.0)) as usize;
        truth.get(k).map_or([f64::NAN; 6], |w| w.to_array())
    };
    if t == 0.0 {
        return Wrench::from_array(near(0.0));
    }
    let (a, b, c, d) = (near(-1.0), near(0.0), near(1.0), near(2.0));
    let weights = [
        -t * (t - 1.0) * (t - 2.0) / 6.0,
        (t + 1.0) * (t - 1.0) * (t - 2.0) / 2.0,
        -(t + 1.0) * t * (t - 2.0) / 2.0,
        (t + 1.0) * t * (t - 1.0) / 6.0,
    ];
    Wrench::from_array(std::array::from_fn(|i| {
        weights[0] * a[i] + weights[1] * b[i] + weights[2] * c[i] + weights[3] * d[i]
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Noise, PlateType, PlayerSpec, RigSpec, Style, swing};

    /// A rig without error records the truth, on every kind of plate; the same seed gives the same rig.
    #[test]
    fn no_error_is_no_change() {
        let player =
            PlayerSpec { quiet_s: 0.7, follow_s: 0.5, hold_s: 0.3, ..PlayerSpec::right(Style::press()) };
        for kind in PlateType::ALL {
            let rig = RigSpec { rate_hz: 100.0, ..RigSpec::two_plates(kind) };
            let clean = swing(&player, &rig, &Noise::NONE, 3).expect("a swing");
            let none = draw(&clean.rig, &ErrorBudget::NONE, [0.0; 6], 1, 2);
            let again = record(&clean.recording, &clean.rig, &none);
            for (a, b) in clean.recording.analog.channels.iter().zip(&again.analog.channels) {
                for (x, y) in a.samples.iter().zip(&b.samples) {
                    assert!((x - y).abs() <= 1e-9 * x.abs().max(1.0) || x.is_nan(), "{kind:?}: {x} {y}");
                }
            }
            let off = draw(&clean.rig, &ErrorBudget::TYPICAL, [0.0; 6], 1, 2);
            assert_eq!(off, draw(&clean.rig, &ErrorBudget::TYPICAL, [0.0; 6], 1, 2));
            assert_ne!(record(&clean.recording, &clean.rig, &off), clean.recording);
            let sum = off.plates[0].shift_m + off.plates[1].shift_m;
            assert!(sum.length() < 1e-15, "the origin goes with the plates");
        }
    }

    /// The cubic gives a cubic back: t³ at 1.25 of samples 0, 1, 8, 27.
    #[test]
    fn between_samples() {
        let truth: Vec<Wrench> =
            (0..4).map(|k| Wrench { force_n: DVec3::splat(f64::from(k * k * k)), ..Wrench::ZERO }).collect();
        assert!((at(&truth, 1.25).force_n.x - 1.953125).abs() < 1e-12);
        assert_eq!(at(&truth, -3.0).force_n.x, 0.0);
        assert_eq!(at(&truth, 9.0).force_n.x, 27.0);
    }
}
