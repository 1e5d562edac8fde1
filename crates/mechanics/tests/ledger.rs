//! The ledger balances: by hand for named cases, by property for all others.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use glam::{DQuat, DVec3};
use mechanics::feet::{FootSeries, net_only, two_feet};
use mechanics::ledger::{Ledger, Reference, ledger, opposition};
use mechanics::wrench::{PlateWrench, Surface, Wrenches, collapse};
use mechanics::{Frame, Hand};
use proptest::prelude::*;

/// A level plate whose wrench is a force at a point with a free moment; golf frame.
fn plate(index: usize, force: DVec3, cop: DVec3, free: f64) -> PlateWrench {
    PlateWrench {
        name: (index + 1).to_string(),
        plate: index,
        surface: Surface { centre_m: DVec3::new(cop.x.signum() * 0.3, 0.0, 0.0), ..Surface::around(&[]) },
        wrench: Wrenches { force_n: vec![force], moment_nm: vec![cop.cross(force) + DVec3::Z * free] },
        turned: false,
    }
}

fn entries(l: &Ledger) -> [f64; 5] {
    let t = l.turn.as_ref().expect("two feet");
    [t.free_trail_nm[0], t.free_lead_nm[0], t.couple_toe_nm[0], t.couple_target_nm[0], l.offset_nm[0]]
}

fn show(l: &Ledger) -> String {
    let [trail, lead, toe, target, offset] = entries(l);
    format!(
        "trail free {trail:.3} · lead free {lead:.3} · toe couple {toe:.3} · target couple {target:.3} · offset {offset:.3} = {:.3}",
        l.turn_nm[0]
    )
}

/// By hand, DESIGN §2 signs: turn = p_toe·F_target − p_target·F_toe = −0.20·90 − (−0.20)(−70) = −32.
/// Toe is −y for a right-handed player and +y for a left-handed one; the account reads the same.
#[test]
fn shears_toward_and_from_the_toes_make_a_couple() {
    for hand in [Hand::Right, Hand::Left] {
        let toe = hand.toe_sign();
        let lead = plate(0, DVec3::new(0.0, toe * 90.0, 400.0), DVec3::new(0.20, 0.0, 0.0), 0.0);
        let trail = plate(1, DVec3::new(0.0, toe * -70.0, 300.0), DVec3::new(-0.20, 0.0, 0.0), 0.0);
        let series = two_feet(vec![lead], vec![trail], 20.0);
        let account = ledger(&series, hand, &Reference::Fixed(DVec3::ZERO));
        assert_eq!(
            show(&account).replace("-0.000", "0.000"),
            "trail free 0.000 · lead free 0.000 · toe couple -32.000 · target couple 0.000 · offset 0.000 = -32.000"
        );
    }
}

/// Check set D, worked independently: about O the parts are 8 − 5 − 16 − 16.5 by foot, −29.5 in all; about the
/// net centre of pressure −31.473684 in all.
#[test]
fn worked_two_plate_account() {
    let lead = plate(0, DVec3::new(60.0, -40.0, 500.0), DVec3::new(0.25, 0.10, 0.0), 8.0);
    let trail = plate(1, DVec3::new(-90.0, 70.0, 450.0), DVec3::new(-0.30, 0.05, 0.0), -5.0);
    let series = two_feet(vec![lead], vec![trail], 20.0);
    let about_origin = ledger(&series, Hand::Right, &Reference::Fixed(DVec3::ZERO));
    let turn = about_origin.turn.as_ref().expect("two feet");
    assert!((about_origin.turn_nm[0] + 29.5).abs() < 1e-12);
    assert!((turn.lead_nm[0] - (8.0 - 16.0)).abs() < 1e-12);
    assert!((turn.trail_nm[0] - (-5.0 - 16.5)).abs() < 1e-12);
    let about_cop = ledger(&series, Hand::Right, &Reference::NetCop);
    assert!((about_cop.turn_nm[0] + 31.473684).abs() < 1e-6);
    // A left-handed player reads the same wrench with the opposite turn.
    let left = ledger(&series, Hand::Left, &Reference::NetCop);
    assert!((left.turn_nm[0] - 31.473684).abs() < 1e-6);
}

