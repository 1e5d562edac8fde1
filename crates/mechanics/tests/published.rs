//! Worked numbers from outside the code: the C3D user guide's plate types, and two-plate statics.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use glam::{DMat3, DVec3};
use mechanics::plate::{Measures, Plate, ReducedAxes, Sensing};
use mechanics::pressure::{central_line, contact};
use mechanics::recording::{Analog, Axis, Channel, Recording};
use mechanics::rig::Rig;
use mechanics::wrench::{Surface, Wrenches, collapse, wrenches};
use mechanics::{Frame, finding};

fn near(got: DVec3, want: [f64; 3], tolerance: f64, what: &str) {
    assert!((got - DVec3::from(want)).abs().max_element() <= tolerance, "{what}: {got} is not {want:?}");
}

/// A plate with the corners of the worked example: x along lab x, z down, centre (0.3, 0.2, 0).
fn plate(sensing: Sensing) -> Plate {
    let corner = |x: f64, y: f64| DVec3::new(x, y, 0.0);
    Plate {
        name: "1".into(),
        corners_m: [corner(0.6, 0.0), corner(0.0, 0.0), corner(0.0, 0.4), corner(0.6, 0.4)],
        sensing,
        measures: Measures::OnPlayer,
        cover_m: 0.0,
        baseline: None,
        foot: None,
        kind: String::new(),
    }
}

fn one_sample(values: &[f64], plates: Vec<Plate>) -> Recording {
    let channel =
        |(k, v): (usize, &f64)| Channel { label: format!("c{k}"), samples: vec![*v], ..Channel::default() };
    Recording {
        analog: Analog {
            rate_hz: 1000.0,
            start_s: 0.0,
            channels: values.iter().enumerate().map(channel).collect(),
        },
        plates,
        ..Recording::default()
    }
}

/// Lab axes and lab origin as a "golf frame", so that the published lab figures can be compared directly.
const LAB: Frame = Frame { origin_m: DVec3::ZERO, axes: DMat3::IDENTITY };

fn read(values: &[f64], plate: Plate) -> (Wrenches, Surface, Vec<finding::Finding>) {
    let recording = one_sample(values, vec![plate]);
    let mut checked = wrenches(&recording, &Rig::of_recording(&recording), &LAB);
    let first = checked.value.remove(0);
    (first.wrench, first.surface, checked.findings)
}

/// Source: C3D user guide, FORCE_PLATFORM types 1 to 4; the figures were reproduced with ezc3d 1.7.2
/// (check set A): plate axes F = (50, 30, 800) N, M = (40, −64, 11.9) N·m about the surface centre.
#[test]
fn plate_types_give_the_published_wrench() {
    let mm = 1e-3;
    let type4_rows = [
        [100.0, 1.0, 0.0, 0.0, 0.0, 0.0],
        [0.0, 98.0, 0.0, 0.0, 0.0, 0.5],
        [0.0, -2.0, 400.0, 0.0, 0.0, 0.0],
        [0.0, 0.0, 0.0, 90000.0, 300.0, 0.0],
        [0.0, 0.0, 50.0, 0.0, 85000.0, 0.0],
        [0.0, 20.0, 0.0, 0.0, 0.0, 45000.0],
    ];
    let unit = [1.0, 1.0, 1.0, mm, mm, mm];
    let type4 = (0..6).map(|k| std::array::from_fn(|row| type4_rows[row][k] * unit[row])).collect();
    let six: [usize; 6] = std::array::from_fn(|k| k);
    let eight: [usize; 8] = std::array::from_fn(|k| k);
    let cases: [(&str, Sensing, Vec<f64>); 5] = [
        (
            "TYPE 1",
            Sensing::Reduced {
                force: [0, 1, 2],
                force_gain: [1.0; 3],
                centre: [Some(3), Some(4), None],
                centre_gain: mm,
                free_moment: Some(5),
                free_moment_gain: mm,
                axes: ReducedAxes::Plate,
            },
            vec![50.0, 30.0, 800.0, 80.0, 50.0, 12000.0],
        ),
        (
            "TYPE 2",
            Sensing::six(six, 1.0, mm, DVec3::new(0.0, 0.0, -0.040)),
            vec![50.0, 30.0, 800.0, 41200.0, -66000.0, 11900.0],
        ),
        (
            "TYPE 2, origin off centre",
            Sensing::six(six, 1.0, mm, DVec3::new(0.0015, -0.002, -0.045)),
            vec![50.0, 30.0, 800.0, 39750.0, -67450.0, 12045.0],
        ),
        (
            "TYPE 3",
            Sensing::piezo8(eight, 1.0, 0.220, 0.130, -0.042),
            vec![27.0, 23.0, 43.2272727, -13.2272727, 354.45979, 204.232517, 45.54021, 195.767483],
        ),
        (
            "TYPE 4",
            Sensing::calibrated((0..6).collect(), type4, DVec3::new(0.0, 0.0, -0.040)),
            vec![0.49695226066, 0.30477393373, 2.00152386967, 0.46036993763, -0.77764795522, 0.26430898936],
        ),
    ];
    for (name, sensing, channels) in cases {
        let (wrench, surface, findings) = read(&channels, plate(sensing));
        assert!(findings.is_empty(), "{name}: {findings:?}");
        // Lab axes, z down turned over: (50, −30, −800); about the surface centre (40, 64, −11.9).
        near(wrench.force_n[0], [50.0, -30.0, -800.0], 1e-5, name);
        let about_centre = wrench.moment_nm[0] - surface.centre_m.cross(wrench.force_n[0]);
        near(about_centre, [40.0, 64.0, -11.9], 2e-5, name);
        // As a reaction: cop (0.380, 0.150, 0), free moment +12 N·m about lab up.
        let touch = contact(-wrench.force_n[0], -wrench.moment_nm[0], &surface, 20.0);
        near(touch.cop_m, [0.380, 0.150, 0.0], 1e-7, name);
        assert!((touch.free_nm - 12.0).abs() < 2e-5, "{name}: free moment {}", touch.free_nm);
    }
}

