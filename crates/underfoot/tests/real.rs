//! Measured recordings through the whole pipeline. Figures: the evaluations that accompany the recordings (two
//! independent programs), foot markers, weights and the standing pendulum. Where a public program disagrees with the
//! physics, the physics wins and the test says so.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use common::recording;
use glam::DVec3;
use mechanics::{Axis, Finding, Hand, Target};
use mechanics::{Conditioning, Zero};
use std::path::PathBuf;
use swing::{About, Settings, Swing};
use underfoot::Loaded;

fn how(target: Axis, hand: Hand) -> Settings {
    Settings { target: Some(Target::Axis(target)), hand: Some(hand), ..Settings::UNSTATED }
}

fn analyse(path: &std::path::Path, rig: Option<&str>, how: &Settings) -> (Loaded, Swing, Vec<Finding>) {
    let rigs = PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../formats/tests/rigs"));
    let rig = rig.map(|r| rigs.join(r));
    let loaded = underfoot::load(path, rig.as_deref()).expect("readable");
    let mut findings = loaded.findings.clone();
    let checked = swing::analyse(&loaded.recording, &loaded.rig, how).expect("a swing");
    let swing = checked.take(&mut findings);
    (loaded, swing, findings)
}

fn zeroed() -> Option<Conditioning> {
    Some(Conditioning { zero: Zero::FileWindow, ..Conditioning::RAW })
}

fn has(findings: &[Finding], code: &str) -> bool {
    findings.iter().any(|f| f.kind.code == code)
}

/// Peak and median vertical force of every plate (N), as evaluated with two independent programs.
const VERTICAL: &[(&str, &[(f64, f64)])] = &[
    ("drop-jump-two-plates.c3d", &[(2822.6, 229.2), (630.4, 2.7)]),
    ("quiet-stance.c3d", &[(736.2, 665.8)]),
    ("jump-markers-two-plates.c3d", &[(6281.6, 749.8)]),
    ("jump_two_plates_type4.c3d", &[(822.2, 264.6), (883.5, 350.7)]),
    ("standing_two_plates_type3.c3d", &[(378.5, 181.3), (199.7, 187.6)]),
    ("standing_two_plates_type2.c3d", &[(347.9, 337.6), (301.6, 291.3)]),
    ("standing_three_plates_type2_dec_real.c3d", &[(293.2, 286.8), (313.2, 308.9)]),
    ("gait_two_plates_type2_intel_int.c3d", &[(815.5, -7.5), (829.8, -12.3)]),
    ("gait_two_plates_type2_mips_real.c3d", &[(815.5, -7.5), (829.8, -12.3)]),
    (
        "gait_four_plates_type3_type2_dec_int.c3d",
        &[(726.6, 2.4), (577.8, -79.1), (515.3, -212.4), (607.0, -180.7)],
    ),
    ("gait_one_plate_type1_yup.c3d", &[(731.7, 0.0)]),
    ("gait_two_plates_type2_2000hz.c3d", &[(808.4, 0.9), (839.7, 0.4)]),
    ("gait_two_plates_type4_metres.c3d", &[(714.1, 23.1), (712.9, 0.0)]),
];

#[test]
fn vertical_forces_of_every_file() {
    for (name, plates) in VERTICAL {
        let Some(path) = recording(name) else { continue };
        let (_, swing, _) = analyse(&path, None, &how(Axis::PlusX, Hand::Right));
        for (shadow, (peak, median)) in swing.plates.iter().zip(*plates) {
            assert!(
                (shadow.peak_n - peak).abs() < 0.06,
                "{name} plate {}: peak {}",
                shadow.name,
                shadow.peak_n
            );
            // Medians are quoted to a tenth; the even-sample rule may differ by one sample.
            assert!(
                (shadow.median_n - median).abs() < 0.4,
                "{name} plate {}: median {}",
                shadow.name,
                shadow.median_n
            );
        }
    }
}

