//! The measured recordings, with the figures that two independent evaluations agree on (see the README and
//! RECORDINGS page of their folder). Files that are not there are skipped by name.
#![allow(clippy::unwrap_used, clippy::panic)]
mod c3d_common;
use c3d_common::{measured, pressure, surface};
use formats::c3d::{self, Document};
use glam::DVec3;
use mechanics::finding::*;
use mechanics::{Checked, Plate, Recording, Sensing};

fn read(name: &str) -> Option<Checked<Recording>> {
    measured(name).map(|bytes| c3d::decode(name, &bytes).unwrap())
}

/// Wrenches about the surface centre in plate axes, turned so that the loaded vertical force points up.
fn reactions(plate: &Plate, recording: &Recording) -> Vec<(DVec3, DVec3)> {
    let up = mechanics::rig::up_of_plates(&recording.plates).unit();
    let axes = plate.axes().unwrap();
    let mut all: Vec<_> = (0..recording.analog.len()).map(|k| surface(plate, &recording.analog, k)).collect();
    let vertical = |f: &DVec3| (axes * *f).dot(up);
    let most =
        all.iter().map(|(f, _)| vertical(f)).fold(0.0, |a: f64, v| if v.abs() > a.abs() { v } else { a });
    if most < 0.0 {
        all.iter_mut().for_each(|(f, m)| (*f, *m) = (-*f, -*m));
    }
    all
}

fn vertical(plate: &Plate, recording: &Recording) -> Vec<f64> {
    let up = mechanics::rig::up_of_plates(&recording.plates).unit();
    let axes = plate.axes().unwrap();
    reactions(plate, recording).iter().map(|(f, _)| (axes * *f).dot(up)).collect()
}

/// Centres of pressure in the laboratory, m, where the vertical force exceeds 50 N.
fn places(plate: &Plate, recording: &Recording) -> Vec<DVec3> {
    let axes = plate.axes().unwrap();
    let loaded = reactions(plate, recording).into_iter().filter(|(f, _)| f.z.abs() > 50.0);
    loaded
        .map(|(f, m)| {
            let (x, y, _) = pressure(f, m);
            plate.centre_m() + axes * DVec3::new(x, y, 0.0)
        })
        .collect()
}

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    (sorted[(n - 1) / 2] + sorted[n / 2]) / 2.0
}

struct Facts {
    name: &'static str,
    format: &'static str,
    /// Markers, their rate, frames.
    markers: (usize, f64, usize),
    /// Channels, their rate, samples.
    analog: (usize, f64, usize),
    /// Peak and median vertical force of each plate, N.
    vertical: &'static [(f64, f64)],
}

