//! Rig files, case by case: geometry, the four readings of a plate, overrides of a C3D, and every error with its
//! line. All rigs and recordings here are invented.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // in tests, that is how to fail
use formats::rigfile::{Column, PlateEntry, RigError, RigFault, RigFile, parse, propose, write};
use glam::DVec3;
use mechanics::plate::{Foothold, ReducedAxes};
use mechanics::{
    Analog, Axis, Channel, Checked, Measures, Plate, Recording, Rig, Sensing, Target, TriggerKind,
};
use proptest::prelude::*;

const SIX: [&str; 6] = ["Fx", "Fy", "Fz", "Mx", "My", "Mz"];

/// A recording with these labels and units, three samples each.
fn recording(channels: &[(&str, &str)]) -> Recording {
    let channels = channels
        .iter()
        .map(|(label, unit)| Channel {
            label: (*label).into(),
            unit: (*unit).into(),
            samples: vec![1.0, 2.0, 3.0],
            ..Channel::default()
        })
        .collect();
    Recording { analog: Analog { rate_hz: 1000.0, start_s: 0.0, channels }, ..Recording::default() }
}

fn six_recording() -> Recording {
    recording(&[("Fx", "N"), ("Fy", "N"), ("Fz", "N"), ("Mx", "Nm"), ("My", "Nm"), ("Mz", "Nm")])
}

const SIX_LINE: &str =
    "six = { fx = \"Fx\", fy = \"Fy\", fz = \"Fz\", mx = \"Mx\", my = \"My\", mz = \"Mz\" }";

/// A rig of one six-component plate, with more lines for the plate.
fn one(lines: &str) -> String {
    format!("[[plate]]\n{SIX_LINE}\n{lines}")
}

fn placed(lines: &str) -> String {
    one(&format!("size_m = [0.6, 0.4]\ncentre_m = [1, 2, 0.5]\n{lines}"))
}

fn resolve(text: &str, recording: &Recording) -> Result<Checked<Rig>, RigError> {
    parse("bay.toml", text)?.resolve(recording)
}

fn rig(text: &str, recording: &Recording) -> Rig {
    let checked = resolve(text, recording).unwrap_or_else(|e| panic!("{e}\n{text}"));
    assert_eq!(checked.findings, []);
    checked.value
}

fn error(text: &str, recording: &Recording) -> RigError {
    match resolve(text, recording) {
        Ok(checked) => panic!("no error, {checked:?}\n{text}"),
        Err(error) => error,
    }
}

fn near(a: DVec3, b: [f64; 3]) {
    assert!((a - DVec3::from_array(b)).length() < 1e-12, "{a} is not {b:?}");
}

#[test]
fn size_centre_and_angle_place_the_corners() {
    let recording = six_recording();
    let at = |lines: &str| rig(&placed(lines), &recording).plates.remove(0);
    // z up, no angle: the plate's axes are the laboratory's.
    let plate = at("z = \"up\"\nforce = \"on player\"");
    near(plate.corners_m[0], [1.3, 2.2, 0.5]);
    near(plate.corners_m[1], [0.7, 2.2, 0.5]);
    near(plate.corners_m[2], [0.7, 1.8, 0.5]);
    near(plate.corners_m[3], [1.3, 1.8, 0.5]);
    // z down: y = z × x turns over.
    let plate = at("z = \"down\"\nforce = \"on plate\"");
    near(plate.corners_m[0], [1.3, 1.8, 0.5]);
    let axes = plate.axes().unwrap();
    near(axes.x_axis, [1.0, 0.0, 0.0]);
    near(axes.y_axis, [0.0, -1.0, 0.0]);
    near(axes.z_axis, [0.0, 0.0, -1.0]);
    // A quarter turn, counter-clockwise seen from above, and an eighth.
    let axes = at("z = \"down\"\nforce = \"on plate\"\nangle_deg = 90").axes().unwrap();
    near(axes.x_axis, [0.0, 1.0, 0.0]);
    near(axes.y_axis, [1.0, 0.0, 0.0]);
    let axes = at("z = \"up\"\nforce = \"on plate\"\nangle_deg = 45").axes().unwrap();
    let half = 0.5f64.sqrt();
    near(axes.x_axis, [half, half, 0.0]);
    near(axes.y_axis, [-half, half, 0.0]);
    // With y up, a quarter turn leads from x to −z.
    let turned = "z = \"up\"\nforce = \"on player\"\nangle_deg = 90";
    let axes = rig(&format!("up = \"+y\"\n{}", placed(turned)), &recording).plates[0].axes().unwrap();
    near(axes.x_axis, [0.0, 0.0, -1.0]);
    near(axes.z_axis, [0.0, 1.0, 0.0]);
    // Corners in millimetres are the same corners.
    let corners = "corners_mm = [[1300, 1800, 500], [700, 1800, 500], [700, 2200, 500], [1300, 2200, 500]]";
    let listed = rig(&one(&format!("{corners}\nz = \"down\"\nforce = \"on plate\"")), &recording);
    for (a, b) in listed.plates[0].corners_m.iter().zip(at("z = \"down\"\nforce = \"on plate\"").corners_m) {
        assert!((*a - b).length() < 1e-12);
    }
}

