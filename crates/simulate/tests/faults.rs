//! Each fault does what it says, and nothing else: read back by `mechanics`.
#![allow(clippy::unwrap_used, clippy::panic)] // a test may

use glam::DVec3;
use mechanics::plate::Foothold;
use mechanics::wrench::{PlateWrench, wrenches};
use mechanics::{Axis, Frame, Hand, Measures, Recording, Rig};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style, faults};

fn made(kind: PlateType) -> Simulated {
    let rig = RigSpec { rate_hz: 500.0, marker_rate_hz: 50.0, ..RigSpec::two_plates(kind) };
    simulate::swing(&PlayerSpec::right(Style::early()), &rig, &Noise::NONE, 8).unwrap()
}

/// Reads a recording as its own plates say, as reactions.
fn read(recording: &Recording) -> Vec<PlateWrench> {
    let mut rig = Rig::of_recording(recording);
    rig.plates.iter_mut().for_each(|p| p.measures = Measures::OnPlayer);
    wrenches(recording, &rig, &Frame::new(DVec3::ZERO, DVec3::Z, DVec3::X).unwrap()).value
}

/// Checks force and moment about the golf origin of one plate, sample by sample.
fn same(plate: &PlateWrench, want: impl Fn(usize) -> (DVec3, DVec3), what: &str) {
    for i in 0..plate.wrench.len() {
        let (force, moment) = want(i);
        let off =
            (plate.wrench.force_n[i] - force).length().max((plate.wrench.moment_nm[i] - moment).length());
        assert!(off < 1e-8, "{what}, sample {i}: off by {off}");
    }
}

fn of(plate: &PlateWrench) -> impl Fn(usize) -> (DVec3, DVec3) + '_ {
    |i| (plate.wrench.force_n[i], plate.wrench.moment_nm[i])
}

/// About the plate's own centre, for faults that act there.
fn about_centre(plate: &PlateWrench, i: usize) -> (DVec3, DVec3) {
    let f = plate.wrench.force_n[i];
    (f, plate.wrench.moment_nm[i] - plate.surface.centre_m.cross(f))
}

fn about_origin(plate: &PlateWrench, (force, moment): (DVec3, DVec3)) -> (DVec3, DVec3) {
    (force, moment + plate.surface.centre_m.cross(force))
}

#[test]
fn faults_of_force_on_every_kind_of_plate() {
    for kind in PlateType::ALL {
        let good = made(kind).recording;
        let clean = read(&good);
        let name = format!("{kind:?}");

        let bad = read(&faults::action_for_reaction(&good));
        for k in 0..2 {
            same(&bad[k], |i| (-clean[k].wrench.force_n[i], -clean[k].wrench.moment_nm[i]), &name);
        }
        let bad = read(&faults::horizontal_action(&good));
        for k in 0..2 {
            let turned = |i| {
                let (f, m) = about_centre(&clean[k], i);
                about_origin(&clean[k], (DVec3::new(-f.x, -f.y, f.z), DVec3::new(m.x, m.y, -m.z)))
            };
            same(&bad[k], turned, &name);
        }
        let bad = read(&faults::z_flipped(&good, 0));
        let flipped = |i| {
            // Half round the plate's x, which lies along the target here.
            let (f, m) = about_centre(&clean[0], i);
            let turned = |v: DVec3| DVec3::new(v.x, -v.y, -v.z);
            // The sensors' moments turn; moving them up to the surface goes on as before.
            let up_by = match &good.plates[0].sensing {
                mechanics::Sensing::Linear { origin_m, .. } => good.plates[0].axes().unwrap() * *origin_m,
                mechanics::Sensing::Reduced { .. } => DVec3::ZERO,
            };
            let about_sensors = m - f.cross(up_by);
            about_origin(&clean[0], (turned(f), turned(about_sensors) + turned(f).cross(up_by)))
        };
        same(&bad[0], flipped, &name);
        same(&bad[1], of(&clean[1]), &name);

        let bad = read(&faults::vertical_negated(&good, 1));
        let negated = |i| {
            let (f, m) = about_centre(&clean[1], i);
            about_origin(&clean[1], (DVec3::new(f.x, f.y, -f.z), m))
        };
        same(&bad[1], negated, &name);

        let bad = read(&faults::body_weight_off(&good, 1.12));
        for k in 0..2 {
            same(
                &bad[k],
                |i| (clean[k].wrench.force_n[i] * 1.12, clean[k].wrench.moment_nm[i] * 1.12),
                &name,
            );
        }
        let bad = read(&faults::foot_off_plate(&good, 1, 0.3));
        same(&bad[1], |i| (clean[1].wrench.force_n[i] * 0.7, clean[1].wrench.moment_nm[i] * 0.7), &name);

        let bad = read(&faults::never_loaded(&good, 1));
        same(&bad[1], |_| (DVec3::ZERO, DVec3::ZERO), &name);
        same(&bad[0], of(&clean[0]), &name);

        let bad = read(&faults::foot_over_gap(&good, 0, 1, 0.25));
        same(&bad[0], |i| (clean[0].wrench.force_n[i] * 0.75, clean[0].wrench.moment_nm[i] * 0.75), &name);
        // What leaves one plate arrives in the other at the same place, so the net does not change.
        let net = |p: &[PlateWrench], i: usize| {
            (
                p[0].wrench.force_n[i] + p[1].wrench.force_n[i],
                p[0].wrench.moment_nm[i] + p[1].wrench.moment_nm[i],
            )
        };
        for i in (0..clean[0].wrench.len()).step_by(9) {
            let ((f, m), (g, n)) = (net(&clean, i), net(&bad, i));
            assert!((f - g).length() < 1e-8 && (m - n).length() < 1e-8, "{name} sample {i}");
        }
    }
}

