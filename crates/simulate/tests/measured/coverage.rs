//! Stated intervals of the figures against rigs that are off: drawn from the usual error budget, with noise, and with
//! events placed a little wrong.
//!
//! The ordinary test draws 25 rigs a bay; 2,000 are drawn by hand, with a table of every figure:
//! `cargo test --release -p simulate --test measured -- --ignored --nocapture`
use super::oracle::Oracle;
use super::{by_hand, made, measured_with, player, settings};
use glam::DVec3;
use mechanics::conditioning::{Conditioning, LowPass};
use mechanics::uncertainty::COVERAGE_95;
use mechanics::{ErrorBudget, Hand};
use simulate::chance::{Chance, Purpose};
use simulate::misfit::{draw, record};
use simulate::{PlateType, PlayerSpec, RigSpec, Simulated, Style};
use std::collections::BTreeMap;
use swing::Settings;
use swing::metrics::{Recipe, Series, When};

/// White noise that is put on every reading, N and N·m.
const NOISE: [f64; 6] = [0.8, 0.8, 0.8, 0.25, 0.25, 0.25];

/// How far events are misplaced: one standard deviation, s.
const EVENT_S: f64 = 0.002;

/// A player on a rig, read in a way.
struct Bay {
    name: &'static str,
    simulated: Simulated,
    plates: Option<[DVec3; 2]>,
    how: Conditioning,
    /// How far events are misplaced: one standard deviation, s.
    event_s: f64,
}

fn bay(name: &'static str, hand: Hand, style: Style, rig: RigSpec, states_mass: bool) -> Bay {
    let player = PlayerSpec { quiet_s: 1.2, hold_s: 0.6, ..player(hand, style) };
    let rig =
        RigSpec { rate_hz: 500.0, marker_rate_hz: 0.0, trigger: false, marks: false, states_mass, ..rig };
    let mean = rig.plates.iter().map(|p| p.centre_m).sum::<DVec3>() / rig.plates.len() as f64;
    let plates = (rig.plates.len() > 1).then(|| [0, 1].map(|k| rig.plates[k].centre_m - mean));
    Bay { name, simulated: made(&player, &rig, 21), plates, how: Conditioning::RAW, event_s: EVENT_S }
}

/// No error but noise, none stated, and events where they are: what rig errors otherwise hide.
fn noise_alone(mut bay: Bay) -> Bay {
    bay.simulated.rig.budget = ErrorBudget::NONE;
    bay.event_s = 0.0;
    bay
}

fn bays() -> [Bay; 6] {
    let two = |kind| RigSpec::two_plates(kind);
    let press = |name, weighed: bool| bay(name, Hand::Right, Style::press(), two(PlateType::Two), !weighed);
    let low = Some(LowPass { order: 2, cut_off_hz: 20.0 });
    let low_pass = Conditioning { force: low, moment: low, ..Conditioning::RAW };
    [
        press("two plates, mass stated", false),
        bay("two plates, weighed", Hand::Left, Style::early(), two(PlateType::Four), false),
        bay("one plate, weighed", Hand::Right, Style::late(), RigSpec::one_plate(PlateType::Three), false),
        Bay { how: low_pass.clone(), ..press("low-pass of 20 Hz", true) },
        Bay {
            how: Conditioning { resample_hz: Some(200.0), ..low_pass.clone() },
            ..press("low-pass of 20 Hz, then 200 Hz", true)
        },
        noise_alone(Bay { how: low_pass, ..press("low-pass of 20 Hz, noise alone", true) }),
    ]
}