/// The account balances at every sample of every file, about every reference point that exists.
#[test]
fn every_account_of_every_file_balances() {
    let tables = [
        ("standing_two_plates_per_foot.tsv", Some("standing-per-foot.toml")),
        ("standing_one_plate_six_channels.tsv", Some("standing-one-plate.toml")),
        ("quiet-stance.csv", Some("quiet-stance.toml")),
        ("drop-jump-two-plates.csv", Some("drop-jump-two-plates.toml")),
    ];
    let files = VERTICAL.iter().map(|(name, _)| (*name, None)).chain(tables);
    for (name, rig) in files {
        let Some(path) = recording(name) else { continue };
        for about in [About::NetCop, About::RigCentre, About::Plate(0), About::Fixed(0.31, -0.7)] {
            let settings = Settings { about, target: None, ..how(Axis::PlusX, Hand::Left) };
            let (_, swing, _) = analyse(&path, rig, &settings);
            let mut defined = 0;
            for k in 0..swing.ledger.turn_nm.len() {
                let net = swing.ledger.turn_nm[k];
                let residual = swing.ledger.turn_residual_nm(k);
                if residual.is_nan() {
                    continue;
                }
                defined += 1;
                let scale = swing.series.net.wrench.force_n[k].length() + net.abs() + 1.0;
                assert!(residual.abs() < 1e-9 * scale, "{name} sample {k}: residual {residual}");
            }
            assert!(defined > 0, "{name}: turn is defined nowhere");
        }
    }
}

/// Which foot stands where, as the recordings' descriptions and markers say, and the weights that were listed.
#[test]
fn feet_and_weights_of_the_standing_files() {
    // (file, target that makes the left foot lead, plate of the left foot, listed or summed weight N, tolerance)
    let cases = [
        ("standing_two_plates_type2.c3d", Axis::MinusX, 0, 628.8, 3.0),
        ("standing_three_plates_type2_dec_real.c3d", Axis::PlusY, 1, 595.7, 15.0),
        ("standing_two_plates_type3.c3d", Axis::PlusX, 1, 370.6, 3.0),
    ];
    for (name, target, left, weight_n, tolerance) in cases {
        let Some(path) = recording(name) else { continue };
        let (_, swing, findings) = analyse(&path, None, &how(target, Hand::Right));
        assert_eq!(swing.split.lead, [left], "{name}");
        assert!(!has(&findings, "Q308"), "{name}: {findings:?}");
        // The centre of pressure lies under the foot: ezc3d puts the TYPE 3 file's 0.4 m away (it mirrors each
        // through its plate's centre); the markers decide.
        assert!(!has(&findings, "Q314"), "{name}: {findings:?}");
        assert!(!has(&findings, "Q303"), "{name}: {findings:?}");
        let address = swing.address.as_ref().expect("quiet");
        assert!((address.vertical_n - weight_n).abs() < tolerance, "{name}: {}", address.vertical_n);
        // The other way round the player would be left-handed, and the markers say so.
        let (_, _, findings) = analyse(&path, None, &how(target, Hand::Left));
        assert!(has(&findings, "Q308"), "{name}");
        // With nobody stating the target, markers and hand find it.
        let unstated = Settings { target: None, ..how(target, Hand::Right) };
        let (_, swing, _) = analyse(&path, None, &unstated);
        assert_eq!(swing.frame.axes.x_axis, target.unit(), "{name}");
    }
}

/// standing_two_plates_type3: laboratory cop ranges by the right reading of ORIGIN (only z turned).
#[test]
fn piezo_cop_lies_between_heel_and_toe() {
    let Some(path) = recording("standing_two_plates_type3.c3d") else { return };
    let (_, swing, _) = analyse(&path, None, &how(Axis::PlusX, Hand::Right));
    let feet = swing.series.feet.as_ref().expect("two feet");
    let quiet = swing.address.as_ref().expect("quiet").samples.clone();
    let ranges =
        [(&feet.trail, (-0.129, -0.114), (0.003, 0.070)), (&feet.lead, (0.060, 0.123), (0.091, 0.147))];
    for (foot, x, y) in ranges {
        for k in quiet.clone() {
            let lab = swing.frame.axes * foot.contact[k].cop_m + swing.frame.origin_m;
            assert!(lab.x > x.0 - 0.003 && lab.x < x.1 + 0.003, "{lab}");
            assert!(lab.y > y.0 - 0.003 && lab.y < y.1 + 0.003, "{lab}");
        }
    }
    // Free moment of the trail foot at frame 1200: +541 N·mm about lab up; ezc3d says −541 for the same reason.
    assert!((feet.trail.contact[1200].free_nm - 0.541).abs() < 0.02, "{}", feet.trail.contact[1200].free_nm);
}