/// The reaction in laboratory axes and the centre of pressure about the plate's centre, from one row of six
/// components about the surface: rotate by the plate's axes, and turn force and moment together where the channels
/// hold the force on the plate (Newton's third law).
fn reaction(plate: &Plate, f: [f64; 3], m: [f64; 3]) -> (DVec3, DVec3, f64) {
    let axes = plate.axes().unwrap();
    let sign = if plate.measures == Measures::OnPlate { -1.0 } else { 1.0 };
    let (x, y) = (-m[1] / f[2], m[0] / f[2]);
    let free = m[2] - x * f[1] + y * f[0];
    let lab = axes * DVec3::from_array(f) * sign;
    let place = axes * DVec3::new(x, y, 0.0);
    (lab, place, (axes * DVec3::new(0.0, 0.0, free) * sign).z)
}

/// One person, four plates. The ground pushes (20, −30, 700) N up at (0.05, 0.02) m with a free moment of 4 N·m
/// about up. What each plate's channels must then hold is worked by hand: its axes' components, with the sign
/// turned where it reports the force on itself.
#[test]
fn the_four_readings_of_a_plate_give_the_same_person() {
    let recording = six_recording();
    let (f, p, t) = (DVec3::new(20.0, -30.0, 700.0), DVec3::new(0.05, 0.02, 0.0), 4.0);
    let m = p.cross(f) + DVec3::new(0.0, 0.0, t);
    for (z, force, flip, sign, fz_is_positive) in [
        ("up", "on player", 1.0, 1.0, true),
        ("up", "on plate", 1.0, -1.0, false),
        ("down", "on player", -1.0, 1.0, false),
        ("down", "on plate", -1.0, -1.0, true),
    ] {
        let plate = rig(&placed(&format!("z = \"{z}\"\nforce = \"{force}\"")), &recording).plates.remove(0);
        // With z down, x stays and y and z turn over, for forces and moments alike.
        let channels = |v: DVec3| [sign * v.x, sign * flip * v.y, sign * flip * v.z];
        let (cf, cm) = (channels(f), channels(m));
        assert_eq!(cf[2] > 0.0, fz_is_positive, "z {z}, force {force}");
        let (lab, place, free) = reaction(&plate, cf, cm);
        near(lab, f.to_array());
        near(place, p.to_array());
        assert!((free - t).abs() < 1e-12, "z {z}, force {force}");
    }
}

#[test]
fn depth_lies_under_the_surface_whichever_way_z_points() {
    let recording = six_recording();
    for (z, sign) in [("up", 1.0), ("down", -1.0)] {
        let text = placed(&format!("z = \"{z}\"\nforce = \"on plate\"\ndepth_mm = 40"));
        let Sensing::Linear { origin_m, .. } = &rig(&text, &recording).plates[0].sensing else { panic!() };
        near(*origin_m, [0.0, 0.0, sign * 0.04]);
        let text =
            placed(&format!("z = \"{z}\"\nforce = \"on plate\"\norigin_m = [0.001, 0, {}]", -sign * 0.04));
        let told = resolve(&text, &recording).unwrap();
        assert_eq!(told.findings[0].kind.name, "sensors-above-surface", "z {z}");
        let right = text.replace(&format!("{}]", -sign * 0.04), &format!("{}]", sign * 0.04));
        assert_eq!(resolve(&right, &recording).unwrap().findings, []);
    }
}

