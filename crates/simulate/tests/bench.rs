//! What the bench records, read back by `mechanics`, against the truth; and every plate type against the
//! formulas of the C3D user guide.
#![allow(clippy::unwrap_used, clippy::panic)] // a test may

use glam::DVec3;
use mechanics::plate::Foothold;
use mechanics::{Axis, Frame, Measures, Rig};
use simulate::bench::PlateSpec;
use simulate::plate::{Inverse, Wrench};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style, Units};

fn frame_of(rig: &Rig) -> Frame {
    let mean = rig.plates.iter().map(|p| p.centre_m()).sum::<DVec3>() / rig.plates.len() as f64;
    let target = match rig.target {
        Some(mechanics::Target::Vector(v)) => v,
        _ => panic!("the bench states a vector"),
    };
    Frame::new(mean, rig.up.unit(), target).unwrap()
}

/// Largest difference between the sum of what the plates read and the truth: N, N·m about the golf origin.
fn misread(made: &Simulated) -> (f64, f64) {
    let plates = mechanics::wrench::wrenches(&made.recording, &made.rig, &frame_of(&made.rig)).value;
    let (mut force, mut moment) = (0.0f64, 0.0f64);
    for i in 0..made.truth.len() {
        let f: DVec3 = plates.iter().map(|p| p.wrench.force_n[i]).sum();
        let m: DVec3 = plates.iter().map(|p| p.wrench.moment_nm[i]).sum();
        force = force.max((f - made.truth.net_n(i)).length());
        moment = moment.max((m - made.truth.moment_about(i, DVec3::ZERO)).length());
    }
    (force, moment)
}

fn rigs(kind: PlateType) -> Vec<RigSpec> {
    let tilted = DVec3::new(0.6, -0.8, 0.3);
    let mut turned = RigSpec::two_plates(kind);
    turned.plates[0].yaw_rad = 0.3;
    turned.plates[1].yaw_rad = -1.2;
    turned.plates[1].centre_m.z = 0.03;
    turned.plates[0].cover_m = 0.012;
    turned.plates[0].measures = Measures::OnPlate;
    turned.plates[1].units = Units::Volt;
    vec![
        RigSpec::two_plates(kind),
        RigSpec::one_plate(kind).in_lab(Axis::PlusZ, tilted, DVec3::new(3.0, -2.0, 0.1)),
        RigSpec::three_plates(kind).in_lab(
            Axis::PlusY,
            DVec3::new(-0.2, 0.0, 1.0),
            DVec3::new(0.5, 0.2, 9.0),
        ),
        turned,
    ]
}

#[test]
fn without_noise_the_truth_comes_back_through_every_plate_and_laboratory() {
    for kind in PlateType::ALL {
        for (r, mut rig) in rigs(kind).into_iter().enumerate() {
            rig.rate_hz = 200.0;
            for player in &PlayerSpec::cast()[..2] {
                let made = simulate::swing(player, &rig, &Noise::NONE, 5).unwrap();
                let (force, moment) = misread(&made);
                assert!(
                    force < 1e-9 && moment < 1e-9,
                    "{kind:?} rig {r}: off by {force:e} N, {moment:e} N·m"
                );
            }
        }
    }
}

#[test]
fn feet_stand_on_the_cover_of_their_plate() {
    let mut rig = RigSpec::two_plates(PlateType::Two);
    rig.plates[0].cover_m = 0.012;
    rig.plates[1].centre_m.z = 0.03;
    let truth = simulate::swing(&PlayerSpec::right(Style::early()), &rig, &Noise::NONE, 1).unwrap().truth;
    // By hand: the origin is the mean of 0 and 30 mm, so the plates lie at −15 and +15 mm.
    assert!((truth.lead.cop_m[0].z - (-0.015 + 0.012)).abs() < 1e-12);
    assert!((truth.trail.cop_m[0].z - 0.015).abs() < 1e-12);
}

#[test]
fn each_foot_is_read_by_its_own_plate() {
    let rig = RigSpec::three_plates(PlateType::Three);
    let made = simulate::swing(&PlayerSpec::cast()[1], &rig, &Noise::NONE, 5).unwrap();
    let plates = mechanics::wrench::wrenches(&made.recording, &made.rig, &frame_of(&made.rig)).value;
    for i in (0..made.truth.len()).step_by(7) {
        assert!((plates[0].wrench.force_n[i] - made.truth.lead.force_n[i]).length() < 1e-9);
        assert!((plates[1].wrench.force_n[i] - made.truth.trail.force_n[i]).length() < 1e-9);
        assert_eq!(plates[2].wrench.force_n[i].length(), 0.0);
    }
}