/// The standing pendulum tells reactions from forces on the plate (Winter 1995; tried on these files): the piezo
/// files of batch 1 hold the force on the plate in z-down axes although their corners point up.
#[test]
fn the_pendulum_stops_files_read_as_they_are_written() {
    for name in ["quiet-stance.c3d", "drop-jump-two-plates.c3d"] {
        let Some(path) = recording(name) else { continue };
        let (_, _, findings) = analyse(&path, None, &how(Axis::PlusY, Hand::Right));
        assert!(has(&findings, "F102"), "{name}: corners run the other way round");
        assert!(has(&findings, "Q303"), "{name}: {findings:?}");
    }
    if let Some(path) = recording("drop-jump-two-plates.c3d") {
        let (_, _, findings) = analyse(&path, None, &how(Axis::PlusY, Hand::Right));
        assert!(has(&findings, "F103"), "plate 2 has corners 3 and 4 exchanged");
    }
    for name in [
        "jump-markers-two-plates.c3d",
        "standing_three_plates_type2_dec_real.c3d",
        "standing_two_plates_type3.c3d",
    ] {
        let Some(path) = recording(name) else { continue };
        let (_, swing, _) = analyse(&path, None, &how(Axis::PlusY, Hand::Right));
        let reading = swing::quality::pendulum(&swing.series.net, swing.rate_hz).expect("quiet");
        assert!(reading.reads_as_reaction(), "{name}: {reading:?}");
    }
}

/// The rig file settles it: z down and force on the plate make the same channels a reaction.
#[test]
fn a_rig_file_settles_the_reading() {
    let Some(path) = recording("quiet-stance.csv") else { return };
    let (_, swing, findings) = analyse(&path, Some("quiet-stance.toml"), &how(Axis::PlusX, Hand::Right));
    assert!(!has(&findings, "Q303"), "{findings:?}");
    let reading = swing::quality::pendulum(&swing.series.net, swing.rate_hz).expect("quiet");
    assert!(reading.along < 0.0 && reading.across < 0.0, "{reading:?}");
}

/// The authors' own net of two plates (PeerJ 5:e3626): GRFNET and COPNET.
#[test]
fn two_plate_combination_of_an_open_data_set() {
    let Some(path) = recording("standing_two_plates_per_foot.tsv") else { return };
    let rig = Some("standing-per-foot.toml");
    let (loaded, swing, _) = analyse(&path, rig, &how(Axis::PlusX, Hand::Right));
    let column = |label: &str| {
        let channel = loaded.recording.analog.find(label).expect("the column");
        &loaded.recording.analog.channels[channel].samples
    };
    let force = ["GRFNET_X", "GRFNET_Y", "GRFNET_Z"].map(column);
    let cop = ["COPNET_X", "COPNET_Y", "COPNET_Z"].map(column);
    let at = |columns: &[&Vec<f64>; 3], k: usize| DVec3::new(columns[0][k], columns[1][k], columns[2][k]);
    let net = &swing.series.net;
    assert!(swing.series.feet.is_some(), "one foot on each plate");
    for k in 0..net.wrench.len() {
        let ours = swing.frame.axes * net.wrench.force_n[k];
        assert!((ours - at(&force, k)).abs().max_element() < 1e-4, "row {k}: {ours}");
        let ours = swing.frame.axes * net.contact[k].cop_m + swing.frame.origin_m;
        assert!((ours - at(&cop, k)).abs().max_element() < 1e-5, "row {k}: {ours} {}", at(&cop, k));
    }
}

/// The four-plate file: offsets removed over its ZERO window, as evaluated independently.
#[test]
fn zero_windows_remove_an_offset_where_the_plate_is_empty() {
    let name = "gait_four_plates_type3_type2_dec_int.c3d";
    let Some(path) = recording(name) else { return };
    let settings = Settings { conditioning: zeroed(), ..how(Axis::PlusY, Hand::Right) };
    let (_, swing, _) = analyse(&path, None, &settings);
    for (shadow, peak) in swing.plates.iter().zip([724.3, 657.1, 727.1, 787.7]) {
        assert!((shadow.peak_n - peak).abs() < 0.06, "plate {}: {}", shadow.name, shadow.peak_n);
    }
    // Read as it is, the same file is stopped: offsets of −212 and −181 N are no recording of forces.
    let (_, _, findings) = analyse(&path, None, &how(Axis::PlusY, Hand::Right));
    assert_eq!(findings.iter().filter(|f| f.kind.code == "Q318").count(), 2, "{findings:?}");
    // A standing trial is loaded in its window: nothing is subtracted, and that is said.
    let Some(path) = recording("standing_three_plates_type2_dec_real.c3d") else { return };
    let settings = Settings { conditioning: zeroed(), ..how(Axis::PlusY, Hand::Right) };
    let (_, swing, findings) = analyse(&path, None, &settings);
    assert!((swing.plates[0].peak_n - 293.2).abs() < 0.06);
    assert!(has(&findings, "F108"), "{findings:?}");
}