#[test]
fn units_come_from_the_recording_unless_the_rig_states_them() {
    let lines = "z = \"up\"\nforce = \"on player\"";
    let mut table = six_recording();
    table.analog.channels[0].unit = "kN".into();
    table.analog.channels[5].unit = "N.mm".into();
    let gains = |rig: &Rig| {
        let Sensing::Linear { columns, .. } = &rig.plates[0].sensing else { panic!() };
        [0, 1, 2, 3, 4, 5].map(|k| columns[k][k])
    };
    assert_eq!(gains(&rig(&placed(lines), &table)), [1000.0, 1.0, 1.0, 1.0, 1.0, 0.001]);
    // A rig that says otherwise is followed, and it is said.
    let told = resolve(&placed(&format!("{lines}\nforce_unit = \"N\"")), &table).unwrap();
    assert_eq!(gains(&told.value)[0], 1.0);
    let seen: Vec<_> = told.findings.iter().map(|f| (f.kind.name, f.plate)).collect();
    assert_eq!(seen, [("rig-overrides-file", Some(0))]);
    // A unit that cannot be a force stops; a missing one is assumed.
    table.analog.channels[2].unit = "V".into();
    let fault = error(&placed(lines), &table);
    assert!(
        matches!(&*fault.fault, RigFault::Unit { unit, key: "force_unit", .. } if unit == "V"),
        "{fault}"
    );
    table.analog.channels[2].unit.clear();
    let told = resolve(&placed(lines), &table).unwrap();
    assert_eq!(told.findings[0].kind.name, "units-assumed");
}

#[test]
fn reduced_channels_are_taken_as_they_stand() {
    let table = recording(&[("fx", "N"), ("fy", "N"), ("fz", "N"), ("cx", "mm"), ("cz", "mm"), ("t", "Nmm")]);
    let text = "up = \"+y\"\n[[plate]]\nsize_m = [0.6, 0.4]\ncentre_m = [0, 0, 0]\nforce = \"on player\"\nfoot = \"left\"\n\
        reduced = { force = [\"fx\", \"fy\", \"fz\"], cop = [\"cx\", \"cz\"], free_moment = 6, axes = \"lab\" }\n";
    let plate = rig(text, &table).plates.remove(0);
    assert_eq!(plate.foot, Some(Foothold::Left));
    let want = Sensing::Reduced {
        force: [0, 1, 2],
        force_gain: [1.0; 3],
        centre: [Some(3), None, Some(4)],
        centre_gain: 0.001,
        free_moment: Some(5),
        free_moment_gain: 0.001,
        axes: ReducedAxes::Lab,
    };
    assert_eq!(plate.sensing, want);
    // A horizontal coordinate may not be missing.
    let fault = error(&text.replace("\"cx\", \"cz\"", "\"cx\", \"-\", \"-\""), &table);
    assert_eq!(fault.line, Some(7));
    assert!(fault.to_string().contains("z is horizontal"), "{fault}");
}

#[test]
fn a_matrix_is_scaled_by_its_units() {
    let table = recording(&[("a", "V"), ("b", "V")]);
    let text = "[[plate]]\nsize_m = [0.6, 0.4]\ncentre_m = [0, 0, 0]\nz = \"down\"\nforce = \"on plate\"\nmoment_unit = \"Nmm\"\n\
        [plate.matrix]\nchannels = [\"b\", \"a\"]\nrows = [[1, 2], [3, 4], [5, 6], [7, 8], [9, 10], [11, 12]]\n";
    let Sensing::Linear { channels, columns, .. } = &rig(text, &table).plates[0].sensing else { panic!() };
    assert_eq!(channels, &[1, 0]);
    let want = [[1.0, 3.0, 5.0, 0.007, 0.009, 0.011], [2.0, 4.0, 6.0, 0.008, 0.01, 0.012]];
    for (got, want) in columns.iter().flatten().zip(want.as_flattened()) {
        assert!((got - want).abs() < 1e-15, "{columns:?}");
    }
    let fault = error(&text.replace("[3, 4]", "[3, 4, 5]"), &table);
    assert_eq!(fault.line, Some(9));
}

#[test]
fn target_origin_trigger_and_budget_are_read() {
    let table = recording(&[
        ("Fx", "N"),
        ("Fy", "N"),
        ("Fz", "N"),
        ("Mx", "Nm"),
        ("My", "Nm"),
        ("Mz", "Nm"),
        ("Impact", "V"),
    ]);
    let plates = |target: &str| {
        let plate = |name: &str, x: f64| {
            format!(
                "[[plate]]\nname = \"{name}\"\nsize_m = [0.5, 0.5]\ncentre_m = [{x}, 0, 0]\nz = \"up\"\nforce = \"on player\"\n{SIX_LINE}\n"
            )
        };
        format!(
            "name = \"bay 1\"\ntarget = {target}\norigin_m = [0, 0, 0.02]\nload_floor_n = 30\n{}{}\n[trigger]\nchannel = \"impact\"\nlevel = 2.5\nmarks = \"impact\"\n[uncertainty]\nforce_gain = 0.01\n",
            plate("A", 0.0),
            plate("B", 0.6)
        )
    };
    let read = rig(&plates("{ from = \"A\", to = 2 }"), &table);
    assert_eq!(read.target, Some(Target::FromTo(0, 1)));
    assert_eq!((read.name.as_str(), read.load_floor_n), ("bay 1", 30.0));
    assert_eq!(read.origin_m, Some(DVec3::new(0.0, 0.0, 0.02)));
    let trigger = read.trigger.unwrap();
    assert_eq!((trigger.channel, trigger.level, trigger.marks.as_str()), (6, Some(2.5), "impact"));
    assert_eq!(read.budget.force_gain, 0.01);
    assert_eq!(read.budget.skew_s, mechanics::ErrorBudget::TYPICAL.skew_s);
    assert_eq!(rig(&plates("\"-y\""), &table).target, Some(Target::Axis(Axis::MinusY)));
    assert_eq!(rig(&plates("[1, 0.2, 0]"), &table).target, Some(Target::Vector(DVec3::new(1.0, 0.2, 0.0))));
    for wrong in ["\"+z\"", "[0, 0, 0]", "{ from = \"A\", to = \"A\" }", "{ from = \"A\", to = \"C\" }"] {
        let fault = error(&plates(wrong), &table);
        assert_eq!(fault.line, Some(2), "{fault}");
    }
}

