//! Motion of the centre of mass from the net force: acceleration, velocity, displacement, power.
//!
//! # What is used for what
//!
//! *The force at rest* is the mean of the quiet window, in all three components. It is what is subtracted, so a constant
//! error of the zero drops out of every component, and so does what the weight leaks into the horizontal channels
//! (a leak of 0.4 % would else be 4 cm/s after a second). Up it is the weight. Level it should be nothing; what is left of
//! real sway in the window is then counted as error instead, see [`super::doubt`].
//!
//! *The mass* divides. Stated, it is right but for what is held and worn; weighed (force at rest / g), it is the mass
//! that moves, club and shoes included, a wrong gain of the vertical channel cancels in the vertical motion, and a wrong
//! zero of b newtons makes it wrong by b/g. The caller chooses ([`Mass`]).
use core::ops::Range;
use signal::{integrate, runs, stats};

/// Where the integrals take their constants from, and how drift is met.
#[derive(Clone, Debug, PartialEq)]
pub enum Drift {
    /// At rest, on average, over `quiet`: the force there is the force at rest, the mean velocity is zero (so it is in the
    /// window's middle, but for sway), displacement counts from the mean place. The integrals run both ways from there,
    /// so a rest after the movement serves as well as one before.
    FromRest {
        /// Samples.
        quiet: Range<usize>,
    },
    /// At rest over both windows: the constant force error that would leave a velocity over `later` is removed too, so
    /// that the mean velocity is zero over either. Displacement is free: nobody need end where they began.
    RestToRest {
        /// Samples before the movement.
        quiet: Range<usize>,
        /// Samples after it.
        later: Range<usize>,
    },
    /// No rest: the caller knows the force at rest, and the velocity at one sample (of a marker model, of a flight).
    /// Displacement counts from that sample.
    FromKnown {
        /// The sample.
        at: usize,
        /// Velocity there, m/s.
        velocity_m_s: [f64; 3],
        /// Force that would leave the body at rest: errors of the zero, and weight in the third, N.
        rest_n: [f64; 3],
    },
}

/// What the force is divided by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mass {
    /// Known to the caller, kg.
    Stated(f64),
    /// Force at rest divided by gravity.
    Weighed,
}

/// Motion of the centre of mass. Columns as long as the force's, one value a sample.
#[derive(Clone, Debug, PartialEq)]
pub struct Motion {
    /// The mass used, kg.
    pub mass_kg: f64,
    /// The force at rest used, after drift was met, N.
    pub rest_n: [f64; 3],
    /// Acceleration, m/s².
    pub acceleration_m_s2: [Vec<f64>; 3],
    /// Velocity, m/s.
    pub velocity_m_s: [Vec<f64>; 3],
    /// Displacement from the place at rest, m.
    pub displacement_m: [Vec<f64>; 3],
    /// Power of the net force, F·v with F the reaction that moves this mass: m (a + g) · v, W. It is the rate of change of
    /// kinetic and potential energy together. The power of the centre of mass, not of the muscles.
    pub power_w: Vec<f64>,
    /// False where a gap lies between the two rests: velocity then stands on the nearer rest, and displacement ends at the
    /// gap.
    pub joined: bool,
}

/// Why there is no motion.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unfit {
    /// The three columns are not equally long.
    Lengths,
    /// The rate or gravity is not a positive number.
    Rate,
    /// A window is empty, outside the columns, holds a value that is not defined, or begins before the other ends.
    Window,
    /// The mass is not a positive number: stated wrongly, or nobody stood there to be weighed.
    Mass,
}

impl core::fmt::Display for Unfit {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            Self::Lengths => "the force columns are not equally long",
            Self::Rate => "the sampling rate is not known",
            Self::Window => "the quiet interval is not wholly inside the recording, or has gaps",
            Self::Mass => "the body's mass is not known and nothing was weighed in the quiet interval",
        })
    }
}

