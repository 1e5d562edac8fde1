//! Recordings made wrong on purpose are found, through C3D files as they would come; right ones raise no alarm.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use formats::c3d::{self, Encoding};
use glam::DVec3;
use mechanics::{Axis, Finding, Hand, Measures, Recording, Rig, Severity, Target};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style, faults};
use swing::{Settings, Swing, SwingError, analyse};

fn simulated(rig: RigSpec, seed: u64) -> Simulated {
    let player = PlayerSpec { quiet_s: 2.5, sway: 2.0, ..PlayerSpec::right(Style::late()) };
    simulate::swing(&player, &RigSpec { rate_hz: 500.0, ..rig }, &Noise::USUAL, seed).expect("a swing")
}

fn how(hand: Hand) -> Settings {
    Settings { hand: Some(hand), ..Settings::UNSTATED }
}

fn two() -> Simulated {
    simulated(RigSpec::two_plates(PlateType::Two), 11)
}

/// Through a C3D file, read by its own description with the target and the hand stated.
fn through_file(recording: &Recording, hand: Hand) -> Result<(Swing, Vec<Finding>), SwingError> {
    let bytes = c3d::encode(recording, &Encoding::PLAIN).expect("a file");
    let read = c3d::decode("swing.c3d", &bytes).expect("a recording");
    let mut findings = read.findings;
    let rig = Rig { target: Some(Target::Axis(Axis::PlusX)), ..Rig::of_recording(&read.value) };
    analyse(&read.value, &rig, &how(hand)).map(|c| (c.take(&mut findings), findings))
}

fn codes(recording: &Recording, hand: Hand) -> Vec<&'static str> {
    through_file(recording, hand).expect("a swing").1.iter().map(|f| f.kind.code).collect()
}

fn assert_found(codes: &[&str], code: &str) {
    assert!(codes.contains(&code), "{code} is not among {codes:?}");
}

#[test]
fn a_sound_recording_raises_no_alarm() {
    for kind in PlateType::ALL.into_iter().filter(|k| *k != PlateType::Lab) {
        for rig in [RigSpec::one_plate(kind), RigSpec::two_plates(kind), RigSpec::three_plates(kind)] {
            let one = simulated(rig, 12);
            let (_, findings) = through_file(&one.recording, Hand::Right).expect("a swing");
            let alarms: Vec<_> = findings.iter().filter(|f| f.kind.severity > Severity::Note).collect();
            assert!(alarms.is_empty(), "{kind:?}: {alarms:?}");
        }
    }
}

#[test]
fn no_plates() {
    let spoilt = faults::no_plates(&two().recording);
    let bytes = c3d::encode(&spoilt, &Encoding::PLAIN).expect("a file");
    let read = c3d::decode("swing.c3d", &bytes).expect("a recording");
    assert!(read.findings.iter().any(|f| f.kind.code == "F010"), "{:?}", read.findings);
    assert_eq!(through_file(&spoilt, Hand::Right), Err(SwingError::NoPlates));
}

#[test]
fn a_plate_that_is_never_loaded() {
    let one = two();
    let found = codes(&faults::never_loaded(&one.recording, 1), Hand::Right);
    assert_found(&found, "Q304");
    assert_found(&found, "Q306");
    let none = faults::never_loaded(&faults::never_loaded(&one.recording, 0), 1);
    assert!(matches!(through_file(&none, Hand::Right), Err(SwingError::NothingLoaded(_))));
}