/// Kinds of figures, for shares of many.
fn group(recipe: Recipe) -> &'static str {
    match recipe {
        Recipe::Value(Series::Velocity(_) | Series::Displacement(_) | Series::Power, _) => "body",
        Recipe::Time(When::Most(series) | When::Least(series))
        | Recipe::BeforeImpact(When::Most(series) | When::Least(series))
            if !matches!(series, Series::Account(_)) =>
        {
            "body"
        }
        Recipe::Value(_, When::At(_)) => "at events",
        Recipe::Value(..) | Recipe::Placement(..) => "peaks",
        Recipe::Time(_) | Recipe::BeforeImpact(_) => "times",
        Recipe::Gap(..) | Recipe::Lasts(_) | Recipe::Tempo => "gaps",
        Recipe::Integral(..) => "impulses",
        Recipe::Steepest(_) => "rates",
        Recipe::Path(_)
        | Recipe::Extent(..)
        | Recipe::Speed(..)
        | Recipe::Between(_)
        | Recipe::StanceWidth
        | Recipe::StanceAngle => "cop",
    }
}

/// What many rigs said of one figure.
#[derive(Clone, Debug, Default)]
struct Cell {
    errors: Vec<f64>,
    u: Vec<f64>,
    truth: f64,
    group: &'static str,
}

impl Cell {
    fn add(&mut self, error: f64, u: f64, truth: f64, group: &'static str) {
        self.group = group;
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
    let how = Settings { conditioning: Some(bay.how.clone()), ..settings(truth.hand) };
    let as_recorded = bay.how == Conditioning::RAW;
    // A filter changes what a peak is, and the body's motion has no formula here: then a rig without error knows.
    let perfect = measured_with(&simulated.recording, &simulated.rig, &how, by_hand(simulated), bay.event_s);
    let read = |id: &str| {
        let found = perfect.metrics.iter().find(|m| m.metric.id == id)?.figure.as_ref().ok()?;
        Some(found.value)
    };
    let mut cells: BTreeMap<String, Cell> = BTreeMap::new();
    // Most of the truth is the same for every rig.
    let mut same: BTreeMap<String, f64> = BTreeMap::new();
    for k in 0..rigs {
        let off = draw(&simulated.rig, &simulated.rig.budget, NOISE, 2026, k);
        let recording = record(&simulated.recording, &simulated.rig, &off);
        let mut chance = Chance::new(77, k, Purpose::Variation);
        let events =
            by_hand(simulated).into_iter().map(|(n, t)| (n, t + bay.event_s * chance.normal())).collect();
        let m = measured_with(&recording, &simulated.rig, &how, events, bay.event_s);
        let quiet = m.swing.address.as_ref().expect("an address").samples.clone();
        // A plate's centre as reference point is where the plate really lies.
        let plates = bay.plates.map(|p| [0, 1].map(|i| p[i] + off.plates[i].shift_m));
        let oracle = as_recorded.then(|| Oracle::new(truth, plates, quiet));
        for measured in &m.metrics {
            let (id, Ok(figure)) = (&measured.metric.id, &measured.figure) else { continue };
            // What was read of a plate's centre holds where the plate should be.
            if !as_recorded && id.contains("plate") {
                continue;
            }
            let own = ["stance", "plate", "feet"].iter().any(|word| id.contains(word));
            let known = if own { None } else { same.get(id).copied() };
            let expect = || match &oracle {
                Some(oracle) if !id.contains("body.") => oracle.expect(id),
                _ => read(id),
            };
            let Some(truth) = known.or_else(expect) else { continue };
            same.insert(id.clone(), truth);
            let group = group(measured.metric.recipe);
            if figure.u > 0.0 && truth.is_finite() {
                cells.entry(id.clone()).or_default().add(figure.value - truth, figure.u, truth, group);
            }
            if let (Some((share, u)), Some(oracle)) = (figure.by_weight, &oracle) {
                let truth = truth / oracle.weight_n();
                let id = format!("{id} by weight");
                cells.entry(id).or_default().add(share - truth, u, truth, group);
            }
        }
    }
    cells
}

/// Figures for which first order has nothing to say, with the reason; printed, not held one by one.
fn bent(id: &str, cell: &Cell) -> Option<&'static str> {
    let time = id.ends_with(".time") || id.ends_with(".before-impact");
    let mut sorted = cell.errors.clone();
    sorted.sort_by(f64::total_cmp);
    let quarter = |q: usize| sorted[q * (sorted.len() - 1) / 8];
    let starts = |list: &[&str]| list.iter().any(|start| id.starts_with(start));
    // The tails reach much farther than the middle half of a normal distribution tells.
    if time && cell.sd() > 2.5 * (quarter(6) - quarter(2)) / 1.349 {
        return Some("two humps: two extremes that the errors put in order");
    }
    if time
        && starts(&["opposition.", "lead-share.most", "up.trail.least", "target.trail.least", "entry.couple"])
    {
        return Some("level or kinked at its extreme");
    }
    if cell.truth.abs() < 1e-3 * cell.median_u() {
        return Some("0 in truth");
    }
    id.contains("entry.offset").then_some("0 in truth at one side of a bend")
}

