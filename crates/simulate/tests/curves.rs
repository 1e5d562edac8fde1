//! What only the curves tell: clipping, lost samples, late plates, drift, noise, edges, units of length.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use glam::DVec3;
use mechanics::recording::Channel;
use mechanics::{Axis, Conditioning, Drift, Finding, Hand, Recording, Rig, Target, Zero};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Style, faults};
use swing::{Settings, Swing, analyse_into};

const HOW: Settings = Settings { hand: Some(Hand::Right), ..Settings::UNSTATED };

fn made(style: Style, rig: RigSpec, noise: &Noise, seed: u64) -> Recording {
    simulate::swing(&PlayerSpec::right(style), &rig, noise, seed).expect("a swing").recording
}

fn two(style: Style, seed: u64) -> Recording {
    made(style, RigSpec::two_plates(PlateType::Two), &Noise::USUAL, seed)
}

fn read(recording: &Recording, how: &Settings) -> (Swing, Vec<Finding>) {
    let rig = Rig { target: Some(Target::Axis(Axis::PlusX)), ..Rig::of_recording(recording) };
    let mut findings = Vec::new();
    let swing = analyse_into(recording, &rig, how, &mut findings).expect("a swing");
    (swing, findings)
}

fn of(recording: &Recording, code: &str) -> Vec<Finding> {
    read(recording, &HOW).1.into_iter().filter(|f| f.kind.code == code).collect()
}

#[track_caller]
fn one(recording: &Recording, code: &str) -> Finding {
    let mut found = of(recording, code);
    assert_eq!(found.len(), 1, "{code}: {found:?}");
    found.remove(0)
}

#[test]
fn a_clipped_channel_is_named_with_its_level() {
    for style in Style::all() {
        for (plate, share) in [(0, 0.8), (1, 0.95)] {
            let sound = two(style.clone(), 3);
            let found = one(&faults::clipped(&sound, plate, share), "Q320");
            assert_eq!(found.plate, Some(plate));
            let fz = &sound.analog.channels[plate * 6 + 2];
            let level = share * fz.samples.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
            assert!(found.seen.contains(&format!("{} at -{level:.1} N", fz.label)), "{level} {}", found.seen);
        }
    }
}

/// Lost while something moves; a loss in quiet standing leaves no trace.
#[test]
fn lost_samples_are_found_where_they_were_lost() {
    for style in Style::all() {
        let spoilt = faults::dropped_samples(&two(style, 3), 2.3, 20);
        let found = one(&spoilt, "Q321");
        let (from, to) = found.span_s.expect("a place");
        assert!((from - 2.3).abs() < 0.0015 && from.to_bits() == to.to_bits(), "{from} {to}");
    }
}

/// The estimate is within its own doubt of the delay that was put in, whichever plate is late; 10 ms are found where
/// the player sways enough, and no more is asked.
#[test]
fn late_plates() {
    for (style, seed) in [(Style::late(), 11), (Style::early(), 3), (Style::pivot(), 5), (Style::press(), 6)]
    {
        let sound = two(style, seed);
        for plate in [0, 1] {
            for late_ms in [20.0, 30.0] {
                let spoilt = faults::late_plate(&sound, plate, late_ms / 1000.0);
                let found = one(&spoilt, "Q322");
                assert_eq!(found.plate, Some(plate), "{}", found.seen);
                let told = found
                    .seen
                    .split_once("seems ")
                    .and_then(|(_, rest)| rest.split_once(" ms"))
                    .expect("a delay")
                    .0;
                let (ms, doubt) = told.split_once(" ± ").expect("a doubt");
                let (ms, doubt): (f64, f64) = (ms.parse().unwrap(), doubt.parse().unwrap());
                assert!((ms - late_ms).abs() < 2.0 * doubt + 1.0, "{late_ms} ms told as {told}");
            }
        }
    }
}

