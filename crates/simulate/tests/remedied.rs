//! Where a fault has a mechanical remedy, following it (the lines pasted into a rig file, the option given) takes the
//! finding away and brings the sound recording's accounts back.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use formats::rigfile;
use glam::DVec3;
use mechanics::{Axis, Finding, Hand, Recording, Rig, Target};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Style, faults};
use swing::{Settings, Swing, analyse_into};

const HOW: Settings = Settings { hand: Some(Hand::Right), ..Settings::UNSTATED };

fn simulated(kind: PlateType, seed: u64) -> Recording {
    let player = PlayerSpec { quiet_s: 2.5, sway: 2.0, ..PlayerSpec::right(Style::late()) };
    let rig = RigSpec { rate_hz: 500.0, ..RigSpec::two_plates(kind) };
    simulate::swing(&player, &rig, &Noise::USUAL, seed).expect("a swing").recording
}

fn read(recording: &Recording, rig: &Rig) -> (Option<Swing>, Vec<Finding>) {
    let mut findings = Vec::new();
    let swing = analyse_into(recording, rig, &HOW, &mut findings).ok();
    (swing, findings)
}

fn as_it_says(recording: &Recording) -> Rig {
    Rig { target: Some(Target::Axis(Axis::PlusX)), ..Rig::of_recording(recording) }
}

fn finding<'a>(findings: &'a [Finding], code: &str) -> &'a Finding {
    findings
        .iter()
        .find(|f| f.kind.code == code)
        .unwrap_or_else(|| panic!("{code} is not among {findings:?}"))
}

/// The lines of every worked remedy of this kind, as a rig file.
fn pasted(findings: &[Finding], code: &str, recording: &Recording) -> Rig {
    let lines: Vec<&str> = findings
        .iter()
        .filter(|f| f.kind.code == code)
        .filter_map(|f| f.remedy_here.as_deref()?.split_once('\n'))
        .map(|(_, lines)| lines)
        .collect();
    assert!(!lines.is_empty(), "{code} has no lines to paste");
    let text = format!("target = \"+x\"\n{}\n", lines.join("\n"));
    let file = rigfile::parse("bay.toml", &text).unwrap_or_else(|e| panic!("{e}\n{text}"));
    file.resolve(recording).unwrap_or_else(|e| panic!("{e}\n{text}")).value
}

/// Largest difference of turn and of net cop between two swings.
fn apart(a: &Swing, b: &Swing) -> (f64, f64) {
    let turn = a.ledger.turn_nm.iter().zip(&b.ledger.turn_nm).map(|(a, b)| (a - b).abs());
    let cop =
        a.series.net.contact.iter().zip(&b.series.net.contact).map(|(a, b)| (a.cop_m - b.cop_m).length());
    (turn.fold(0.0, f64::max), cop.filter(|d| d.is_finite()).fold(0.0, f64::max))
}

/// The fault is found, its lines take it away, and the accounts are those of the sound recording.
#[track_caller]
fn mended(code: &str, sound: &Recording, spoilt: &Recording) {
    let (_, findings) = read(spoilt, &as_it_says(spoilt));
    finding(&findings, code);
    let rig = pasted(&findings, code, spoilt);
    let (swing, after) = read(spoilt, &rig);
    let swing = swing.expect("a swing");
    assert!(after.iter().all(|f| f.kind.code != code), "{code} is still there: {after:?}");
    let (truth, _) = read(sound, &as_it_says(sound));
    let (turn_nm, cop_m) = apart(&swing, &truth.expect("a swing"));
    assert!(turn_nm < 0.05 && cop_m < 1e-4, "{code}: turn {turn_nm} N·m, cop {cop_m} m away");
}

#[test]
fn swapped_plates() {
    let sound = simulated(PlateType::Two, 11);
    mended("Q317", &sound, &faults::swapped_plates(&sound, 0, 1));
}

#[test]
fn z_flipped() {
    for (kind, seed) in [(PlateType::Two, 11), (PlateType::Three, 12)] {
        let sound = simulated(kind, seed);
        for plate in [0, 1] {
            mended("Q316", &sound, &faults::z_flipped(&sound, plate));
        }
    }
}

