//! The simulator's truth comes back through the whole pipeline: every plate type, every number of plates, both hands,
//! turned laboratories, and both kinds of file.
//!
//! Without noise the pipeline recovers the truth to 1e-9 of its scale; so does a table, which keeps doubles. A C3D file
//! keeps 24 bits of every value, and is held to that. With noise the errors stay within what was put in.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use formats::c3d::{self, Encoding};
use formats::{rigfile, table};
use glam::DVec3;
use mechanics::{Axis, Hand, Recording, Rig, Target};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style};
use swing::{About, Settings, Swing, analyse};

fn settings(hand: Hand) -> Settings {
    Settings { hand: Some(hand), ..Settings::UNSTATED }
}

fn read(recording: &Recording, rig: &Rig, hand: Hand) -> Swing {
    analyse(recording, rig, &settings(hand)).expect("a swing").value
}

fn player(hand: Hand) -> PlayerSpec {
    // Short phases keep the test quick; the mechanics do not know.
    PlayerSpec { hand, quiet_s: 0.7, follow_s: 0.5, hold_s: 0.3, ..PlayerSpec::right(Style::press()) }
}

fn rigs(kind: PlateType) -> [RigSpec; 3] {
    [RigSpec::one_plate(kind), RigSpec::two_plates(kind), RigSpec::three_plates(kind)]
        .map(|rig| RigSpec { rate_hz: 500.0, ..rig })
}

/// Largest error of each kind: force N, place m, moment N·m.
#[derive(Debug, Default)]
struct Errors {
    force_n: f64,
    cop_m: f64,
    moment_nm: f64,
}

fn compare(simulated: &Simulated, swing: &Swing) -> Errors {
    let truth = &simulated.truth;
    let mut worst = Errors::default();
    let series = &swing.series;
    assert_eq!(series.net.wrench.len(), truth.len());
    let turn_sign = truth.hand.turn_sign();
    for k in 0..truth.len() {
        if let Some(feet) = &series.feet {
            for (foot, known) in [(&feet.lead, &truth.lead), (&feet.trail, &truth.trail)] {
                worst.force_n = worst.force_n.max((foot.wrench.force_n[k] - known.force_n[k]).length());
                // Near the load floor either side may call the foot unloaded.
                if known.force_n[k].z > 21.0 {
                    worst.cop_m = worst.cop_m.max((foot.contact[k].cop_m - known.cop_m[k]).length());
                    worst.moment_nm =
                        worst.moment_nm.max((foot.contact[k].free_nm - known.free_moment_nm[k]).abs());
                }
            }
        }
        worst.force_n = worst.force_n.max((series.net.wrench.force_n[k] - truth.net_n(k)).length());
        let net_cop = truth.net_cop_m(k);
        let turn = turn_sign * truth.moment_about(k, net_cop).z;
        worst.moment_nm = worst.moment_nm.max((swing.ledger.turn_nm[k] - turn).abs());
        worst.cop_m = worst.cop_m.max((series.net.contact[k].cop_m - net_cop).length());
    }
    worst
}

fn hold(errors: &Errors, limits: [f64; 3], what: &str) {
    let within = errors.force_n <= limits[0] && errors.cop_m <= limits[1] && errors.moment_nm <= limits[2];
    assert!(within, "{what}: {errors:?} exceed {limits:?} (N, m, N·m)");
}

/// A laboratory whose up, target and origin are nothing special.
fn odd_lab(rig: RigSpec) -> RigSpec {
    rig.in_lab(Axis::PlusY, DVec3::new(0.8, 0.3, -0.6), DVec3::new(2.0, 0.1, -1.5))
}

const EXACT: [f64; 3] = [1e-9 * 1500.0, 1e-9 * 2.0, 1e-9 * 500.0];

#[test]
fn every_plate_type_gives_the_truth_back_exactly() {
    for kind in PlateType::ALL {
        for hand in [Hand::Right, Hand::Left] {
            for rig in rigs(kind) {
                for rig in [rig.clone(), odd_lab(rig)] {
                    let simulated = simulate::swing(&player(hand), &rig, &Noise::NONE, 3).expect("a swing");
                    let swing = read(&simulated.recording, &simulated.rig, hand);
                    assert_eq!(swing.series.feet.is_some(), rig.plates.len() > 1, "{}", rig.name);
                    hold(&compare(&simulated, &swing), EXACT, &format!("{kind:?}, {hand:?}, {}", rig.name));
                }
            }
        }
    }
}

#[test]
fn through_a_c3d_file_to_its_precision() {
    for kind in PlateType::ALL.into_iter().filter(|k| *k != PlateType::Lab) {
        for rig in rigs(kind) {
            let simulated = simulate::swing(&player(Hand::Right), &rig, &Noise::NONE, 4).expect("a swing");
            let bytes = c3d::encode(&simulated.recording, &Encoding::PLAIN).expect("a file");
            let recording = c3d::decode("swing.c3d", &bytes).expect("a recording").value;
            // Read by the file's own description; only the target must be said.
            let own = Rig { target: Some(Target::Axis(Axis::PlusX)), ..Rig::of_recording(&recording) };
            let swing = read(&recording, &own, Hand::Right);
            // 24 bits of 1500 N are 0.0001 N; a moment of 2000 N·m 0.0001 N·m; over 20 N that is 6 µm.
            hold(&compare(&simulated, &swing), [1e-3, 2e-5, 1e-3], &format!("{kind:?}, {}", rig.name));
        }
    }
}

