//! The measured tables through rig files of ours (targets and places invented): the resolved channels, put
//! through the textbook formulas by hand here, give what the tables say themselves.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // in tests, that is how to fail
use formats::rigfile::parse;
use formats::table::decode;
use mechanics::plate::ReducedAxes;
use mechanics::{Axis, Measures, Recording, Rig, Sensing, Target};
use std::path::PathBuf;

/// A measured recording, or `None` with the reason printed.
fn measured(name: &str) -> Option<Vec<u8>> {
    let beside = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data/real");
    let folder = std::env::var_os("UNDERFOOT_RECORDINGS").map_or(beside, PathBuf::from);
    #[allow(clippy::disallowed_methods)] // tests open files
    match std::fs::read(folder.join(name)) {
        Ok(bytes) => Some(bytes),
        Err(error) => {
            println!("skipped: {name} is not there ({error}); point UNDERFOOT_RECORDINGS at the recordings");
            None
        }
    }
}

/// Reads a measured table through one of our rigs; there must be nothing to remark.
fn read(file: &str, rig: &str) -> Option<(Recording, Rig)> {
    let bytes = measured(file)?;
    let rig = parse("rig.toml", rig).unwrap_or_else(|e| panic!("{e}"));
    let table = decode(file, &bytes, Some(&rig.table_layout())).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(table.findings, []);
    let resolved = rig.resolve(&table.value).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(resolved.findings, []);
    Some((table.value, resolved.value))
}

/// Force and moment about the surface centre, plate axes, at a row: (F, M) = Σ column · channel, M += F × origin.
fn wrench(recording: &Recording, sensing: &Sensing, row: usize) -> ([f64; 3], [f64; 3]) {
    let Sensing::Linear { channels, columns, origin_m } = sensing else { panic!("not linear") };
    let mut s = [0.0; 6];
    for (channel, column) in channels.iter().zip(columns) {
        let value = recording.analog.channels[*channel].samples[row];
        for k in 0..6 {
            s[k] += column[k] * value;
        }
    }
    let [fx, fy, fz, mx, my, mz] = s;
    let o = origin_m;
    ([fx, fy, fz], [mx + fy * o.z - fz * o.y, my + fz * o.x - fx * o.z, mz + fx * o.y - fy * o.x])
}

/// Largest difference between the rows of a column and a function of the row.
fn worst(recording: &Recording, label: &str, of_row: impl Fn(usize) -> f64) -> f64 {
    let samples = column(recording, label);
    samples.iter().enumerate().map(|(row, want)| (of_row(row) - want).abs()).fold(0.0, f64::max)
}

fn column<'a>(recording: &'a Recording, label: &str) -> &'a [f64] {
    &recording.analog.channels[recording.analog.find(label).expect(label)].samples
}

/// Outside reference: the plate's own reduction, written in the same table. Its figures have six decimals, and
/// three of them enter a moment, hence 3e-6 N·m.
#[test]
fn eight_channels_give_the_plates_own_moments_and_centre_of_pressure() {
    let Some((recording, rig)) = read("quiet-stance.csv", include_str!("rigs/quiet-stance.toml")) else {
        return;
    };
    assert_eq!((recording.analog.rate_hz, recording.analog.len()), (50.0, 500));
    assert_eq!(rig.target, Some(Target::Axis(Axis::PlusX)));
    assert_eq!(rig.plates[0].measures, Measures::OnPlate);
    let sensing = &rig.plates[0].sensing;
    let m = |k: usize| {
        let recording = &recording;
        move |row: usize| wrench(recording, sensing, row).1[k]
    };
    let f = |k: usize| {
        let recording = &recording;
        move |row: usize| wrench(recording, sensing, row).0[k]
    };
    for (label, k) in [("p1_Fx", 0), ("p1_Fy", 1), ("p1_Fz", 2)] {
        assert!(worst(&recording, label, f(k)) < 3e-6, "{label}: {}", worst(&recording, label, f(k)));
    }
    for (label, k) in [("p1_Mx", 0), ("p1_My", 1), ("p1_Mz", 2)] {
        assert!(worst(&recording, label, m(k)) < 3e-6, "{label}: {}", worst(&recording, label, m(k)));
    }
    let cop = |row| (-m(1)(row) / f(2)(row), m(0)(row) / f(2)(row));
    assert!(worst(&recording, "p1_Ax", |row| cop(row).0) < 1e-6);
    assert!(worst(&recording, "p1_Ay", |row| cop(row).1) < 1e-6);
    let free = |row| m(2)(row) - cop(row).0 * f(1)(row) + cop(row).1 * f(0)(row);
    assert!(worst(&recording, "p1_Tz", free) < 1e-6);
}

