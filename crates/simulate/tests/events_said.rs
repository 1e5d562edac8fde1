//! What is said about events: sources that disagree, marks out of order, channels that are silent, gaps in markers,
//! two swings in a file; and that no swing is invented where there is none.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use mechanics::{Channel, Mark, Recording, Rig};
use simulate::{JumpSpec, Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style};
use swing::events::{ByHand, Event, EventSettings, Events, Name, Source, locate};
use swing::{Settings, analyse};

fn made() -> Simulated {
    let rig = RigSpec { rate_hz: 500.0, ..RigSpec::two_plates(PlateType::Two) };
    simulate::swing(&PlayerSpec::right(Style::early()), &rig, &Noise::USUAL, 3).expect("a swing")
}

fn located(recording: &Recording, rig: &Rig, how: &EventSettings) -> (Events, Vec<&'static str>) {
    let settings = Settings { hand: Some(mechanics::Hand::Right), ..Settings::UNSTATED };
    let swing = analyse(recording, rig, &settings).expect("a swing").value;
    let found = locate(recording, rig, &swing, how);
    (found.value, found.findings.iter().map(|f| f.kind.code).collect())
}

fn at(events: &Events, name: Name) -> &Event {
    events.get(name).expect("an event")
}

#[test]
fn sources_are_trusted_in_order_and_agree() {
    let one = made();
    let (events, codes) = located(&one.recording, &one.rig, &EventSettings::UNSTATED);
    assert!(events.chosen.iter().all(|e| e.source == Source::File), "{:?}", events.chosen);
    assert!(events.others.iter().any(|e| e.source == Source::Trigger));
    assert!(!codes.iter().any(|c| c.starts_with("Q35")), "{codes:?}");
    let phases = events.phases();
    let (back, down) = (phases.backswing.expect("backswing"), phases.downswing.expect("downswing"));
    let tempo = phases.tempo.expect("tempo");
    assert!((tempo.ratio - back.duration_s() / down.duration_s()).abs() < 1e-12 && !tempo.estimated);
    let mut bare = one.recording.clone();
    bare.marks.clear();
    let (events, _) = located(&bare, &one.rig, &EventSettings::UNSTATED);
    assert_eq!(at(&events, Name::Impact).source, Source::Trigger);
    assert_eq!(at(&events, Name::Top).source, Source::Marker);
    assert_eq!(at(&events, Name::Takeaway).source, Source::Force);
}

#[test]
fn estimates_are_never_known() {
    let one = made();
    let mut bare = one.recording.clone();
    bare.marks.clear();
    bare.markers.clear();
    bare.analog.channels.last_mut().expect("a channel").label = "AUX".into();
    let (events, codes) = located(&bare, &Rig { trigger: None, ..one.rig.clone() }, &EventSettings::UNSTATED);
    for name in [Name::Top, Name::Impact] {
        assert_eq!(at(&events, name).source, Source::Estimate);
        assert_eq!(events.known(name), None);
        assert!(at(&events, name).u_s > 0.03, "an estimate this sure is a measurement");
    }
    assert!(events.known(Name::Takeaway).is_some());
    assert!(events.phases().tempo.expect("tempo").estimated);
    assert_eq!(codes.iter().filter(|c| **c == "Q353").count(), 2);
}

#[test]
fn a_wrong_mark_is_doubted_and_a_hand_settles_it() {
    let one = made();
    let mut wrong = one.recording.clone();
    let impact = one.truth.events.impact_s;
    for mark in wrong.marks.iter_mut().filter(|m| m.label == "impact") {
        mark.time_s += 0.1;
    }
    let (_, codes) = located(&wrong, &one.rig, &EventSettings::UNSTATED);
    assert!(codes.contains(&"Q350"), "{codes:?}");
    let how = EventSettings { by_hand: vec![ByHand::at(Name::Impact, impact)], ..EventSettings::UNSTATED };
    let (events, codes) = located(&wrong, &one.rig, &how);
    assert_eq!(at(&events, Name::Impact).source, Source::Hand);
    assert!(!codes.contains(&"Q350"), "{codes:?}");
}

#[test]
fn marks_out_of_order_or_outside_are_told() {
    let one = made();
    let early = EventSettings { by_hand: vec![ByHand::at(Name::Impact, 1.6)], ..EventSettings::UNSTATED };
    let (events, codes) = located(&one.recording, &one.rig, &early);
    assert!(codes.contains(&"Q351"), "{codes:?}");
    assert_eq!(events.phases().downswing, None);
    let outside = EventSettings { by_hand: vec![ByHand::at(Name::Impact, 99.0)], ..EventSettings::UNSTATED };
    let (events, codes) = located(&one.recording, &one.rig, &outside);
    assert!(codes.contains(&"Q352"), "{codes:?}");
    assert_eq!(at(&events, Name::Impact).source, Source::File);
    let mut more = one.recording.clone();
    more.marks.push(Mark { label: "Waggle".into(), context: String::new(), time_s: 0.3 });
    let (events, _) = located(&more, &one.rig, &EventSettings::UNSTATED);
    assert_eq!(events.unnamed.iter().map(|u| u.label.as_str()).collect::<Vec<_>>(), ["Waggle"]);
}