#[test]
fn counts_rates_and_vertical_forces() {
    let rows = [
        Facts {
            name: "jump_two_plates_type4.c3d",
            format: "C3D, Intel, float",
            markers: (51, 120.0, 264),
            analog: (16, 600.0, 1320),
            vertical: &[(822.2, 264.6), (883.5, 350.7)],
        },
        Facts {
            name: "standing_two_plates_type3.c3d",
            format: "C3D, Intel, float",
            markers: (18, 240.0, 2400),
            analog: (16, 240.0, 2400),
            vertical: &[(378.5, 181.3), (199.7, 187.6)],
        },
        Facts {
            name: "standing_two_plates_type2.c3d",
            format: "C3D, Intel, float",
            markers: (161, 100.0, 208),
            analog: (28, 1000.0, 2080),
            vertical: &[(347.9, 337.6), (301.6, 291.3)],
        },
        Facts {
            name: "standing_three_plates_type2_dec_real.c3d",
            format: "C3D, DEC, float",
            markers: (116, 120.0, 655),
            analog: (36, 1080.0, 5895),
            vertical: &[(293.2, 286.8), (313.2, 308.9)],
        },
        Facts {
            name: "gait_two_plates_type2_intel_int.c3d",
            format: "C3D, Intel, integer",
            markers: (36, 50.0, 89),
            analog: (16, 200.0, 356),
            vertical: &[(815.5, -7.5), (829.8, -12.3)],
        },
        Facts {
            name: "gait_two_plates_type2_mips_real.c3d",
            format: "C3D, MIPS, float",
            markers: (36, 50.0, 89),
            analog: (16, 200.0, 356),
            vertical: &[(815.5, -7.5), (829.8, -12.3)],
        },
        Facts {
            name: "gait_one_plate_type1_yup.c3d",
            format: "C3D, Intel, float",
            markers: (28, 100.0, 296),
            analog: (6, 100.0, 296),
            vertical: &[(731.7, 0.0)],
        },
        Facts {
            name: "gait_two_plates_type2_2000hz.c3d",
            format: "C3D, Intel, float",
            markers: (55, 200.0, 340),
            analog: (69, 2000.0, 3400),
            vertical: &[(808.4, 0.9), (839.7, 0.4)],
        },
        Facts {
            name: "gait_two_plates_type4_metres.c3d",
            format: "C3D, Intel, float",
            markers: (24, 60.0, 134),
            analog: (32, 1080.0, 2412),
            vertical: &[(714.1, 23.1), (712.9, 0.0)],
        },
        Facts {
            name: "drop-jump-two-plates.c3d",
            format: "C3D, Intel, integer",
            markers: (0, 0.0, 0),
            analog: (16, 1000.0, 8000),
            vertical: &[(2822.6, 229.2), (630.4, 2.7)],
        },
        Facts {
            name: "quiet-stance.c3d",
            format: "C3D, Intel, integer",
            markers: (0, 0.0, 0),
            analog: (8, 1000.0, 10000),
            vertical: &[(736.2, 665.8)],
        },
        Facts {
            name: "jump-markers-two-plates.c3d",
            format: "C3D, Intel, float",
            markers: (42, 200.0, 1600),
            analog: (31, 2000.0, 16000),
            vertical: &[(6281.6, 749.8)],
        },
    ];
    for row in rows {
        let Some(Checked { value: recording, .. }) = read(row.name) else { continue };
        let name = row.name;
        assert_eq!(recording.format, row.format, "{name}");
        let frames = recording.markers.first().map_or(0, |m| m.path_m.len());
        assert_eq!((recording.markers.len(), recording.marker_rate_hz, frames), row.markers, "{name}");
        let analog = &recording.analog;
        assert_eq!((analog.channels.len(), analog.rate_hz, analog.len()), row.analog, "{name}");
        for (index, &(peak, middle)) in row.vertical.iter().enumerate() {
            let fz = vertical(&recording.plates[index], &recording);
            let highest = fz.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            assert!((highest - peak).abs() < 0.06, "{name} plate {}: {highest}, {peak}", index + 1);
            assert!(
                (median(&fz) - middle).abs() < 0.06,
                "{name} plate {}: {}, {middle}",
                index + 1,
                median(&fz)
            );
        }
    }
}

/// Peaks with the sign of the channels: three of these plates carry offsets larger than a standing foot.
#[test]
fn four_plates_of_two_types() {
    let Some(read) = read("gait_four_plates_type3_type2_dec_int.c3d") else { return };
    let recording = read.value;
    assert_eq!(recording.plates.len(), 4);
    let up = mechanics::rig::up_of_plates(&recording.plates).unit();
    for (plate, (peak, middle)) in
        recording.plates.iter().zip([(726.6, 2.4), (577.8, -79.1), (515.3, -212.4), (607.0, -180.7)])
    {
        assert_eq!(plate.baseline, Some((0, 20)));
        // The channels hold the force on the person in axes with z down: R · F is the reaction.
        let axes = plate.axes().unwrap();
        let fz: Vec<_> = (0..515).map(|k| (axes * surface(plate, &recording.analog, k).0).dot(up)).collect();
        let highest = fz.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        assert!(
            (highest - peak).abs() < 0.06 && (median(&fz) - middle).abs() < 0.06,
            "{highest} {}",
            median(&fz)
        );
        // With frames 1 to 20 removed the peaks agree with each other.
        let rest = fz[..20].iter().sum::<f64>() / 20.0;
        assert!((650.0..800.0).contains(&(highest - rest)), "{}", highest - rest);
    }
}