/// A plate that stores the force on the plate in z-down axes gives an upward reaction, and says so.
#[test]
fn force_on_the_plate_is_turned_into_the_reaction() {
    let mut held = plate(Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1e-3, DVec3::ZERO));
    held.measures = Measures::BySign;
    let values = [50.0, 30.0, 800.0, 40000.0, -64000.0, 11900.0];
    let (wrench, _, findings) = read(&values, held);
    near(wrench.force_n[0], [-50.0, 30.0, 800.0], 1e-9, "reaction");
    assert_eq!(findings.len(), 1);
    assert_eq!(findings[0].kind.code, "F106");
}

/// Identity of DESIGN §2: the vertical moment on the plate about a downward axis has the same sign as the reaction
/// about an upward axis (common practice, no source; two sign changes cancel).
#[test]
fn vertical_moment_about_down_on_the_plate_is_the_reaction_about_up() {
    let mut held = plate(Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1.0, DVec3::ZERO));
    held.measures = Measures::OnPlate;
    let (wrench, surface, _) = read(&[0.0, 0.0, 500.0, 0.0, 0.0, 7.0], held);
    let touch = contact(wrench.force_n[0], wrench.moment_nm[0], &surface, 20.0);
    assert!((touch.free_nm - 7.0).abs() < 1e-12);
}

/// Source: ezc3d's unit tests (check set B): corners, origin and one frame of a measured TYPE 2 plate.
#[test]
fn measured_type_2_plate_of_a_public_test_set() {
    let mm = |x: f64, y: f64| DVec3::new(x, y, 0.0) * 1e-3;
    let mut measured = plate(Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1e-3, DVec3::ZERO));
    measured.corners_m = [mm(508.0, 464.0), mm(508.0, 0.0), mm(0.0, 0.0), mm(0.0, 464.0)];
    let axes = measured.axes().expect("axes");
    near(axes.x_axis, [0.0, 1.0, 0.0], 1e-12, "plate x");
    near(axes.y_axis, [1.0, 0.0, 0.0], 1e-12, "plate y");
    near(axes.z_axis, [0.0, 0.0, -1.0], 1e-12, "plate z");
    // The published force and surface moment are in lab axes; put them through the plate's own.
    let force = axes.transpose() * DVec3::new(106.480, -66.407, 763.647);
    let moment = axes.transpose() * DVec3::new(54768.655, -24103.676, -12229.124);
    let (wrench, surface, _) = read(&[force.x, force.y, force.z, moment.x, moment.y, moment.z], measured);
    let touch = contact(wrench.force_n[0], wrench.moment_nm[0], &surface, 20.0);
    near(touch.cop_m, [0.285564, 0.303720, 0.0], 1e-6, "cop");
    // Published from unrounded inputs: −2496.299 N·mm; the inputs as printed give 0.03 N·mm less.
    assert!((touch.free_nm + 2.496299).abs() < 5e-5);
}

