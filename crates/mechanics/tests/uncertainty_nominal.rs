//! The columns that uncertainty is propagated to are the ledger's own, in every layout of plates and feet.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use glam::DVec3;
use mechanics::feet::{FootSeries, net_only, two_feet};
use mechanics::ledger::{Reference, Side, ledger, opposition};
use mechanics::uncertainty::{Along, Column, Flat, Place, Point, Scene, Stance, Who, evaluate};
use mechanics::wrench::{PlateWrench, Surface, Wrenches, surface_of};
use mechanics::{Axis, Frame, Hand, Measures, Plate, Rig, Sensing};
use proptest::prelude::*;

/// A plate of 0.4 m × 0.6 m, z down, a little higher than the floor if `z` says so.
fn plate(index: usize, x: f64, z: f64) -> Plate {
    let corner = |dx: f64, dy: f64| DVec3::new(x + dx, dy, z);
    Plate {
        name: (index + 1).to_string(),
        corners_m: [corner(0.2, -0.3), corner(-0.2, -0.3), corner(-0.2, 0.3), corner(0.2, 0.3)],
        sensing: Sensing::six([0; 6], 1.0, 1.0, DVec3::ZERO),
        measures: Measures::OnPlayer,
        cover_m: 0.0,
        baseline: None,
        foot: None,
        kind: String::new(),
    }
}

fn rig(plates: usize) -> Rig {
    Rig {
        name: String::new(),
        plates: (0..plates).map(|k| plate(k, 0.3 - 0.45 * k as f64, 0.02 * k as f64)).collect(),
        origin_m: Some(DVec3::ZERO),
        ..Rig::of_recording(&mechanics::Recording { up: Some(Axis::PlusZ), ..Default::default() })
    }
}

fn frame() -> Frame {
    Frame::new(DVec3::ZERO, DVec3::Z, DVec3::X).expect("a frame")
}

/// What a plate reads: force, and where on its surface, with which free moment.
type Load = ([f64; 3], [f64; 2], f64);

fn read(rig: &Rig, index: usize, loads: &[Load]) -> PlateWrench {
    let surface: Surface = surface_of(&rig.plates[index], &frame()).expect("a surface");
    let mut wrench = Wrenches::default();
    for (force, at, free) in loads {
        let force = DVec3::from_array(*force);
        let cop = surface.centre_m + DVec3::new(at[0], at[1], 0.0);
        wrench.force_n.push(force);
        wrench.moment_nm.push(cop.cross(force) + DVec3::Z * *free);
    }
    PlateWrench { name: index.to_string(), plate: index, surface, wrench, turned: false }
}

fn same(a: f64, b: f64, what: &str) {
    let equal = (a.is_nan() && b.is_nan()) || (a - b).abs() <= 1e-12 * b.abs().max(1.0);
    assert!(equal, "{what}: {a} against the ledger's {b}");
}

fn hold_side(series: &FootSeries, scene: &Scene, who: Who, side: &Side) {
    let columns = [
        (Column::Force(who, Along::Target), &side.target_n),
        (Column::Force(who, Along::Toe), &side.toe_n),
        (Column::Force(who, Along::Up), &side.up_n),
        (Column::Cop(who, Flat::Target), &side.cop_target_m),
        (Column::Cop(who, Flat::Toe), &side.cop_toe_m),
        (Column::FreeMoment(who), &side.free_moment_nm),
    ];
    for k in 0..series.net.wrench.len() {
        let instant = evaluate(scene, &scene.sample(series, k, 1000.0), DVec3::NAN);
        for (column, known) in columns {
            same(instant.get(column), known[k], &format!("{} at {k}", column.name()));
        }
    }
}

