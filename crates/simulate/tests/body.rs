//! The motion of the body, held against the simulator's truth and against a jump in closed form.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use glam::DVec3;
use mechanics::body::{Drift, Mass, impulse, motion};
use mechanics::{ErrorBudget, Hand};
use simulate::{JumpSpec, Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style};
use swing::body::Body;
use swing::{Settings, Swing, analyse};

fn read(made: &Simulated, hand: Hand) -> Swing {
    let how = Settings { hand: Some(hand), ..Settings::UNSTATED };
    analyse(&made.recording, &made.rig, &how).expect("a swing").value
}

fn columns(swing: &Swing) -> [&[f64]; 3] {
    let net = &swing.ledger.net;
    [&net.target_n, &net.toe_n, &net.up_n]
}

/// Truth in player components.
fn player(made: &Simulated, path: &[DVec3]) -> Vec<[f64; 3]> {
    path.iter().map(|v| made.truth.player(*v).to_array()).collect()
}

/// Without noise, from a known velocity, the trapezoids give the truth back to their own error, h²·(change of the
/// acceleration's slope)/12: at 1 kHz, and slopes that change by 100 m/s³, some 1e-5 m/s.
#[test]
fn without_noise_to_integration_error() {
    for hand in [Hand::Right, Hand::Left] {
        for style in Style::all() {
            let who = PlayerSpec { hand, ..PlayerSpec::right(style) };
            let rig = RigSpec::two_plates(PlateType::Two);
            let made = simulate::swing(&who, &rig, &Noise::NONE, 5).expect("a swing");
            let swing = read(&made, hand);
            let (truth_v, truth_x) = (player(&made, &made.truth.com_m_s), player(&made, &made.truth.com_m));
            let weight_n = made.truth.mass_kg * simulate::GRAVITY;
            let drift = Drift::FromKnown { at: 0, velocity_m_s: truth_v[0], rest_n: [0.0, 0.0, weight_n] };
            let got = motion(
                columns(&swing),
                swing.rate_hz,
                Mass::Stated(made.truth.mass_kg),
                simulate::GRAVITY,
                &drift,
            )
            .unwrap();
            let mut worst = [0.0_f64; 3];
            for k in 0..made.truth.len() {
                let a = made.truth.player(made.truth.com_m_s2[k]).to_array();
                for axis in 0..3 {
                    worst[0] = worst[0].max((got.acceleration_m_s2[axis][k] - a[axis]).abs());
                    worst[1] = worst[1].max((got.velocity_m_s[axis][k] - truth_v[k][axis]).abs());
                    let moved = truth_x[k][axis] - truth_x[0][axis];
                    worst[2] = worst[2].max((got.displacement_m[axis][k] - moved).abs());
                }
            }
            println!(
                "{hand:?}: largest error {:.1e} m/s², {:.1e} m/s, {:.1e} m",
                worst[0], worst[1], worst[2]
            );
            assert!(worst[0] < 1e-9 && worst[1] < 2e-5 && worst[2] < 5e-6, "{worst:?}");
        }
    }
}

/// Errors of a swing's motion in units of their stated standard uncertainties, at instants through the movement.
fn normalised(made: &Simulated, swing: &Swing, body: &Body, out: &mut Vec<f64>, worst: &mut [f64; 2]) {
    let (truth_v, truth_x) = (player(made, &made.truth.com_m_s), player(made, &made.truth.com_m));
    let quiet = match &body.drift {
        Drift::FromRest { quiet } | Drift::RestToRest { quiet, .. } => quiet.clone(),
        Drift::FromKnown { .. } => panic!("a rest was there"),
    };
    for axis in 0..3 {
        let home = truth_x[quiet.clone()].iter().map(|x| x[axis]).sum::<f64>() / quiet.len() as f64;
        for at_s in [made.truth.events.top_s, made.truth.events.impact_s, made.truth.events.finish_s] {
            let k = ((at_s * swing.rate_hz) as usize).min(truth_v.len() - 1);
            let (v, x) = (body.motion.velocity_m_s[axis][k], body.motion.displacement_m[axis][k]);
            let (dv, dx) = (v - truth_v[k][axis], x - (truth_x[k][axis] - home));
            let doubt = &body.doubts[axis];
            out.push(dv / doubt.velocity_m_s(k as f64, v));
            out.push(dx / doubt.displacement_m(k as f64, x));
            *worst = [worst[0].max(dv.abs()), worst[1].max(dx.abs())];
        }
    }
}