/// Check set C: central line of set A's wrench. The point on z = 0 is Shimba's (1984), the figures were
/// reproduced with the formula of a public toolkit.
#[test]
fn central_line_of_the_worked_plate() {
    let line = central_line(DVec3::new(50.0, 30.0, 800.0), DVec3::new(40.0, -64.0, 11.9));
    near(line.meets_floor_m, [0.080559528, 0.049067454, 0.0], 1e-9, "meets z = 0");
    near(line.nearest_m, [0.080132111, 0.048811004, -0.006838670], 1e-9, "nearest point");
    near(line.least_moment_nm, [0.7460367, 0.4476220, 11.9365869], 1e-7, "least moment");
    assert!((line.pitch_m - 0.014920734).abs() < 1e-9);
}

/// Cover of thickness t: cop moves by t·F_x/F_z (facts worked by hand: 10 mm, 100 N, 800 N → 1.25 mm).
#[test]
fn a_cover_moves_the_centre_of_pressure() {
    let sensing = || Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1.0, DVec3::ZERO);
    let values = [100.0, 0.0, -800.0, 0.0, 0.0, 0.0];
    let bare = plate(sensing());
    let mut covered = plate(sensing());
    covered.cover_m = 0.010;
    let cop = |plate: Plate| {
        let (wrench, surface, _) = read(&values, plate);
        contact(wrench.force_n[0], wrench.moment_nm[0], &surface, 20.0).cop_m
    };
    near(cop(covered) - cop(bare), [0.00125, 0.0, 0.010], 1e-12, "shift");
}

/// Check set D: two plates, computed independently of this code.
#[test]
fn two_plates_sum_to_the_worked_net() {
    let level = |x: f64, y: f64| {
        let mut surface = Surface::around(&[]);
        surface.centre_m = DVec3::new(x, y, 0.0);
        surface
    };
    let side = |force: DVec3, cop: DVec3, free: f64, plate: usize| mechanics::wrench::PlateWrench {
        name: plate.to_string(),
        plate,
        surface: level(0.0, 0.0),
        wrench: Wrenches { force_n: vec![force], moment_nm: vec![cop.cross(force) + DVec3::Z * free] },
        turned: false,
    };
    let plates = [
        side(DVec3::new(60.0, -40.0, 500.0), DVec3::new(0.25, 0.10, 0.0), 8.0, 0),
        side(DVec3::new(-90.0, 70.0, 450.0), DVec3::new(-0.30, 0.05, 0.0), -5.0, 1),
    ];
    let net = collapse(&plates).expect("two plates");
    let (force, moment) = (net.wrench.force_n[0], net.wrench.moment_nm[0]);
    near(force, [-30.0, 30.0, 950.0], 1e-12, "force");
    near(moment, [72.5, 10.0, -29.5], 1e-12, "moment about O");
    let touch = contact(force, moment, &net.surface, 20.0);
    near(touch.cop_m, [-0.0105263, 0.0763158, 0.0], 1e-7, "cop");
    assert!((touch.free_nm + 31.473684).abs() < 1e-6, "free moment {}", touch.free_nm);
    let line = central_line(force, moment);
    assert!((line.pitch_m + 0.03306425).abs() < 1e-8);
    near(line.meets_floor_m, [-0.011570, 0.075272, 0.0], 1e-6, "meets z = 0");
    assert!((line.least_moment_nm.length() - 31.442345).abs() < 1e-6);
}

/// Up is found from the plates' normals, also in a laboratory with y up.
#[test]
fn up_follows_the_plates() {
    let mut wall = plate(Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1.0, DVec3::ZERO));
    assert_eq!(mechanics::rig::up_of_plates(&[wall.clone()]), Axis::PlusZ);
    wall.corners_m = wall.corners_m.map(|c| DVec3::new(c.x, c.z, c.y));
    assert_eq!(mechanics::rig::up_of_plates(&[wall]), Axis::PlusY);
}

/// One wild sample does not turn a plate: the sign is that of the load, not of an outlier.
#[test]
fn an_outlier_does_not_decide_the_sign() {
    let mut held = plate(Sensing::six([0, 1, 2, 3, 4, 5], 1.0, 1.0, DVec3::ZERO));
    held.measures = Measures::BySign;
    let samples = 400;
    let mut recording = one_sample(&[0.0; 6], vec![held]);
    for (k, channel) in recording.analog.channels.iter_mut().enumerate() {
        channel.samples = vec![if k == 2 { -700.0 } else { 0.0 }; samples];
    }
    recording.analog.channels[2].samples[10] = 5000.0;
    let checked = wrenches(&recording, &Rig::of_recording(&recording), &LAB);
    assert!(checked.findings.is_empty(), "{:?}", checked.findings);
    assert_eq!(checked.value[0].wrench.force_n[0].z, 700.0);
}