/// The other reading of the same plate (z up, so the depth counts the other way) misses the plate's own moments by
/// newton metres: the sign of the depth is not free.
#[test]
fn the_same_plate_with_z_up_does_not_give_its_own_moments() {
    let turned = include_str!("rigs/quiet-stance.toml").replace("z = \"down\"", "z = \"up\"");
    let Some((recording, rig)) = read("quiet-stance.csv", &turned) else { return };
    let mx = |row| wrench(&recording, &rig.plates[0].sensing, row).1[0];
    assert!(worst(&recording, "p1_Mx", mx) > 1.0);
}

/// Outside reference: centre of pressure and free moment as the table states them, from its own six components.
#[test]
fn six_components_give_the_tables_own_centre_of_pressure() {
    let rig = include_str!("rigs/drop-jump-two-plates.toml");
    let Some((recording, rig)) = read("drop-jump-two-plates.csv", rig) else { return };
    assert_eq!((recording.analog.rate_hz, recording.analog.len()), (1000.0, 8000));
    assert_eq!(rig.target, Some(Target::FromTo(1, 0)));
    for (plate, prefix) in [(0, "p1"), (1, "p2")] {
        let sensing = &rig.plates[plate].sensing;
        let fz = column(&recording, &format!("{prefix}_Fz"));
        for (label, which) in [("Ax", 0), ("Ay", 1), ("Tz", 2)] {
            let want = column(&recording, &format!("{prefix}_{label}"));
            let mut compared = 0;
            for row in (0..fz.len()).filter(|r| fz[*r] > 50.0) {
                let (f, m) = wrench(&recording, sensing, row);
                let cop = [-m[1] / f[2], m[0] / f[2]];
                let got = [cop[0], cop[1], m[2] - cop[0] * f[1] + cop[1] * f[0]][which];
                // The table rounds the centre of pressure to 1 µm, which times up to a kilonewton is a milli-N·m.
                let allowed = if which == 2 { 2e-3 } else { 1.5e-6 };
                assert!((got - want[row]).abs() < allowed, "{prefix}_{label} row {row}: {got} {}", want[row]);
                compared += 1;
            }
            assert!(compared > 300, "{prefix}: only {compared} loaded rows");
        }
    }
}

/// Outside reference: the table's own COPx, COPy in cm; Santos & Duarte 2016, PeerJ 4:e2648.
#[test]
fn standing_centre_of_pressure_is_that_of_the_published_table() {
    let rig = include_str!("rigs/standing-one-plate.toml");
    let Some((recording, rig)) = read("standing_one_plate_six_channels.tsv", rig) else { return };
    assert_eq!(
        (recording.analog.rate_hz, recording.analog.start_s, recording.analog.len()),
        (100.0, 0.01, 6000)
    );
    let wrench = |row| wrench(&recording, &rig.plates[0].sensing, row);
    let x = |row| {
        let (f, m) = wrench(row);
        -m[1] / f[2] * 100.0
    };
    let y = |row| {
        let (f, m) = wrench(row);
        m[0] / f[2] * 100.0
    };
    assert!(worst(&recording, "COPx", x) < 6.5e-7, "{}", worst(&recording, "COPx", x));
    assert!(worst(&recording, "COPy", y) < 6.5e-7, "{}", worst(&recording, "COPy", y));
}