/// Motion of the centre of mass by Newton's second law and trapezoids.
///
/// Shape: three columns of equal length in, columns of that length out. Unit: N, m, s. Frame: that of the force, third
/// component up; the force is the reaction on the player. `gravity_m_s2`: of the place, or standard.
/// Undefined: NaN where the force is not finite and beyond, away from the rest: nobody knows what was gathered in a gap.
/// Errors: [`Unfit`]. Source: Linthorne 2001 (impulse–momentum, 1 kHz trapezoids); Winter 2009 for the power. Checked:
/// the simulator's truth and closed-form jump, SciPy's `cumulative_trapezoid` through `signal`, measured jumps.
pub fn motion(
    force_n: [&[f64]; 3],
    rate_hz: f64,
    mass: Mass,
    gravity_m_s2: f64,
    drift: &Drift,
) -> Result<Motion, Unfit> {
    let samples = force_n[2].len();
    if force_n.iter().any(|column| column.len() != samples) {
        return Err(Unfit::Lengths);
    }
    let positive = |v: f64| v.is_finite() && v > 0.0;
    if !positive(rate_hz) || !positive(gravity_m_s2) {
        return Err(Unfit::Rate);
    }
    let step = 1.0 / rate_hz;
    // Per component: the force at rest, and the impulse gathered from rest on.
    let mut rest_n = [0.0; 3];
    let mut impulses: [Vec<f64>; 3] = Default::default();
    let mut joined = true;
    for axis in 0..3 {
        let gathered = gather(force_n[axis], step, axis, drift)?;
        rest_n[axis] = gathered.rest_n;
        impulses[axis] = gathered.impulse_ns;
        joined &= gathered.joined;
    }
    let mass_kg = match mass {
        Mass::Stated(kg) => kg,
        Mass::Weighed => rest_n[2] / gravity_m_s2,
    };
    if !positive(mass_kg) {
        return Err(Unfit::Mass);
    }
    let mut velocity_m_s = impulses.map(|column| scaled(column, 1.0 / mass_kg));
    if let Drift::FromKnown { velocity_m_s: known, .. } = drift {
        for (column, start) in velocity_m_s.iter_mut().zip(known) {
            column.iter_mut().for_each(|v| *v += start);
        }
    }
    let anchor = drift.anchor();
    let displacement_m = velocity_m_s.each_ref().map(|v| from_anchor(v, step, &anchor));
    let acceleration_m_s2: [Vec<f64>; 3] =
        core::array::from_fn(|axis| force_n[axis].iter().map(|f| (f - rest_n[axis]) / mass_kg).collect());
    let at = |columns: &[Vec<f64>; 3], k: usize| [columns[0][k], columns[1][k], columns[2][k]];
    let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    let power_w = (0..samples)
        .map(|k| {
            let [x, y, up] = at(&acceleration_m_s2, k);
            mass_kg * dot([x, y, up + gravity_m_s2], at(&velocity_m_s, k))
        })
        .collect();
    Ok(Motion { mass_kg, rest_n, acceleration_m_s2, velocity_m_s, displacement_m, power_w, joined })
}

impl Drift {
    /// The samples at which displacement is zero on average.
    fn anchor(&self) -> Range<usize> {
        match self {
            Self::FromRest { quiet } | Self::RestToRest { quiet, .. } => quiet.clone(),
            Self::FromKnown { at, .. } => *at..at.saturating_add(1),
        }
    }
}

/// One component.
struct Gathered {
    rest_n: f64,
    impulse_ns: Vec<f64>,
    joined: bool,
}