#[test]
fn drift_by_weight_and_by_empty_plates() {
    let down = DVec3::new(0.0, 0.0, -6.0);
    for style in Style::all() {
        let found = one(&faults::drifting(&two(style, 3), 0, down, DVec3::ZERO), "Q327");
        assert!(found.seen.contains('%') && found.plate.is_none(), "{}", found.seen);
    }
    // The third plate is empty all along: its drift is seen on itself, and --drift remove takes it off.
    let three = made(Style::late(), RigSpec::three_plates(PlateType::Two), &Noise::USUAL, 13);
    let spoilt = faults::drifting(&three, 2, down, DVec3::ZERO);
    let found = one(&spoilt, "Q327");
    assert_eq!(found.plate, Some(2));
    assert!(found.remedy().contains("--drift remove"));
    let conditioning = Conditioning { drift: Drift::Removed, ..Conditioning::RAW };
    let (_, after) = read(&spoilt, &Settings { conditioning: Some(conditioning), ..HOW });
    assert!(after.iter().all(|f| f.kind.code != "Q327"), "{after:?}");
}

/// --zero found.
#[test]
fn an_offset_is_taken_off() {
    let three = made(Style::late(), RigSpec::three_plates(PlateType::Two), &Noise::USUAL, 13);
    for (offset_n, code) in [(-18.0, "F107"), (-150.0, "Q318"), (18.0, "F107"), (150.0, "Q318")] {
        let spoilt = faults::unloaded_offset(&three, 2, DVec3::new(0.0, 0.0, offset_n), DVec3::ZERO);
        let presses = offset_n.abs() > 100.0;
        let word = if presses { "record the empty plates once" } else { "--zero found" };
        assert!(one(&spoilt, code).remedy().contains(word));
        let conditioning = Conditioning { zero: Zero::Found, ..Conditioning::RAW };
        let (_, after) = read(&spoilt, &Settings { conditioning: Some(conditioning), ..HOW });
        let left: Vec<_> = after.iter().filter(|f| ["F107", "Q318"].contains(&f.kind.code)).collect();
        // An offset that presses like a foot is not taken for an empty plate, and is still told.
        assert_eq!(left.len(), usize::from(presses), "{offset_n}: {left:?}");
    }
}

#[test]
fn noise_and_hum_are_measured() {
    let noisy = Noise { force_n: 12.0, adc: None, ..Noise::USUAL };
    let rig = RigSpec::two_plates(PlateType::Two);
    let found = of(&made(Style::late(), rig.clone(), &noisy, 3), "Q330");
    assert_eq!(found.len(), 2, "both plates");
    let told: f64 = found[0].seen.split(' ').nth(3).unwrap().parse().unwrap();
    assert!((told - 12.0).abs() < 1.2, "{}", found[0].seen);
    for hum_hz in [50.0, 60.0] {
        let humming = Noise { hum_n: 4.0, hum_hz, ..Noise::USUAL };
        let found = of(&made(Style::late(), rig.clone(), &humming, 3), "Q331");
        assert_eq!(found.len(), 2, "both plates");
        let mut words = found[0].seen.split(' ');
        let told: f64 = words.next().unwrap().parse().unwrap();
        assert!(
            (told - 4.0).abs() < 0.3 && found[0].seen.contains(&format!("at {hum_hz} Hz")),
            "{}",
            found[0].seen
        );
    }
}

#[test]
fn rates_too_low_and_modest() {
    for (rate_hz, code) in [(100.0, Some("Q328")), (250.0, Some("Q329")), (500.0, None)] {
        let rig = RigSpec { rate_hz, marker_rate_hz: rate_hz / 2.0, ..RigSpec::two_plates(PlateType::Two) };
        let (_, findings) = read(&made(Style::late(), rig, &Noise::USUAL, 3), &HOW);
        let found = findings.iter().map(|f| f.kind.code).find(|c| ["Q328", "Q329"].contains(c));
        assert_eq!(found, code, "{rate_hz} Hz");
    }
}