/// Each text, the line the error must name, and words it must say.
#[test]
fn errors_name_the_line_and_what_to_do() {
    let table = six_recording();
    let good = placed("z = \"up\"\nforce = \"on player\"");
    assert!(resolve(&good, &table).is_ok());
    let cases: [(String, Option<usize>, &str); 19] = [
        ("nmae = \"x\"\n".into(), Some(1), "did you mean `name`?"),
        ("up = \"+z\"\ntarget = \"+w\"\n".into(), Some(2), "\"+w\" is not an axis"),
        (placed("targt = 1"), Some(5), "unknown field `targt`"),
        (placed("target = \"+x\""), Some(5), "`target` belongs above the first [[plate]]"),
        (placed("force = \"on plait\""), Some(5), "did you mean `on plate`?"),
        (
            good.replace("mz = \"Mz\"", "mz = \"Mz\", depth_mm = 3"),
            Some(2),
            "`depth_mm` belongs to the [[plate]] itself",
        ),
        ("up = [".into(), Some(1), ""),
        (
            good.replace("fz = \"Fz\"", "fz = \"Fzz\""),
            Some(2),
            "no channel \"Fzz\"; the nearest names are \"Fz\"",
        ),
        (good.replace("fz = \"Fz\"", "fz = 9"), Some(2), "no channel number 9; its 6 channels count from 1"),
        (good.replace("fz = \"Fz\"", "fz = \"Fx\""), Some(2), "already used for fx"),
        (one("force = \"on player\""), Some(1), "its place on the floor is missing"),
        (one("size_m = [1, 1]\nforce = \"on player\""), Some(3), "centre_m and z are missing"),
        (good.replace("force = \"on player\"", ""), Some(1), "`force` is missing"),
        (good.replace(SIX_LINE, ""), Some(1), "state one of `six`, `piezo`, `reduced`, `matrix`"),
        (good.replace("0.6", "-0.6"), Some(3), "cannot be a plate's length"),
        (placed("z = \"up\"\nforce = \"on plate\"\ncover_mm = -2"), Some(7), "thickness"),
        (placed("z = \"up\"\nforce = \"on plate\"\ndepth_mm = -2"), Some(7), "positive number"),
        (placed("z = \"up\"\nforce = \"on plate\"\ndepth_mm = 2\norigin_m = [0,0,0]"), Some(7), "keep one"),
        (String::new(), None, "neither the rig file nor the recording describes a plate"),
    ];
    for (text, line, words) in cases {
        let fault = error(&text, &table);
        assert_eq!((fault.file.as_str(), fault.line), ("bay.toml", line), "{fault}\n{text}");
        assert!(fault.to_string().contains(words), "{fault}\n{text}");
    }
    let shown = error(&good.replace("fz = \"Fz\"", "fz = \"Fq\""), &table).to_string();
    assert!(
        shown.starts_with("bay.toml, line 2: plate 1, six.fz: the recording has no channel \"Fq\""),
        "{shown}"
    );
}