/// Findings of reading a file whose first plate's corners stand in this order, and the turn it gives.
fn read_with_corners(recording: &Recording, order: [usize; 4]) -> (Vec<&'static str>, Vec<f64>) {
    let bytes = c3d::encode(recording, &Encoding::PLAIN).expect("a file");
    let mut document = c3d::Document::read(&bytes).expect("a document").value;
    for parameter in document.groups.iter_mut().flat_map(|g| &mut g.parameters) {
        if !parameter.name.is("CORNERS") {
            continue;
        }
        if let c3d::Values::Float(corners) = &mut parameter.values {
            let first: Vec<f32> = corners[..12].to_vec();
            for (place, from) in order.into_iter().enumerate() {
                corners[3 * place..3 * place + 3].copy_from_slice(&first[3 * from..3 * from + 3]);
            }
        }
    }
    let read = c3d::decode("swing.c3d", &document.write().expect("bytes")).expect("a recording");
    let mut findings = read.findings;
    let rig = Rig { target: Some(Target::Axis(Axis::PlusX)), ..Rig::of_recording(&read.value) };
    let swing = analyse(&read.value, &rig, &how(Hand::Right)).expect("a swing").take(&mut findings);
    (findings.iter().map(|f| f.kind.code).collect(), swing.ledger.turn_nm)
}

#[test]
fn mirrored_and_exchanged_corners() {
    let one = two();
    let (found, sound) = read_with_corners(&one.recording, [0, 1, 2, 3]);
    assert!(found.iter().all(|code| !["F102", "F103"].contains(code)), "{found:?}");
    let (found, _) = read_with_corners(&one.recording, [1, 0, 3, 2]);
    assert_found(&found, "F102");
    let (found, turn) = read_with_corners(&one.recording, [0, 1, 3, 2]);
    assert_found(&found, "F103");
    // Repaired by the other plate's example: the accounts are those of the sound file.
    assert_eq!(turn, sound);
}

#[test]
fn force_on_the_plate_is_turned_and_said() {
    let one = two();
    let (swing, findings) =
        through_file(&faults::action_for_reaction(&one.recording), Hand::Right).expect("a swing");
    assert_eq!(findings.iter().filter(|f| f.kind.code == "F106").count(), 2);
    let (sound, _) = through_file(&one.recording, Hand::Right).expect("a swing");
    let worst = swing
        .ledger
        .turn_nm
        .iter()
        .zip(&sound.ledger.turn_nm)
        .map(|(a, b)| (a - b).abs())
        .fold(0.0, f64::max);
    assert!(worst < 0.05, "turned back to {worst} N·m");
    // A rig that says otherwise is followed: the vertical force is then negative, and nobody is loaded.
    let mut rig = one.rig.clone();
    rig.plates.iter_mut().for_each(|p| p.measures = Measures::OnPlate);
    assert!(matches!(analyse(&one.recording, &rig, &how(Hand::Right)), Err(SwingError::NothingLoaded(_))));
}

#[test]
fn one_plate_with_its_axes_turned() {
    let one = two();
    assert_found(&codes(&faults::z_flipped(&one.recording, 1), Hand::Right), "Q316");
    assert_found(&codes(&faults::vertical_negated(&one.recording, 0), Hand::Right), "Q316");
}

/// Only physics tells: the standing pendulum (Winter 1995).
#[test]
fn horizontal_forces_of_the_action() {
    let one = two();
    let found = codes(&faults::horizontal_action(&one.recording), Hand::Right);
    assert_found(&found, "Q303");
}

#[test]
fn swapped_sides() {
    let one = two();
    assert_found(&codes(&one.recording, Hand::Left), "Q308");
    assert_found(&codes(&faults::sides_mislabelled(&one.recording), Hand::Right), "Q308");
    let swapped = codes(&faults::swapped_plates(&one.recording, 0, 1), Hand::Right);
    assert_found(&swapped, "Q317");
}

#[test]
fn units_off_by_a_thousand() {
    let one = two();
    let spoilt = faults::millimetres_called_metres(&one.recording);
    let how = Settings { target: Some(Target::Axis(Axis::PlusX)), ..how(Hand::Right) };
    // Not through a file: writing one would put the units right.
    let findings = analyse(&spoilt, &Rig::of_recording(&spoilt), &how).expect("a swing").findings;
    let found: Vec<_> = findings.iter().map(|f| f.kind.code).collect();
    assert_found(&found, "Q325");
}