#[test]
fn faults_that_grow_or_stay() {
    let good = made(PlateType::Three).recording;
    let clean = read(&good);
    let down = DVec3::new(1.0, -1.0, -1.0); // the plate's axes in the golf frame
    let (force, moment) = (DVec3::new(1.0, -2.0, 5.0), DVec3::new(0.2, 0.1, -0.4));
    let bad = read(&faults::unloaded_offset(&good, 1, force, moment));
    let offset = |by: f64| {
        let clean = &clean[1];
        move |i: usize| {
            let t = if by == 0.0 { 1.0 } else { by * i as f64 };
            let (f, m) = about_centre(clean, i);
            about_origin(clean, (f + force * down * t, m + moment * down * t))
        }
    };
    same(&bad[1], offset(0.0), "offset");
    let bad = read(&faults::drifting(&good, 1, force, moment));
    same(&bad[1], offset(1.0 / 500.0), "drift");
    same(&bad[0], of(&clean[0]), "the other plate");
}

#[test]
fn faults_of_places_and_cables() {
    let good = made(PlateType::Two).recording;
    let clean = read(&good);
    let bad = faults::swapped_plates(&good, 0, 1);
    assert_eq!(bad.analog, good.analog);
    let read_bad = read(&bad);
    same(&read_bad[0], |i| about_origin(&clean[0], about_centre(&clean[1], i)), "swapped");
    same(&read_bad[1], |i| about_origin(&clean[1], about_centre(&clean[0], i)), "swapped");

    let mirrored = faults::corners_mirrored(&good, 0);
    let z = |r: &Recording| r.plates[0].axes().map(|a| a.z_axis.z);
    assert!(z(&good).unwrap() < -0.99 && z(&mirrored).unwrap() > 0.99, "the normal points the other way");
    assert_eq!(mirrored.plates[1], good.plates[1]);
    // The two listed first change places only: opposite edges cancel, so the plate has no axes.
    let crossed = faults::corners_exchanged(&good, 0);
    assert!(crossed.plates[0].axes().is_none());
    let turned = faults::corners_turned(&good, 0);
    assert!(
        (turned.plates[0].axes().unwrap().x_axis + good.plates[0].axes().unwrap().x_axis).length() < 1e-12
    );
    assert!(z(&turned).unwrap() < -0.99);
    assert!(faults::no_plates(&good).plates.is_empty());
    assert_eq!(faults::no_plates(&good).analog, good.analog);
}

