//! The three worked examples of docs/rig.md are one invented half second, told by three rigs: two plates of six
//! components, one piezo plate, two feet already reduced. All give the same person, whose truth is written here.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // in tests, that is how to fail
use formats::{rigfile, table};
use glam::DVec3;
use mechanics::wrench::{PlateWrench, wrenches};
use mechanics::{Frame, Recording, Rig, Target};

/// Truth in the golf frame: force on the player, its point, its free moment, and so the moment about the origin.
fn foot(t: f64, lead: bool) -> (DVec3, DVec3) {
    let share = 0.5 + 0.4 * t;
    let (f, p, free) = if lead {
        (DVec3::new(-30.0 * share, 12.0 + 8.0 * t, 700.0 * share), DVec3::new(0.32, 0.05 - 0.1 * t, 0.0), 3.0)
    } else {
        (
            DVec3::new(18.0 - 6.0 * t, -14.0, 700.0 * (1.0 - share)),
            DVec3::new(-0.31, -0.04 + 0.1 * t, 0.0),
            -2.0,
        )
    };
    (f, p.cross(f) + DVec3::new(0.0, 0.0, free))
}

fn read(bytes: &[u8], rig: &str) -> (Recording, Rig, Vec<PlateWrench>) {
    let rig = rigfile::parse("example.toml", rig).unwrap_or_else(|e| panic!("{e}"));
    let recording =
        table::decode("example", bytes, Some(&rig.table_layout())).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(recording.findings, []);
    let recording = recording.value;
    let rig = rig.resolve(&recording).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(rig.findings, []);
    let rig = rig.value;
    let target = match rig.target.unwrap() {
        Target::Axis(axis) => axis.unit(),
        Target::Vector(v) => v,
        Target::FromTo(a, b) => rig.plates[b].centre_m() - rig.plates[a].centre_m(),
    };
    let frame = Frame::new(DVec3::ZERO, rig.up.unit(), target).unwrap();
    let read = wrenches(&recording, &rig, &frame);
    assert_eq!(read.findings, []);
    assert_eq!((recording.analog.rate_hz, recording.analog.len()), (100.0, 50));
    (recording, rig, read.value)
}

/// The tables have four decimals of a newton and three of a N·mm (or four of a mm).
fn same(plate: &PlateWrench, truth: impl Fn(f64) -> (DVec3, DVec3)) {
    for k in 0..50 {
        let (f, m) = truth(k as f64 / 100.0);
        let (got_f, got_m) = (plate.wrench.force_n[k], plate.wrench.moment_nm[k]);
        assert!((got_f - f).length() < 3e-4, "{}: row {k}: {got_f} N, not {f}", plate.name);
        assert!((got_m - m).length() < 3e-4, "{}: row {k}: {got_m} N·m, not {m}", plate.name);
    }
}

#[test]
fn two_six_component_plates() {
    let table = include_bytes!("../../../docs/examples/two-plates.csv");
    let (_, _, plates) = read(table, include_str!("../../../docs/examples/two-plates.toml"));
    assert_eq!(plates.len(), 2);
    same(&plates[0], |t| foot(t, false));
    same(&plates[1], |t| foot(t, true));
}

#[test]
fn one_piezo_plate() {
    let table = include_bytes!("../../../docs/examples/one-piezo-plate.csv");
    let (recording, rig, plates) = read(table, include_str!("../../../docs/examples/one-piezo-plate.toml"));
    same(&plates[0], |t| {
        let ((f1, m1), (f2, m2)) = (foot(t, false), foot(t, true));
        (f1 + f2, m1 + m2)
    });
    let trigger = rig.trigger.unwrap();
    let impact = &recording.analog.channels[trigger.channel];
    assert_eq!(impact.samples.iter().position(|v| *v > trigger.level.unwrap()), Some(30));
}

#[test]
fn two_feet_already_reduced_with_y_up() {
    let table = include_bytes!("../../../docs/examples/per-foot-y-up.tsv");
    let (_, _, plates) = read(table, include_str!("../../../docs/examples/per-foot-y-up.toml"));
    same(&plates[0], |t| foot(t, true));
    same(&plates[1], |t| foot(t, false));
}

/// The manual shows the example files as they are.
#[test]
fn the_manual_prints_the_examples() {
    let manual = include_str!("../../../docs/rig.md");
    for example in [
        include_str!("../../../docs/examples/two-plates.toml"),
        include_str!("../../../docs/examples/one-piezo-plate.toml"),
        include_str!("../../../docs/examples/per-foot-y-up.toml"),
    ] {
        assert!(manual.contains(example.trim_end()), "docs/rig.md does not hold:\n{example}");
    }
}

/// The manual names every key that a rig file may hold.
#[test]
fn the_manual_names_every_key() {
    let manual = include_str!("../../../docs/rig.md");
    let schema = concat!(
        include_str!("../src/rigfile/schema.rs"),
        include_str!("../src/rigfile/conditioning.rs"),
        include_str!("../src/table/layout.rs")
    );
    let mut keys = 0;
    for line in schema.lines().filter_map(|l| l.trim().strip_prefix("pub ")) {
        let Some((key, _)) = line.split_once(": ") else { continue };
        let plain = key.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
        if plain && key != "source" && key != "text" {
            let ways = [format!("`{key}`"), format!("{key} = "), format!("[{key}]")];
            assert!(ways.iter().any(|way| manual.contains(way)), "{key}");
            keys += 1;
        }
    }
    assert!(keys > 50, "only {keys} keys were found in the schema");
}
