//! A recording in memory → a measured swing: 3 s of two plates at 1 kHz, an invented player, the rig's usual errors.
//!
//! `measure` is the whole of [`swing::measure()`]: conditioning with a 50 Hz low-pass and a zero looked for, accounts,
//! quality findings, events, and all metrics with their uncertainty. The other rows are its steps, one at a time.
//! Compared with NumPy and SciPy by `scripts/bench`.
#![allow(clippy::panic)] // a bench may
use divan::{Bencher, black_box};
use mechanics::conditioning::{Conditioning, LowPass, Zero};
use mechanics::{Axis, Hand, Recording, Rig, Target};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Style};
use swing::events::{EventSettings, locate};
use swing::metrics::figures;
use swing::{MeasureSettings, Settings, Swing, analyse, body, measure};

fn main() {
    // The same recording as a file, for the peer.
    match std::env::var_os("UNDERFOOT_BENCH_FILE") {
        Some(path) => {
            let image = formats::c3d::encode(&bay(0.0).recording, &formats::c3d::Encoding::PLAIN);
            let written = image.map_err(|why| why.to_string());
            let written =
                written.and_then(|image| std::fs::write(path, image).map_err(|why| why.to_string()));
            written.unwrap_or_else(|why| panic!("no recording was written: {why}"));
        }
        None => divan::main(),
    }
}

/// What is measured, and how.
struct Bay {
    recording: Recording,
    rig: Rig,
    how: Settings,
}

/// Three seconds, events marked in the file; `marker_rate_hz` 0: no markers.
fn bay(marker_rate_hz: f64) -> Bay {
    let player = PlayerSpec {
        quiet_s: 0.9,
        backswing_s: 0.8,
        downswing_s: 0.25,
        follow_s: 0.7,
        hold_s: 0.35,
        ..PlayerSpec::right(Style::press())
    };
    let spec = RigSpec { marker_rate_hz, ..RigSpec::two_plates(PlateType::Two) };
    let made = simulate::swing(&player, &spec, &Noise::USUAL, 1).unwrap_or_else(|why| panic!("{why}"));
    let low = Some(LowPass { order: LowPass::ORDER, cut_off_hz: 50.0 });
    let conditioning = Conditioning { zero: Zero::Found, force: low, moment: low, ..Conditioning::RAW };
    let how = Settings {
        target: Some(Target::Axis(Axis::PlusX)),
        hand: Some(Hand::Right),
        conditioning: Some(conditioning),
        ..Settings::UNSTATED
    };
    Bay { recording: made.recording, rig: made.rig, how }
}

impl Bay {
    fn swing(&self) -> Swing {
        match analyse(&self.recording, &self.rig, &self.how) {
            Ok(checked) => checked.value,
            Err(why) => panic!("{why:?}"),
        }
    }
}

/// By the rate of the club's markers, Hz.
#[divan::bench(name = "measure", args = [0.0, 250.0])]
fn whole(bencher: Bencher, marker_rate_hz: f64) {
    let at = bay(marker_rate_hz);
    bencher.bench(|| measure(black_box(&at.recording), &at.rig, &at.how, &MeasureSettings::UNSTATED));
}

/// Conditioning, accounts and quality findings.
#[divan::bench(name = "analyse")]
fn accounts(bencher: Bencher) {
    let at = bay(0.0);
    bencher.bench(|| analyse(black_box(&at.recording), &at.rig, &at.how));
}

#[divan::bench(name = "locate")]
fn events(bencher: Bencher) {
    let at = bay(0.0);
    let swing = at.swing();
    bencher.bench(|| locate(black_box(&at.recording), &at.rig, &swing, &EventSettings::UNSTATED));
}

/// The body's motion from force.
#[divan::bench(name = "body")]
fn motion(bencher: Bencher) {
    let at = bay(0.0);
    let swing = at.swing();
    bencher.bench(|| body::of(black_box(&swing), &at.rig.budget));
}

/// Every metric of the catalogue, with its uncertainty.
#[divan::bench(name = "metrics")]
fn all_figures(bencher: Bencher) {
    let at = bay(0.0);
    let swing = at.swing();
    let events = locate(&at.recording, &at.rig, &swing, &EventSettings::UNSTATED).value;
    let body = body::of(&swing, &at.rig.budget).ok();
    bencher.bench(|| figures(black_box(&swing), &at.rig, &events, body.as_ref(), &[], false));
}
