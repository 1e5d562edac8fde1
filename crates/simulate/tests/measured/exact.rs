//! Without noise and with a perfect rig every figure is the truth's.
use super::oracle::Oracle;
use super::{made, measured, player};
use mechanics::Hand;
use simulate::{PlateType, RigSpec, Simulated, Style};
use swing::Measurement;
use swing::metrics::{Absent, Unit};

/// Rounding, as a share of what a figure of the unit can be.
fn rounding(unit: Unit) -> f64 {
    1e-9 * match unit {
        Unit::Newton | Unit::NewtonPerSecond => 1500.0,
        Unit::NewtonMetre | Unit::NewtonSecond | Unit::NewtonMetreSecond | Unit::NewtonMetrePerMetre => 500.0,
        // A vertex amplifies rounding by the flatness of the curve.
        Unit::Second => 1e3,
        _ => 10.0,
    }
}

/// Holds every figure that is there; returns how many there are. The body's motion has tests of its own.
fn hold(simulated: &Simulated, rig: &RigSpec, measurement: &Measurement) -> usize {
    let quiet = measurement.swing.address.as_ref().expect("an address").samples.clone();
    let events = &simulated.truth.events;
    // The weight stays level a little into the takeaway.
    let ends_s = quiet.end as f64 / simulated.truth.rate_hz;
    assert!(ends_s <= events.takeaway_s + 0.25, "{quiet:?} is not quiet");
    let oracle = Oracle::new(&simulated.truth, plates(rig), quiet);
    let mut held = 0;
    for m in &measurement.metrics {
        let id = &m.metric.id;
        if id.contains("body.") || matches!(m.figure, Err(Absent::Missing(_))) {
            continue;
        }
        let expected = oracle.expect(id).unwrap_or_else(|| panic!("{id}: not known to the truth"));
        let Ok(figure) = &m.figure else {
            assert!(!expected.is_finite(), "{}: {id} is absent, the truth {expected}", simulated.rig.name);
            continue;
        };
        if m.metric.unit == Unit::Second && expected.is_nan() {
            continue;
        }
        let close = (figure.value - expected).abs() <= rounding(m.metric.unit);
        assert!(close, "{}: {id} is {}, the truth {expected}", simulated.rig.name, figure.value);
        if let Some((share, _)) = figure.by_weight {
            let close = (share - expected / oracle.weight_n()).abs() <= rounding(m.metric.unit);
            assert!(close, "{id} by weight is {share}");
        }
        assert!(!figure.estimated && figure.u >= 0.0, "{id}");
        held += 1;
    }
    held
}

/// Centres of the plates under lead and trail foot, as the bench places them: about their mean.
fn plates(rig: &RigSpec) -> Option<[glam::DVec3; 2]> {
    let mean = rig.plates.iter().map(|p| p.centre_m).sum::<glam::DVec3>() / rig.plates.len() as f64;
    (rig.plates.len() > 1).then(|| [0, 1].map(|k| rig.plates[k].centre_m - mean))
}

fn rigs() -> [RigSpec; 3] {
    let kind = PlateType::Three;
    [RigSpec::one_plate(kind), RigSpec::two_plates(kind), RigSpec::three_plates(kind)]
        .map(|rig| RigSpec { rate_hz: 500.0, ..rig })
}

#[test]
fn every_figure_is_the_truths() {
    for (style, seed) in [(Style::press(), 3), (Style::early(), 4), (Style::late(), 5), (Style::pivot(), 6)] {
        for hand in [Hand::Right, Hand::Left] {
            for rig in rigs() {
                let simulated = made(&player(hand, style.clone()), &rig, seed);
                let held = hold(&simulated, &rig, &measured(&simulated));
                let least = if rig.plates.len() > 1 { 300 } else { 80 };
                assert!(held >= least, "{}: only {held} figures", rig.name);
            }
        }
    }
}

/// The same player standing a centimetre farther toward the target or the toes: turn about a point of the rig changes
/// by what the placement figure says, turn about the net centre of pressure by nothing.
#[test]
fn placement_is_what_moving_the_player_does() {
    for hand in [Hand::Right, Hand::Left] {
        let player = player(hand, Style::early());
        let here = RigSpec { rate_hz: 500.0, ..RigSpec::two_plates(PlateType::Two) };
        let before = measured(&made(&player, &here, 12));
        for (flat, d) in [("target", [0.01, 0.0]), ("toe", [0.0, 0.01])] {
            let there = RigSpec { stand_m: [here.stand_m[0] + d[0], here.stand_m[1] + d[1]], ..here.clone() };
            let after = measured(&made(&player, &there, 12));
            let value = |m: &Measurement, id: &str| {
                m.metric(id).and_then(|m| m.figure.as_ref().ok()).unwrap_or_else(|| panic!("{id}")).value
            };
            for point in ["rig-centre", "lead-plate", "trail-plate"] {
                let turn = format!("turn.{point}.most");
                let changed = value(&after, &turn) - value(&before, &turn);
                let said = 0.01 * value(&before, &format!("placement.{point}.{flat}"));
                assert!(said.abs() > 0.01, "{hand:?} {point} {flat}: {said} N·m tests nothing");
                // The peak itself moves a little: second order in the centimetre.
                assert!(
                    (changed - said).abs() < 0.02 * said.abs() + 0.02,
                    "{hand:?} {point} {flat}: {changed} {said}"
                );
            }
            let still = value(&after, "turn.net-cop.most") - value(&before, "turn.net-cop.most");
            assert!(still.abs() < 1e-6, "{still}");
        }
    }
}