/// With the usual noise, drift, cross-talk, hum and digitisation the errors keep within what is stated: at least 93 % within
/// two standard uncertainties, and not for uncertainties without meaning: their root mean square is above a quarter of them.
#[test]
fn with_the_usual_noise_within_the_stated_uncertainty() {
    let usual = (Noise::USUAL, ErrorBudget::TYPICAL);
    // Perfect plates: what is left is that a standing body sways.
    let perfect = (Noise::NONE, ErrorBudget::NONE);
    for (name, (noise, budget), hold_s, two_rests) in [
        ("a held finish", usual, 1.5, true),
        ("no finish", usual, 0.0, false),
        ("sway alone, a held finish", perfect, 1.5, true),
        ("sway alone, no finish", perfect, 0.0, false),
    ] {
        let (mut errors, mut worst, mut as_expected) = (Vec::new(), [0.0; 2], 0);
        let seeds = 12;
        for seed in 0..seeds {
            let style = Style::all()[seed as usize % 4].clone();
            let who = PlayerSpec { hold_s, ..PlayerSpec::right(style) };
            let rig = RigSpec::two_plates(PlateType::Two);
            let mut made = simulate::swing(&who, &rig, &noise, seed).expect("a swing");
            if !two_rests {
                // The recording ends with the movement.
                let end = ((made.truth.events.finish_s) * rig.rate_hz) as usize + 2;
                for channel in &mut made.recording.analog.channels {
                    channel.samples.truncate(end);
                }
                made.truth.truncate(end);
            }
            let swing = read(&made, Hand::Right);
            let body = swing::body::of(&swing, &budget).expect("a motion");
            as_expected += usize::from(matches!(body.drift, Drift::RestToRest { .. }) == two_rests);
            normalised(&made, &swing, &body, &mut errors, &mut worst);
        }
        let within = errors.iter().filter(|z| z.abs() <= 2.0).count() as f64 / errors.len() as f64;
        let root = (errors.iter().map(|z| z * z).sum::<f64>() / errors.len() as f64).sqrt();
        println!(
            "{name}: {:.1} % of {} errors within two stated uncertainties, root mean square {root:.2}; largest {:.1} mm/s, \
             {:.1} mm; drift handled as expected in {as_expected} of {seeds}",
            100.0 * within,
            errors.len(),
            1000.0 * worst[0],
            1000.0 * worst[1],
        );
        assert!(within >= 0.93 && root > 0.25, "{name}: {within} {root}");
        assert!(as_expected as f64 >= 0.9 * seeds as f64, "{name}: {as_expected}");
    }
}

fn jumped(noise: &Noise) -> (Simulated, simulate::JumpFigures, Swing) {
    let (made, figures) =
        simulate::jump(&JumpSpec::WORKED, &RigSpec::two_plates(PlateType::Two), noise, 1).expect("a jump");
    let swing = read(&made, Hand::Right);
    (made, figures, swing)
}

/// The worked jump. Source of the method: Linthorne 2001 (impulse–momentum); figures in closed form, and by a 1 kHz
/// trapezoid made once with NumPy: take-off 2.631361726 and 2.631351254 m/s, place there +0.258892390 m, lowest
/// −0.177602855 m, largest power 3084.25666 W.
#[test]
fn the_worked_jump() {
    let (_, figures, swing) = jumped(&Noise::NONE);
    let spec = JumpSpec::WORKED;
    let drift = Drift::FromRest { quiet: 0..1000 };
    let got = motion(columns(&swing), 1000.0, Mass::Weighed, spec.gravity_m_s2, &drift).expect("a motion");
    assert!((got.mass_kg - 75.0).abs() < 1e-9);
    // The take-off sample itself is in the air, so the last trapezoid of the push is taken apart: gravity alone acts on its
    // far half. 2.631351254 is the push with the force at take-off still on.
    let push = impulse(columns(&swing)[2], spec.mass_kg * spec.gravity_m_s2, 1000.0, 1000..1700);
    let last = 0.0005 * (columns(&swing)[2][1699] - 75.0 * 9.81);
    let by_trapezoid = (push.net_ns() + last) / 75.0;
    assert!((by_trapezoid - 2.631_351_254).abs() < 1e-8, "{by_trapezoid}");
    assert!(
        (push.negative_ns + 57.295_780).abs() < 1e-3 && (push.positive_ns - 254.647_909).abs() < 6e-3,
        "{push:?}"
    );
    let (v, x) = (&got.velocity_m_s[2], &got.displacement_m[2]);
    assert!((v[1699] - figures.speed_m_s).abs() < 2e-3 && (v[1300] + 0.763_943_727).abs() < 1e-4);
    assert!((x[1699] - 0.258_892_390).abs() < 3e-3, "{}", x[1699]);
    let lowest = x.iter().copied().fold(f64::INFINITY, f64::min);
    assert!((lowest + 0.177_602_855).abs() < 1e-4, "{lowest}");
    let power = got.power_w[..1700].iter().copied().fold(f64::NEG_INFINITY, f64::max);
    assert!((power - 3_084.256_66).abs() < 0.1, "{power}");
    // In the air nothing is pushed, and the fall is free.
    assert!(got.power_w[1800].abs() < 1e-6 && (got.acceleration_m_s2[2][1800] + 9.81).abs() < 1e-9);
}

/// Height by flight time and by impulse agree: h = g·t²/8 and v²/2g (Linthorne 2001), to the sample in which the feet leave
/// and land: one millisecond of flight is g·t·dt/4 = 1.3 mm.
#[test]
fn heights_by_flight_and_by_impulse() {
    for (noise, floor_n) in [(Noise::NONE, 1.0), (Noise::USUAL, 20.0)] {
        let (_, figures, swing) = jumped(&noise);
        let force = columns(&swing);
        let body = swing::body::of(&swing, &ErrorBudget::TYPICAL).expect("a motion");
        let air: Vec<usize> = (1500..2500).filter(|k| force[2][*k] < floor_n).collect();
        let (off, on) = (air[0], air[air.len() - 1] + 1);
        let flight_s = (on - off) as f64 / 1000.0;
        let by_flight = 9.81 * flight_s * flight_s / 8.0;
        let v = body.motion.velocity_m_s[2][off];
        let by_impulse = v * v / (2.0 * 9.81);
        let u = body.doubts[2].velocity_m_s(off as f64, v) * v / 9.81;
        println!(
            "jump, closed {:.1} mm: by flight {:.1} mm, by impulse {:.1} ± {:.1} mm",
            1000.0 * figures.height_m,
            1000.0 * by_flight,
            1000.0 * by_impulse,
            1000.0 * u
        );
        assert!((by_flight - figures.height_m).abs() < 0.003, "{by_flight}");
        assert!((by_impulse - figures.height_m).abs() < (2.0 * u).max(0.003), "{by_impulse} ± {u}");
        assert!((by_impulse - by_flight).abs() < 0.01);
    }
}