/// Ranges of the centre of pressure in laboratory millimetres, as (x, y) or for the file with y up (x, z).
#[test]
fn centres_of_pressure() {
    type Row = (&'static str, usize, usize, [f64; 4]);
    let rows: [Row; 12] = [
        ("jump_two_plates_type4.c3d", 0, 1, [267.0, 328.0, 149.0, 306.0]),
        ("jump_two_plates_type4.c3d", 1, 1, [695.0, 755.0, 146.0, 331.0]),
        ("standing_two_plates_type3.c3d", 0, 1, [-129.0, -114.0, 3.0, 70.0]),
        ("standing_two_plates_type3.c3d", 1, 1, [60.0, 123.0, 91.0, 147.0]),
        ("standing_two_plates_type2.c3d", 0, 1, [-214.0, -206.0, 262.0, 280.0]),
        ("standing_two_plates_type2.c3d", 1, 1, [229.0, 236.0, 271.0, 285.0]),
        ("standing_three_plates_type2_dec_real.c3d", 0, 1, [476.0, 495.0, 429.0, 436.0]),
        ("standing_three_plates_type2_dec_real.c3d", 1, 1, [477.0, 491.0, 687.0, 693.0]),
        ("gait_two_plates_type2_intel_int.c3d", 0, 1, [97.0, 192.0, 1393.0, 1636.0]),
        ("gait_one_plate_type1_yup.c3d", 0, 2, [126.0, 301.0, 231.0, 245.0]),
        ("gait_two_plates_type2_2000hz.c3d", 0, 1, [140.0, 317.0, 275.0, 310.0]),
        ("gait_two_plates_type4_metres.c3d", 0, 1, [210.0, 430.0, 100.0, 240.0]),
    ];
    for (name, plate, second, [x0, x1, y0, y1]) in rows {
        let Some(Checked { value: recording, .. }) = read(name) else { continue };
        let places = places(&recording.plates[plate], &recording);
        let range = |k: usize| {
            let values = places.iter().map(|p| 1000.0 * p[k]);
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)))
        };
        let ((a, b), (c, d)) = (range(0), range(second));
        let tolerance = if name.contains("metres") { 5.5 } else { 1.0 };
        for (have, want) in [(a, x0), (b, x1), (c, y0), (d, y1)] {
            assert!(
                (have - want).abs() < tolerance,
                "{name} plate {}: {a:.1}..{b:.1} {c:.1}..{d:.1}",
                plate + 1
            );
        }
    }
}

/// ezc3d's own unit test of this file, frame 1000 (MIT licence, public repository): force (106.480, −66.407, 763.647) N,
/// moment about the surface centre (54768.655, −24103.676, −12229.124) N·mm, laboratory axes.
#[test]
fn the_published_wrench_of_frame_1000() {
    let Some(Checked { value: recording, .. }) = read("gait_two_plates_type2_2000hz.c3d") else { return };
    let plate = &recording.plates[0];
    let axes = plate.axes().unwrap();
    let (force, moment) = surface(plate, &recording.analog, 1000);
    assert!(
        (axes * force - DVec3::new(106.480, -66.407, 763.647)).abs().max_element() < 1e-3,
        "{}",
        axes * force
    );
    let want = DVec3::new(54.768655, -24.103676, -12.229124);
    assert!((axes * moment - want).abs().max_element() < 1e-5, "{}", axes * moment);
}

/// The foot stands where its markers are: turning the whole ORIGIN vector of a TYPE 3 plate, as one public library does,
/// puts it half a metre away.
#[test]
fn the_centre_of_pressure_lies_under_the_foot() {
    let Some(Checked { value: recording, .. }) = read("standing_two_plates_type3.c3d") else { return };
    let place = |label: &str| {
        let marker = recording.markers.iter().find(|m| m.label == label).unwrap();
        DVec3::from(marker.path_m[1200].map(f64::from))
    };
    for (plate, heel, toe) in [(0, "r_heel", "r_toe"), (1, "l_heel", "l_toe")] {
        let plate = &recording.plates[plate];
        let (force, moment) = surface(plate, &recording.analog, 1200);
        let (x, y, _) = pressure(force, moment);
        let cop = plate.centre_m() + plate.axes().unwrap() * DVec3::new(x, y, 0.0);
        let middle = (place(heel) + place(toe)) / 2.0;
        assert!((cop - middle).truncate().length() < 0.08, "{cop} {middle}");
    }
    // Free moment of plate 1 about laboratory up: +541 N·mm.
    let plate = &recording.plates[0];
    let (force, moment) = surface(plate, &recording.analog, 1200);
    let free = pressure(force, moment).2 * plate.axes().unwrap().z_axis.z;
    assert!((free - 0.541).abs() < 2e-3, "{free}");
}