fn gather(force_n: &[f64], step: f64, axis: usize, drift: &Drift) -> Result<Gathered, Unfit> {
    let over = |rest_n: f64, anchor: &Range<usize>| {
        let beyond: Vec<f64> = force_n.iter().map(|f| f - rest_n).collect();
        from_anchor(&beyond, step, anchor)
    };
    match drift {
        Drift::FromRest { quiet } => {
            let rest_n = mean_of(force_n, quiet)?;
            Ok(Gathered { rest_n, impulse_ns: over(rest_n, quiet), joined: true })
        }
        Drift::FromKnown { at, rest_n, .. } => {
            let anchor = *at..at.saturating_add(1);
            mean_of(force_n, &anchor)?;
            Ok(Gathered { rest_n: rest_n[axis], impulse_ns: over(rest_n[axis], &anchor), joined: true })
        }
        Drift::RestToRest { quiet, later } => {
            let (first, second) = (mean_of(force_n, quiet)?, mean_of(force_n, later)?);
            if later.start < quiet.end {
                return Err(Unfit::Window);
            }
            let mut impulse_ns = over(first, quiet);
            let left_ns = stats::mean(impulse_ns.get(later.clone()).unwrap_or_default());
            if left_ns.is_nan() {
                // A gap between: each side stands on its own rest.
                for (value, other) in impulse_ns.iter_mut().zip(over(second, later)) {
                    *value = if value.is_nan() { other } else { *value };
                }
                return Ok(Gathered { rest_n: first, impulse_ns, joined: false });
            }
            let middle = |window: &Range<usize>| (window.start + window.end - 1) as f64 / 2.0;
            let (from, to) = (middle(quiet), middle(later));
            let error_n = left_ns / ((to - from) * step);
            for (k, value) in impulse_ns.iter_mut().enumerate() {
                *value -= error_n * (k as f64 - from) * step;
            }
            Ok(Gathered { rest_n: first + error_n, impulse_ns, joined: true })
        }
    }
}

/// Mean over a window that is wholly defined.
fn mean_of(column: &[f64], window: &Range<usize>) -> Result<f64, Unfit> {
    let values = column.get(window.clone()).filter(|v| !v.is_empty()).ok_or(Unfit::Window)?;
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    if mean.is_finite() { Ok(mean) } else { Err(Unfit::Window) }
}

/// Running integral both ways over the run of finite values that holds the window, with mean zero over the window;
/// NaN outside the run.
fn from_anchor(column: &[f64], step: f64, window: &Range<usize>) -> Vec<f64> {
    let mut out = vec![f64::NAN; column.len()];
    let holds = |run: &Range<usize>| run.start <= window.start && window.end <= run.end;
    if let Some(run) = runs::finite(column).find(holds) {
        let within = integrate::cumulative(&column[run.clone()], step);
        let inside = window.start - run.start..window.end - run.start;
        let origin = stats::mean(within.get(inside).unwrap_or_default());
        for (to, from) in out[run].iter_mut().zip(within) {
            *to = from - origin;
        }
    }
    out
}

fn scaled(mut column: Vec<f64>, factor: f64) -> Vec<f64> {
    column.iter_mut().for_each(|v| *v *= factor);
    column
}

#[cfg(test)]
mod tests {
    use super::*;
    use signal::math;

    const G: f64 = 9.80665;
    const RATE: f64 = 500.0;

    /// Half a second of rest, a push and a pull of equal impulse in each direction, rest again.
    fn push(mass_kg: f64, error_n: [f64; 3]) -> [Vec<f64>; 3] {
        let wave = |k: usize| {
            let u = (k as f64 - 250.0) / 500.0;
            if (0.0..=1.0).contains(&u) { math::sin(core::f64::consts::TAU * u) } else { 0.0 }
        };
        let column = |size: f64, still: f64| (0..1000).map(|k| still + size * wave(k)).collect();
        [column(80.0, error_n[0]), column(-30.0, error_n[1]), column(200.0, mass_kg * G + error_n[2])]
    }

    fn views(columns: &[Vec<f64>; 3]) -> [&[f64]; 3] {
        columns.each_ref().map(Vec::as_slice)
    }

    const REST: Range<usize> = 0..250;

    #[test]
    fn closed_form_of_a_push() {
        let force = push(80.0, [0.0; 3]);
        for mass in [Mass::Weighed, Mass::Stated(80.0)] {
            let m = motion(views(&force), RATE, mass, G, &Drift::FromRest { quiet: REST }).unwrap();
            // v = A T/(2π m) (1 − cos 2πu); x over the push = A T²/(2π m).
            for (axis, size) in [(0, 80.0), (1, -30.0), (2, 200.0)] {
                let per = size / (core::f64::consts::TAU * 80.0);
                // Trapezoids of a sine fall short by (2π/500)²/12 = 1.3e-5 of it.
                assert!((m.velocity_m_s[axis][500] - 2.0 * per).abs() < 2e-5 * (2.0 * per).abs());
                assert!((m.displacement_m[axis][750] - per).abs() < 2e-5 * per.abs());
                assert!(m.velocity_m_s[axis][999].abs() < 1e-9);
                assert_eq!(m.acceleration_m_s2[axis].len(), 1000);
            }
            assert!((m.mass_kg - 80.0).abs() < 1e-9);
        }
    }

