//! FORCE_PLATFORM: published check numbers, sign mistakes, corners, and every type written and read again.
#![allow(clippy::unwrap_used, clippy::panic)]
mod c3d_common;
use c3d_common::{CORNERS, analog_only, channel, encodings, plate, pressure, surface};
use formats::c3d::{self, C3dError, Document, Encoding, PlateType, Values};
use glam::DVec3;
use mechanics::finding::*;
use mechanics::plate::ReducedAxes;
use mechanics::{Checked, Plate, Recording, Sensing};

/// Six zero entries for channels and so on; a file with one TYPE 2 plate to be changed by hand.
fn base(values: &[f64]) -> Document {
    let labels = ["a", "b", "c", "d", "e", "f", "g", "h", "i", "j", "k", "l"];
    let channels = values.iter().zip(labels).map(|(v, l)| channel(l, "", vec![*v; 4])).collect();
    let sensing = Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1e-3, DVec3::ZERO);
    let recording = analog_only(channels, vec![plate(1, sensing, "")]);
    let bytes = c3d::encode(&recording, &Encoding::PLAIN).unwrap();
    Document::read(&bytes).unwrap().value
}

fn set(document: &mut Document, name: &str, dims: &[u8], values: Values) {
    let group = document.groups.iter_mut().find(|g| g.name.is("FORCE_PLATFORM")).unwrap();
    group.parameters.retain(|p| !p.name.is(name));
    group.parameters.push(c3d::Parameter {
        name: name.into(),
        locked: false,
        description: c3d::Text::default(),
        dims: dims.to_vec(),
        values,
    });
}

fn read(document: &Document) -> Checked<Recording> {
    c3d::decode("made", &document.write().unwrap()).unwrap()
}

fn has(read: &Checked<Recording>, kind: &Kind) -> bool {
    read.findings.iter().any(|f| f.kind == kind)
}

/// Rows of a TYPE 4 matrix, and the channels that go with it.
const C4: [[f32; 6]; 6] = [
    [100.0, 1.0, 0.0, 0.0, 0.0, 0.0],
    [0.0, 98.0, 0.0, 0.0, 0.0, 0.5],
    [0.0, -2.0, 400.0, 0.0, 0.0, 0.0],
    [0.0, 0.0, 0.0, 90000.0, 300.0, 0.0],
    [0.0, 0.0, 50.0, 0.0, 85000.0, 0.0],
    [0.0, 20.0, 0.0, 0.0, 0.0, 45000.0],
];
const VOLTS: [f64; 6] =
    [0.49695226066, 0.30477393373, 2.00152386967, 0.46036993763, -0.77764795522, 0.26430898936];