/// Columns of a table by name.
fn table(name: &str) -> Option<impl Fn(&str) -> Vec<f64> + use<>> {
    let bytes = measured(name)?;
    let text = String::from_utf8(bytes).unwrap();
    Some(move |column: &str| {
        let index = text.lines().next().unwrap().split(',').position(|c| c.trim() == column).unwrap();
        let rows = text.lines().skip(2).filter(|l| !l.is_empty());
        rows.map(|l| l.split(',').nth(index).unwrap().parse().unwrap()).collect::<Vec<f64>>()
    })
}

/// The makers' own tables of the TYPE 3 files whose corners put z up: they follow from the negative depth, whatever
/// geometry would ask for, so that sign is taken. Depths in the tables are 57 and 52 mm; the files say 58.
#[test]
fn the_makers_tables_of_plates_with_z_up() {
    let with_depth = |plate: &Plate, depth: f64| {
        let mut plate = plate.clone();
        let Sensing::Linear { origin_m, .. } = &mut plate.sensing else { panic!() };
        origin_m.z = depth;
        plate
    };
    for (name, prefix, index, depth, tolerance) in [
        ("quiet-stance", "p1", 0, -0.057, 1e-4),
        ("drop-jump-two-plates", "p1", 0, -0.052, 1.5e-3),
        ("drop-jump-two-plates", "p2", 1, -0.052, 12e-3),
    ] {
        let (Some(read), Some(column)) = (read(&format!("{name}.c3d")), table(&format!("{name}.csv"))) else {
            continue;
        };
        let recording = read.value;
        let get = |c: &str| column(&format!("{prefix}_{c}"));
        let times = column("time");
        let (fx, fz, ax, ay, tz) = (get("Fx"), get("Fz"), get("Ax"), get("Ay"), get("Tz"));
        let step = ((times[1] - times[0]) * recording.analog.rate_hz).round() as usize;
        let plate = &recording.plates[index];
        let (mut worst, mut turned, mut loaded) = (0.0f64, 0.0f64, 0);
        for row in 0..times.len() {
            if fz[row] < 200.0 {
                continue;
            }
            loaded += 1;
            let cop = |plate: &Plate| {
                let (force, moment) = surface(plate, &recording.analog, row * step);
                (pressure(force, moment), force)
            };
            let ((x, y, free), force) = cop(&with_depth(plate, depth));
            assert!((force.z - fz[row]).abs() < 0.01 * fz[row].max(1.0) && (force.x - fx[row]).abs() < 2.0);
            worst = worst.max((x - ax[row]).abs()).max((y - ay[row]).abs());
            assert!(
                (free - tz[row]).abs() < 0.05 + 0.01 * tz[row].abs(),
                "{name} row {row}: {free} {}",
                tz[row]
            );
            // As read: 58 mm, off by the difference of depths alone. Turned up it would be far off.
            let ((x, _, _), _) = cop(plate);
            let lever = -(0.058 + depth) * force.x / force.z;
            assert!((x - ax[row] - lever).abs() < tolerance + 1e-5);
            turned = turned.max((cop(&with_depth(plate, 0.058)).0.0 - ax[row]).abs());
        }
        assert!(loaded > 100 && worst < tolerance, "{name} {prefix}: {worst} of {loaded} rows");
        assert!(turned > 2.0 * worst, "{name} {prefix}: {turned} {worst}");
    }
}