/// Every point and every column against `ledger`.
fn hold(rig: &Rig, series: &FootSeries, hand: Hand) {
    let mut scene = Scene::new(rig, &frame(), series, hand);
    let address = scene.sample(series, 0, 1000.0);
    scene.stance = Some(Stance { point_m: DVec3::new(0.03, -0.02, 0.0), address });
    let given = DVec3::new(-0.1, 0.2, 0.9);
    let asked = [
        (Place::NetCop, Reference::NetCop),
        (Place::MidCop, Reference::MidCop),
        (Place::Fixed(given), Reference::Fixed(given)),
        (Place::Stance, Reference::Fixed(DVec3::new(0.03, -0.02, 0.0))),
        (Place::Given, Reference::Path(vec![given; series.net.wrench.len()])),
    ];
    for (place, reference) in asked {
        scene.asked = place;
        let known = ledger(series, hand, &reference);
        hold_side(series, &scene, Who::Net, &known.net);
        for (who, side) in [(Who::Lead, &known.lead), (Who::Trail, &known.trail)] {
            if let Some(side) = side {
                hold_side(series, &scene, who, side);
            }
        }
        for k in 0..series.net.wrench.len() {
            let instant = evaluate(&scene, &scene.sample(series, k, 1000.0), given);
            let is = |column: Column, known: f64| {
                same(instant.get(column), known, &format!("{} at {k}, {place:?}", column.name()));
            };
            is(Column::Turn(Point::Asked), known.turn_nm[k]);
            is(Column::Offset(Point::Asked), known.offset_nm[k]);
            let Some(turn) = &known.turn else {
                assert!(instant.get(Column::CoupleToe).is_nan());
                continue;
            };
            is(Column::FreeLead, turn.free_lead_nm[k]);
            is(Column::FreeTrail, turn.free_trail_nm[k]);
            is(Column::CoupleToe, turn.couple_toe_nm[k]);
            is(Column::CoupleTarget, turn.couple_target_nm[k]);
            is(Column::TurnLead(Point::Asked), turn.lead_nm[k]);
            is(Column::TurnTrail(Point::Asked), turn.trail_nm[k]);
            let (lead, trail) = (known.lead.as_ref().unwrap(), known.trail.as_ref().unwrap());
            is(Column::Opposition(Along::Toe), opposition(lead.toe_n[k], trail.toe_n[k]));
            is(Column::Opposition(Along::Target), opposition(lead.target_n[k], trail.target_n[k]));
            if known.net.up_n[k] >= 20.0 {
                is(Column::LeadShare, lead.up_n[k] / known.net.up_n[k]);
            }
        }
    }
    // The points with a name of their own.
    let plate_centre =
        |index: usize| Reference::Fixed(surface_of(&rig.plates[index], &frame()).unwrap().centre_m);
    let mut points = vec![
        (Point::NetCop, Reference::NetCop),
        (Point::MidCop, Reference::MidCop),
        (Point::RigCentre, Reference::Fixed(DVec3::ZERO)),
        (Point::Stance, Reference::Fixed(DVec3::new(0.03, -0.02, 0.0))),
    ];
    if let Some(feet) = &series.feet {
        points.push((Point::LeadPlate, plate_centre(feet.lead.plates[0])));
        points.push((Point::TrailPlate, plate_centre(feet.trail.plates[0])));
    }
    for (point, reference) in points {
        let known = ledger(series, hand, &reference);
        for k in 0..series.net.wrench.len() {
            let instant = evaluate(&scene, &scene.sample(series, k, 1000.0), given);
            same(instant.get(Column::Turn(point)), known.turn_nm[k], &format!("turn, {point:?} at {k}"));
            same(
                instant.get(Column::Offset(point)),
                known.offset_nm[k],
                &format!("offset, {point:?} at {k}"),
            );
        }
    }
}

fn load() -> impl Strategy<Value = Load> {
    // Vertical forces under the load floor are met as often as others.
    let up = prop_oneof![Just(0.0), -5.0..19.0, 21.0..1800.0];
    ((-300.0..300.0, -300.0..300.0, up).prop_map(|(x, y, z)| [x, y, z]), [-0.2..0.2, -0.3..0.3], -30.0..30.0)
}

proptest! {
    #[test]
    fn columns_are_the_ledgers(
        loads in prop::collection::vec(prop::collection::vec(load(), 4), 3),
        left in any::<bool>(),
    ) {
        let hand = if left { Hand::Left } else { Hand::Right };
        for plates in 1..=3 {
            let rig = rig(plates);
            let read = || (0..plates).map(|k| read(&rig, k, &loads[k])).collect::<Vec<_>>();
            hold(&rig, &net_only(read(), 20.0), hand);
            if plates > 1 {
                let mut lead = read();
                let trail = lead.split_off(plates - 1);
                hold(&rig, &two_feet(lead, trail, 20.0), hand);
            }
        }
    }
}

/// A foot on one plate keeps nothing twice; a foot on two keeps both readings, whose sum is the foot's.
#[test]
fn a_foot_keeps_its_plates_only_where_there_are_several() {
    let rig = rig(3);
    let load = ([10.0, -20.0, 400.0], [0.01, 0.02], 3.0);
    let read = |k| read(&rig, k, &[load]);
    let feet = two_feet(vec![read(0), read(1)], vec![read(2)], 20.0).feet.expect("two feet");
    assert_eq!((feet.lead.parts.len(), feet.trail.parts.len()), (2, 0));
    assert_eq!(feet.lead.plates, [0, 1]);
    let sum = feet.lead.parts[0].wrench.force_n[0] + feet.lead.parts[1].wrench.force_n[0];
    assert_eq!(sum, feet.lead.wrench.force_n[0]);
}