/// The rows of the published check (facts of the C3D formulas, reproduced by ezc3d 1.7.2): plate 600 × 400 mm, expected
/// in plate axes F = (50, 30, 800) N, M about the surface centre = (40, −64, 11.9) N·m, cop (80, 50) mm, free moment
/// 12 N·m. Lengths of the file are mm, moments N·mm.
#[test]
fn every_type_gives_the_published_wrench() {
    let six = [50.0, 30.0, 800.0, 41200.0, -66000.0, 11900.0];
    let piezo = [27.0, 23.0, 43.2272727, -13.2272727, 354.45979, 204.232517, 45.54021, 195.767483];
    // The twelve channels of TYPE 6 that add up to the eight of TYPE 3: shear is shared within each pair.
    let twelve = [
        13.5,
        21.61363635,
        354.45979,
        13.5,
        -6.61363635,
        204.232517,
        11.5,
        -6.61363635,
        45.54021,
        11.5,
        21.61363635,
        195.767483,
    ];
    let rows: [(u8, [f32; 3], &[f64]); 10] = [
        (1, [0.0, 0.0, 0.0], &[50.0, 30.0, 800.0, 80.0, 50.0, 12000.0]),
        (2, [0.0, 0.0, -40.0], &six),
        (2, [0.0, 0.0, 40.0], &six),
        (2, [1.5, -2.0, -45.0], &[50.0, 30.0, 800.0, 39750.0, -67450.0, 12045.0]),
        (2, [-1.5, 2.0, 45.0], &[50.0, 30.0, 800.0, 39750.0, -67450.0, 12045.0]),
        (3, [220.0, 130.0, -42.0], &piezo),
        (3, [220.0, 130.0, 42.0], &piezo),
        (4, [0.0, 0.0, -40.0], &VOLTS),
        (6, [220.0, 130.0, 42.0], &twelve),
        (7, [220.0, 130.0, -42.0], &piezo),
    ];
    for (kind, origin, values) in rows {
        let mut document = base(values);
        let n = values.len() as u8;
        set(&mut document, "TYPE", &[1], Values::Int(vec![i16::from(kind)]));
        set(&mut document, "ORIGIN", &[3, 1], Values::Float(origin.to_vec()));
        set(&mut document, "CHANNEL", &[n, 1], Values::Int((1..=i16::from(n)).collect()));
        let by_column = |n: usize, at: &dyn Fn(usize, usize) -> f32| {
            (0..n).flat_map(|c| (0..n).map(move |r| (r, c))).map(|(r, c)| at(r, c)).collect::<Vec<_>>()
        };
        match kind {
            4 => set(&mut document, "CAL_MATRIX", &[6, 6, 1], Values::Float(by_column(6, &|r, c| C4[r][c]))),
            6 | 7 => {
                let identity = by_column(n.into(), &|r, c| if r == c { 1.0 } else { 0.0 });
                set(&mut document, "CAL_MATRIX", &[n, n, 1], Values::Float(identity));
            }
            // A matrix where the type uses none is not looked at.
            _ => set(&mut document, "CAL_MATRIX", &[6, 6, 1], Values::Float(vec![7.0; 36])),
        }
        let out = read(&document);
        let [plate] = out.value.plates.as_slice() else { panic!("TYPE {kind}: {:?}", out.findings) };
        let (force, moment) = surface(plate, &out.value.analog, 2);
        let near = |a: DVec3, b: [f64; 3]| (a - DVec3::from_array(b)).abs().max_element() < 1e-4;
        assert!(near(force, [50.0, 30.0, 800.0]), "TYPE {kind} {origin:?}: {force}");
        assert!(near(moment, [40.0, -64.0, 11.9]), "TYPE {kind} {origin:?}: {moment}");
        let (x, y, free) = pressure(force, moment);
        assert!(
            (x - 0.08).abs() < 1e-7 && (y - 0.05).abs() < 1e-7 && (free - 12.0).abs() < 1e-4,
            "TYPE {kind}"
        );
        assert_eq!(has(&out, &ORIGIN_TURNED), origin[2] > 0.0, "TYPE {kind} {origin:?}");
        // In the laboratory: R = diag(1, −1, −1), centre (300, 200, 0), cop at (380, 150, 0).
        let axes = plate.axes().unwrap();
        assert!(near(axes * force, [50.0, -30.0, -800.0]));
        let cop = plate.centre_m() + axes * DVec3::new(x, y, 0.0);
        assert!(near(cop, [0.38, 0.15, 0.0]), "{cop}");
    }
}

/// The same TYPE 4 matrix stored row by row gives F = (49.695, 31.648, 761.727): the published trap.
#[test]
fn a_transposed_matrix_is_seen() {
    let mut document = base(&VOLTS);
    set(&mut document, "TYPE", &[1], Values::Int(vec![4]));
    set(&mut document, "CAL_MATRIX", &[6, 6, 1], Values::Float(C4.as_flattened().to_vec()));
    let recording = read(&document).value;
    let (force, _) = surface(&recording.plates[0], &recording.analog, 0);
    assert!((force - DVec3::new(49.695, 31.648, 761.727)).abs().max_element() < 1e-3, "{force}");
}

