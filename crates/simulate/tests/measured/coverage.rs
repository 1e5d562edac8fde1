//! Stated intervals of the figures against rigs that are off: drawn from the usual error budget, with noise, and with
//! events placed a little wrong.
//!
//! The ordinary test draws 25 rigs a bay; 2,000 are drawn by hand, with a table of every figure:
//! `cargo test --release -p simulate --test measured -- --ignored --nocapture`
use super::oracle::Oracle;
use super::{by_hand, made, measured_with, player, settings};
use glam::DVec3;
use mechanics::uncertainty::COVERAGE_95;
use mechanics::{ErrorBudget, Hand};
use simulate::chance::{Chance, Purpose};
use simulate::misfit::{draw, record};
use simulate::{PlateType, PlayerSpec, RigSpec, Simulated, Style};
use std::collections::BTreeMap;

/// White noise that is put on every reading, N and N·m.
const NOISE: [f64; 6] = [0.8, 0.8, 0.8, 0.25, 0.25, 0.25];

/// How far events are misplaced: one standard deviation, s.
const EVENT_S: f64 = 0.002;

/// A player on a rig.
struct Bay {
    name: &'static str,
    simulated: Simulated,
    plates: Option<[DVec3; 2]>,
}

fn bay(name: &'static str, hand: Hand, style: Style, rig: RigSpec, states_mass: bool) -> Bay {
    let player = PlayerSpec { quiet_s: 1.2, hold_s: 0.6, ..player(hand, style) };
    let rig =
        RigSpec { rate_hz: 500.0, marker_rate_hz: 0.0, trigger: false, marks: false, states_mass, ..rig };
    let mean = rig.plates.iter().map(|p| p.centre_m).sum::<DVec3>() / rig.plates.len() as f64;
    let plates = (rig.plates.len() > 1).then(|| [0, 1].map(|k| rig.plates[k].centre_m - mean));
    Bay { name, simulated: made(&player, &rig, 21), plates }
}

fn bays() -> [Bay; 3] {
    [
        bay(
            "two plates, mass stated",
            Hand::Right,
            Style::press(),
            RigSpec::two_plates(PlateType::Two),
            true,
        ),
        bay("two plates, weighed", Hand::Left, Style::early(), RigSpec::two_plates(PlateType::Four), false),
        bay("one plate, weighed", Hand::Right, Style::late(), RigSpec::one_plate(PlateType::Three), false),
    ]
}

/// What many rigs said of one figure.
#[derive(Clone, Debug, Default)]
struct Cell {
    errors: Vec<f64>,
    u: Vec<f64>,
    truth: f64,
}

impl Cell {
    fn add(&mut self, error: f64, u: f64, truth: f64) {
        self.errors.push(error);
        self.u.push(u);
        self.truth = truth;
    }
    fn rigs(&self) -> f64 {
        self.errors.len() as f64
    }
    fn covered(&self) -> f64 {
        // The last digit is no error.
        self.errors.iter().zip(&self.u).filter(|(e, u)| e.abs() <= COVERAGE_95 * **u + 1e-9).count() as f64
    }
    fn mean(&self) -> f64 {
        self.errors.iter().sum::<f64>() / self.rigs()
    }
    fn sd(&self) -> f64 {
        let mean = self.mean();
        (self.errors.iter().map(|e| (e - mean) * (e - mean)).sum::<f64>() / (self.rigs() - 1.0)).sqrt()
    }
    fn median_u(&self) -> f64 {
        let mut u = self.u.clone();
        u.sort_by(f64::total_cmp);
        u[u.len() / 2]
    }
}

fn run(bay: &Bay, rigs: u32) -> BTreeMap<String, Cell> {
    let (simulated, truth) = (&bay.simulated, &bay.simulated.truth);
    let mut cells: BTreeMap<String, Cell> = BTreeMap::new();
    // Most of the truth is the same for every rig.
    let mut same: BTreeMap<String, f64> = BTreeMap::new();
    for k in 0..rigs {
        let off = draw(&simulated.rig, &ErrorBudget::TYPICAL, NOISE, 2026, k);
        let recording = record(&simulated.recording, &simulated.rig, &off);
        let mut chance = Chance::new(77, k, Purpose::Variation);
        let events =
            by_hand(simulated).into_iter().map(|(n, t)| (n, t + EVENT_S * chance.normal())).collect();
        let m = measured_with(&recording, &simulated.rig, &settings(truth.hand), events, EVENT_S);
        let quiet = m.swing.address.as_ref().expect("an address").samples.clone();
        // A plate's centre as reference point is where the plate really lies.
        let plates = bay.plates.map(|p| [0, 1].map(|i| p[i] + off.plates[i].shift_m));
        let oracle = Oracle::new(truth, plates, quiet);
        for measured in &m.metrics {
            let (id, Ok(figure)) = (&measured.metric.id, &measured.figure) else { continue };
            // The body's motion has tests of its own.
            if id.contains("body.") {
                continue;
            }
            let own = ["stance", "plate", "feet"].iter().any(|word| id.contains(word));
            let known = if own { None } else { same.get(id).copied() };
            let Some(truth) = known.or_else(|| oracle.expect(id)) else { continue };
            same.insert(id.clone(), truth);
            if figure.u > 0.0 && truth.is_finite() {
                cells.entry(id.clone()).or_default().add(figure.value - truth, figure.u, truth);
            }
            if let Some((share, u)) = figure.by_weight {
                let truth = truth / oracle.weight_n();
                cells.entry(format!("{id} by weight")).or_default().add(share - truth, u, truth);
            }
        }
    }
    cells
}

