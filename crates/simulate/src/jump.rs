//! A vertical jump in closed form: its take-off speed, height and flight time follow from two half sines.
//!
//! Source: Linthorne 2001, Am. J. Phys. 69:1198-1204, for take-off speed from impulse, v = ∫(F − mg)dt / m, and for
//! height and flight time, h = v²/2g and t = 2v/g. The shape of the force is ours.
use crate::bench::{RigSpec, Simulated, Unbuildable, record};
use crate::noise::Noise;
use crate::truth::{Events, FootTruth, Footprint, Truth};
use core::f64::consts::PI;
use glam::DVec3;
use mechanics::Hand;
use signal::math;

/// A jump: stand, sink, push, fly, land, stand. Both feet carry the same.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JumpSpec {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Gravity, m/s².
    pub gravity_m_s2: f64,
    /// Standing before and after, s.
    pub quiet_s: f64,
    /// Sinking: the force falls short of weight by a half sine of this peak, N.
    pub sink_n: f64,
    /// Sinking lasts, s.
    pub sink_s: f64,
    /// Pushing: the force exceeds weight by a half sine of this peak, N.
    pub push_n: f64,
    /// Pushing lasts, s.
    pub push_s: f64,
    /// Landing takes the speed away by a half sine that lasts, s.
    pub land_s: f64,
}

impl JumpSpec {
    /// 75 kg, g = 9.81 m/s², 1 s quiet, −300 N for 0.3 s, +1000 N for 0.4 s.
    pub const WORKED: Self = Self {
        mass_kg: 75.0,
        gravity_m_s2: 9.81,
        quiet_s: 1.0,
        sink_n: 300.0,
        sink_s: 0.3,
        push_n: 1000.0,
        push_s: 0.4,
        land_s: 0.3,
    };

    /// The figures of the jump.
    pub fn figures(&self) -> JumpFigures {
        // A half sine of peak A and length T holds the impulse 2 A T / π.
        let (m, g) = (self.mass_kg, self.gravity_m_s2);
        let impulse = 2.0 / PI * (self.push_n * self.push_s - self.sink_n * self.sink_s);
        let speed_m_s = impulse / m;
        let take_off_s = self.quiet_s + self.sink_s + self.push_s;
        let flight_s = 2.0 * speed_m_s / g;
        JumpFigures {
            take_off_s,
            landing_s: take_off_s + flight_s,
            speed_m_s,
            height_m: speed_m_s * speed_m_s / (2.0 * g),
            flight_s,
        }
    }

    /// Force beyond weight (N), and place (m from standing) and speed (m/s) of the centre of mass at a time.
    fn at(&self, t: f64) -> (f64, f64, f64) {
        let (m, g) = (self.mass_kg, self.gravity_m_s2);
        let f = self.figures();
        // Begin, length, peak of the force beyond weight; flight is a free fall between push and landing.
        let landing_peak = m * f.speed_m_s * PI / (2.0 * self.land_s);
        let half_sines = [
            (self.quiet_s, self.sink_s, -self.sink_n),
            (self.quiet_s + self.sink_s, self.push_s, self.push_n),
            (f.landing_s, self.land_s, landing_peak),
        ];
        let (mut beyond, mut place, mut speed) = (0.0, 0.0, 0.0);
        for (begin, length, peak) in half_sines {
            let u = t - begin;
            if u <= 0.0 {
                continue;
            }
            let inside = u.min(length);
            let (sin, cos) = math::sin_cos(PI * inside / length);
            let gained = peak / m * length / PI * (1.0 - cos);
            place += peak / m * length / PI * (inside - length / PI * sin) + gained * (u - inside);
            speed += gained;
            if u < length {
                beyond += peak * sin;
            }
        }
        let flown = (t - f.take_off_s).clamp(0.0, f.flight_s);
        let after = (t - f.landing_s).max(0.0);
        place -= g * flown * flown / 2.0 + g * flown * after;
        speed -= g * flown;
        if t >= f.take_off_s && t < f.landing_s {
            beyond = -m * g;
        }
        (beyond, place, speed)
    }
}

/// What the jump was.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JumpFigures {
    /// The feet leave the ground, s.
    pub take_off_s: f64,
    /// The feet touch again, s.
    pub landing_s: f64,
    /// Speed at take-off, m/s.
    pub speed_m_s: f64,
    /// Rise after take-off, m.
    pub height_m: f64,
    /// Time in the air, s.
    pub flight_s: f64,
}