/// A foot put down beside the middle of its plate, and a plate whose millimetres were called metres.
#[test]
fn edges_and_lengths() {
    // The plates are 0.4 m long with 0.1 m between: half a plate on, the lead foot stands at the edge to the target.
    let rig = RigSpec { stand_m: [0.175, 0.0], ..RigSpec::two_plates(PlateType::Two) };
    let found = of(&made(Style::late(), rig, &Noise::USUAL, 3), "Q323");
    let lead = found.iter().find(|f| f.plate == Some(0)).expect("the lead foot's plate");
    for word in ["the lead foot's", "toward the target", "no plate lies beyond"] {
        assert!(lead.seen.contains(word), "{word}: {}", lead.seen);
    }
    let mut large = two(Style::late(), 3);
    large.plates[1].corners_m = large.plates[1].corners_m.map(|c| c * 1000.0);
    assert_eq!(one(&large, "Q326").plate, Some(1));
}

/// What is missing from a plate is missing from the weight, where the mass is known; else the weight changes with the
/// foot that stands beside it.
#[test]
fn a_foot_beside_its_plate() {
    let spoilt = faults::foot_off_plate(&two(Style::late(), 3), 1, 0.3);
    one(&spoilt, "Q311");
    one(&faults::says_little(&spoilt), "Q327");
}

/// One sample of a horizontal channel, two of a vertical one either way: told with channel, value and time, and nothing
/// else is made of it that the sound recording does not say.
#[test]
fn outliers_are_told_as_outliers() {
    for style in Style::all() {
        let sound = two(style.clone(), 3);
        for (plate, channel, value, samples) in
            [(0, 0, 900.0, 1), (1, 2, 4000.0, 2), (0, 2, -4000.0, 2), (1, 2, 4000.0, 1), (1, 4, 700_000.0, 3)]
        {
            for at_s in [0.35, 2.3] {
                let spoilt = faults::spike(&sound, plate, channel, at_s, value, samples);
                let found = one(&spoilt, "Q333");
                let Channel { label, unit, .. } = &spoilt.analog.channels[plate * 6 + channel];
                assert!(
                    found.seen.starts_with(&format!("{label} reads {value:.1} {unit} ")),
                    "{}",
                    found.seen
                );
                assert!(found.seen.ends_with(&format!("at {at_s:.3} s")), "{}", found.seen);
                assert_eq!(found.plate, Some(plate));
                let others: Vec<_> = read(&spoilt, &HOW).1.into_iter().map(|f| f.kind.code).collect();
                assert!(
                    !others.iter().any(|c| ["Q318", "F107", "Q321", "Q334", "Q335"].contains(c)),
                    "{others:?}"
                );
            }
        }
    }
}

#[test]
fn dead_channels_dropouts_and_copies() {
    for style in Style::all() {
        let sound = two(style, 5);
        for plate in [0, 1] {
            for (channel, value) in [(0, 0.0), (2, 0.0), (2, -3.25), (5, 0.0)] {
                let spoilt = faults::dead_channel(&sound, plate, channel, value);
                // Without a vertical force of either kind there may be no swing, but there are findings.
                let rig = Rig { target: Some(Target::Axis(Axis::PlusX)), ..Rig::of_recording(&spoilt) };
                let mut findings = Vec::new();
                let _ = analyse_into(&spoilt, &rig, &HOW, &mut findings);
                let dead: Vec<_> = findings.iter().filter(|f| f.kind.code == "Q334").collect();
                assert_eq!(dead.len(), 1, "{channel} {findings:?}");
                let label = &spoilt.analog.channels[plate * 6 + channel].label;
                assert!(dead[0].seen.starts_with(&format!("{label} reads {value} ")), "{}", dead[0].seen);
                assert_eq!(dead[0].plate, Some(plate));
                assert!(findings.iter().all(|f| f.kind.code != "Q327"), "{channel} {findings:?}");
            }
            for (to_zero, to_s) in [(true, 1.6), (false, 1.6), (true, 60.0), (false, 60.0)] {
                let spoilt = faults::dropout(&sound, plate, 1.3, to_s, to_zero);
                let found = one(&spoilt, "Q335");
                let (from, to) = found.span_s.expect("a place");
                let end = to_s.min(sound.analog.duration_s());
                assert!((from - 1.3).abs() < 0.0025 && (to - end).abs() < 0.0025, "{from} {to}");
                assert_eq!(found.plate, Some(plate));
                let drifts = of(&spoilt, "Q327");
                assert!(
                    drifts.iter().all(|f| f.plate != Some(plate) && !f.remedy().contains("drift remove"))
                );
            }
            let copied = faults::copied_plate(&sound, 1 - plate, plate);
            assert_eq!(one(&copied, "Q336").plate, Some(1));
            assert!(of(&copied, "Q334").is_empty() && of(&copied, "Q335").is_empty());
        }
    }
    // A plate nobody steps on reads exactly 0 all along, and a quiet one is left for the other foot: no fault.
    let sound = made(Style::late(), RigSpec::three_plates(PlateType::Two), &Noise::USUAL, 4);
    let unused = faults::never_loaded(&sound, 2);
    assert!(["Q334", "Q335", "Q336"].iter().all(|code| of(&unused, code).is_empty()));
}