/// Shares and ratios that are held.
struct Limits {
    all: [f64; 2],
    each: [f64; 2],
    group: f64,
    median: [f64; 2],
}

const OUTSIDE: &str = "<--";

/// Prints every figure; returns what is outside the limits.
fn hold(bay: &Bay, cells: &BTreeMap<String, Cell>, limits: &Limits) -> Vec<String> {
    let (mut covered, mut rigs, mut ratios) = (0.0, 0.0, Vec::new());
    let mut outside = Vec::new();
    let mut groups: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
    println!("{}", bay.name);
    println!(
        "{:60} {:>11} {:>9} {:>9} {:>9} {:>8} {:>6}",
        "figure", "truth", "bias", "sd", "u", "covered", "u/sd"
    );
    for (id, cell) in cells {
        let (share, ratio) = (cell.covered() / cell.rigs(), cell.median_u() / cell.sd());
        let off = share < limits.each[0] || share > limits.each[1];
        let mark = match (off, bent(id, cell)) {
            (true, Some(why)) => why,
            (true, None) => OUTSIDE,
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
        if mark == OUTSIDE {
            outside.push(format!("{id}: covered {share:.3}, u/sd {ratio:.2}"));
        }
        covered += cell.covered();
        rigs += cell.rigs();
        if bent(id, cell).is_none() {
            let (held, of) = groups.entry(cell.group).or_default();
            *held += cell.covered();
            *of += cell.rigs();
        }
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
    for (name, (held, of)) in &groups {
        let share = held / of;
        println!("{}: {name}: covered {:.2}%", bay.name, 100.0 * share);
        if share < limits.group {
            outside.push(format!("all {name}: covered {share:.3}"));
        }
    }
    let within = |v: f64, limits: [f64; 2]| v >= limits[0] && v <= limits[1];
    if !within(share, limits.all) {
        outside.push(format!("all: covered {share:.4}"));
    }
    if !within(middle, limits.median) {
        outside.push(format!("median u/sd {middle:.3}"));
    }
    outside.iter().map(|what| format!("{}: {what}", bay.name)).collect()
}

fn hold_all(rigs: u32, limits: &Limits) {
    let bays = bays();
    let seen: Vec<_> = std::thread::scope(|scope| {
        let running: Vec<_> = bays.iter().map(|bay| scope.spawn(move || run(bay, rigs))).collect();
        running.into_iter().map(|one| one.join().expect("a bay")).collect()
    });
    let outside: Vec<String> =
        bays.iter().zip(&seen).flat_map(|(bay, cells)| hold(bay, cells, limits)).collect();
    assert!(outside.is_empty(), "{outside:#?}");
}

/// Of 2,000 a share of 0.95 has a standard error of 0.5 %. Where noise lifts an extreme or hides where it is, u is on
/// the safe side: up to all intervals hold.
#[test]
#[ignore = "2,000 rigs: by hand, in release"]
fn two_thousand_rigs() {
    let limits = Limits { all: [0.93, 0.97], each: [0.90, 1.0], group: 0.90, median: [0.9, 1.15] };
    hold_all(2000, &limits);
}

/// Of 25 a share of 0.95 has a standard error of 4.4 %: four of them; the figures share their rigs, so that of all of
/// them is hardly better known.
#[test]
fn twenty_five_rigs() {
    let limits = Limits { all: [0.88, 0.99], each: [0.75, 1.0], group: 0.85, median: [0.8, 1.3] };
    hold_all(25, &limits);
}