/// ezc3d's own unit tests, frame 1000 (MIT licence, public repository): plate corners (508,464,0) (508,0,0) (0,0,0)
/// (0,464,0), moment about the surface centre in laboratory axes, cop (285.564, 303.720) mm and Tz −2496.299 N·mm.
#[test]
fn published_wrench_of_a_measured_frame() {
    let corners = [[0.508, 0.464], [0.508, 0.0], [0.0, 0.0], [0.0, 0.464]];
    let mut plate = plate(1, Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1e-3, DVec3::ZERO), "");
    plate.corners_m = corners.map(|[x, y]| DVec3::new(x, y, 0.0));
    let axes = plate.axes().unwrap();
    for (axis, want) in [(axes.x_axis, DVec3::Y), (axes.y_axis, DVec3::X), (axes.z_axis, DVec3::NEG_Z)] {
        assert!((axis - want).length() < 1e-12);
    }
    let (force, moment) =
        (DVec3::new(106.480, -66.407, 763.647), DVec3::new(54768.655, -24103.676, -12229.124));
    let (x, y, free) = pressure(force, moment);
    assert!((254.0 + x - 285.564).abs() < 1e-3 && (232.0 + y - 303.720).abs() < 1e-3);
    assert!((free + 2496.299).abs() < 0.1, "{free}");
}

#[test]
fn corners_that_are_exchanged_come_back() {
    let good: Vec<[f32; 3]> = CORNERS.iter().map(|c| (*c * 1000.0).as_vec3().to_array()).collect();
    let second: Vec<[f32; 3]> = good.iter().map(|c| [c[0] + 700.0, c[1], c[2]]).collect();
    for (i, j) in [(0, 1), (2, 3), (1, 2), (0, 3)] {
        let mut bad = second.clone();
        bad.swap(i, j);
        let mut document = base(&[0.0; 6]);
        let corners = good.iter().chain(&bad).flatten().copied().collect();
        set(&mut document, "USED", &[], Values::Float(vec![2.0]));
        set(&mut document, "TYPE", &[2], Values::Float(vec![2.0, 2.0]));
        set(&mut document, "CORNERS", &[3, 4, 2], Values::Float(corners));
        set(&mut document, "ORIGIN", &[3, 2], Values::Float(vec![0.0; 6]));
        set(&mut document, "CHANNEL", &[6, 2], Values::Float([1.0, 2.0, 3.0, 4.0, 5.0, 6.0].repeat(2)));
        let out = read(&document);
        let finding = out.findings.iter().find(|f| f.kind == &CORNERS_EXCHANGED).unwrap();
        assert_eq!(finding.plate, Some(1));
        // The neighbour settles which of the two possible exchanges it was.
        let want = CORNERS.map(|c| c + DVec3::X * 0.7);
        assert!(
            out.value.plates[1].corners_m.iter().zip(want).all(|(a, b)| (a - b).length() < 1e-6),
            "{i} {j}"
        );
        assert!(!has(&out, &CORNERS_NORMAL_UP));
    }
    // Alone: corners 1 and 2 keep their places.
    let mut bad = good.clone();
    bad.swap(2, 3);
    let mut document = base(&[0.0; 6]);
    set(&mut document, "CORNERS", &[3, 4, 1], Values::Float(bad.iter().flatten().copied().collect()));
    assert!((read(&document).value.plates[0].corners_m[2] - CORNERS[2]).length() < 1e-6);
}

