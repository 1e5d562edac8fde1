//! Metrics against the simulator's truth: exact without noise, covered by their intervals with it, absent for a stated
//! reason, and of a size that is published.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)] // tests may

mod coverage;
mod exact;
mod oracle;
mod plausible;
mod presence;

use mechanics::{Hand, Recording, Rig};
use simulate::{Noise, PlayerSpec, RigSpec, Simulated, Style};
use swing::events::{ByHand, EventSettings, Name};
use swing::{MeasureSettings, Measurement, Settings, measure};

/// A quick player: the mechanics do not know that the phases are short.
fn player(hand: Hand, style: Style) -> PlayerSpec {
    PlayerSpec { hand, quiet_s: 1.0, follow_s: 0.5, hold_s: 0.3, ..PlayerSpec::right(style) }
}

fn made(player: &PlayerSpec, rig: &RigSpec, seed: u64) -> Simulated {
    simulate::swing(player, rig, &Noise::NONE, seed).expect("a swing")
}

fn settings(hand: Hand) -> Settings {
    Settings { hand: Some(hand), ..Settings::UNSTATED }
}

/// The truth's events, as if placed by hand.
fn by_hand(simulated: &Simulated) -> Vec<(Name, f64)> {
    Name::ALL.into_iter().zip(simulated.truth.events.list()).map(|(name, (_, t))| (name, t)).collect()
}

fn measured_with(
    recording: &Recording,
    rig: &Rig,
    how: &Settings,
    by_hand: Vec<(Name, f64)>,
    u_s: f64,
) -> Measurement {
    let by_hand = by_hand.into_iter().map(|(name, time_s)| ByHand { name, time_s, u_s: Some(u_s) }).collect();
    let events = EventSettings { by_hand, ..EventSettings::UNSTATED };
    measure(recording, rig, how, &MeasureSettings { events, estimates: false }).expect("a swing").value
}

fn measured(simulated: &Simulated) -> Measurement {
    let how = settings(simulated.truth.hand);
    measured_with(&simulated.recording, &simulated.rig, &how, by_hand(simulated), 0.0)
}