/// An unloaded foot keeps its small wrench in the books, makes no couple, and its centre of pressure is NaN.
#[test]
fn a_foot_without_a_centre_of_pressure_still_balances() {
    let lead = plate(0, DVec3::new(60.0, -40.0, 500.0), DVec3::new(0.25, 0.10, 0.0), 8.0);
    let trail = plate(1, DVec3::new(3.0, 1.0, 8.0), DVec3::new(-0.30, 0.05, 0.0), -0.4);
    let series = two_feet(vec![lead], vec![trail], 20.0);
    for about in [Reference::NetCop, Reference::Fixed(DVec3::new(0.1, -0.2, 0.0))] {
        let account = ledger(&series, Hand::Right, &about);
        let [_, _, toe, target, _] = entries(&account);
        assert_eq!((toe, target), (0.0, 0.0));
        assert!(account.trail.as_ref().expect("trail").cop_target_m[0].is_nan());
        assert!(account.turn_residual_nm(0).abs() < 1e-12);
    }
    // About the midpoint of two centres of pressure nothing is defined while one is missing.
    let account = ledger(&series, Hand::Right, &Reference::MidCop);
    assert!(account.turn_nm[0].is_nan());
}

#[test]
fn opposition_is_what_net_hides() {
    assert_eq!(opposition(90.0, -70.0), 70.0);
    assert_eq!(opposition(90.0, 70.0), 0.0);
}

fn force() -> impl Strategy<Value = DVec3> {
    (-600.0..600.0, -600.0..600.0, -50.0..2500.0).prop_map(|(x, y, z)| DVec3::new(x, y, z))
}
fn place() -> impl Strategy<Value = DVec3> {
    (-1.0..1.0, -1.0..1.0).prop_map(|(x, y)| DVec3::new(x, y, 0.0))
}

prop_compose! {
    fn two()(lead in force(), trail in force(), a in place(), b in place(), t in -60.0..60.0, u in -60.0..60.0)
        -> (PlateWrench, PlateWrench) { (plate(0, lead, a, t), plate(1, trail, b, u)) }
}

fn series((lead, trail): (PlateWrench, PlateWrench)) -> FootSeries {
    two_feet(vec![lead], vec![trail], 20.0)
}