/// Everything in the group may be missing, of another type or of a wrong shape.
#[test]
fn an_odd_group_gives_findings() {
    let cases: [(&str, &[u8], Values, &Kind); 12] = [
        ("TYPE", &[1], Values::Int(vec![11]), &FILE_PLATE_TYPE_UNKNOWN),
        ("TYPE", &[1], Values::Int(vec![21]), &FILE_PLATE_TYPE_UNKNOWN),
        ("TYPE", &[0], Values::Int(vec![]), &FILE_PLATE_INCOMPLETE),
        ("TYPE", &[1], Values::Char(b"2".to_vec()), &FILE_PLATE_INCOMPLETE),
        ("TYPE", &[1], Values::Int(vec![4]), &FILE_PLATE_INCOMPLETE),
        ("TYPE", &[1], Values::Int(vec![3]), &FILE_PLATE_INCOMPLETE),
        ("CHANNEL", &[6, 1], Values::Int(vec![1, 2, 3, 4, 5, 99]), &FILE_PLATE_INCOMPLETE),
        ("CHANNEL", &[6, 1], Values::Int(vec![1, 2, 3, 4, 5, 0]), &FILE_PLATE_INCOMPLETE),
        ("CORNERS", &[3, 3, 1], Values::Float(vec![0.0; 9]), &FILE_PLATE_INCOMPLETE),
        ("CORNERS", &[3, 4, 1], Values::Float(vec![1.0; 12]), &CORNERS_DEGENERATE),
        ("USED", &[], Values::Int(vec![0]), &FILE_NO_PLATES),
        ("USED", &[1], Values::Char(b"1".to_vec()), &FILE_NO_PLATES),
    ];
    for (name, dims, values, kind) in cases {
        let mut document = base(&[1.0; 6]);
        set(&mut document, name, dims, values.clone());
        let out = read(&document);
        assert!(out.value.plates.is_empty(), "{name} {values:?}");
        assert!(has(&out, kind), "{name} {values:?}: {:?}", out.findings);
    }
    // A damaged plate is left out and the other stays under its own number.
    let mut document = base(&[1.0; 6]);
    let corners: Vec<f32> = CORNERS.iter().flat_map(|c| (*c * 1000.0).as_vec3().to_array()).collect();
    set(&mut document, "USED", &[], Values::Byte(vec![2]));
    set(&mut document, "TYPE", &[2], Values::Int(vec![12, 2]));
    set(&mut document, "CORNERS", &[3, 4, 2], Values::Float(corners.repeat(2)));
    set(&mut document, "ORIGIN", &[3, 2], Values::Float(vec![0.0; 6]));
    set(&mut document, "CHANNEL", &[6, 2], Values::Int([1, 2, 3, 4, 5, 6].repeat(2)));
    let out = read(&document);
    assert_eq!(out.value.plates.len(), 1);
    assert_eq!(out.value.plates[0].name, "2");
}

/// C3D user guide, FORCE_PLATFORM:ZERO, and what is found in files.
#[test]
fn baseline_windows() {
    for (zero, want) in [
        ([1, 3], Some((0, 3))),
        ([0, 2], Some((0, 2))),
        ([0, 0], None),
        ([1, 0], None),
        ([3, 2], None),
        ([2, 99], Some((1, 4))),
        ([50, 99], None),
    ] {
        let mut document = base(&[1.0; 6]);
        set(&mut document, "ZERO", &[2], Values::Int(zero.to_vec()));
        assert_eq!(read(&document).value.plates[0].baseline, want, "{zero:?}");
    }
}

#[test]
fn moments_default_to_newtons_times_the_length_unit() {
    let gain = |unit_of_length: &str, unit_of_moment: &str| {
        let mut document = base(&[1.0; 6]);
        for group in &mut document.groups {
            for parameter in &mut group.parameters {
                if group.name.is("POINT") && parameter.name.is("UNITS") {
                    parameter.dims = vec![4];
                    parameter.values = Values::Char(format!("{unit_of_length:4}").into_bytes());
                }
                if group.name.is("ANALOG") && parameter.name.is("UNITS") {
                    parameter.dims = vec![4, 6];
                    let texts = [format!("{:4}", "nt").repeat(3), format!("{unit_of_moment:4}").repeat(3)];
                    parameter.values = Values::Char(texts.concat().into_bytes());
                }
                if group.name.is("FORCE_PLATFORM")
                    && parameter.name.is("CORNERS")
                    && unit_of_length.starts_with("me")
                {
                    let Values::Float(v) = &mut parameter.values else { panic!() };
                    v.iter_mut().for_each(|v| *v /= 1000.0);
                }
            }
        }
        let out = read(&document);
        let Sensing::Linear { columns, .. } = &out.value.plates[0].sensing else { panic!() };
        (columns[3][3], has(&out, &UNITS_ASSUMED))
    };
    assert_eq!(gain("mm", "ntmm"), (1e-3, false));
    assert_eq!(gain("mm", "Nm"), (1.0, false));
    assert_eq!(gain("mm", "N"), (1e-3, true));
    assert_eq!(gain("mete", ""), (1.0, true));
    assert_eq!(gain("mete", "V"), (1.0, true));
}