#[test]
fn corners_that_cannot_be_are_refused() {
    let table = six_recording();
    let with =
        |corners: &str, z: &str| one(&format!("corners_m = {corners}\nz = \"{z}\"\nforce = \"on plate\""));
    let good = "[[0.6, 0, 0], [0, 0, 0], [0, 0.4, 0], [0.6, 0.4, 0]]";
    assert!(resolve(&with(good, "down"), &table).is_ok());
    let fault = error(&with(good, "up"), &table);
    assert!(
        matches!(*fault.fault, RigFault::NormalContradictsZ { stated: "up", found: "down", .. }),
        "{fault}"
    );
    assert_eq!(fault.line, Some(4));
    for (corners, words) in [
        ("[[0.6, 0, 0], [0, 0, 0], [0.6, 0.4, 0], [0, 0.4, 0]]", "exchanged"),
        ("[[600, 0, 0], [0, 0, 0], [0, 400, 0], [600, 400, 0]]", "millimetres"),
        ("[[0, 0, 0], [0, 0, 0], [0, 0, 0], [0, 0, 0]]", "within"),
        ("[[0.6, 0, 0], [0.4, 0, 0], [0.2, 0, 0], [0.4, 0, 0]]", "one line"),
        ("[[nan, 0, 0], [0, 0, 0], [0, 0.4, 0], [0.6, 0.4, 0]]", "not a number"),
    ] {
        let fault = error(&with(corners, "down"), &table);
        assert_eq!(fault.line, Some(3), "{fault}");
        assert!(fault.to_string().contains(words), "{fault}");
    }
}

/// A recording that describes two plates, as a C3D would.
fn described() -> Recording {
    let labels: Vec<String> = (1..=2).flat_map(|n| SIX.map(|c| format!("{c}{n}"))).collect();
    let channels: Vec<(&str, &str)> =
        labels.iter().map(|l| (l.as_str(), if l.starts_with('F') { "N" } else { "Nmm" })).collect();
    let mut recording = recording(&channels);
    let plate = |n: usize, x: f64| Plate {
        name: n.to_string(),
        corners_m: [(0.6, 0.0), (0.0, 0.0), (0.0, 0.4), (0.6, 0.4)].map(|(a, b)| DVec3::new(x + a, b, 0.0)),
        sensing: Sensing::six(
            std::array::from_fn(|k| (n - 1) * 6 + k),
            1.0,
            0.001,
            DVec3::new(0.001, 0.002, -0.04),
        ),
        measures: Measures::BySign,
        cover_m: 0.0,
        baseline: Some((0, 1)),
        foot: None,
        kind: "TYPE 2, six components".into(),
    };
    recording.plates = vec![plate(1, 0.0), plate(2, 0.7)];
    recording
}

fn told(text: &str) -> (Rig, Vec<String>) {
    let checked = resolve(text, &described()).unwrap_or_else(|e| panic!("{e}"));
    let ours = ["rig-contradicts-file", "rig-overrides-file"];
    assert!(checked.findings.iter().all(|f| ours.contains(&f.kind.name)), "{:?}", checked.findings);
    (checked.value, checked.findings.into_iter().map(|f| f.seen).collect())
}

#[test]
fn a_rig_completes_what_a_recording_describes() {
    let recording = described();
    let (read, findings) = told(
        "target = \"+x\"\n[[plate]]\nnumber = 2\nfoot = \"lead\"\ncover_mm = 12\nforce = \"on player\"\n",
    );
    assert_eq!(findings, [""; 0]);
    assert_eq!(read.plates[0], recording.plates[0]);
    let want = Plate {
        foot: Some(Foothold::Lead),
        cover_m: 0.012,
        measures: Measures::OnPlayer,
        ..recording.plates[1].clone()
    };
    assert_eq!(read.plates[1], want);
    assert_eq!((read.up, read.target), (Axis::PlusZ, Some(Target::Axis(Axis::PlusX))));
    // No plates in the rig: those of the recording.
    assert_eq!(told("target = \"+x\"\n").0.plates, recording.plates);
}