#[test]
fn units_called_wrongly_are_a_thousand_times_too_large() {
    let good = made(PlateType::Two).recording;
    let clean = read(&good);
    let wrong = faults::millimetres_called_metres(&good);
    assert_eq!(wrong.analog.channels[3].unit, "Nm");
    assert_eq!(wrong.analog.channels[3].samples, good.analog.channels[3].samples);
    let bad = read(&wrong);
    // About the sensor origin the moment is a thousandfold; the transfer to the surface is as it was. Its origin
    // lies under the surface centre, so near the vertical axis the free part shows it best.
    for i in (0..clean[0].wrench.len()).step_by(50) {
        assert_eq!(bad[0].wrench.force_n[i], clean[0].wrench.force_n[i]);
        let (g, m) = (good.analog.channels[5].samples[i] / 1000.0, about_centre(&bad[0], i).1.z);
        let transfer = about_centre(&clean[0], i).1.z + g;
        // Plate z is down, so the channel's sign is the other way round.
        assert!((m + g * 1000.0 - transfer).abs() < 1e-6);
    }
}

#[test]
fn faults_of_time_and_range() {
    let good = made(PlateType::Two).recording;
    let fz = |r: &Recording, plate: usize| r.analog.channels[plate * 6 + 2].samples.clone();

    let clipped = faults::clipped(&good, 0, 0.6);
    let most = fz(&good, 0).iter().fold(0.0f64, |m, v| m.max(v.abs()));
    let flat = fz(&clipped, 0).iter().filter(|v| v.abs() == most * 0.6).count();
    assert!(flat > 10, "{flat} samples at the limit");
    assert!(fz(&clipped, 0).iter().all(|v| v.abs() <= most * 0.6));
    assert_eq!(fz(&clipped, 1), fz(&good, 1));

    let dropped = faults::dropped_samples(&good, 1.0, 40);
    assert_eq!(dropped.analog.len(), good.analog.len() - 40);
    assert_eq!(fz(&dropped, 0)[..500], fz(&good, 0)[..500]);
    assert_eq!(fz(&dropped, 0)[500..], fz(&good, 0)[540..]);
    assert_eq!(faults::dropped_samples(&good, 1e9, usize::MAX).analog.len(), good.analog.len());

    let late = faults::late_plate(&good, 1, 0.02);
    assert_eq!(fz(&late, 0), fz(&good, 0));
    assert_eq!(fz(&late, 1)[10..], fz(&good, 1)[..good.analog.len() - 10]);
    assert_eq!(late.analog.channels[12], good.analog.channels[12], "the trigger keeps its time");
}

#[test]
fn faults_of_words() {
    let mut good = made(PlateType::Two).recording;
    good.plates[0].foot = Some(Foothold::Left);
    let wrong = faults::sides_mislabelled(&good);
    let labels: Vec<_> = wrong.markers.iter().map(|m| m.label.as_str()).collect();
    assert_eq!(labels, ["RHEEL", "RTOE", "LHEEL", "LTOE", "CLUBHEAD"]);
    assert_eq!(wrong.plates[0].foot, Some(Foothold::Right));
    assert_eq!(faults::wrong_hand(Hand::Right), Hand::Left);
    let quiet = faults::says_little(&good);
    assert!(quiet.mass_kg.is_none() && quiet.marks.is_empty() && quiet.analog == good.analog);
}

#[test]
fn a_plate_that_is_not_there_changes_nothing() {
    let good = made(PlateType::Two).recording;
    assert_eq!(faults::z_flipped(&good, 7), good);
    assert_eq!(faults::swapped_plates(&good, 0, 7), good);
    assert_eq!(faults::foot_over_gap(&good, 0, 7, 0.5), good);
    assert_eq!(faults::clipped(&good, 7, 0.5), good);
    assert_eq!(faults::corners_mirrored(&good, 7), good);
    let up = Recording { up: Some(Axis::PlusZ), ..Recording::default() };
    assert_eq!(faults::action_for_reaction(&up), up);
}