#[test]
fn through_a_table_and_its_rig_file_exactly() {
    for kind in PlateType::ALL {
        for rig in rigs(kind) {
            let rig = odd_lab(rig);
            let simulated = simulate::swing(&player(Hand::Left), &rig, &Noise::NONE, 5).expect("a swing");
            let bytes = table::encode(&simulated.recording, &table::Writing::CSV);
            let text = rigfile::write(&rigfile::of_rig(&simulated.rig, &simulated.recording, &[]));
            let file = rigfile::parse("rig.toml", &text).unwrap_or_else(|e| unreadable(&e, &text));
            let recording =
                table::decode("swing.csv", &bytes, Some(&file.table_layout())).expect("a table").value;
            let read_rig = file.resolve(&recording).unwrap_or_else(|e| unreadable(&e, &text)).value;
            let swing = read(&recording, &read_rig, Hand::Left);
            hold(&compare(&simulated, &swing), EXACT, &format!("{kind:?}, {}", rig.name));
        }
    }
}

#[allow(clippy::panic)]
fn unreadable<T>(error: &dyn std::fmt::Display, text: &str) -> T {
    panic!("{error}\n{text}")
}

/// White noise only: errors are bounded by five standard deviations of what was put in, per component.
#[test]
fn noise_comes_back_as_large_as_it_was_put_in() {
    let noise = Noise { force_n: 1.0, moment_nm: 0.3, ..Noise::NONE };
    for kind in [PlateType::Two, PlateType::Three, PlateType::Four, PlateType::Five] {
        let rig = RigSpec { rate_hz: 500.0, ..RigSpec::two_plates(kind) };
        let simulated = simulate::swing(&player(Hand::Right), &rig, &noise, 6).expect("a swing");
        let swing = read(&simulated.recording, &simulated.rig, Hand::Right);
        let feet = swing.series.feet.as_ref().expect("two feet");
        let errors: Vec<f64> = (0..simulated.truth.len())
            .flat_map(|k| (feet.lead.wrench.force_n[k] - simulated.truth.lead.force_n[k]).to_array())
            .collect();
        let sd = (errors.iter().map(|e| e * e).sum::<f64>() / errors.len() as f64).sqrt();
        assert!((sd - 1.0).abs() < 0.05, "{kind:?}: force noise {sd} N");
        assert!(errors.iter().all(|e| e.abs() < 6.0), "{kind:?}");
        // Turn about a fixed point: noise of a moment and of forces on arms under a metre.
        let centre = swing.plates[0].surface.centre_m;
        let turn: Vec<f64> = (0..simulated.truth.len())
            .map(|k| {
                let about = feet.lead.wrench.moment_nm[k] - centre.cross(feet.lead.wrench.force_n[k]);
                about.z - simulated.truth.lead.moment_about(k, centre).z
            })
            .collect();
        let sd = (turn.iter().map(|e| e * e).sum::<f64>() / turn.len() as f64).sqrt();
        assert!((sd - 0.3).abs() < 0.03, "{kind:?}: moment noise {sd} N·m");
    }
}

/// Collapsing two plates is what one plate under both feet would have said, to rounding.
#[test]
fn collapsing_two_plates_is_the_one_plate_recording() {
    let two = RigSpec { rate_hz: 500.0, ..RigSpec::two_plates(PlateType::Two) };
    let one = RigSpec { rate_hz: 500.0, ..RigSpec::one_plate(PlateType::Two) };
    let [two, one] =
        [two, one].map(|rig| simulate::swing(&player(Hand::Right), &rig, &Noise::NONE, 8).expect("a swing"));
    for about in [About::NetCop, About::RigCentre, About::Fixed(0.2, -0.4)] {
        let how = |collapse| Settings { collapse, about: about.clone(), ..settings(Hand::Right) };
        let a = analyse(&two.recording, &two.rig, &how(true)).expect("a swing").value;
        let b = analyse(&one.recording, &one.rig, &how(false)).expect("a swing").value;
        assert!(a.ledger.turn.is_none() && b.ledger.turn.is_none());
        for (x, y) in a.ledger.turn_nm.iter().zip(&b.ledger.turn_nm) {
            assert!((x - y).abs() < 1e-9 * 500.0, "{x} {y}");
        }
    }
}

/// The address is found before the swing, though the finish is held as still.
#[test]
fn address_is_before_the_takeaway() {
    for seed in 0..8 {
        let rig = RigSpec { rate_hz: 500.0, ..RigSpec::two_plates(PlateType::Two) };
        let player = PlayerSpec { hold_s: 1.5, ..player(Hand::Right) };
        let simulated = simulate::swing(&player, &rig, &Noise::USUAL, seed).expect("a swing");
        let swing = read(&simulated.recording, &simulated.rig, Hand::Right);
        let address = swing.address.expect("an address");
        let ends_s = address.samples.end as f64 / swing.rate_hz;
        assert!(ends_s < simulated.truth.events.takeaway_s + 0.25, "seed {seed}: {ends_s} s");
        assert!(!address.after_movement);
    }
}