#[test]
fn a_rig_that_contradicts_a_recording_is_followed_and_said() {
    let recording = described();
    let (read, findings) = told("[[plate]]\nname = \"only\"\n");
    assert_eq!(read.plates.len(), 1);
    assert_eq!(findings, ["the recording has 2 plates, the rig 1; the rig was followed"]);
    // Corners 4 mm off are the tape measure; 20 mm are not.
    let shifted = |mm: f64| {
        format!(
            "[[plate]]\nnumber = 1\nsize_m = [0.6, 0.4]\ncentre_m = [{}, 0.2, 0]\nz = \"down\"\n",
            0.3 + mm / 1000.0
        )
    };
    assert_eq!(told(&shifted(4.0)).1, [""; 0]);
    let (read, findings) = told(&shifted(20.0));
    near(read.plates[0].centre_m(), [0.32, 0.2, 0.0]);
    assert!(findings[0].contains("up to 20 mm apart; the rig was followed"), "{findings:?}");
    // z turned over: x stays, y turns, and the sensors stay under the surface.
    let (read, findings) = told("[[plate]]\nnumber = 1\nz = \"up\"\n");
    assert_eq!(findings.len(), 1);
    let axes = read.plates[0].axes().unwrap();
    near(axes.x_axis, [1.0, 0.0, 0.0]);
    near(axes.z_axis, [0.0, 0.0, 1.0]);
    let Sensing::Linear { origin_m, .. } = &read.plates[0].sensing else { panic!() };
    near(*origin_m, [0.001, -0.002, 0.04]);
    // Units, channels, kind.
    let (read, findings) = told("[[plate]]\nnumber = 1\nmoment_unit = \"Nm\"\n");
    let Sensing::Linear { columns, .. } = &read.plates[0].sensing else { panic!() };
    assert_eq!((columns[3][3], columns[0][0], findings.len()), (1.0, 1.0, 3));
    let swapped =
        "six = { fx = \"Fx2\", fy = \"Fy2\", fz = \"Fz2\", mx = \"Mx2\", my = \"My2\", mz = \"Mz2\" }";
    let (_, findings) = told(&format!("[[plate]]\nnumber = 1\n{swapped}\ndepth_mm = 40\n"));
    assert!(findings[0].contains("channels Fx1 Fy1 Fz1 Mx1 My1 Mz1 by the recording"), "{findings:?}");
    let reduced = "reduced = { force = [1, 2, 3], cop = [4, 5], cop_unit = \"mm\", axes = \"plate\" }";
    let checked = resolve(&format!("[[plate]]\nnumber = 1\n{reduced}\n"), &recording).unwrap();
    assert!(
        checked.findings[0]
            .seen
            .contains("6 channels by the recording (TYPE 2, six components), already reduced")
    );
    // Up.
    let (read, findings) = told("up = \"+y\"\n");
    assert_eq!((read.up, findings.len()), (Axis::PlusY, 1));
    // Numbers that name no plate.
    for (number, words) in [(0, "count from 1"), (9, "there is no plate 9")] {
        let fault = error(&format!("[[plate]]\nnumber = {number}\n"), &recording);
        assert_eq!(fault.line, Some(2));
        assert!(fault.to_string().contains(words), "{fault}");
    }
}

/// What a worked remedy proposes marks no figure: units, z, force and corners listed anew are notes. Corners that are
/// nobody's, other channels and a wrong number of plates stay doubts.
#[test]
fn what_a_rig_states_on_purpose_is_a_note() {
    let recording = described();
    let corners = |of: [usize; 4]| {
        let all = recording.plates[1].corners_m;
        of.map(|k| format!("[{}, {}, {}]", all[k].x, all[k].y, all[k].z)).join(", ")
    };
    let lines = [
        ("force_unit = \"kgf\"\nmoment_unit = \"Nm\"".to_owned(), 6, true),
        ("z = \"up\"\nforce = \"on plate\"".to_owned(), 1, true),
        (format!("corners_m = [{}]", corners([3, 2, 1, 0])), 1, true),
        ("size_m = [0.6, 0.4]\ncentre_m = [0.33, 0.2, 0]\nz = \"down\"".to_owned(), 1, false),
        ("origin_m = [0.0, 0.0, -0.06]".to_owned(), 1, false),
    ];
    for (lines, count, note) in lines {
        let found = resolve(&format!("[[plate]]\nnumber = 1\n{lines}\n"), &recording).unwrap().findings;
        assert_eq!(found.len(), count, "{lines}: {found:?}");
        assert!(
            found.iter().all(|f| (f.kind.severity == mechanics::Severity::Note) == note),
            "{lines}: {found:?}"
        );
    }
}

#[test]
fn the_rate_of_a_rig_wins() {
    let mut recording = six_recording();
    let file = parse("r", "rate_hz = 500\n").unwrap();
    let findings = file.apply_rate(&mut recording);
    assert_eq!((recording.analog.rate_hz, findings.len()), (500.0, 1));
    assert_eq!(file.apply_rate(&mut recording).len(), 0);
    assert_eq!(file.table_layout().rate_hz, Some(500.0));
}

#[test]
fn numbers_mean_columns_where_a_table_has_no_names() {
    let table =
        formats::table::decode("t", b"0.000 1 2 3 4 5 6\n0.002 1 2 3 4 5 6\n0.004 1 2 3 4 5 6\n", None)
            .unwrap();
    let text = "[[plate]]\nsize_m = [1, 1]\ncentre_m = [0, 0, 0]\nz = \"up\"\nforce = \"on player\"\nforce_unit = \"N\"\nmoment_unit = \"Nm\"\nsix = { fx = 2, fy = 3, fz = 4, mx = 5, my = 6, mz = 7 }\n";
    let Sensing::Linear { channels, .. } = &rig(text, &table.value).plates[0].sensing else { panic!() };
    assert_eq!(channels, &[0, 1, 2, 3, 4, 5]);
}