/// Outside reference: the table's own net force and net centre of pressure; dos Santos et al. 2017, PeerJ 5:e3626.
#[test]
fn feet_add_up_to_the_published_net() {
    let rig = include_str!("rigs/standing-per-foot.toml");
    let Some((recording, rig)) = read("standing_two_plates_per_foot.tsv", rig) else { return };
    assert_eq!((recording.analog.rate_hz, recording.analog.len(), rig.up), (100.0, 6000, Axis::PlusY));
    let foot = |plate: usize| {
        let Sensing::Reduced { force, force_gain, centre, centre_gain, axes, free_moment, .. } =
            &rig.plates[plate].sensing
        else {
            panic!("not reduced")
        };
        assert_eq!((*force_gain, *centre_gain, *axes), ([1.0; 3], 1.0, ReducedAxes::Lab));
        assert_eq!(centre[1].is_some(), plate == 0, "the left foot's vertical coordinate was left out");
        let label = |c: usize| recording.analog.channels[c].label.clone();
        assert_eq!(label(free_moment.unwrap()), ["RFREEMOMENT_Y", "LFREEMOMENT_Y"][plate]);
        (force.map(label), [centre[0].unwrap(), centre[2].unwrap()].map(label))
    };
    let (right, left) = (foot(0), foot(1));
    for (k, axis) in ["X", "Y", "Z"].into_iter().enumerate() {
        let (r, l) = (column(&recording, &right.0[k]), column(&recording, &left.0[k]));
        assert!(worst(&recording, &format!("GRFNET_{axis}"), |row| r[row] + l[row]) < 4e-5, "{axis}");
    }
    let (ry, ly) = (column(&recording, &right.0[1]), column(&recording, &left.0[1]));
    for (k, axis) in ["X", "Z"].into_iter().enumerate() {
        let (r, l) = (column(&recording, &right.1[k]), column(&recording, &left.1[k]));
        let net = |row: usize| (ry[row] * r[row] + ly[row] * l[row]) / (ry[row] + ly[row]);
        assert!(worst(&recording, &format!("COPNET_{axis}"), net) < 7.5e-6, "{axis}");
    }
}

/// What is proposed for the measured tables: the plates by their names, the axis by the load, and whose force the
/// channels hold by the standing pendulum (Winter 1995; the readings of these files were settled by hand before).
#[test]
fn proposals_read_the_measured_tables_rightly() {
    use formats::rigfile::{Force, Vertical, propose};
    let tables = [
        ("quiet-stance.csv", Axis::PlusZ, vec![("1", Force::OnPlate, Some(Vertical::Down))]),
        (
            "drop-jump-two-plates.csv",
            Axis::PlusZ,
            vec![("1", Force::OnPlate, Some(Vertical::Down)), ("2", Force::OnPlate, Some(Vertical::Down))],
        ),
        (
            "standing_one_plate_six_channels.tsv",
            Axis::PlusZ,
            vec![("1", Force::OnPlate, Some(Vertical::Down))],
        ),
        (
            "standing_two_plates_per_foot.tsv",
            Axis::PlusY,
            vec![("right", Force::OnPlayer, None), ("left", Force::OnPlayer, None)],
        ),
    ];
    for (file, up, plates) in tables {
        let Some(bytes) = measured(file) else { continue };
        let recording = decode(file, &bytes, None).unwrap().value;
        let proposal = propose(&recording);
        let found: Vec<_> =
            proposal.rig.plate.iter().map(|p| (p.name.as_deref().unwrap(), p.force.unwrap(), p.z)).collect();
        assert_eq!((proposal.rig.up, found), (Some(up), plates), "{file}: {:?}", proposal.seen);
        // What is written resolves against the recording it was proposed for.
        let again = parse("new.toml", &proposal.write()).unwrap_or_else(|e| panic!("{e}"));
        let resolved =
            again.resolve(&recording).unwrap_or_else(|e| panic!("{file}: {e}\n{}", proposal.write()));
        assert_eq!(resolved.findings, [], "{file}");
    }
}
