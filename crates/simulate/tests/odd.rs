//! Recordings that are hardly any: short, slow, full of gaps, constant. Nothing may panic, whatever is found.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use mechanics::{Hand, Recording, Rig};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Style};
use swing::{Settings, analyse_into};

fn checked(recording: &Recording) -> Vec<&'static str> {
    let how = Settings { hand: Some(Hand::Left), ..Settings::UNSTATED };
    let mut findings = Vec::new();
    // With or without a swing: what matters is that it comes back.
    let _ = analyse_into(recording, &Rig::of_recording(recording), &how, &mut findings);
    findings.iter().map(|f| f.kind.code).collect()
}

fn recordings() -> Vec<Recording> {
    let player = PlayerSpec::right(Style::press());
    [PlateType::Two, PlateType::Three]
        .into_iter()
        .flat_map(|kind| [RigSpec::one_plate(kind), RigSpec::two_plates(kind)])
        .map(|rig| {
            let rig = RigSpec { rate_hz: 200.0, marker_rate_hz: 50.0, ..rig };
            simulate::swing(&player, &rig, &Noise::USUAL, 4).expect("a swing").recording
        })
        .collect()
}

#[test]
fn short_ones() {
    for whole in recordings() {
        for samples in [0, 1, 2, 3, 4, 5, 7, 9, 12, 20, 50, 120, 300] {
            let mut short = whole.clone();
            short.analog.channels.iter_mut().for_each(|c| c.samples.truncate(samples));
            checked(&short);
            // Channels of unlike length too.
            short.analog.channels[2].samples.truncate(samples / 2);
            checked(&short);
        }
    }
}

#[test]
fn slow_fast_and_unstated_rates() {
    for whole in recordings() {
        for rate in [f64::NAN, 0.0, -5.0, f64::INFINITY, 1e-3, 1.0, 5.0, 11.0, 13.9, 30.0, 99.0, 1e6, 1e12] {
            let mut odd = whole.clone();
            odd.analog.rate_hz = rate;
            let found = checked(&odd);
            // So slow a clock counts milliseconds, or less.
            assert_eq!(found.contains(&"Q340"), rate > 0.0 && rate <= 10.0, "{rate}: {found:?}");
            assert_eq!(found.contains(&"Q328"), rate > 10.0 && rate < 200.0, "{rate}: {found:?}");
        }
    }
}

#[test]
fn gaps_and_constants() {
    for whole in recordings() {
        let channels = whole.analog.channels.len();
        for value in [f64::NAN, f64::INFINITY, 0.0, 1e308, -3.0] {
            for channel in 0..channels {
                let mut odd = whole.clone();
                odd.analog.channels[channel].samples.fill(value);
                checked(&odd);
            }
            let mut all = whole.clone();
            all.analog.channels.iter_mut().for_each(|c| c.samples.fill(value));
            checked(&all);
            let mut part = whole.clone();
            part.analog.channels.iter_mut().for_each(|c| {
                let n = c.samples.len();
                c.samples[n / 3..n / 2].fill(value);
            });
            checked(&part);
        }
    }
}