/// Read forwards, the channels of the worked plate below are the wrench of the worked plate: surface centre,
/// F = (50, 30, 800) N, M_s = (40, −64, 11.9) N·m. The figures follow by hand from the formulas of the C3D user
/// guide for TYPE 1 to 3 (M_s = M + F × ORIGIN); TYPE 4's matrix is checked by multiplying it out.
#[test]
fn inverse_gives_the_published_channel_values() {
    let wrench = Wrench::from_array([50.0, 30.0, 800.0, 40.0, -64.0, 11.9]);
    let values = |sensing: mechanics::Sensing| {
        let mut plate = RigSpec::two_plates(PlateType::Two);
        plate.trigger = false;
        let made = simulate::swing(&PlayerSpec::right(Style::early()), &plate, &Noise::NONE, 1).unwrap();
        let plate = mechanics::Plate { sensing, ..made.rig.plates[0].clone() };
        let inverse = Inverse::of(&plate, Axis::PlusZ).unwrap();
        let values = inverse.values(&wrench);
        let back = inverse.wrench(&values).to_array();
        for (a, b) in back.into_iter().zip(wrench.to_array()) {
            assert!((a - b).abs() < 1e-9, "read forwards {back:?}");
        }
        values
    };
    let near = |got: &[f64], want: &[f64], tolerance: f64| {
        assert_eq!(got.len(), want.len());
        for (g, w) in got.iter().zip(want) {
            assert!((g - w).abs() < tolerance, "{got:?} instead of {want:?}");
        }
    };
    // TYPE 1, mm and N·mm.
    near(
        &values(PlateType::One.sensing(0, (0.2, 0.3), -1.0, Units::Millimetre)),
        &[50.0, 30.0, 800.0, 80.0, 50.0, 12000.0],
        1e-9,
    );
    // TYPE 2, ORIGIN (0, 0, −40) and (1.5, −2, −45) mm.
    let six =
        |o: [f64; 3]| values(mechanics::Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 0.001, DVec3::from_array(o)));
    near(&six([0.0, 0.0, -0.040]), &[50.0, 30.0, 800.0, 41200.0, -66000.0, 11900.0], 1e-8);
    near(&six([0.0015, -0.002, -0.045]), &[50.0, 30.0, 800.0, 39750.0, -67450.0, 12045.0], 1e-8);
    // TYPE 3, (a, b, az0) = (220, 130, −42) mm: the vertical channels, and the sums of the rest.
    let piezo = values(mechanics::Sensing::piezo8([0, 1, 2, 3, 4, 5, 6, 7], 1.0, 0.220, 0.130, -0.042));
    near(&piezo[4..], &[354.45979, 204.232517, 45.54021, 195.767483], 1e-6);
    let turn = 0.130 * (piezo[1] - piezo[0]) + 0.220 * (piezo[2] - piezo[3]);
    near(&[piezo[0] + piezo[1], piezo[2] + piezo[3], turn], &[50.0, 30.0, 11.9], 1e-9);
    // TYPE 4: rows of the matrix as N and N·mm per channel unit; the channels multiply out to (F, M) of TYPE 2.
    let rows: [[f64; 6]; 6] = [
        [100.0, 1.0, 0.0, 0.0, 0.0, 0.0],
        [0.0, 98.0, 0.0, 0.0, 0.0, 0.5],
        [0.0, -2.0, 400.0, 0.0, 0.0, 0.0],
        [0.0, 0.0, 0.0, 90000.0, 300.0, 0.0],
        [0.0, 0.0, 50.0, 0.0, 85000.0, 0.0],
        [0.0, 20.0, 0.0, 0.0, 0.0, 45000.0],
    ];
    let column = |k: usize| std::array::from_fn(|i| rows[i][k] * if i < 3 { 1.0 } else { 0.001 });
    let columns = (0..6).map(column).collect();
    let four =
        values(mechanics::Sensing::calibrated((0..6).collect(), columns, DVec3::new(0.0, 0.0, -0.040)));
    near(
        &four,
        &[0.49695226066, 0.30477393373, 2.00152386967, 0.46036993763, -0.77764795522, 0.26430898936],
        1e-10,
    );
}

/// TYPE 5 to 7: the channels, put through the published sums by hand, give the wrench.
#[test]
fn inverse_of_the_many_channelled_plates_is_exact() {
    let wrench = Wrench::from_array([-120.0, 60.0, -900.0, 55.0, 80.0, -21.0]);
    for kind in PlateType::ALL {
        let mut rig = RigSpec::two_plates(kind);
        rig.trigger = false;
        let made = simulate::swing(&PlayerSpec::right(Style::early()), &rig, &Noise::NONE, 1).unwrap();
        for up in [Axis::PlusZ, Axis::MinusZ] {
            let inverse = Inverse::of(&made.rig.plates[0], up).unwrap();
            let values = inverse.values(&wrench);
            assert_eq!(values.len(), kind.labels(1, Units::Volt).len());
            assert_eq!(values.len(), inverse.channels().len());
            let back = inverse.wrench(&values).to_array();
            for (a, b) in back.into_iter().zip(wrench.to_array()) {
                assert!((a - b).abs() < 1e-9, "{kind:?}: {back:?}");
            }
        }
    }
}

