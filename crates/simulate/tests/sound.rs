//! Sound recordings raise nothing above a note: every style, both hands, one, two and three plates, several seeds.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use mechanics::{Hand, Severity};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Style};
use swing::{Settings, analyse};

#[test]
fn sound_swings_raise_no_alarm() {
    let kind = PlateType::Two;
    let rigs = [RigSpec::one_plate(kind), RigSpec::two_plates(kind), RigSpec::three_plates(kind)];
    let mut alarms = Vec::new();
    for style in Style::all() {
        for hand in [Hand::Right, Hand::Left] {
            for (k, rig) in rigs.iter().enumerate() {
                for (seed, rate_hz) in [(1, 500.0), (6, 1000.0), (3, 1200.0)] {
                    let player = PlayerSpec { hand, ..PlayerSpec::right(style.clone()) };
                    let rig = RigSpec { rate_hz, marker_rate_hz: rate_hz / 4.0, ..rig.clone() };
                    let one = simulate::swing(&player, &rig, &Noise::USUAL, seed).expect("a swing");
                    let how = Settings { hand: Some(hand), ..Settings::UNSTATED };
                    let checked = analyse(&one.recording, &one.rig, &how).expect("a swing");
                    for found in checked.findings.iter().filter(|f| f.kind.severity > Severity::Note) {
                        alarms.push(format!(
                            "{} {hand:?} {} plates seed {seed}: {} {}",
                            style.name,
                            k + 1,
                            found.kind.code,
                            found.seen
                        ));
                    }
                }
            }
        }
    }
    assert!(alarms.is_empty(), "{}\n{}", alarms.len(), alarms.join("\n"));
}