/// One plate of each type, written and read in every encoding.
#[test]
fn every_type_is_written_and_read_again() {
    let wave =
        |k: usize| (0..50).map(|t| 40.0 * (k as f64 + 1.0) * ((t * (k + 2)) % 17) as f64).collect::<Vec<_>>();
    let channels = |units: &[&str]| {
        units.iter().enumerate().map(|(k, u)| channel(&format!("c{k}"), u, wave(k))).collect::<Vec<_>>()
    };
    let depth = DVec3::new(0.001, -0.002, -0.045);
    let mixed = |n: usize| -> Vec<[f64; 6]> {
        (0..n)
            .map(|k| {
                std::array::from_fn(|row| {
                    if row < 3 { 1.0 + (k * row) as f64 } else { 0.2 * row as f64 - 0.1 * k as f64 }
                })
            })
            .collect()
    };
    let six_units = ["N", "N", "N", "Nm", "Nm", "Nm"];
    let twelve_columns: Vec<[f64; 6]> = (0..12)
        .map(|k| {
            let (x, y) = [(0.22, 0.13), (-0.22, 0.13), (-0.22, -0.13), (0.22, -0.13)][k / 3];
            let force = [DVec3::X, DVec3::Y, DVec3::Z][k % 3] * (1.0 + k as f64);
            let moment = DVec3::new(x, y, 0.0).cross(force);
            [force.x, force.y, force.z, moment.x, moment.y, moment.z]
        })
        .collect();
    let reduced = Sensing::Reduced {
        force: [0, 1, 2],
        force_gain: [1.0; 3],
        centre: [Some(3), Some(4), None],
        centre_gain: 1e-3,
        free_moment: Some(5),
        free_moment_gain: 1e-3,
        axes: ReducedAxes::Plate,
    };
    let eight = [0, 1, 2, 3, 4, 5, 6, 7];
    let cases: Vec<(PlateType, Vec<&str>, Sensing)> = vec![
        (PlateType::One, vec!["N", "N", "N", "mm", "mm", "Nmm"], reduced),
        (PlateType::Two, six_units.to_vec(), Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1.0, depth)),
        (PlateType::Three, vec!["N"; 8], Sensing::piezo8(eight, 1.0, 0.12, 0.2, -0.048)),
        (PlateType::Four, vec!["V"; 6], Sensing::calibrated((0..6).collect(), mixed(6), depth)),
        (PlateType::Five, vec!["V"; 8], Sensing::calibrated((0..8).collect(), mixed(8), depth)),
        (
            PlateType::Six,
            vec!["V"; 12],
            Sensing::calibrated((0..12).collect(), twelve_columns, DVec3::Z * -0.05),
        ),
        (PlateType::Seven, vec!["V"; 8], Sensing::piezo8(eight, 3.5, 0.12, 0.2, -0.048)),
    ];
    for (kind, units, sensing) in cases {
        let mut plate = plate(1, sensing, kind.label());
        plate.baseline = Some((0, 10));
        let recording = analog_only(channels(&units), vec![plate]);
        for mut how in encodings() {
            for types in [None, Some(vec![kind])] {
                how.types = types;
                let bytes = c3d::encode(&recording, &how).unwrap_or_else(|e| panic!("{kind:?}: {e}"));
                let out = c3d::decode("made", &bytes).unwrap();
                assert!(!has(&out, &ORIGIN_TURNED) && !has(&out, &CORNERS_NORMAL_UP), "{kind:?}");
                let [again] = out.value.plates.as_slice() else { panic!("{kind:?}: {:?}", out.findings) };
                assert_eq!(again.kind, kind.label());
                assert_eq!(again.baseline, Some((0, 10)));
                let error = how.storage == c3d::Storage::Int;
                for sample in 0..50 {
                    let (f, m) = surface(&recording.plates[0], &recording.analog, sample);
                    let (f2, m2) = surface(again, &out.value.analog, sample);
                    let tolerance = if error { 1e-2 } else { 1e-6 };
                    let near = |a: DVec3, b: DVec3| (a - b).length() < tolerance * (1.0 + a.length());
                    assert!(near(f, f2) && near(m, m2), "{kind:?} {how:?}: {f} {f2} {m} {m2}");
                }
            }
        }
    }
}