#[test]
fn noise_is_as_large_as_it_says() {
    let noise = Noise { force_n: 2.0, moment_nm: 0.5, ..Noise::NONE };
    let rig = RigSpec::two_plates(PlateType::Two);
    let player = PlayerSpec::right(Style::early());
    let clean = simulate::swing(&player, &rig, &Noise::NONE, 3).unwrap();
    let noisy = simulate::swing(&player, &rig, &noise, 3).unwrap();
    assert_eq!(clean.truth, noisy.truth, "noise does not touch the truth");
    let spread = |k: usize| {
        let pairs = clean.recording.analog.channels[k]
            .samples
            .iter()
            .zip(&noisy.recording.analog.channels[k].samples);
        let n = pairs.clone().count() as f64;
        (pairs.map(|(a, b)| (a - b) * (a - b)).sum::<f64>() / n).sqrt()
    };
    // With 4000 samples a standard deviation is known to 1.1 %; five of those.
    assert!((spread(2) / 2.0 - 1.0).abs() < 0.06, "force noise {}", spread(2));
    assert!((spread(11) / 500.0 - 1.0).abs() < 0.06, "moment noise {} N·mm", spread(11));
}

/// Each further error alone: its size, its shape in time, and what stays clean.
#[test]
fn drift_hum_and_crosstalk_are_as_large_as_they_say() {
    let rig = RigSpec {
        plates: vec![PlateSpec { units: Units::Metre, ..PlateSpec::at(0.0, 0.0, PlateType::Two) }],
        ..RigSpec::two_plates(PlateType::Two)
    };
    let player = PlayerSpec::right(Style::early());
    let run =
        |noise: &Noise, seed: u64| simulate::swing(&player, &rig, noise, seed).unwrap().recording.analog;
    let error = |noise: &Noise, seed: u64, k: usize| -> Vec<f64> {
        let (clean, bad) = (run(&Noise::NONE, seed), run(noise, seed));
        clean.channels[k].samples.iter().zip(&bad.channels[k].samples).map(|(a, b)| b - a).collect()
    };
    // Drift: a straight line from 0; over many recordings its end has the stated spread (20 draws, five errors).
    let drift = Noise { drift_n: 4.0, ..Noise::NONE };
    let mut squares = 0.0;
    for seed in 0..20 {
        let e = error(&drift, seed, 2);
        let (half, last) = (e[2000], e[4000]);
        assert!(e[0].abs() < 1e-9 && (last - 2.0 * half).abs() < 1e-9);
        squares += (last * 5.0 / 4.0) * (last * 5.0 / 4.0);
    }
    let spread = (squares / 20.0f64).sqrt();
    assert!((1.5..6.5).contains(&spread), "drift spread {spread} N in 5 s");
    // Hum: a sinusoid of the mains, which repeats after 20 ms and reaches its amplitude.
    let hum = error(&Noise { hum_n: 3.0, ..Noise::NONE }, 1, 0);
    assert!((0..100).all(|i| (hum[i] - hum[i + 20]).abs() < 1e-9 && (hum[i] + hum[i + 10]).abs() < 1e-9));
    let top = hum[..20].iter().fold(0.0f64, |m, v| m.max(v.abs()));
    assert!((2.9..=3.0).contains(&top), "hum reaches {top} N");
    // Cross-talk: at rest Fz alone is large, and a fixed share of it, no more than stated, shows in Fx.
    let talk = Noise { crosstalk: 0.02, ..Noise::NONE };
    let fz = run(&Noise::NONE, 1).channels[2].samples.clone();
    let fx = error(&talk, 1, 0);
    let share = fx[0] / fz[0];
    assert!(share != 0.0 && share.abs() < 0.021, "share {share}");
    let again = simulate::nth(&player, &rig, &talk, 1, 3).unwrap().recording.analog;
    let clean = simulate::nth(&player, &rig, &Noise::NONE, 1, 3).unwrap().recording.analog;
    let later = (again.channels[0].samples[0] - clean.channels[0].samples[0]) / clean.channels[2].samples[0];
    assert!((later - share).abs() < 0.001, "the same plate in the next swing: {later} and {share}");
}