#[test]
fn n_mm_called_n_m() {
    let sound = simulated(PlateType::Two, 11);
    mended("Q325", &sound, &faults::millimetres_called_metres(&sound));
}

#[test]
fn newtons_called_kilonewtons_and_the_reverse() {
    for kind in [PlateType::Two, PlateType::Three] {
        let sound = simulated(kind, 11);
        // Eight piezo channels hold no moments of their own: all is wrong by the same factor.
        mended("Q324", &sound, &faults::forces_called(&sound, 1000.0));
        mended("Q324", &sound, &faults::forces_called(&sound, 0.001));
    }
}

/// Kilograms and pounds called newtons, with moments of the same sort, left right, or in the unit that goes with them;
/// and newtons called kilograms or pounds. With the mass stated all are told; without, kilograms are.
#[test]
fn kilograms_and_pounds() {
    let (kgf, lbf) = (9.80665, 4.448_221_615_260_5);
    let sound = simulated(PlateType::Two, 11);
    let cases = [
        (kgf, kgf, "kgf"),
        (kgf, 1.0, "kgf"),
        (kgf, 1000.0 * kgf / 100.0, "kgf·cm"),
        (lbf, lbf, "lbf"),
        (lbf, 1.0, "lbf"),
        (lbf, 1000.0 * lbf * 0.0254, "lbf·in"),
        (lbf, 1000.0 * lbf * 0.3048, "lbf·ft"),
    ];
    for (force, moment, word) in cases {
        let spoilt = faults::called_otherwise(&sound, force, moment);
        let (_, findings) = read(&spoilt, &as_it_says(&spoilt));
        let remedy = finding(&findings, "Q337").remedy();
        assert!(remedy.contains(word), "{word} is not in {remedy}");
        mended("Q337", &sound, &spoilt);
    }
    for factor in [kgf, lbf] {
        // The file says kilograms where newtons stand.
        let mut spoilt = sound.clone();
        for plate in &mut spoilt.plates {
            let mechanics::Sensing::Linear { columns, .. } = &mut plate.sensing else { panic!("linear") };
            columns.iter_mut().flat_map(|c| &mut c[..3]).for_each(|v| *v *= factor);
        }
        mended("Q337", &sound, &spoilt);
    }
    // Nobody states a mass.
    let nobody = Recording { mass_kg: None, ..sound.clone() };
    mended("Q337", &nobody, &faults::called_otherwise(&nobody, kgf, kgf));
    let (_, findings) = read(&nobody, &as_it_says(&nobody));
    assert!(findings.iter().all(|f| f.kind.code != "Q337"), "{findings:?}");
}

/// A wrong gain, or a mass that cannot be the player's, is a stop.
#[test]
fn a_mass_that_is_far_off() {
    let sound = simulated(PlateType::Two, 11);
    for (factor, stop) in [(1.1, false), (1.25, false), (1.4, true), (0.65, true), (0.8, false)] {
        let (_, findings) = read(&faults::body_weight_off(&sound, factor), &as_it_says(&sound));
        let codes: Vec<_> = findings.iter().map(|f| f.kind.code).collect();
        assert_eq!((codes.contains(&"Q338"), codes.contains(&"Q311")), (stop, !stop), "{factor}: {codes:?}");
    }
}