/// What each file gets wrong is said, and nothing else is.
#[test]
fn findings() {
    let rows: [(&str, &[&Kind]); 13] = [
        (
            "drop-jump-two-plates.c3d",
            &[&ORIGIN_TURNED, &CORNERS_NORMAL_UP, &CORNERS_EXCHANGED, &UNITS_ASSUMED],
        ),
        ("quiet-stance.c3d", &[&ORIGIN_TURNED, &CORNERS_NORMAL_UP, &UNITS_ASSUMED]),
        ("jump-markers-two-plates.c3d", &[&ORIGIN_TURNED]),
        ("jump_two_plates_type4.c3d", &[&FILE_DUPLICATE_LABEL, &UNITS_ASSUMED]),
        ("standing_two_plates_type3.c3d", &[&ORIGIN_TURNED, &UNITS_ASSUMED]),
        ("standing_two_plates_type2.c3d", &[&ORIGIN_TURNED]),
        ("standing_three_plates_type2_dec_real.c3d", &[]),
        ("gait_two_plates_type2_intel_int.c3d", &[&ORIGIN_TURNED]),
        ("gait_two_plates_type2_mips_real.c3d", &[&ORIGIN_TURNED]),
        ("gait_four_plates_type3_type2_dec_int.c3d", &[&FILE_DUPLICATE_LABEL, &ORIGIN_TURNED]),
        ("gait_one_plate_type1_yup.c3d", &[&FILE_RATE_FROM_HEADER, &UNITS_ASSUMED]),
        ("gait_two_plates_type2_2000hz.c3d", &[&ORIGIN_TURNED, &UP_TURNED]),
        ("gait_two_plates_type4_metres.c3d", &[&UNITS_ASSUMED]),
    ];
    for (name, want) in rows {
        let Some(read) = read(name) else { continue };
        let mut have: Vec<_> = read.findings.iter().map(|f| f.kind.code).collect();
        have.sort_unstable();
        have.dedup();
        let mut want: Vec<_> = want.iter().map(|k| k.code).collect();
        want.sort_unstable();
        assert_eq!(have, want, "{name}: {:#?}", read.findings);
    }
}

#[test]
fn events_and_masses() {
    let marks = |name| {
        let read = read(name)?;
        Some(
            read.value
                .marks
                .iter()
                .map(|m| (m.label.clone(), (m.time_s * 1000.0).round() as i64))
                .collect::<Vec<_>>(),
        )
    };
    let own = |list: &[(&str, i64)]| list.iter().map(|(l, t)| (l.to_string(), *t)).collect::<Vec<_>>();
    if let Some(marks) = marks("jump_two_plates_type4.c3d") {
        assert_eq!(marks, own(&[("Start", 17), ("Take-Off", 692), ("Landing", 1183), ("End", 1783)]));
    }
    // Cropped: the first stored frame is 705 of the capture, so 3.59 s of the capture is 0.07 s of the file.
    if let Some(marks) = marks("gait_two_plates_type2_2000hz.c3d") {
        assert_eq!(marks[..4], own(&[("LHS", 70), ("RTO", 165), ("RHS", 530), ("LTO", 640)]));
    }
    for (name, mass) in
        [("standing_two_plates_type2.c3d", 65.0), ("standing_three_plates_type2_dec_real.c3d", 60.0)]
    {
        if let Some(read) = read(name) {
            assert_eq!(read.value.mass_kg, Some(mass));
        }
    }
}

/// The same trial from two writers; the markers differ by one step of the integers, 0.28 mm.
#[test]
fn intel_integers_and_mips_floats_agree() {
    let names = ["gait_two_plates_type2_intel_int.c3d", "gait_two_plates_type2_mips_real.c3d"];
    let [Some(a), Some(b)] = names.map(read) else { return };
    let (a, b) = (a.value, b.value);
    for (x, y) in a.analog.channels.iter().zip(&b.analog.channels) {
        assert_eq!((&x.label, &x.unit), (&y.label, &y.unit));
        assert_eq!(x.samples, y.samples, "{}", x.label);
    }
    for (x, y) in a.markers.iter().zip(&b.markers) {
        for (p, q) in x.path_m.iter().flatten().zip(y.path_m.iter().flatten()) {
            assert!(p.is_nan() == q.is_nan() && (p.is_nan() || (p - q).abs() < 3e-4), "{} {p} {q}", x.label);
        }
    }
}

