//! The whole way, recording to metrics, against Monte Carlo: rigs drawn from the usual error budget record one swing,
//! events are placed with their stated error, and each metric's 95 % interval is held against what a perfect rig says.
//!
//! By hand: `cargo test --release -p simulate --test coverage_metrics -- --ignored --nocapture`
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)] // tests may

use mechanics::uncertainty::COVERAGE_95;
use mechanics::{ErrorBudget, Hand, Recording};
use simulate::chance::{Chance, Purpose};
use simulate::misfit::{draw, record};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style};
use swing::{MeasureSettings, Measurement, Settings, measure};

/// White noise that is put on every reading, N and N·m.
const NOISE: [f64; 6] = [0.8, 0.8, 0.8, 0.25, 0.25, 0.25];

fn simulated() -> Simulated {
    let player = PlayerSpec { quiet_s: 0.9, follow_s: 0.7, hold_s: 0.4, ..PlayerSpec::right(Style::press()) };
    let rig = RigSpec {
        rate_hz: 500.0,
        marker_rate_hz: 0.0,
        trigger: false,
        states_mass: false,
        ..RigSpec::two_plates(PlateType::Two)
    };
    simulate::swing(&player, &rig, &Noise::NONE, 11).expect("a swing")
}

fn read(recording: &Recording, simulated: &Simulated) -> Measurement {
    let how = Settings { hand: Some(Hand::Right), ..Settings::UNSTATED };
    measure(recording, &simulated.rig, &how, &MeasureSettings::UNSTATED).expect("a swing").value
}

/// What many rigs said of one metric.
#[derive(Clone, Copy, Default)]
struct Row {
    rigs: f64,
    covered: f64,
    sum: f64,
    square: f64,
    u: f64,
}

fn run(rigs: u32) -> Vec<(String, f64, Row)> {
    let simulated = simulated();
    let truth = read(&simulated.recording, &simulated);
    let mut rows = vec![Row::default(); truth.metrics.len()];
    for k in 0..rigs {
        let off = draw(&simulated.rig, &ErrorBudget::TYPICAL, NOISE, 77, k);
        let mut recording = record(&simulated.recording, &simulated.rig, &off);
        let mut chance = Chance::new(77, k, Purpose::Markers);
        for mark in &mut recording.marks {
            let event = truth.events.chosen.iter().find(|e| (e.time_s - mark.time_s).abs() < 1e-9);
            mark.time_s += event.map_or(0.0, |e| e.u_s) * chance.normal();
        }
        let said = read(&recording, &simulated);
        for ((row, said), known) in rows.iter_mut().zip(&said.metrics).zip(&truth.metrics) {
            let (Ok(said), Ok(known)) = (&said.figure, &known.figure) else { continue };
            let error = said.value - known.value;
            row.rigs += 1.0;
            row.covered += f64::from(u8::from(error.abs() <= COVERAGE_95 * said.u + 1e-9));
            row.sum += error;
            row.square += error * error;
            row.u += said.u;
        }
    }
    truth
        .metrics
        .iter()
        .zip(rows)
        .map(|(m, row)| (m.metric.id.clone(), m.figure.as_ref().map_or(f64::NAN, |f| f.value), row))
        .collect()
}

/// Metrics whose interval is known to cover too seldom, and why. Everything else is held.
fn hard(id: &str) -> bool {
    let starts = |list: &[&str]| list.iter().any(|start| id.starts_with(start));
    // Whenever a number is always 0 its greatest value is noise: feet that both press down are never opposed.
    starts(&["opposition.up."])
        // One foot carries everything for a while: the share is level, and its peak is where noise puts it.
        || starts(&["lead-share.most.", "lead-share.least.", "up.lead.least.", "up.trail.most.", "gap.up.trail.most."])
        // Two peaks within the errors of each other: the truth lies at one of two places, no interval is right.
        || starts(&["target.lead.most.", "turn.stance.least.", "entry.couple-toe.least.", "entry.couple-target."])
        // The body hardly moves that way (7 mm): an extreme of errors, which is not centred.
        || id == "body.displacement.toe.most"
}

/// Prints every metric and holds: all together, and each one that is not [`hard`].
fn hold(rigs: u32, all: [f64; 2], least: f64) {
    let (mut sum, mut count, mut low) = (0.0, 0.0, Vec::new());
    for (id, value, row) in run(rigs).into_iter().filter(|(_, _, row)| row.rigs > 0.0) {
        let mean = row.sum / row.rigs;
        let sd = (row.square / row.rigs - mean * mean).sqrt();
        let (u, covered) = (row.u / row.rigs, row.covered / row.rigs);
        println!(
            "{id:44} {value:11.4} u {u:10.5} sd {sd:10.5} u/sd {:6.3} bias/sd {:6.3} covered {covered:6.3} of {}",
            u / sd,
            mean / sd,
            row.rigs
        );
        sum += covered;
        count += 1.0;
        if covered < least && !hard(&id) {
            low.push(format!("{id} {covered}"));
        }
    }
    assert!(count > 300.0, "{count} metrics had a figure");
    let share = sum / count;
    println!("{count} metrics, covered {share:.4}");
    assert!(share >= all[0] && share <= all[1], "covered {share}");
    assert!(low.is_empty(), "covered too seldom: {low:?}");
}

/// A share of 0.95 of 2,000 has a standard error of 0.5 %. Peaks' own intervals are on the wide side: what noise does
/// to an extreme value and to its place is bounded, not drawn.
#[test]
#[ignore = "2,000 rigs: by hand, in release"]
fn two_thousand_rigs() {
    hold(2000, [0.93, 0.97], 0.90);
}

/// A share of 0.95 of 60 has a standard error of 2.8 %.
#[test]
fn sixty_rigs() {
    hold(60, [0.92, 0.98], 0.80);
}