#[test]
fn digitised_channels_hold_whole_counts_and_stay_near() {
    let adc = simulate::Adc { bits: 14, force_n: 4096.0, moment_nm: 2048.0 };
    let noise = Noise { adc: Some(adc), ..Noise::NONE };
    let rig = RigSpec {
        plates: vec![PlateSpec {
            units: Units::Metre,
            ..RigSpec::one_plate(PlateType::Two).plates[0].clone()
        }],
        ..RigSpec::one_plate(PlateType::Two)
    };
    let made = simulate::swing(&PlayerSpec::right(Style::press()), &rig, &noise, 3).unwrap();
    // ±4096 N over 14 bits is half a newton a count.
    for value in &made.recording.analog.channels[2].samples {
        assert_eq!((value / 0.5).fract(), 0.0);
    }
    for kind in PlateType::ALL {
        let rig = RigSpec { rate_hz: 100.0, ..RigSpec::two_plates(kind) };
        let made = simulate::swing(&PlayerSpec::right(Style::press()), &rig, &noise, 3).unwrap();
        let (force, _) = misread(&made);
        assert!(force > 1e-6, "{kind:?} shows no counts");
        assert!(force < 12.0, "{kind:?} off by {force} N");
    }
}

#[test]
fn a_recording_says_what_a_file_would_and_the_rig_says_all() {
    let mut rig = RigSpec::two_plates(PlateType::Two);
    rig.plates[0].foot = Some(Foothold::Lead);
    rig.plates[0].measures = Measures::OnPlate;
    let made = simulate::swing(&PlayerSpec::cast()[1], &rig, &Noise::USUAL, 3).unwrap();
    assert_eq!(made.rig.plates[0].foot, Some(Foothold::Lead));
    assert_eq!(made.rig.plates[0].measures, Measures::OnPlate);
    assert_eq!(made.recording.plates[0].foot, None);
    assert_eq!(made.recording.plates[0].measures, Measures::BySign);
    assert_eq!(made.recording.mass_kg, Some(82.0));
    let labels: Vec<_> = made.recording.markers.iter().map(|m| m.label.as_str()).collect();
    assert_eq!(labels, ["LHEEL", "LTOE", "RHEEL", "RTOE", "CLUBHEAD"]);
    // Left-handed: the right foot leads.
    let x = |k: usize| made.recording.markers[k].path_m[0][0];
    assert!(x(2) > x(0), "right heel nearer the target");
    let impact = made.recording.marks.iter().find(|m| m.label == "impact").unwrap().time_s;
    let trigger = made.rig.trigger.as_ref().unwrap();
    let first =
        made.recording.analog.channels[trigger.channel].samples.iter().position(|v| Some(*v) > trigger.level);
    let late = first.unwrap() as f64 / 1000.0 - impact;
    assert!((0.0..0.001).contains(&late), "the channel rises {late} s after impact");
}

/// The clubhead passes the ball at the stated speed (differences of the marker's path).
#[test]
fn clubhead_has_its_speed_at_impact() {
    let rig = RigSpec { marker_rate_hz: 5000.0, ..RigSpec::two_plates(PlateType::Two) };
    let made = simulate::swing(&PlayerSpec::right(Style::early()), &rig, &Noise::NONE, 3).unwrap();
    let path = &made.recording.markers[4].path_m;
    let at = (made.truth.events.impact_s * 5000.0) as usize;
    let point = |i: usize| DVec3::from_array(path[i].map(f64::from));
    let speed = (point(at + 5) - point(at - 5)).length() * 500.0;
    assert!((speed - 45.0).abs() < 0.3, "{speed} m/s");
}

#[test]
fn what_cannot_be_built_is_refused() {
    use simulate::Unbuildable;
    let player = PlayerSpec::right(Style::early());
    let try_rig = |rig: RigSpec| simulate::swing(&player, &rig, &Noise::NONE, 1).map(|_| ());
    let rig = || RigSpec::two_plates(PlateType::Two);
    assert_eq!(try_rig(RigSpec { target: DVec3::Z, ..rig() }), Err(Unbuildable::Target));
    assert_eq!(try_rig(RigSpec { plates: vec![], ..rig() }), Err(Unbuildable::NoPlate));
    let mut flat = rig();
    flat.plates[1].size_m = (0.0, 0.6);
    assert_eq!(try_rig(flat), Err(Unbuildable::Plate(1)));
    assert!(matches!(
        try_rig(RigSpec { rate_hz: f64::NAN, ..rig() }),
        Err(Unbuildable::Figure("rate_hz", _))
    ));
    let mut bent = Style::early();
    bent.up[0].to = bent.up[0].from;
    let bent = simulate::swing(&PlayerSpec::right(bent), &rig(), &Noise::NONE, 1).map(|_| ());
    assert!(matches!(bent, Err(Unbuildable::Figure("style phase", _))), "{bent:?}");
    let ghost = PlayerSpec { mass_kg: -1.0, ..player.clone() };
    assert_eq!(
        simulate::swing(&ghost, &rig(), &Noise::NONE, 1).map(|_| ()),
        Err(Unbuildable::Figure("mass_kg", -1.0))
    );
}
