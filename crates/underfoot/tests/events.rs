//! Measured recordings of standing, jumps and gait: none holds a swing, and none is invented.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use mechanics::{Axis, Hand, Target};
use std::path::PathBuf;
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
    let beside = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../shared/data/real");
    let folder =
        std::env::var_os("UNDERFOOT_RECORDINGS").map_or_else(|| PathBuf::from(beside), PathBuf::from);
    for name in FILES {
        let path = folder.join(name);
        if !path.is_file() {
            println!("skipped: {name} is not among the measured recordings here");
            continue;
        }
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