    /// What power gathers is what kinetic and potential energy gain.
    #[test]
    fn power_is_the_rate_of_energy() {
        let force = push(70.0, [0.0; 3]);
        let m = motion(views(&force), RATE, Mass::Weighed, G, &Drift::FromRest { quiet: REST }).unwrap();
        let work = integrate::cumulative(&m.power_w, 1.0 / RATE);
        for k in [400, 500, 650, 999] {
            let square: f64 = m.velocity_m_s.iter().map(|v| v[k] * v[k]).sum();
            let energy = 35.0 * square + 70.0 * G * m.displacement_m[2][k];
            assert!((work[k] - energy).abs() < 2e-3, "{k}: {} {energy}", work[k]);
        }
    }

    /// A constant error of the zero changes nothing but a weighed mass; a gain of all channels nothing at all there.
    #[test]
    fn zero_and_gain_errors() {
        let clean = push(75.0, [0.0; 3]);
        let off = push(75.0, [4.0, -7.0, 12.0]);
        let from = Drift::FromRest { quiet: REST };
        let of = |force: &[Vec<f64>; 3], mass| motion(views(force), RATE, mass, G, &from).unwrap();
        let (a, b) = (of(&clean, Mass::Stated(75.0)), of(&off, Mass::Stated(75.0)));
        for axis in 0..3 {
            assert!((a.velocity_m_s[axis][500] - b.velocity_m_s[axis][500]).abs() < 1e-12);
        }
        assert!((b.rest_n[2] - b.mass_kg * G - 12.0).abs() < 1e-9);
        assert!((of(&off, Mass::Weighed).mass_kg - (75.0 + 12.0 / G)).abs() < 1e-9);
        let loud = clean.clone().map(|c| c.into_iter().map(|f| 1.02 * f).collect::<Vec<_>>());
        let (c, d) = (of(&loud, Mass::Weighed), of(&clean, Mass::Weighed));
        assert!((c.velocity_m_s[2][500] - d.velocity_m_s[2][500]).abs() < 1e-12);
    }

    /// Half a newton too much weight (a spoilt rest): dv = dW·t/m, dx = dW·t²/2m; a second rest takes it out.
    #[test]
    fn a_wrong_weight_and_two_rests() {
        let mut force = push(75.0, [0.0; 3]);
        for f in &mut force[2][..250] {
            *f -= 0.5;
        }
        let of = |drift: Drift| motion(views(&force), RATE, Mass::Stated(75.0), G, &drift).unwrap();
        let one = of(Drift::FromRest { quiet: REST });
        // From the end of the rest on: 249 to 999 is 1.5 s, less the half step in which the error fades in.
        let t = 749.5 / RATE;
        assert!((one.velocity_m_s[2][999] - 0.5 * t / 75.0).abs() < 1e-6, "{}", one.velocity_m_s[2][999]);
        let clean = push(75.0, [0.0; 3]);
        let truth =
            motion(views(&clean), RATE, Mass::Stated(75.0), G, &Drift::FromRest { quiet: REST }).unwrap();
        let drifted = one.displacement_m[2][999] - truth.displacement_m[2][999];
        assert!((drifted - 0.5 * t * t / 150.0).abs() < 1e-5, "{drifted}");
        let two = of(Drift::RestToRest { quiet: REST, later: 750..1000 });
        let mean = |c: &[f64]| stats::mean(c);
        assert!(mean(&two.velocity_m_s[2][..250]).abs() < 1e-12);
        assert!(mean(&two.velocity_m_s[2][750..]).abs() < 1e-12);
        assert!(two.joined);
        // The rest that was right is found again, between the two.
        assert!(two.rest_n[2] > one.rest_n[2] && two.rest_n[2] < 75.0 * G);
    }