/// Figures for which first order has nothing to say, with the reason; printed, not held one by one:
///
/// - the time of an extreme of a curve that has a level stretch or a kink there (a foot off the ground; opposition,
///   which is 0 until a foot changes sign; a couple where a foot loses its centre of pressure), or two extremes that
///   the errors of the rig, not noise, put in order: its distribution has two humps;
/// - an entry of the turn that is 0 in truth because a foot stands just under the load floor: the derivative on one side
///   of a bend says nothing of the other.
fn bent(id: &str, cell: &Cell) -> bool {
    let time = id.ends_with(".time") || id.ends_with(".before-impact");
    let mut sorted = cell.errors.clone();
    sorted.sort_by(f64::total_cmp);
    let quarter = |q: usize| sorted[q * (sorted.len() - 1) / 8];
    // Two humps: the tails reach much farther than the middle half of a normal distribution tells.
    let humps = cell.sd() > 2.5 * (quarter(6) - quarter(2)) / 1.349;
    let level = ["opposition.", "lead-share.most", "up.trail.least", "target.trail.least", "entry.couple"];
    (time && (humps || level.iter().any(|l| id.starts_with(l))))
        || cell.truth.abs() < 1e-3 * cell.median_u()
        || id.contains("entry.offset")
}

/// Shares and ratios that are held.
struct Limits {
    all: [f64; 2],
    each: [f64; 2],
    median: [f64; 2],
}

/// Prints every figure, holds the limits.
fn hold(bay: &Bay, cells: &BTreeMap<String, Cell>, limits: &Limits) {
    let (mut covered, mut rigs, mut ratios) = (0.0, 0.0, Vec::new());
    let mut outside = Vec::new();
    println!("{}", bay.name);
    println!(
        "{:60} {:>11} {:>9} {:>9} {:>9} {:>8} {:>6}",
        "figure", "truth", "bias", "sd", "u", "covered", "u/sd"
    );
    for (id, cell) in cells {
        let (share, ratio) = (cell.covered() / cell.rigs(), cell.median_u() / cell.sd());
        let off = share < limits.each[0] || share > limits.each[1];
        let mark = match (off, bent(id, cell)) {
            (true, true) => "bent",
            (true, false) => "<--",
            _ => "",
        };
        println!(
            "{id:60} {:11.4} {:9.1e} {:9.1e} {:9.1e} {:7.1}% {ratio:6.2} {mark}",
            cell.truth,
            cell.mean(),
            cell.sd(),
            cell.median_u(),
            100.0 * share
        );
        if mark == "<--" {
            outside.push(format!("{id}: covered {share:.3}, u/sd {ratio:.2}"));
        }
        covered += cell.covered();
        rigs += cell.rigs();
        ratios.push(ratio);
    }
    ratios.sort_by(f64::total_cmp);
    let (share, middle) = (covered / rigs, ratios[ratios.len() / 2]);
    println!(
        "{}: {} figures, covered {:.2}%, median u/sd {middle:.3}\n",
        bay.name,
        cells.len(),
        100.0 * share
    );
    let within = |v: f64, limits: [f64; 2]| v >= limits[0] && v <= limits[1];
    assert!(within(share, limits.all), "{}: {share} of all", bay.name);
    assert!(within(middle, limits.median), "{}: median u/sd {middle}", bay.name);
    assert!(outside.is_empty(), "{}: {outside:#?}", bay.name);
}

/// Of 2,000 a share of 0.95 has a standard error of 0.5 %. Where noise lifts an extreme or hides where it is, u is on
/// the safe side: up to all intervals hold.
#[test]
#[ignore = "2,000 rigs: by hand, in release"]
fn two_thousand_rigs() {
    let limits = Limits { all: [0.93, 0.97], each: [0.90, 1.0], median: [0.9, 1.15] };
    for bay in bays() {
        hold(&bay, &run(&bay, 2000), &limits);
    }
}

/// Of 25 a share of 0.95 has a standard error of 4.4 %: four of them; the figures share their rigs, so that of all of
/// them is hardly better known.
#[test]
fn twenty_five_rigs() {
    let limits = Limits { all: [0.88, 0.99], each: [0.75, 1.0], median: [0.8, 1.3] };
    for bay in bays() {
        hold(&bay, &run(&bay, 25), &limits);
    }
}
