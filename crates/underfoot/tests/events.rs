//! Measured recordings of standing, jumps and gait: none holds a swing, and none is invented.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use mechanics::{Axis, Hand, Target};
use swing::Settings;
use swing::events::{EventSettings, Source, locate};

const FILES: &[&str] = &[
    "drop-jump-two-plates.c3d",
    "gait_four_plates_type3_type2_dec_int.c3d",
    "gait_one_plate_type1_yup.c3d",
    "gait_two_plates_type2_2000hz.c3d",
    "gait_two_plates_type2_intel_int.c3d",
    "gait_two_plates_type4_metres.c3d",
    "jump-markers-two-plates.c3d",
    "jump_two_plates_type4.c3d",
    "quiet-stance.c3d",
    "standing_three_plates_type2_dec_real.c3d",
    "standing_two_plates_type2.c3d",
    "standing_two_plates_type3.c3d",
];

#[test]
fn no_swing_is_invented() {
    for name in FILES {
        let Some(path) = common::recording(name) else { continue };
        let loaded = underfoot::load(&path, None).expect("readable");
        for target in Axis::ALL {
            let how = Settings {
                target: Some(Target::Axis(target)),
                hand: Some(Hand::Right),
                ..Settings::UNSTATED
            };
            // Up is no target.
            let Ok(swing) = swing::analyse(&loaded.recording, &loaded.rig, &how) else { continue };
            let found = locate(&loaded.recording, &loaded.rig, &swing.value, &EventSettings::UNSTATED);
            let invented: Vec<_> = found.value.chosen.iter().filter(|e| e.source > Source::File).collect();
            assert!(invented.is_empty(), "{name}, target {}: {invented:?}", target.name());
            assert!(
                found.findings.iter().any(|f| f.kind.code == "Q357") || !found.value.chosen.is_empty(),
                "{name}"
            );
        }
    }
}

/// The binary on an invented swing: what it prints, and what it refuses.
#[test]
fn events_are_told_and_placed() {
    let folder = std::env::temp_dir().join(format!("underfoot-events-{}", std::process::id()));
    let run = |words: &[&str]| {
        std::process::Command::new(env!("CARGO_BIN_EXE_underfoot"))
            .current_dir(&folder)
            .args(words)
            .output()
            .expect("runs")
    };
    std::fs::create_dir_all(&folder).expect("a folder");
    assert!(run(&["simulate", "-o", ".", "--swings", "1", "--seed", "7"]).status.success());
    let file = std::fs::read_dir(&folder)
        .expect("a folder")
        .filter_map(|e| e.ok()?.file_name().into_string().ok())
        .find(|n| n.ends_with(".c3d"))
        .expect("a recording");
    let events =
        |more: &[&str]| run(&[&["events", &file, "--target", "+x", "--hand", "right"], more].concat());
    let told = String::from_utf8(events(&[]).stdout).expect("text");
    for word in ["takeaway", "mark@1", "OTHER SOURCES", "club-turns@1", "tempo", "LANDMARKS"] {
        assert!(told.contains(word), "{word} in\n{told}");
    }
    let json = events(&["--set", "ball contact=2.5", "--json"]);
    let page: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let impact =
        page["events"].as_array().expect("events").iter().find(|e| e["name"] == "impact").expect("impact");
    assert_eq!((impact["source"].as_str(), impact["time_s"].as_f64()), (Some("hand"), Some(2.5)));
    for (wrong, says) in [
        (&["--set", "impact=99"][..], "outside the recording"),
        (&["--set", "impact=2", "--set", "top=2.1"], "placed before top"),
        (&["--set", "impact=2", "--set", "impact=2.1"], "placed twice"),
        (&["--set", "lunch=2"], "address, takeaway, top, impact, finish"),
        (&["--club-marker", "NOSE"], "CLUBHEAD"),
    ] {
        let out = events(wrong);
        let error = String::from_utf8_lossy(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{error}");
        assert!(error.contains(says), "{says} in\n{error}");
    }
    std::fs::remove_dir_all(&folder).expect("removed");
}