/// `force` stated the wrong way round for every plate, or for one of two: the lines turn it back.
#[test]
fn a_vertical_force_that_pulls() {
    use mechanics::Measures;
    for kind in [PlateType::Two, PlateType::Three, PlateType::Lab] {
        let sound = simulated(kind, 11);
        let right = Rig {
            plates: sound
                .plates
                .iter()
                .map(|p| mechanics::Plate { measures: Measures::OnPlayer, ..p.clone() })
                .collect(),
            ..as_it_says(&sound)
        };
        let truth = read(&sound, &right).0.expect("a swing");
        for wrong in [&[0_usize][..], &[1], &[0, 1]] {
            let mut rig = right.clone();
            wrong.iter().for_each(|k| rig.plates[*k].measures = Measures::OnPlate);
            let (_, findings) = read(&sound, &rig);
            let told: Vec<_> = findings.iter().filter(|f| f.kind.code == "Q339").collect();
            assert_eq!(told.iter().filter_map(|f| f.plate).collect::<Vec<_>>(), wrong, "{findings:?}");
            for code in ["Q318", "F107", "Q324"] {
                assert!(findings.iter().all(|f| f.kind.code != code), "{code}: {findings:?}");
            }
            let (swing, after) = read(&sound, &pasted(&findings, "Q339", &sound));
            assert!(after.iter().all(|f| f.kind.code != "Q339"), "{after:?}");
            let (turn_nm, cop_m) = apart(&swing.expect("a swing"), &truth);
            assert!(turn_nm < 1e-9 && cop_m < 1e-9, "{kind:?} {turn_nm} {cop_m}");
        }
        // And none where all is right.
        assert!(read(&sound, &right).1.iter().all(|f| f.kind.code != "Q339"));
    }
}

/// The same where z is said to point the wrong way, and where the vertical channel alone has the wrong sign.
#[test]
fn a_vertical_force_that_pulls_for_another_reason() {
    use mechanics::{Measures, Plate, Sensing};
    let sound = simulated(PlateType::Two, 11);
    let stated = |recording: &Recording| Recording {
        plates: recording
            .plates
            .iter()
            .map(|p| Plate { measures: Measures::OnPlayer, ..p.clone() })
            .collect(),
        ..recording.clone()
    };
    let sound = stated(&sound);
    let mut turned = sound.clone();
    for plate in &mut turned.plates {
        plate.corners_m.reverse();
        let Sensing::Linear { origin_m, .. } = &mut plate.sensing else { panic!("linear") };
        *origin_m = DVec3::new(origin_m.x, -origin_m.y, -origin_m.z);
    }
    mended("Q339", &sound, &turned);
    // As the sensors have it, so that moments stay those about their origin.
    let mut negated = sound.clone();
    for plate in &sound.plates {
        let channel = plate.sensing.channels()[2];
        negated.analog.channels[channel].samples.iter_mut().for_each(|v| *v = -*v);
    }
    mended("Q339", &sound, &negated);
}

/// Nothing is loaded at a thousandth of the force, and yet the findings are not lost with the swing.
#[test]
fn findings_outlive_an_error() {
    let spoilt = faults::forces_called(&simulated(PlateType::Two, 11), 0.001);
    let (swing, findings) = read(&spoilt, &as_it_says(&spoilt));
    assert!(swing.is_none());
    finding(&findings, "Q324");
}

/// Where the direction of turn or the markers tell, the horizontal channels alone are turned, and all is as it was.
#[test]
fn horizontal_forces_of_the_action() {
    let sound = simulated(PlateType::Two, 11);
    let spoilt = faults::horizontal_action(&sound);
    mended("Q303", &sound, &spoilt);
    let unmarked = |recording: &Recording| Recording { markers: Vec::new(), ..recording.clone() };
    mended("Q303", &unmarked(&sound), &unmarked(&spoilt));
}

/// Standing alone without markers says no more than the pendulum: the usual reading of real files is offered (z turned
/// over), the pendulum is content with it, and the places must be checked by eye.
#[test]
fn standing_on_the_action() {
    let mut standing = faults::horizontal_action(&simulated(PlateType::Two, 11));
    standing.markers.clear();
    standing.analog.channels.iter_mut().for_each(|c| c.samples.truncate(1100));
    let (_, findings) = read(&standing, &as_it_says(&standing));
    let remedy = finding(&findings, "Q303").remedy();
    for line in ["number = 1", "number = 2", "z = \"up\"", "force = \"on plate\"", "check that the feet"] {
        assert!(remedy.contains(line), "{line} is missing from {remedy}");
    }
    let rig = pasted(&findings, "Q303", &standing);
    let (_, after) = read(&standing, &rig);
    assert!(after.iter().all(|f| f.kind.code != "Q303"), "{after:?}");
}

