//! How sure a force-integrated motion is: standard uncertainties of velocity and displacement, in closed form.
//!
//! An error of the force at rest of dW newtons grows as dv = dW·t/m and dx = dW·t²/2m; an error of the velocity at rest
//! stays, and grows as dx = dv·t; a zero that creeps by r newtons a second gives r·t²/2m and r·t³/6m; white noise of σ
//! walks as σ√(t·Δt)/m and σ√(t³·Δt/3)/m. A second rest takes the first away and ties the others down at both ends.
//! Source: first-order propagation (GUM 5.1) of the double integral; integrated random walk and its bridge.
use super::motion::{Drift, Motion};
use core::ops::Range;
use signal::{integrate, stats, white};

/// Standard uncertainties of one component. All of them may be changed by a caller who knows better.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doubt {
    /// Of the force at rest, N.
    pub rest_n: f64,
    /// Of the velocity at rest, m/s.
    pub start_m_s: f64,
    /// Of the velocity at the second rest, m/s; NaN where there is none.
    pub later_m_s: f64,
    /// Creep of the zero, N/s.
    pub creep_n_s: f64,
    /// White noise of a sample, N.
    pub noise_n: f64,
    /// Relative, of mass and gain together.
    pub scale: f64,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Distance between samples, s.
    pub step_s: f64,
    /// Sample at which velocity is known: the middle of the rest.
    pub from: f64,
    /// The same of the second rest; NaN where there is none.
    pub to: f64,
}

/// What is known beyond the recording.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beyond {
    /// Standard deviation of the centre of mass's velocity in quiet standing, in each component, m/s: the rest is not
    /// quite at rest.
    pub sway_m_s: [f64; 3],
    /// Creep of the zero, N/s.
    pub creep_n_s: f64,
    /// Relative uncertainty of mass and gain together.
    pub scale: f64,
}

/// Samples that noise is estimated from: enough for one part in thirty.
const NOISE_SAMPLES: usize = 1024;

/// The doubts of a motion's three components.
///
/// The force at rest is unsure because the body may have gained velocity within the window, √2·sway·m/T of it, and by
/// the window's white noise, σ/√n. The velocity at rest is unsure by the sway. Whatever moves within the window beyond the
/// stated sway, as the force shows it, is added to the sway.
/// Undefined: NaN where the window is not defined. Source: as the module. Checked: simulated swings, whose errors keep within.
pub fn doubts(
    motion: &Motion,
    force_n: [&[f64]; 3],
    rate_hz: f64,
    drift: &Drift,
    beyond: &Beyond,
) -> [Doubt; 3] {
    let middle = |w: &Range<usize>| (w.start as f64 + w.end as f64 - 1.0) / 2.0;
    core::array::from_fn(|axis| {
        let force = force_n[axis];
        let noise_n = white::white_noise(force.get(..NOISE_SAMPLES).unwrap_or(force));
        let sway = |window: &Range<usize>| {
            let seen = seen_sway(force.get(window.clone()).unwrap_or_default(), rate_hz, motion.mass_kg);
            (beyond.sway_m_s[axis] * beyond.sway_m_s[axis] + seen * seen).sqrt()
        };
        let at_rest = |window: &Range<usize>, sway: f64| {
            let (seconds, count) = (window.len() as f64 / rate_hz, window.len() as f64);
            let gained = core::f64::consts::SQRT_2 * sway * motion.mass_kg / seconds;
            (gained * gained + noise_n * noise_n / count).sqrt()
        };
        let (rest_n, start_m_s, later_m_s, from, to) = match drift {
            Drift::FromRest { quiet } => {
                let start = sway(quiet);
                (at_rest(quiet, start), start, f64::NAN, middle(quiet), f64::NAN)
            }
            Drift::RestToRest { quiet, later } => {
                let start = sway(quiet);
                (at_rest(quiet, start), start, sway(later), middle(quiet), middle(later))
            }
            // The caller's own: what they know of it, they must say.
            Drift::FromKnown { at, .. } => (f64::NAN, f64::NAN, f64::NAN, *at as f64, f64::NAN),
        };
        Doubt {
            rest_n,
            start_m_s,
            later_m_s,
            creep_n_s: beyond.creep_n_s,
            noise_n,
            scale: beyond.scale,
            mass_kg: motion.mass_kg,
            step_s: 1.0 / rate_hz,
            from,
            to,
        }
    })
}

/// Root mean square of the velocity that the force shows within a window, its mean force taken as rest.
fn seen_sway(window_n: &[f64], rate_hz: f64, mass_kg: f64) -> f64 {
    let mean = stats::mean(window_n);
    let beyond: Vec<f64> = window_n.iter().map(|f| (f - mean) / mass_kg).collect();
    stats::standard_deviation(&integrate::cumulative(&beyond, 1.0 / rate_hz))
}

impl Doubt {
    /// Standard uncertainty of the velocity at a sample, m/s; `value_m_s` is the velocity there.
    pub fn velocity_m_s(&self, sample: f64, value_m_s: f64) -> f64 {
        let d = self;
        let scale = d.scale * value_m_s;
        let t = (sample - d.from) * d.step_s;
        let span = (d.to - d.from) * d.step_s;
        if t > 0.0 && t < span {
            // Tied at both ends.
            let share = t / span;
            let ends = (d.start_m_s * (1.0 - share)).with(d.later_m_s * share);
            let creep = d.creep_n_s * t * (span - t) / (2.0 * d.mass_kg);
            let noise = d.noise_n * (d.step_s * t * (1.0 - share)).sqrt() / d.mass_kg;
            return ends.with(creep).with(noise).with(scale);
        }
        let (t, start) = d.outside(t, span);
        let rest = d.rest_n * t / d.mass_kg;
        let creep = d.creep_n_s * t * t / (2.0 * d.mass_kg);
        let noise = d.noise_n * (d.step_s * t).sqrt() / d.mass_kg;
        start.with(rest).with(creep).with(noise).with(scale)
    }