#[test]
fn a_silent_trigger_is_told_and_a_label_is_only_a_candidate() {
    let one = made();
    let mut bare = one.recording.clone();
    bare.marks.clear();
    bare.markers.clear();
    let (events, codes) = located(&bare, &Rig { trigger: None, ..one.rig.clone() }, &EventSettings::UNSTATED);
    assert!(at(&events, Name::Impact).seen.contains("by its label"));
    assert!(codes.contains(&"Q356"), "{codes:?}");
    let channel = one.rig.trigger.as_ref().expect("a trigger").channel;
    bare.analog.channels[channel].samples.fill(0.0);
    let (events, codes) = located(&bare, &one.rig, &EventSettings::UNSTATED);
    assert!(codes.contains(&"Q355"), "{codes:?}");
    assert_eq!(at(&events, Name::Impact).source, Source::Estimate);
    // A channel of that name that acts long before the swing marks something else.
    bare.analog.channels.push(Channel {
        label: "TRIGGER".into(),
        samples: vec![0.0; bare.analog.len()],
        ..Channel::default()
    });
    bare.analog.channels.last_mut().expect("a channel").samples[20..].fill(5.0);
    let (events, _) = located(&bare, &Rig { trigger: None, ..one.rig }, &EventSettings::UNSTATED);
    assert_eq!(at(&events, Name::Impact).source, Source::Estimate);
}

#[test]
fn a_gap_in_the_marker_widens_what_it_hides() {
    let one = made();
    let marker = |gap_s: (f64, f64)| {
        let mut seen = one.recording.clone();
        seen.marks.clear();
        let rate = seen.marker_rate_hz;
        let club = seen.markers.iter_mut().find(|m| m.label == "CLUBHEAD").expect("a club");
        for (k, place) in club.path_m.iter_mut().enumerate() {
            if (gap_s.0..gap_s.1).contains(&(k as f64 / rate)) {
                *place = [f32::NAN; 3];
            }
        }
        let (events, _) = located(&seen, &Rig { trigger: None, ..one.rig.clone() }, &EventSettings::UNSTATED);
        let all: Vec<Event> = events.chosen.into_iter().chain(events.others).collect();
        move |name: Name| all.iter().find(|e| e.name == name && e.source == Source::Marker).cloned()
    };
    let t = &one.truth.events;
    let whole = marker((0.0, 0.0));
    let narrow = marker((t.impact_s - 0.01, t.impact_s + 0.02))(Name::Impact).expect("an impact");
    assert!((narrow.time_s - t.impact_s).abs() < 1.96 * narrow.u_s, "{narrow:?}, truth {}", t.impact_s);
    assert!(whole(Name::Impact).is_some());
    assert_eq!(marker((t.impact_s - 0.05, t.impact_s + 0.05))(Name::Impact), None);
    let top = marker((t.top_s - 0.02, t.top_s + 0.02))(Name::Top).expect("a top");
    assert!(top.u_s > whole(Name::Top).expect("a top").u_s);
    assert!((top.time_s - t.top_s).abs() < 1.96 * top.u_s);
}

#[test]
fn two_swings_in_a_file_are_told() {
    let one = made();
    let mut twice = one.recording.clone();
    twice.marks.clear();
    twice.markers.clear();
    for channel in &mut twice.analog.channels {
        let again = channel.samples.clone();
        channel.samples.extend(again);
    }
    let (_, codes) = located(&twice, &Rig { trigger: None, ..one.rig.clone() }, &EventSettings::UNSTATED);
    assert!(codes.contains(&"Q354"), "{codes:?}");
    let (_, codes) = located(&one.recording, &one.rig, &EventSettings::UNSTATED);
    assert!(!codes.contains(&"Q354"), "{codes:?}");
}

#[test]
fn a_jump_is_no_swing() {
    let made = simulate::jump(&JumpSpec::WORKED, &RigSpec::two_plates(PlateType::Two), &Noise::USUAL, 1)
        .expect("a jump")
        .0;
    let mut bare = made.recording.clone();
    bare.marks.clear();
    let (events, codes) = located(&bare, &Rig { trigger: None, ..made.rig }, &EventSettings::UNSTATED);
    assert_eq!(events.chosen, []);
    assert_eq!(events.absent.len(), 5);
    assert!(codes.contains(&"Q357"), "{codes:?}");
}