/// Records a jump on a rig: the feet stand 0.5 m apart along the target line.
///
/// Errors: a jump that does not leave the ground or has no length; a rig that cannot be built.
pub fn jump(
    spec: &JumpSpec,
    rig: &RigSpec,
    noise: &Noise,
    seed: u64,
) -> Result<(Simulated, JumpFigures), Unbuildable> {
    let figures = spec.figures();
    let ranges = [
        ("mass_kg", spec.mass_kg, 20.0, 250.0),
        ("gravity_m_s2", spec.gravity_m_s2, 9.7, 9.9),
        ("quiet_s", spec.quiet_s, 0.0, 20.0),
        ("sink_n", spec.sink_n, 0.0, spec.mass_kg * spec.gravity_m_s2),
        ("sink_s", spec.sink_s, 0.01, 5.0),
        ("push_n", spec.push_n, 1.0, 20_000.0),
        ("push_s", spec.push_s, 0.01, 5.0),
        ("land_s", spec.land_s, 0.01, 5.0),
        ("speed_m_s", figures.speed_m_s, 0.01, 10.0),
        ("rate_hz", rig.rate_hz, 20.0, 50_000.0),
    ];
    if let Some((name, value, ..)) = ranges.into_iter().find(|(_, v, low, high)| !(v >= low && v <= high)) {
        return Err(Unbuildable::Figure(name, value));
    }
    let n = ((figures.landing_s + spec.land_s + spec.quiet_s) * rig.rate_hz).floor() as usize + 1;
    let stand = DVec3::new(rig.stand_m[0], -rig.stand_m[1], 0.0);
    let foot = |x: f64| FootTruth {
        print: Footprint {
            heel_m: stand + DVec3::new(x, 0.14, 0.0),
            toe_m: stand + DVec3::new(x, -0.14, 0.0),
            width_m: 0.1,
        },
        force_n: Vec::with_capacity(n),
        cop_m: Vec::with_capacity(n),
        free_moment_nm: vec![0.0; n],
    };
    let mut truth = Truth {
        alias: "Jumper".into(),
        hand: Hand::Right,
        mass_kg: spec.mass_kg,
        gravity_m_s2: spec.gravity_m_s2,
        rate_hz: rig.rate_hz,
        lead: foot(0.25),
        trail: foot(-0.25),
        com_m: Vec::with_capacity(n),
        com_m_s: Vec::with_capacity(n),
        com_m_s2: Vec::with_capacity(n),
        events: Events::NONE,
        club_m_s: None,
    };
    for i in 0..n {
        let (beyond, place, speed) = spec.at(i as f64 / rig.rate_hz);
        let force = beyond + spec.mass_kg * spec.gravity_m_s2;
        truth.com_m.push(stand + DVec3::Z * (1.0 + place));
        truth.com_m_s.push(DVec3::Z * speed);
        truth.com_m_s2.push(DVec3::Z * (beyond / spec.mass_kg));
        for foot in [&mut truth.lead, &mut truth.trail] {
            foot.force_n.push(DVec3::Z * (force / 2.0));
            foot.cop_m.push(if force > 0.0 { foot.print.centre_m() } else { DVec3::NAN });
        }
    }
    Ok((record(truth, rig, noise, seed, 0)?, figures))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::PlateType;

    /// The closed figures of the worked jump, by hand from the half sines:
    /// impulses −2·300·0.3/π and +2·1000·0.4/π N·s; v = their sum / 75; h = v²/2g; t = 2v/g.
    #[test]
    fn the_worked_jump() {
        let f = JumpSpec::WORKED.figures();
        assert!((f.take_off_s - 1.7).abs() < 1e-12);
        assert!((f.speed_m_s - 2.631_361_726).abs() < 1e-9);
        assert!((f.height_m - 0.352_908_488).abs() < 1e-9);
        assert!((f.flight_s - 0.536_465_184).abs() < 1e-9);
        let (_, place, speed) = JumpSpec::WORKED.at(1.3);
        assert!((place + 0.114_591_559).abs() < 1e-9 && (speed + 0.763_943_727).abs() < 1e-9);
        let (_, place, speed) = JumpSpec::WORKED.at(1.7);
        assert!((place - 0.258_892_041).abs() < 1e-9 && (speed - 2.631_361_726).abs() < 1e-9);
        let (beyond, _, speed) = JumpSpec::WORKED.at(f.landing_s + 0.5);
        assert!(beyond == 0.0 && speed.abs() < 1e-12, "at rest after landing");
    }

    /// From the recorded force alone: take-off speed by trapezoids at 1 kHz is 2.631351254 m/s (computed once
    /// with NumPy from the same formula).
    #[test]
    fn the_recorded_force_gives_the_speed() {
        let rig = RigSpec { trigger: false, ..RigSpec::one_plate(PlateType::Two) };
        let (made, f) = jump(&JumpSpec::WORKED, &rig, &Noise::NONE, 1).unwrap();
        let fz = &made.recording.analog.channels[2].samples;
        let weight = 75.0 * 9.81;
        // z down and the reaction: up is negative. The sample of take-off itself is already in the air.
        let push = |i: usize| if i == 1700 { 0.0 } else { -fz[i] - weight };
        let speed: f64 = (0..1700).map(|i| (push(i) + push(i + 1)) / 2.0 * 0.001).sum::<f64>() / 75.0;
        assert!((speed - 2.631_351_254).abs() < 1e-8, "{speed}");
        let airborne = fz.iter().filter(|f| **f == 0.0).count() as f64 / 1000.0;
        assert!((airborne - f.flight_s).abs() < 0.0011);
        assert!(made.recording.marks.is_empty() && made.truth.lead.cop_m[1800].is_nan());
    }
}