/// Everything a rig file can say comes back from what is written.
#[test]
fn what_is_written_is_read_back() {
    for text in [
        include_str!("rigs/quiet-stance.toml"),
        include_str!("rigs/drop-jump-two-plates.toml"),
        include_str!("rigs/standing-one-plate.toml"),
        include_str!("rigs/standing-per-foot.toml"),
        "name = \"all \\\"of\\\" it\"\nup = \"-y\"\ntarget = [1e-9, 0.5, 2]\norigin_m = [0, 0, 1]\nload_floor_n = 12.5\nrate_hz = 1000\n\
         [table]\ndelimiter = \"\\t\"\ndecimal = \",\"\nheader_line = 0\nunit_row = true\ntime = 1\ntime_unit = \"ms\"\nrate_hz = 5\n\
         [[plate]]\nnumber = 1\nname = \"A\"\nforce_unit = \"kN\"\nmoment_unit = \"Nm\"\norigin_m = [0, 0, -0.04]\ncover_mm = 3\nfoot = \"trail\"\n\
         [plate.matrix]\nchannels = [1, \"b\"]\nrows = [[1, 2], [3, 4], [5, 6], [7, 8], [9, 10], [1e-7, 12]]\n\
         [trigger]\nchannel = \"T\"\nlevel = 0.5\nmarks = \"impact\"\n[uncertainty]\nskew_s = 0.001\nheight_m = 0.01\nangle_rad = 0.01\n",
    ] {
        let read = parse("a", text).unwrap_or_else(|e| panic!("{e}"));
        let written = write(&read);
        let again = parse("b", &written).unwrap_or_else(|e| panic!("{e}\n{written}"));
        assert_eq!(read, again, "{written}");
        assert_eq!(write(&again), written);
    }
}

#[test]
fn a_proposal_for_two_plates_asks_what_it_cannot_see_and_takes_answers() {
    let labels: Vec<String> = (1..=2).flat_map(|n| SIX.map(|c| format!("{c}{n}"))).collect();
    let channels: Vec<(&str, &str)> = labels.iter().map(|l| (l.as_str(), "")).collect();
    let mut table = recording(&channels);
    for channel in &mut table.analog.channels {
        let value = match &channel.label[..2] {
            "Fz" => 0.4, // 400 N a foot, in kN
            "My" => -0.02,
            _ => 0.01,
        };
        channel.samples = vec![value; 50];
    }
    let mut proposal = propose(&table);
    assert_eq!(proposal.rig.plate.len(), 2);
    assert_eq!(proposal.rig.plate[1].force_unit.as_deref(), Some("kN"));
    let ids: Vec<&str> = proposal.questions.iter().map(|q| q.id.as_str()).collect();
    for id in
        ["target", "up", "plate1.size", "plate1.centre", "plate1.reading", "plate2.depth", "plate2.foot"]
    {
        assert!(ids.contains(&id), "{id} is not among {ids:?}");
    }
    let defaults = proposal.rig.resolve(&table).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(defaults.value.plates.len(), 2);
    assert!(proposal.write().contains("plate1.size = 0.6 0.4"), "assumed values are listed");
    for (id, text) in [
        ("plate1.size", "0,5"),
        ("plate1.reading", "sideways"),
        ("target", "the hill"),
        ("plate3.size", "1 1"),
        ("nothing", "1"),
    ] {
        let before = proposal.clone();
        assert!(proposal.answer(id, text).is_err(), "{id}: {text}");
        assert_eq!(proposal, before);
    }
    for (id, text) in [
        ("plate1.size", "0.5 x 0.4"),
        ("plate1.centre", "[0, 0, 0]"),
        ("plate2.centre", "0.55, 0, 0"),
        ("plate1.reading", "z up, on player"),
        ("plate2.reading", "z up, on player"),
        ("plate1.depth", "40"),
        ("plate1.foot", "trail"),
        ("target", "from 1 to 2"),
    ] {
        proposal.answer(id, text).unwrap_or_else(|e| panic!("{e}"));
    }
    let written = proposal.write();
    assert!(!written.contains("plate1.size ="), "{written}");
    let read = parse("new.toml", &written).unwrap().resolve(&table).unwrap().value;
    assert_eq!(read.target, Some(Target::FromTo(0, 1)));
    assert_eq!(read.plates[0].foot, Some(Foothold::Trail));
    assert_eq!(read.plates[0].measures, Measures::OnPlayer);
    near(read.plates[0].corners_m[0], [0.25, 0.2, 0.0]);
    let Sensing::Linear { origin_m, columns, .. } = &read.plates[0].sensing else { panic!() };
    near(*origin_m, [0.0, 0.0, 0.04]);
    assert_eq!(columns[2][2], 1000.0);
}

