//! What can be put into a player: sizes of pushes, patterns of the toe–heel force, the plates of a bay.
#![allow(clippy::unwrap_used, clippy::panic)] // a test may

use glam::DVec3;
use simulate::misfit::PlateMisfit;
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Scatter, Simulated, Style, ToePeaks, Truth};

/// A statue of a player: every swing the same, no sway.
fn usual(style: Style) -> PlayerSpec {
    PlayerSpec { scatter: Scatter::NONE, sway: 0.0, ..PlayerSpec::right(style) }
}

fn bare() -> RigSpec {
    RigSpec { marker_rate_hz: 0.0, rate_hz: 500.0, ..RigSpec::two_plates(PlateType::Two) }
}

fn truth(style: Style) -> Truth {
    simulate::swing(&usual(style), &bare(), &Noise::NONE, 1).unwrap().truth
}

/// Net force in body weights and player's components.
fn net(truth: &Truth) -> Vec<DVec3> {
    let weight = truth.mass_kg * truth.gravity_m_s2;
    (0..truth.len()).map(|i| truth.player(truth.net_n(i)) / weight).collect()
}

fn most(truth: &Truth, axis: usize) -> f64 {
    net(truth).iter().map(|f| f[axis]).fold(f64::MIN, f64::max)
}

/// A body weight is lifted by the push that is added: force is mass times acceleration.
#[test]
fn a_greater_push_is_a_greater_peak() {
    let early = || Style::early();
    let up = most(&truth(early().pushing_up(0.76)), 2) - most(&truth(early()), 2);
    assert!((up - 0.10).abs() < 0.01, "up rose by {up} body weights");
    let drive = most(&truth(early().driving(0.25)), 0) - most(&truth(early()), 0);
    assert!((drive - 0.04).abs() < 0.004, "the drive rose by {drive} body weights");
    let other = most(&truth(early().pushing_up(0.76)), 0) - most(&truth(early()), 0);
    assert!(other.abs() < 1e-9, "a push up leaves the drive as it is");
}

/// One bump toward the heels, or two with hardly anything between; everything else stays.
#[test]
fn patterns_of_the_toe_force() {
    let bumps = |truth: &Truth| {
        let at = |t: f64| (t * truth.rate_hz) as usize;
        let from = at(truth.events.top_s - 0.25);
        let toe: Vec<f64> = net(truth)[from..at(truth.events.impact_s)].iter().map(|f| -f.y).collect();
        let deep = |w: &[f64]| w[1] > w[0] && w[1] >= w[2] && w[1] > 0.05;
        let peaks: Vec<usize> = (1..toe.len() - 1).filter(|&i| deep(&toe[i - 1..i + 2])).collect();
        let between = match peaks[..] {
            [a, b] => toe[a..b].iter().copied().fold(f64::MAX, f64::min),
            _ => f64::NAN,
        };
        (peaks.len(), between, toe.iter().copied().fold(f64::MIN, f64::max))
    };
    let (one, two) =
        (truth(Style::early().with_toe(ToePeaks::One)), truth(Style::early().with_toe(ToePeaks::Two)));
    let (n, _, height) = bumps(&one);
    assert!(n == 1 && (height - 0.10).abs() < 0.01, "{n} of {height}");
    let (n, between, height) = bumps(&two);
    assert!(n == 2 && (height - 0.10).abs() < 0.01 && between < 0.02, "{n} of {height}, {between} between");
    for (a, b) in net(&one).iter().zip(net(&two)) {
        assert!((a.x - b.x).abs() < 1e-9 && (a.z - b.z).abs() < 1e-9, "up and target are the same");
    }
    let turn = |t: &Truth| {
        let impact = (t.events.impact_s * t.rate_hz) as usize;
        (0..impact).map(|i| -t.moment_about(i, t.net_cop_m(i)).z).fold(f64::MIN, f64::max)
    };
    assert!((turn(&one) / turn(&two) - 1.0).abs() < 0.01, "turn {} and {}", turn(&one), turn(&two));
}

/// What a plate makes of the truth without white noise: cross-talk alone.
fn talk(bay: Option<u64>, seed: u64) -> Simulated {
    let noise = Noise { crosstalk: 0.01, ..Noise::NONE };
    simulate::swing(&usual(Style::early()), &RigSpec { bay, ..bare() }, &noise, seed).unwrap()
}

#[test]
fn the_plates_of_a_bay_are_the_same_every_day() {
    // A statue swings alike whatever the seed, so that what differs is the plates.
    let samples = |s: &Simulated| s.recording.analog.channels[0].samples.clone();
    assert_eq!(samples(&talk(Some(4), 1)), samples(&talk(Some(4), 2)));
    assert_ne!(samples(&talk(Some(4), 1)), samples(&talk(Some(5), 1)));
    assert_ne!(samples(&talk(None, 1)), samples(&talk(None, 2)));
    assert_eq!(samples(&talk(None, 1)), samples(&talk(Some(1), 2)));
}

#[test]
fn the_same_swing_felt_by_other_plates() {
    let player = PlayerSpec::right(Style::pivot());
    let here = simulate::nth(&player, &bare(), &Noise::USUAL, 3, 2).unwrap();
    let there = simulate::nth_felt(&player, &bare(), &Noise::USUAL, 3, 30, 2).unwrap();
    assert_eq!(here.truth, there.truth);
    assert_ne!(here.recording.analog, there.recording.analog);
    assert_eq!(here, simulate::nth_felt(&player, &bare(), &Noise::USUAL, 3, 3, 2).unwrap());
    // Plates that read 2 % too much.
    let high = simulate::misfit::record(&there.recording, &there.rig, &PlateMisfit::reading(1.02, 2));
    for (a, b) in there.recording.analog.channels.iter().zip(&high.analog.channels).take(12) {
        let least = a.samples.iter().zip(&b.samples).map(|(x, y)| (y - 1.02 * x).abs()).fold(0.0, f64::max);
        assert!(least < 1e-6, "{}: {least}", a.label);
    }
}