#[test]
fn offsets_and_weights_that_do_not_fit() {
    let three = simulated(RigSpec::three_plates(PlateType::Two), 13);
    let offset = faults::unloaded_offset(&three.recording, 2, DVec3::new(0.0, 0.0, -18.0), DVec3::ZERO);
    assert_found(&codes(&offset, Hand::Right), "F107");
    assert_found(&codes(&faults::body_weight_off(&three.recording, 1.1), Hand::Right), "Q311");
}

/// Where the plates lie does not depend on where the target is: 100 mm apart they share nothing, 100 mm into each
/// other they share what they share.
#[test]
fn overlap_does_not_turn_with_the_target() {
    let one = two();
    let along = one.recording.plates[1].centre_m() - one.recording.plates[0].centre_m();
    let edges = one.recording.plates[0].size_m();
    let wide = if along.x.abs() > along.y.abs() { edges.0 } else { edges.1 };
    let moved = |gap_m: f64| {
        let mut out = one.recording.clone();
        let step = along.normalize() * (wide + gap_m - along.length());
        out.plates[1].corners_m.iter_mut().for_each(|c| *c += step);
        out
    };
    let said = |recording: &Recording, target: DVec3| {
        let how = Settings { target: Some(Target::Vector(target)), ..how(Hand::Right) };
        let found = analyse(recording, &Rig::of_recording(recording), &how).expect("a swing").findings;
        found.into_iter().filter(|f| f.kind.code == "F105").map(|f| f.seen).collect::<Vec<_>>()
    };
    let targets = [(1.0, 0.0), (0.0, 1.0), (0.2, -1.0), (1.0, 1.0), (-0.7, 0.3)];
    for (x, y) in targets {
        let target = DVec3::new(x, y, 0.0);
        assert!(said(&moved(0.1), target).is_empty(), "{target}: {:?}", said(&moved(0.1), target));
        assert_eq!(said(&moved(-0.1), target), said(&moved(-0.1), DVec3::X), "{target}");
        assert_eq!(said(&moved(-0.1), target).len(), 1);
    }
}

/// A wrong hand, crossed cables and a gap put in doubt what they spoil, and a short gap says what bridges it.
#[test]
fn findings_touch_what_they_spoil() {
    use mechanics::finding::{self, Touch};
    for kind in [&finding::FEET_SWAPPED, &finding::ENDS_ON_TRAIL] {
        let found = Finding::new(kind, "");
        assert!([Touch::Shear, Touch::Cop, Touch::Turn, Touch::Split].iter().all(|t| found.touches(&[*t])));
        assert!(!found.touches(&[Touch::Up]));
    }
    let found = Finding::new(&finding::TURNS_AWAY, "");
    assert!([Touch::Shear, Touch::Turn, Touch::Signs].iter().all(|t| found.touches(&[*t])));
    assert!(!found.touches(&[Touch::Up]) && !found.touches(&[Touch::Weight]));
}

#[test]
fn a_gap_says_what_bridges_it() {
    let one = two();
    let gap = |samples: usize| {
        let mut out = one.recording.clone();
        out.analog.channels[2].samples[900..900 + samples].fill(f64::NAN);
        out
    };
    let read = |recording: &Recording, bridge_s: f64| {
        let conditioning = Some(mechanics::Conditioning { bridge_s, ..mechanics::Conditioning::RAW });
        let how = Settings { conditioning, ..how(Hand::Right) };
        let rig = Rig { target: Some(Target::Axis(Axis::PlusX)), ..Rig::of_recording(recording) };
        let found = analyse(recording, &rig, &how).expect("a swing").findings;
        found.into_iter().find(|f| f.kind.code == "Q315")
    };
    let found = read(&gap(31), 0.0).expect("Q315");
    assert!(found.touches(&[mechanics::finding::Touch::Up]) && found.plate == Some(0));
    assert!(found.remedy().contains("--bridge 62 "), "{}", found.remedy());
    assert!(read(&gap(31), 0.062).is_none() && read(&gap(31), 0.061).is_some());
    // Longer than a tenth of a second nothing is drawn.
    assert!(!read(&gap(60), 0.0).expect("Q315").remedy().contains("--bridge"));
}