#[test]
fn a_rig_explains_itself() {
    let text = placed(
        "name = \"A\"\nz = \"down\"\nforce = \"on plate\"\ndepth_mm = 40\ncover_mm = 12\nfoot = \"trail\"",
    );
    let table = six_recording();
    let words = formats::rigfile::explain(&rig(&format!("target = \"+x\"\n{text}"), &table), Some(&table));
    for part in [
        "The target lies toward the laboratory's +x.",
        "0.6 m along its x by 0.4 m along its y, its centre at (1, 2, 0.5) m.",
        "Its x points to the laboratory's +x, its y to -y, its z down.",
        "Its six components Fx, Fy, Fz, Mx, My, Mz are Fx, Fy, Fz, Mx, My, Mz (one unit is N and N·m); moments are about a point 40 mm under it.",
        "a standing person reads positive along z. Force and moment are turned together.",
        "A cover of 12 mm lies on it",
        "The trail foot stands on it.",
    ] {
        assert!(words.contains(part), "\"{part}\" is not in:\n{words}");
    }
}

proptest! {
    #[test]
    fn any_text_returns(text in "[a-z\\[\\]={}\", .0-9\n_+-]{0,200}") {
        if let Ok(file) = parse("any", &text) {
            let _ = file.resolve(&six_recording());
            let _ = file.resolve(&described());
        }
    }

    #[test]
    fn any_numbers_in_a_rig_return(values in prop::collection::vec(prop::num::f64::ANY, 12), z in any::<bool>()) {
        let n = |k: usize| Some(values[k]);
        let entry = PlateEntry {
            size_m: Some([values[0], values[1]]),
            centre_m: Some([values[2], values[3], values[4]]),
            angle_deg: n(5),
            depth_mm: n(6),
            cover_mm: n(7),
            z: z.then_some(formats::rigfile::Vertical::Down),
            force: Some(formats::rigfile::Force::OnPlate),
            six: Some(formats::rigfile::Six {
                fx: Column::Number(1),
                fy: Column::Number(2),
                fz: Column::Number(3),
                mx: Column::Number(4),
                my: Column::Number(5),
                mz: Column::Number(6),
            }),
            ..PlateEntry::default()
        };
        let file = RigFile { plate: vec![entry], load_floor_n: n(8), origin_m: Some([values[9], values[10], values[11]]), ..RigFile::default() };
        if let Ok(rig) = file.resolve(&six_recording()) {
            prop_assert!(rig.value.plates[0].axes().is_some());
            let _ = formats::rigfile::explain(&rig.value, None);
        }
        let again = parse("w", &write(&file));
        prop_assert!(again.is_ok(), "{:?}", again);
    }

    #[test]
    fn any_recording_can_be_proposed_for(labels in prop::collection::vec("[A-Za-z]{0,3}[FMC]?[xyzXYZ]?[0-9]{0,2}", 0..14), values in prop::collection::vec(prop::num::f64::ANY, 4)) {
        let mut table = Recording { analog: Analog { rate_hz: 100.0, ..Analog::default() }, ..Recording::default() };
        for label in labels {
            table.analog.channels.push(Channel { label, samples: values.clone(), ..Channel::default() });
        }
        let proposal = propose(&table);
        let written = proposal.write();
        prop_assert!(parse("p", &written).is_ok(), "{}", written);
    }
}

#[test]
fn a_sound_needs_no_level_and_may_state_its_distance() {
    let table = recording(&[
        ("Fx", "N"),
        ("Fy", "N"),
        ("Fz", "N"),
        ("Mx", "Nm"),
        ("My", "Nm"),
        ("Mz", "Nm"),
        ("Mic", "V"),
    ]);
    let with = |lines: &str| {
        format!(
            "[[plate]]\nname = \"A\"\nsize_m = [0.5, 0.5]\ncentre_m = [0, 0, 0]\nz = \"up\"\nforce = \"on player\"\n{SIX_LINE}\n\
             [trigger]\nchannel = \"mic\"\nmarks = \"impact\"\n{lines}\n"
        )
    };
    let heard = rig(&with("kind = \"sound\"\ndistance_m = 1.5"), &table).trigger.unwrap();
    assert_eq!((heard.kind, heard.level, heard.distance_m), (TriggerKind::Sound, None, Some(1.5)));
    let read = parse("bay.toml", &with("kind = \"sound\"\ndistance_m = 1.5")).unwrap();
    assert_eq!(parse("bay.toml", &write(&read)).unwrap().trigger, read.trigger);
    for wrong in [
        "",
        "kind = \"step\"",
        "level = 2\ndistance_m = 1.5",
        "kind = \"sound\"\ndistance_m = -1",
        "kind = \"smell\"",
    ] {
        error(&with(wrong), &table);
    }
}