    /// A gap ends the integral; with a second rest velocity goes on from there, displacement does not.
    #[test]
    fn gaps() {
        let mut force = push(75.0, [0.0; 3]);
        force[0][600] = f64::NAN;
        let of = |drift: Drift| motion(views(&force), RATE, Mass::Weighed, G, &drift);
        let one = of(Drift::FromRest { quiet: REST }).unwrap();
        assert!(
            one.velocity_m_s[0][599].is_finite() && one.velocity_m_s[0][600..].iter().all(|v| v.is_nan())
        );
        assert!(one.velocity_m_s[2][999].is_finite(), "the other components have no gap");
        assert!(one.power_w[599].is_finite() && one.power_w[601].is_nan());
        let two = of(Drift::RestToRest { quiet: REST, later: 750..1000 }).unwrap();
        assert!(!two.joined && two.velocity_m_s[0][600].is_nan());
        assert!(two.velocity_m_s[0][900].abs() < 1e-9 && two.velocity_m_s[0][601].is_finite());
        assert!(two.displacement_m[0][601].is_nan());
        // From a rest after the movement backward.
        let back = of(Drift::FromRest { quiet: 750..1000 }).unwrap();
        assert!(
            back.velocity_m_s[0][300].is_nan()
                && (back.velocity_m_s[2][500] - one.velocity_m_s[2][500]).abs() < 1e-9
        );
        assert_eq!(of(Drift::FromRest { quiet: 590..610 }), Err(Unfit::Window));
    }

    #[test]
    fn known_velocity() {
        let force = push(75.0, [3.0, 0.0, 0.0]);
        let drift = Drift::FromKnown { at: 500, velocity_m_s: [0.1, 0.2, 0.3], rest_n: [3.0, 0.0, 75.0 * G] };
        let m = motion(views(&force), RATE, Mass::Weighed, G, &drift).unwrap();
        assert_eq!([0, 1, 2].map(|axis| m.velocity_m_s[axis][500]), [0.1, 0.2, 0.3]);
        assert_eq!(m.displacement_m[2][500], 0.0);
        assert!((m.velocity_m_s[0][999] - (0.1 - 80.0 / (core::f64::consts::PI * 75.0))).abs() < 1e-5);
    }

    #[test]
    fn what_cannot_be() {
        let force = push(75.0, [0.0; 3]);
        let [x, y, up] = views(&force);
        let rest = Drift::FromRest { quiet: REST };
        assert_eq!(motion([&x[1..], y, up], RATE, Mass::Weighed, G, &rest), Err(Unfit::Lengths));
        for rate in [0.0, f64::NAN, -1.0, f64::INFINITY] {
            assert_eq!(motion([x, y, up], rate, Mass::Weighed, G, &rest), Err(Unfit::Rate));
        }
        for mass in [Mass::Stated(0.0), Mass::Stated(f64::NAN)] {
            assert_eq!(motion([x, y, up], RATE, mass, G, &rest), Err(Unfit::Mass));
        }
        assert_eq!(motion([x, y, x], RATE, Mass::Weighed, G, &rest), Err(Unfit::Mass), "nobody stands");
        for quiet in [5..5, 900..1001, Range { start: 9, end: 3 }, usize::MAX..usize::MAX] {
            let drift = Drift::FromRest { quiet };
            assert_eq!(motion([x, y, up], RATE, Mass::Weighed, G, &drift), Err(Unfit::Window));
        }
        let crossed = Drift::RestToRest { quiet: 100..300, later: 200..400 };
        assert_eq!(motion([x, y, up], RATE, Mass::Weighed, G, &crossed), Err(Unfit::Window));
        let known = Drift::FromKnown { at: usize::MAX, velocity_m_s: [0.0; 3], rest_n: [0.0; 3] };
        assert_eq!(motion([x, y, up], RATE, Mass::Stated(70.0), G, &known), Err(Unfit::Window));
        assert_eq!(motion([&[], &[], &[]], RATE, Mass::Stated(70.0), G, &rest), Err(Unfit::Window));
    }
}