/// What rounding may do: 1e-9 of the sizes that were added.
fn scale(l: &Ledger) -> f64 {
    1e-9 * entries(l).iter().map(|v| v.abs()).sum::<f64>().max(1.0)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn entries_sum_to_the_net(plates in two(), point in place(), left in any::<bool>()) {
        let hand = if left { Hand::Left } else { Hand::Right };
        for about in [Reference::Fixed(point), Reference::NetCop, Reference::Path(vec![point])] {
            let account = ledger(&series(plates.clone()), hand, &about);
            let turn = account.turn.as_ref().unwrap();
            if account.turn_nm[0].is_nan() {
                prop_assert!(matches!(about, Reference::NetCop));
                prop_assert!(account.net.cop_target_m[0].is_nan());
                continue;
            }
            prop_assert!(account.turn_residual_nm(0).abs() <= scale(&account));
            let by_foot = turn.lead_nm[0] + turn.trail_nm[0];
            prop_assert!((by_foot - account.turn_nm[0]).abs() <= scale(&account));
        }
    }

    #[test]
    fn moving_the_reference_changes_only_the_offset(plates in two(), p in place(), q in place()) {
        // Both feet loaded: an unloaded pair is booked at the reference itself.
        prop_assume!(plates.0.wrench.force_n[0].z > 21.0 || plates.1.wrench.force_n[0].z > 21.0);
        let series = series(plates);
        let at = |point| ledger(&series, Hand::Right, &Reference::Fixed(point));
        let (a, b) = (at(p), at(q));
        prop_assert_eq!(&entries(&a)[..4], &entries(&b)[..4]);
        let force = series.net.wrench.force_n[0];
        let moved = (p - q).cross(force).z;
        prop_assert!((b.turn_nm[0] - a.turn_nm[0] - moved).abs() <= scale(&a) + scale(&b));
    }

    #[test]
    fn rotating_the_laboratory_changes_nothing(plates in two(), angle in -3.1..3.1f64, at in place()) {
        // The same wrenches expressed in a turned and shifted laboratory, read back through its frame.
        let turn = DQuat::from_rotation_z(angle);
        let frame = Frame::new(at, DVec3::Z, turn * DVec3::X).unwrap();
        let through = |p: &PlateWrench| {
            let force_lab = turn * p.wrench.force_n[0];
            let moment_lab = turn * p.wrench.moment_nm[0];
            let mut out = p.clone();
            out.wrench.force_n[0] = frame.turn(force_lab);
            out.wrench.moment_nm[0] = frame.turn(moment_lab);
            out
        };
        let turned = (through(&plates.0), through(&plates.1));
        let a = ledger(&series(plates), Hand::Right, &Reference::Fixed(DVec3::new(0.1, 0.2, 0.0)));
        let b = ledger(&series(turned), Hand::Right, &Reference::Fixed(DVec3::new(0.1, 0.2, 0.0)));
        for (x, y) in entries(&a).into_iter().zip(entries(&b)) {
            prop_assert!((x - y).abs() <= 1e-9 * (1.0 + scale(&a) * 1e9));
        }
    }

    #[test]
    fn a_mirrored_player_reads_the_same(plates in two(), point in place()) {
        // Mirror y: forces flip y, moments flip x and z (they are axial).
        let mirror = |p: &PlateWrench| {
            let mut out = p.clone();
            out.surface.centre_m.y = -out.surface.centre_m.y;
            out.wrench.force_n[0].y *= -1.0;
            out.wrench.moment_nm[0].x *= -1.0;
            out.wrench.moment_nm[0].z *= -1.0;
            out
        };
        let mirrored = (mirror(&plates.0), mirror(&plates.1));
        let a = ledger(&series(plates), Hand::Right, &Reference::Fixed(point));
        let b = ledger(&series(mirrored), Hand::Left, &Reference::Fixed(point * DVec3::new(1.0, -1.0, 1.0)));
        prop_assert_eq!(entries(&a), entries(&b));
        prop_assert_eq!(&a.turn_nm, &b.turn_nm);
        prop_assert_eq!(a.net.toe_n, b.net.toe_n);
    }

    #[test]
    fn collapse_is_the_one_plate_computation(plates in two(), point in place()) {
        let both = series(plates.clone());
        let one = net_only(vec![collapse(&[plates.0, plates.1]).unwrap()], 20.0);
        for about in [Reference::NetCop, Reference::Fixed(point)] {
            let a = ledger(&both, Hand::Right, &about);
            let b = ledger(&one, Hand::Right, &about);
            // Printed, since NaN does not equal itself.
            prop_assert_eq!(format!("{:?}", a.net), format!("{:?}", b.net));
            prop_assert!((a.turn_nm[0] - b.turn_nm[0]).abs() < 1e-9 || a.turn_nm[0].is_nan());
            if !b.turn_nm[0].is_nan() && !b.offset_nm[0].is_nan() {
                prop_assert!(b.turn_residual_nm(0).abs() <= scale(&a));
            }
        }
    }

    /// Net cop of two level plates is the force-weighted mean of the feet's (Winter, ch. 5).
    #[test]
    fn net_cop_is_the_weighted_mean(plates in two()) {
        let (f1, f2) = (plates.0.wrench.force_n[0].z, plates.1.wrench.force_n[0].z);
        prop_assume!(f1 > 20.0 && f2 > 20.0);
        let s = series(plates);
        let feet = s.feet.as_ref().unwrap();
        let mean = (feet.lead.contact[0].cop_m * f1 + feet.trail.contact[0].cop_m * f2) / (f1 + f2);
        prop_assert!((mean - s.net.contact[0].cop_m).length() < 1e-12 * (f1 + f2));
    }
}