/// Rewriting keeps everything: header, groups, locks, descriptions, every stored word; in any processor's form.
#[test]
fn rewriting_is_the_identity() {
    for name in [
        "drop-jump-two-plates.c3d",
        "gait_four_plates_type3_type2_dec_int.c3d",
        "gait_one_plate_type1_yup.c3d",
        "gait_two_plates_type2_2000hz.c3d",
        "gait_two_plates_type2_intel_int.c3d",
        "gait_two_plates_type2_mips_real.c3d",
        "gait_two_plates_type4_metres.c3d",
        "jump-markers-two-plates.c3d",
        "jump_two_plates_type4.c3d",
        "quiet-stance.c3d",
        "standing_three_plates_type2_dec_real.c3d",
        "standing_two_plates_type2.c3d",
        "standing_two_plates_type3.c3d",
    ] {
        let Some(bytes) = measured(name) else { continue };
        let document = Document::read(&bytes).unwrap().value;
        let written = document.write().unwrap();
        assert!(Document::read(&written).unwrap().value == document, "{name}");
        let data = 512 * (usize::from(document.data_block) - 1);
        let size = document.words.len() * document.words.storage().width();
        assert_eq!(written[data..data + size], bytes[data..data + size], "{name}: data bytes");
        for processor in c3d::Processor::ALL {
            let other = Document { processor, ..document.clone() };
            let bytes = other.write().unwrap_or_else(|e| panic!("{name}: {e}"));
            // DEC knows no −0; everything else keeps its bits.
            if processor != c3d::Processor::Dec || document.processor == processor {
                assert!(Document::read(&bytes).unwrap().value == other, "{name} {processor:?}");
            }
            let [a, b] = [&written, &bytes].map(|bytes| c3d::decode(name, bytes).unwrap().value);
            assert!(
                a.analog == b.analog && a.plates == b.plates && a.marks == b.marks,
                "{name} {processor:?}"
            );
        }
    }
}

/// A recording read from a file, written and read again is the same recording.
#[test]
fn measured_recordings_are_written_again() {
    for name in [
        "gait_one_plate_type1_yup.c3d",
        "gait_two_plates_type2_2000hz.c3d",
        "gait_two_plates_type4_metres.c3d",
        "standing_two_plates_type3.c3d",
        "gait_four_plates_type3_type2_dec_int.c3d",
        "jump_two_plates_type4.c3d",
        "quiet-stance.c3d",
    ] {
        let Some(Checked { value: recording, .. }) = read(name) else { continue };
        let written =
            c3d::encode(&recording, &c3d::Encoding::PLAIN).unwrap_or_else(|e| panic!("{name}: {e}"));
        let again = c3d::decode(name, &written).unwrap().value;
        assert_eq!(again.plates.len(), recording.plates.len(), "{name}");
        for (a, b) in recording.plates.iter().zip(&again.plates) {
            for k in (0..recording.analog.len()).step_by(97) {
                let ((f, m), (f2, m2)) = (surface(a, &recording.analog, k), surface(b, &again.analog, k));
                let near = |a: DVec3, b: DVec3| (a - b).length() < 1e-5 * (1.0 + f.length());
                assert!(near(f, f2) && near(m, m2), "{name} plate {}: {f} {f2} {m} {m2}", a.name);
            }
        }
        assert_eq!(again.marks.len(), recording.marks.len(), "{name}");
        assert_eq!(again.up, recording.up, "{name}");
    }
}

#[test]
fn a_file_at_a_glance() {
    let Some(bytes) = measured("standing_three_plates_type2_dec_real.c3d") else { return };
    let facts = c3d::inspect(&bytes).unwrap().value;
    assert_eq!(
        (facts.processor, facts.storage, facts.unsigned),
        (c3d::Processor::Dec, c3d::Storage::Float, true)
    );
    assert_eq!((facts.points, facts.frame_rate_hz, facts.frames), (116, 120.0, 655));
    assert_eq!((facts.channels, facts.samples_per_frame, facts.analog_rate_hz), (36, 9, 1080.0));
    assert_eq!(facts.frame_numbers, (16, 670));
    assert_eq!(facts.plate_types, [2, 2, 2]);
    assert_eq!(facts.length_unit, "mm");
    assert_eq!(facts.groups[0].0, "TRIAL");
}
