//! Which figures there are: what two plates alone can tell, what needs an event, and what an estimate may stand for.
use super::{by_hand, made, measured, measured_with, player, settings};
use mechanics::Hand;
use simulate::{PlateType, PlayerSpec, RigSpec, Simulated, Style};
use std::collections::BTreeSet;
use swing::events::{EventSettings, Name};
use swing::metrics::{Absent, Need};
use swing::{MeasureSettings, Measurement, Settings, measure};

fn bare(rig: RigSpec) -> RigSpec {
    RigSpec { rate_hz: 500.0, marker_rate_hz: 0.0, trigger: false, marks: false, ..rig }
}

fn two() -> Simulated {
    let rig = bare(RigSpec::two_plates(PlateType::Two));
    made(&player(Hand::Right, Style::press()), &rig, 8)
}

fn one() -> Simulated {
    let rig = bare(RigSpec::one_plate(PlateType::Two));
    made(&player(Hand::Right, Style::press()), &rig, 8)
}

fn ids(measurement: &Measurement) -> BTreeSet<&str> {
    let there = measurement.metrics.iter().filter(|m| m.figure.is_ok());
    there.map(|m| m.metric.id.as_str()).collect()
}

/// A figure that speaks of one foot, or of the feet's places, told from the words of its id.
fn of_a_foot(id: &str) -> bool {
    let words: Vec<&str> = id.split(['.', '-']).collect();
    ["lead", "trail", "couple", "opposition", "share", "stance", "mid", "feet"]
        .iter()
        .any(|w| words.contains(w))
}

#[test]
fn one_plate_has_what_it_can_have() {
    let m = measured(&one());
    let mut absent = 0;
    for metric in m.metrics.iter().filter(|m| !m.metric.id.contains("body.")) {
        let id = &metric.metric.id;
        match &metric.figure {
            Ok(_) => assert!(!of_a_foot(id), "{id} on one plate"),
            Err(why) => {
                assert!(of_a_foot(id), "{id} is absent: {}", why.words());
                assert_eq!(*why, Absent::Missing(vec![Need::TwoFeet]), "{id}");
                assert_eq!(why.words(), "the feet share a plate");
                absent += 1;
            }
        }
    }
    assert!(absent > 150, "{absent}");
    let both = measured(&two());
    let missing: Vec<&str> = both
        .metrics
        .iter()
        .filter(|m| m.figure.is_err() && !m.metric.id.contains("body."))
        .map(|m| m.metric.id.as_str())
        .collect();
    assert_eq!(missing, Vec::<&str>::new(), "with two plates and every event nothing is absent");
}

/// Two plates taken for one tell what one plate under both feet would have told, to rounding.
#[test]
fn collapsed_is_the_one_plate_recording() {
    let (two, one) = (two(), one());
    let how = Settings { collapse: true, ..settings(Hand::Right) };
    let a = measured_with(&two.recording, &two.rig, &how, by_hand(&two), 0.0);
    let b = measured(&one);
    assert_eq!(ids(&a), ids(&b));
    let mut same = 0;
    for (a, b) in a.metrics.iter().zip(&b.metrics) {
        let (Ok(x), Ok(y)) = (&a.figure, &b.figure) else { continue };
        // The address may be taken elsewhere in a weight that does not vary.
        if a.metric.id.contains("body.") {
            continue;
        }
        let close = (x.value - y.value).abs() <= 1e-6 * (1.0 + y.value.abs());
        assert!(close, "{}: {} collapsed, {} on one plate", a.metric.id, x.value, y.value);
        same += 1;
    }
    assert!(same > 80, "{same}");
}

/// A mirror changes no figure, and none of their uncertainties.
#[test]
fn a_left_handed_player_is_the_mirror() {
    let rig = bare(RigSpec::two_plates(PlateType::Two));
    let right = measured(&two());
    let left = measured(&made(&player(Hand::Left, Style::press()), &rig, 8));
    assert_eq!(ids(&right), ids(&left));
    for (r, l) in right.metrics.iter().zip(&left.metrics) {
        let (Ok(r), Ok(l), id) = (&r.figure, &l.figure, &r.metric.id) else { continue };
        // The quiet half second is one of many that are equally quiet.
        let scale =
            if id.contains("stance") || id.contains("between") || id.contains("body.") { 0.02 } else { 1e-6 };
        let close = |a: f64, b: f64| (a - b).abs() <= scale * (1e-3 + b.abs());
        assert!(close(r.value, l.value), "{id}: right {}, left {}", r.value, l.value);
        assert!(close(r.u, l.u), "{id}: u right {}, left {}", r.u, l.u);
    }
}

/// Without an event every figure that needs it is absent and says so; nothing else is.
#[test]
fn an_event_that_is_not_known_is_named() {
    let made = two();
    for (name, need) in [(Name::Top, Need::Top), (Name::Impact, Need::Impact)] {
        let known = by_hand(&made).into_iter().filter(|(n, _)| *n != name).collect();
        let m = measured_with(&made.recording, &made.rig, &settings(Hand::Right), known, 0.0);
        let mut absent = 0;
        for metric in m.metrics.iter().filter(|m| !m.metric.id.contains("body.")) {
            let needed = metric.metric.needs.contains(&need);
            let missing = metric.figure == Err(Absent::Missing(vec![need]));
            assert_eq!(needed, missing, "{}: {:?}", metric.metric.id, metric.figure);
            absent += usize::from(missing);
        }
        assert!(absent > 40, "{absent} figures need the {}", name.name());
    }
}

/// Force alone gives top and impact as estimates: no figure rests on one unless it is asked for, and then it says so.
#[test]
fn estimates_feed_nothing_unless_asked() {
    // The finish is held, so that force alone shows it.
    let player = PlayerSpec { hold_s: 1.2, ..player(Hand::Right, Style::press()) };
    let made = made(&player, &bare(RigSpec::two_plates(PlateType::Two)), 8);
    let with = |estimates: bool| {
        let what = MeasureSettings { events: EventSettings::UNSTATED, estimates };
        measure(&made.recording, &made.rig, &settings(Hand::Right), &what).expect("a swing").value
    };
    let (strict, lenient) = (with(false), with(true));
    for name in [Name::Top, Name::Impact] {
        let event = strict.events.get(name).expect("an estimate");
        assert_eq!(event.source, swing::events::Source::Estimate);
    }
    let mut rested = 0;
    for (s, l) in strict.metrics.iter().zip(&lenient.metrics) {
        let (id, needs) = (&s.metric.id, &s.metric.needs);
        let rests = needs.contains(&Need::Top) || needs.contains(&Need::Impact);
        if rests {
            assert!(
                matches!(&s.figure, Err(Absent::Missing(what)) if what.iter().all(|n| needs.contains(n))),
                "{id}"
            );
        }
        match (&s.figure, &l.figure) {
            (Ok(s), Ok(l)) => assert!(!s.estimated && !l.estimated && s.value == l.value, "{id}"),
            (Err(_), Ok(l)) => {
                assert!(rests && l.estimated, "{id} does not say that it is estimated");
                rested += 1;
            }
            (_, Err(why)) => {
                assert!(id.contains("body.") || matches!(why, Absent::Undefined), "{id}: {}", why.words())
            }
        }
    }
    assert!(rested > 80, "{rested} figures rest on an estimate");
}