/// What C3D cannot say is refused with the reason, never written otherwise than it is.
#[test]
fn plates_without_a_type_are_refused() {
    let recording = |sensing: Sensing| {
        let channels = (0..12).map(|k| channel(&format!("c{k}"), "N", vec![1.0; 4])).collect();
        analog_only(channels, vec![plate(1, sensing, "")])
    };
    let refused = |sensing: Sensing, types: Option<Vec<PlateType>>| {
        let how = Encoding { types, ..Encoding::PLAIN };
        match c3d::encode(&recording(sensing), &how) {
            Err(C3dError::PlateNotExpressible { plate: 1, kind, why }) => (kind, why),
            other => panic!("{:?}", other.map(|b| b.len())),
        }
    };
    let six = |z: f64| Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1.0, DVec3::Z * z);
    // With z down a surface below its sensors would be read as a sign mistake.
    assert!(refused(six(0.04), None).1.contains("negative z"));
    assert!(refused(six(-0.04), Some(vec![PlateType::Three])).1.contains("type 2, 4"));
    assert!(refused(Sensing::six([0, 1, 2, 3, 4, 99], 1.0, 1.0, DVec3::ZERO), None).1.contains("channel"));
    assert!(
        refused(Sensing::calibrated(vec![0, 1], vec![[1.0; 6]; 2], DVec3::ZERO), None)
            .1
            .contains("2 channels")
    );
    let lab = Sensing::Reduced {
        force: [0, 1, 2],
        force_gain: [1.0; 3],
        centre: [Some(3), Some(4), None],
        centre_gain: 1.0,
        free_moment: None,
        free_moment_gain: 1.0,
        axes: ReducedAxes::Lab,
    };
    assert!(refused(lab, None).1.contains("six components"));
}

/// A plate whose own z axis points up keeps its origin, and a sensor below the surface is then at positive z.
#[test]
fn a_plate_with_z_up_is_kept_as_written() {
    let mut up =
        plate(1, Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1.0, DVec3::Z * 0.04), PlateType::Two.label());
    up.corners_m = [[0.6, 0.4], [0.0, 0.4], [0.0, 0.0], [0.6, 0.0]].map(|[x, y]| DVec3::new(x, y, 0.0));
    let units = ["N", "N", "N", "Nm", "Nm", "Nm"];
    let channels =
        units.iter().enumerate().map(|(k, u)| channel(&format!("c{k}"), u, vec![1.0; 4])).collect();
    let recording = analog_only(channels, vec![up]);
    let out = c3d::decode("made", &c3d::encode(&recording, &Encoding::PLAIN).unwrap()).unwrap();
    assert!(has(&out, &CORNERS_NORMAL_UP));
    let again: &Plate = &out.value.plates[0];
    let Sensing::Linear { origin_m, .. } = &again.sensing else { panic!() };
    assert!((*origin_m - DVec3::Z * 0.04).length() < 1e-8);
}