/// Cut so that the first sample lies in the backswing, and cut to less than half a second.
#[test]
fn a_beginning_in_movement_and_an_end_too_soon() {
    for style in Style::all() {
        let made = simulate::swing(
            &PlayerSpec::right(style.clone()),
            &RigSpec::two_plates(PlateType::Two),
            &Noise::USUAL,
            3,
        )
        .expect("a swing");
        let cut = |from_s: f64, length_s: f64| {
            let mut out = made.recording.clone();
            out.markers.clear();
            out.marks.clear();
            let at = |s: f64| (s * out.analog.rate_hz).round() as usize;
            let (from, length) = (at(from_s), at(length_s));
            for channel in &mut out.analog.channels {
                channel.samples = channel.samples.iter().copied().skip(from).take(length).collect();
            }
            out
        };
        for after_s in [0.3, 0.5] {
            let found = one(&cut(made.truth.events.takeaway_s + after_s, 9.0), "Q341");
            assert!(found.seen.contains("mm/s"), "{}", found.seen);
        }
        for whole in [cut(0.0, 9.0), cut(made.truth.events.takeaway_s - 0.8, 9.0)] {
            assert!(of(&whole, "Q341").is_empty() && of(&whole, "Q342").is_empty(), "{}", style.name);
        }
        let short = cut(made.truth.events.top_s, 0.4);
        assert!(one(&short, "Q342").seen.contains("0.400 s"));
    }
}

/// A plate that drifts is not zeroed at one instant, and one that is far off is not told twice.
#[test]
fn an_offset_that_drifts_and_one_that_explains_the_rest() {
    let three = made(Style::late(), RigSpec::three_plates(PlateType::Two), &Noise::USUAL, 4);
    let offset = faults::unloaded_offset(&three, 2, DVec3::new(0.0, 0.0, -18.0), DVec3::ZERO);
    let fz = |n: f64| DVec3::new(0.0, 0.0, n);
    assert!(one(&offset, "F107").remedy().contains("--zero found"));
    let drifts = faults::drifting(&offset, 2, fz(-4.0), DVec3::ZERO);
    assert!(of(&drifts, "Q327").iter().any(|f| f.plate == Some(2)));
    let told: Vec<Finding> = ["F107", "Q318"].into_iter().flat_map(|c| of(&drifts, c)).collect();
    assert!(told.len() == 1 && !told[0].remedy().contains("--zero"), "{told:?}");

    let jump =
        simulate::jump(&simulate::JumpSpec::WORKED, &RigSpec::two_plates(PlateType::Two), &Noise::USUAL, 2)
            .expect("a jump")
            .0
            .recording;
    let far = faults::unloaded_offset(&jump, 0, fz(220.0), DVec3::new(60.0, 0.0, 0.0));
    assert_eq!(one(&far, "Q318").plate, Some(0));
    assert!(of(&far, "Q309").is_empty());
    // A moment alone puts the centre of pressure off the plate, and that is told.
    let off = faults::unloaded_offset(&jump, 0, DVec3::ZERO, DVec3::new(150.0, 0.0, 0.0));
    assert_eq!(one(&off, "Q309").plate, Some(0));
}