    /// Standard uncertainty of the displacement from the rest at a sample, m; `value_m` is the displacement there.
    pub fn displacement_m(&self, sample: f64, value_m: f64) -> f64 {
        let d = self;
        let scale = d.scale * value_m;
        let t = (sample - d.from) * d.step_s;
        let span = (d.to - d.from) * d.step_s;
        if t > 0.0 && span > 0.0 {
            // Tied at both ends; beyond the second it keeps what it had, and moves on unsurely.
            let inside = t.min(span);
            let ends = (d.start_m_s * (inside - inside * inside / (2.0 * span)))
                .with(d.later_m_s * inside * inside / (2.0 * span));
            let creep =
                d.creep_n_s * (span * inside * inside / 4.0 - inside * inside * inside / 6.0) / d.mass_kg;
            let walked = inside * inside * inside / 3.0 - inside * inside * inside * inside / (4.0 * span);
            let noise = d.noise_n * (d.step_s * walked).sqrt() / d.mass_kg;
            let after = d.free_displacement_m(t - inside, d.later_m_s);
            return ends.with(creep).with(noise).with(scale).with(after);
        }
        d.free_displacement_m(t.abs(), d.start_m_s).with(scale)
    }

    fn free_displacement_m(&self, t: f64, start_m_s: f64) -> f64 {
        let rest = self.rest_n * t * t / (2.0 * self.mass_kg);
        let creep = self.creep_n_s * t * t * t / (6.0 * self.mass_kg);
        let noise = self.noise_n * (self.step_s * t * t * t / 3.0).sqrt() / self.mass_kg;
        (start_m_s * t).with(rest).with(creep).with(noise)
    }

    /// Time from the nearer rest, and the velocity's doubt there.
    fn outside(&self, t: f64, span: f64) -> (f64, f64) {
        if t > 0.0 && span > 0.0 { (t - span, self.later_m_s) } else { (t.abs(), self.start_m_s) }
    }
}

/// Root of the sum of squares; plain, since nothing here is near the ends of the range.
trait InSquare {
    fn with(self, other: f64) -> f64;
}

impl InSquare for f64 {
    fn with(self, other: f64) -> f64 {
        (self * self + other * other).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAIN: Doubt = Doubt {
        rest_n: 0.5,
        start_m_s: 0.0,
        later_m_s: f64::NAN,
        creep_n_s: 0.0,
        noise_n: 0.0,
        scale: 0.0,
        mass_kg: 75.0,
        step_s: 0.001,
        from: 0.0,
        to: f64::NAN,
    };

    /// The worked example: 75 kg, 0.7 s, 0.5 N → 4.67 mm/s, and dx = dW·t²/2m.
    #[test]
    fn a_wrong_weight_grows() {
        assert!((PLAIN.velocity_m_s(700.0, 0.0) - 0.004_667).abs() < 1e-6);
        assert!((PLAIN.displacement_m(700.0, 0.0) - 0.5 * 0.49 / 150.0).abs() < 1e-9);
        assert_eq!(PLAIN.velocity_m_s(-700.0, 0.0), PLAIN.velocity_m_s(700.0, 0.0), "and backward alike");
    }

    /// A zero that creeps: with one rest r·t²/2m; tied at two, the most is r·T²/8m in the middle, by the parabola
    /// t(T − t)/2; displacement at the end r·T³/12m.
    #[test]
    fn creep_is_tied_by_a_second_rest() {
        let free = Doubt { rest_n: 0.0, creep_n_s: 0.2, ..PLAIN };
        let tied = Doubt { to: 2000.0, later_m_s: 0.0, ..free };
        assert!((free.velocity_m_s(2000.0, 0.0) - 0.2 * 4.0 / 150.0).abs() < 1e-12);
        assert!((tied.velocity_m_s(1000.0, 0.0) - 0.2 * 4.0 / (8.0 * 75.0)).abs() < 1e-12);
        assert!((tied.displacement_m(2000.0, 0.0) - 0.2 * 8.0 / (12.0 * 75.0)).abs() < 1e-12);
        assert!((free.displacement_m(2000.0, 0.0) - 0.2 * 8.0 / (6.0 * 75.0)).abs() < 1e-12);
    }

    /// White noise walks: at the end of the tie the displacement's variance is σ²·Δt·T³/12 (integral of a bridge).
    #[test]
    fn noise_walks_and_is_tied() {
        let free = Doubt { rest_n: 0.0, noise_n: 2.0, ..PLAIN };
        let tied = Doubt { to: 2000.0, later_m_s: 0.0, ..free };
        assert!((free.velocity_m_s(2000.0, 0.0) - 2.0 * (0.001_f64 * 2.0).sqrt() / 75.0).abs() < 1e-12);
        let bridge = 2.0 * (0.001_f64 * 8.0 / 12.0).sqrt() / 75.0;
        assert!((tied.displacement_m(2000.0, 0.0) - bridge).abs() < 1e-12);
        assert!(tied.velocity_m_s(1999.9, 0.0) < free.velocity_m_s(1999.9, 0.0) / 50.0);
    }
}