/// Corners listed the other way round in an otherwise sound file of one plate: that one axis is mirrored the pendulum
/// tells, and which one the markers, since the player stands away from the middle.
#[test]
fn corners_the_other_way_round() {
    let player = PlayerSpec { quiet_s: 2.5, sway: 2.0, ..PlayerSpec::right(Style::late()) };
    let rig = RigSpec { rate_hz: 500.0, stand_m: [0.1, 0.06], ..RigSpec::one_plate(PlateType::Two) };
    let sound = simulate::swing(&player, &rig, &Noise::USUAL, 2).expect("a swing").recording;
    mended("Q303", &sound, &faults::corners_mirrored(&sound, 0));
}

/// --hand.
#[test]
fn wrong_hand() {
    let sound = simulated(PlateType::Two, 11);
    let mut unmarked = faults::says_little(&sound);
    unmarked.markers.clear();
    let rig = as_it_says(&unmarked);
    let codes = |hand: Hand| {
        let how = Settings { hand: Some(hand), ..HOW };
        let mut findings = Vec::new();
        analyse_into(&unmarked, &rig, &how, &mut findings).expect("a swing");
        findings.iter().map(|f| f.kind.code).collect::<Vec<_>>()
    };
    assert!(codes(faults::wrong_hand(Hand::Right)).contains(&"Q332"));
    assert!(!codes(Hand::Right).contains(&"Q332"));
}

/// Turned horizontal forces of a player who hardly sways: standing does not tell, the direction of turn does, and the
/// lines turn them back; of one who sways, standing says which of hand and forces is wrong.
#[test]
fn a_turn_away_from_the_target() {
    let player = PlayerSpec { quiet_s: 1.0, sway: 0.0, ..PlayerSpec::right(Style::late()) };
    let rig = RigSpec { rate_hz: 500.0, ..RigSpec::two_plates(PlateType::Two) };
    let still = simulate::swing(&player, &rig, &Noise::NONE, 11).expect("a swing").recording;
    let spoilt = faults::horizontal_action(&still);
    assert!(read(&spoilt, &as_it_says(&spoilt)).1.iter().all(|f| f.kind.code != "Q303"));
    mended("Q332", &still, &spoilt);
    let mut swaying = simulated(PlateType::Two, 11);
    swaying.markers.clear();
    let remedy = |recording: &Recording, hand: Hand| {
        let how = Settings { hand: Some(hand), ..HOW };
        let mut findings = Vec::new();
        analyse_into(recording, &as_it_says(recording), &how, &mut findings).expect("a swing");
        finding(&findings, "Q332").remedy().to_owned()
    };
    assert!(remedy(&swaying, Hand::Left).starts_with("State --hand right"));
    assert!(remedy(&faults::horizontal_action(&swaying), Hand::Right).starts_with("Follow Q303"));
}

/// --collapse: where a foot bridges two plates the net stands.
#[test]
fn foot_over_the_gap() {
    let sound = simulated(PlateType::Two, 11);
    let spoilt = faults::foot_over_gap(&sound, 0, 1, 0.25);
    let rig = as_it_says(&spoilt);
    let (_, findings) = read(&spoilt, &rig);
    let seen = &finding(&findings, "Q323").seen;
    assert!(seen.contains("the trail foot's") && seen.contains("toward the target"), "{seen}");
    let together = Settings { collapse: true, ..HOW };
    let net =
        |recording: &Recording| analyse_into(recording, &rig, &together, &mut Vec::new()).expect("a swing");
    let (turn_nm, cop_m) = apart(&net(&spoilt), &net(&sound));
    assert!(turn_nm < 1e-6 && cop_m < 1e-9, "{turn_nm} {cop_m}");
}

/// --mass.
#[test]
fn a_wrong_mass() {
    let mut wrong = simulated(PlateType::Two, 11);
    let right = wrong.mass_kg.expect("the file says it");
    wrong.mass_kg = Some(right * 1.1);
    let rig = as_it_says(&wrong);
    let (_, findings) = read(&wrong, &rig);
    finding(&findings, "Q311");
    let mut after = Vec::new();
    let how = Settings { mass_kg: Some(right), ..HOW };
    analyse_into(&wrong, &rig, &how, &mut after).expect("a swing");
    assert!(after.iter().all(|f| f.kind.code != "Q311"), "{after:?}");
}
