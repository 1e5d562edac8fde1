//! Stated uncertainty against Monte Carlo: rigs drawn from the usual error budget record one swing whose truth is known,
//! and the stated 95 % intervals must cover the truth in 93 to 97 of 100.
//!
//! The ordinary test draws 150 rigs; 2,000 are drawn by hand:
//! `cargo test --release -p simulate --test coverage -- --ignored --nocapture`
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)] // tests may

use glam::DVec3;
use mechanics::feet::{FootSeries, net_only, two_feet};
use mechanics::uncertainty::{
    Along, COLUMNS, COVERAGE_95, Column, Errors, Kind, Linear, Place, PlateAt, Point, Scene, Stance, Who,
    evaluate,
};
use mechanics::wrench::wrenches;
use mechanics::{ErrorBudget, Frame, Hand, Recording, Rig};
use simulate::misfit::{Misfit, PlateMisfit, draw, record};
use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Simulated, Style};
use std::ops::Range;

/// White noise that is put on every reading, N and N·m.
const NOISE: [f64; 6] = [0.8, 0.8, 0.8, 0.25, 0.25, 0.25];

/// A swing, as a user would have it: read by the nominal rig, with the instants of interest.
struct Bay {
    simulated: Simulated,
    frame: Frame,
    hand: Hand,
    together: bool,
    address: Range<usize>,
    instants: Vec<(String, usize)>,
}

impl Bay {
    fn new(hand: Hand, rig: RigSpec, together: bool) -> Self {
        let player = PlayerSpec {
            hand,
            quiet_s: 0.7,
            follow_s: 0.5,
            hold_s: 0.3,
            ..PlayerSpec::right(Style::press())
        };
        let spec = RigSpec { rate_hz: 250.0, marker_rate_hz: 0.0, ..rig };
        let simulated = simulate::swing(&player, &spec, &Noise::NONE, 11).expect("a swing");
        let frame = Frame::new(DVec3::ZERO, DVec3::Z, DVec3::X).expect("a frame");
        let mut bay = Self { simulated, frame, hand, together, address: 25..125, instants: Vec::new() };
        let (scene, series) = bay.read(&bay.simulated.recording);
        bay.instants = bay.instants_of(&scene, &series);
        bay
    }

    fn rig(&self) -> &Rig {
        &self.simulated.rig
    }

    fn read(&self, recording: &Recording) -> (Scene, FootSeries) {
        let rig = self.rig();
        let mut lead = wrenches(recording, rig, &self.frame).value;
        lead.truncate(2);
        let series = if self.together {
            net_only(lead, rig.load_floor_n)
        } else {
            let trail = lead.split_off(1);
            two_feet(lead, trail, rig.load_floor_n)
        };
        let mut scene = Scene::new(rig, &self.frame, &series, self.hand);
        scene.asked = Place::Fixed(DVec3::new(0.1, -0.4, 0.0));
        if let Some(feet) = &series.feet {
            let mean = |foot: &mechanics::feet::Foot| {
                let contacts = &foot.contact[self.address.clone()];
                contacts.iter().map(|c| c.cop_m).sum::<DVec3>() / contacts.len() as f64
            };
            let point_m = (mean(&feet.lead) + mean(&feet.trail)) / 2.0;
            let rate = self.simulated.recording.analog.rate_hz;
            let address = scene.readings(&series, |w| PlateAt::mean(w, self.address.clone(), rate));
            scene.stance = Some(Stance { point_m, address });
        }
        (scene, series)
    }

    /// Address, impact, and the largest value of every account in either direction.
    fn instants_of(&self, scene: &Scene, series: &FootSeries) -> Vec<(String, usize)> {
        let rate = self.simulated.recording.analog.rate_hz;
        let samples = series.net.wrench.len();
        let rows: Vec<_> =
            (0..samples).map(|k| evaluate(scene, &scene.sample(series, k, rate), DVec3::NAN)).collect();
        let impact = (self.simulated.truth.events.impact_s * rate).round() as usize;
        let mut out = vec![("address".to_owned(), self.address.end - 1), ("impact".to_owned(), impact)];
        for column in [
            Column::Force(Who::Net, Along::Up),
            Column::Force(Who::Lead, Along::Up),
            Column::Force(Who::Trail, Along::Up),
            Column::Force(Who::Net, Along::Target),
            Column::Force(Who::Lead, Along::Toe),
            Column::FreeMoment(Who::Lead),
            Column::CoupleToe,
            Column::CoupleTarget,
            Column::Turn(Point::NetCop),
            Column::Turn(Point::RigCentre),
        ] {
            let value = |k: &usize| rows[*k].get(column);
            let defined = || (0..samples).filter(|k| !value(k).is_nan());
            let most = defined().max_by(|a, b| value(a).total_cmp(&value(b)));
            let least = defined().min_by(|a, b| value(a).total_cmp(&value(b)));
            out.extend(most.map(|k| (format!("most {}", column.name()), k)));
            out.extend(least.map(|k| (format!("least {}", column.name()), k)));
        }
        let mut seen = Vec::new();
        out.retain(|(_, k)| {
            let new = !seen.contains(k);
            seen.push(*k);
            new
        });
        out
    }
}

/// What many rigs said of one column at one instant.
#[derive(Clone, Copy, Default)]
struct Cell {
    /// First order can be trusted here.
    smooth: bool,
    rigs: f64,
    covered: f64,
    sum: f64,
    square: f64,
    /// Standard uncertainty as stated by the rig that reads the truth.
    u: f64,
    truth: f64,
}

impl Cell {
    fn share(&self) -> f64 {
        self.covered / self.rigs
    }
    fn sd(&self) -> f64 {
        ((self.square - self.sum * self.sum / self.rigs) / (self.rigs - 1.0)).sqrt()
    }
    /// Numbers that are judged. Left out, and said so in docs/uncertainty.md: not defined; at a bend of the formula;
    /// exact; and moments under 0.05 N·m that are a product of two numbers near 0.
    fn judged(&self, column: Column) -> bool {
        let product = matches!(column, Column::Offset(_)) && self.u < 0.05;
        self.smooth && self.truth.is_finite() && self.u > 0.0 && !product
    }
}

/// Rows: instants; then columns.
fn run(bay: &Bay, budget: &ErrorBudget, rigs: u32) -> Vec<[Cell; COLUMNS]> {
    let rate = bay.simulated.recording.analog.rate_hz;
    let (truth, series) = bay.read(&bay.simulated.recording);
    let noise = vec![mechanics::uncertainty::Noise::white(NOISE); truth.plates.len()];
    let nominal = Errors::new(&truth, budget, &noise);
    let readings: Vec<Vec<PlateAt>> =
        bay.instants.iter().map(|(_, k)| truth.sample(&series, *k, rate)).collect();
    let mut cells: Vec<[Cell; COLUMNS]> = readings
        .iter()
        .map(|at| {
            let linear = Linear::new(&truth, at, DVec3::NAN);
            let u = linear.u(&truth, &nominal);
            Column::ALL.map(|c| Cell {
                smooth: linear.is_smooth(&truth, &nominal, c),
                u: u[c.index()],
                truth: linear.value.get(c),
                ..Cell::default()
            })
        })
        .collect();
    for k in 0..rigs {
        let off = draw(bay.rig(), budget, NOISE, 2026, k);
        // A plate's centre as reference point is where the plate really lies.
        let mut real = truth.clone();
        for plate in &mut real.plates {
            plate.centre_m += bay.frame.turn(off.plates[plate.plate].shift_m);
        }
        let (scene, series) = bay.read(&record(&bay.simulated.recording, bay.rig(), &off));
        let errors = Errors::new(&scene, budget, &noise);
        for (((_, at), truly), row) in bay.instants.iter().zip(&readings).zip(&mut cells) {
            let truly = evaluate(&real, truly, DVec3::NAN);
            let linear = Linear::new(&scene, &scene.sample(&series, *at, rate), DVec3::NAN);
            let u = linear.u(&scene, &errors);
            for (c, cell) in row.iter_mut().enumerate() {
                let error = linear.value.values[c] - truly.values[c];
                if error.is_nan() {
                    continue;
                }
                cell.rigs += 1.0;
                // The last digit is no error: an exact number is covered.
                cell.covered += f64::from(u8::from(error.abs() <= COVERAGE_95 * u[c] + 1e-9));
                cell.sum += error;
                cell.square += error * error;
            }
        }
    }
    cells
}

/// How far a share of covered intervals, and a stated uncertainty against the spread that was seen, may be off.
struct Limits {
    all: [f64; 2],
    column: [f64; 2],
    cell: [f64; 2],
    /// Stated u over the standard deviation seen, pooled over a column's instants.
    ratio: [f64; 2],
}

fn within(value: f64, limits: [f64; 2], what: &str) {
    assert!(value >= limits[0] && value <= limits[1], "{what}: {value} is not within {limits:?}");
}

/// Prints one line a column, and holds the limits. At least this many numbers must have been judged.
fn hold(bay: &Bay, cells: &[[Cell; COLUMNS]], limits: &Limits, at_least: usize) {
    println!("{:26} {:>8} {:>9} {:>15} {:>7}", "column", "instants", "covered", "lowest-highest", "u / sd");
    let (mut all, mut numbers) = ((0.0, 0.0), 0);
    for column in Column::ALL {
        let judged: Vec<(&str, Cell)> = bay
            .instants
            .iter()
            .zip(cells)
            .map(|((name, _), row)| (name.as_str(), row[column.index()]))
            .filter(|(_, c)| c.judged(column))
            .collect();
        if judged.is_empty() {
            continue;
        }
        let mut sums = [0.0; 4];
        let mut range = [f64::INFINITY, f64::NEG_INFINITY];
        for (instant, c) in &judged {
            within(c.share(), limits.cell, &format!("{} at {instant}, u {}", column.name(), c.u));
            for (sum, value) in sums.iter_mut().zip([c.covered, c.rigs, 1.0, (c.u / c.sd()) * (c.u / c.sd())])
            {
                *sum += value;
            }
            range = [range[0].min(c.share()), range[1].max(c.share())];
        }
        let (share, ratio) = (sums[0] / sums[1], (sums[3] / sums[2]).sqrt());
        println!(
            "{:26} {:8} {:8.1}% {:6.1} -{:6.1}% {:7.3}",
            column.name(),
            judged.len(),
            100.0 * share,
            100.0 * range[0],
            100.0 * range[1],
            ratio
        );
        within(share, limits.column, &column.name());
        within(ratio, limits.ratio, &format!("u / sd of {}", column.name()));
        all = (all.0 + sums[0], all.1 + sums[1]);
        numbers += judged.len();
    }
    println!("{numbers} numbers judged, covered {:.2}%", 100.0 * all.0 / all.1);
    within(all.0 / all.1, limits.all, "all");
    assert!(numbers >= at_least, "only {numbers} numbers were judged");
}

fn bays() -> [(Bay, usize); 3] {
    let two = RigSpec::two_plates(PlateType::Two);
    let one = RigSpec::one_plate(PlateType::Three);
    [
        (Bay::new(Hand::Right, two.clone(), false), 850),
        (Bay::new(Hand::Left, two, true), 100),
        (Bay::new(Hand::Right, one, true), 90),
    ]
}

/// Of 2,000 a share of 0.95 has a standard error of 0.5 %: the promised 93 to 97 % hold for every number alone. A
/// standard deviation of 2,000 has one of 1.6 %; pooled over instants (which share their rigs) it is held to 5 %.
#[test]
#[ignore = "2,000 rigs: by hand, in release"]
fn two_thousand_rigs() {
    let limits = Limits { all: [0.93, 0.97], column: [0.93, 0.97], cell: [0.93, 0.97], ratio: [0.95, 1.05] };
    for (bay, at_least) in bays() {
        hold(&bay, &run(&bay, &ErrorBudget::TYPICAL, 2000), &limits, at_least);
    }
}

/// Of 150 a share of 0.95 has a standard error of 1.8 %, a standard deviation one of 5.8 %: four of them either way.
#[test]
fn a_hundred_and_fifty_rigs() {
    let limits = Limits { all: [0.93, 0.97], column: [0.88, 1.0], cell: [0.88, 1.0], ratio: [0.77, 1.23] };
    for (bay, at_least) in bays() {
        hold(&bay, &run(&bay, &ErrorBudget::TYPICAL, 150), &limits, at_least);
    }
}

/// Every source alone, really made a little, against its derivative: 38 kinds of error that two pieces of code describe
/// apart. A plate that lies at +d, or is turned by +φ, is read d and φ short.
#[test]
fn each_error_alone() {
    let bay = Bay::new(Hand::Left, RigSpec::two_plates(PlateType::Four), false);
    let rate = bay.simulated.recording.analog.rate_hz;
    let (scene, series) = bay.read(&bay.simulated.recording);
    let errors = Errors::new(&scene, &ErrorBudget::TYPICAL, &[]);
    let readings: Vec<_> = bay.instants.iter().map(|(_, k)| (*k, scene.sample(&series, *k, rate))).collect();
    let linear: Vec<Linear> = readings.iter().map(|(_, at)| Linear::new(&scene, at, DVec3::NAN)).collect();
    let small = 1e-3;
    assert_eq!(errors.sources.len(), 38 + 37);
    for (source, stance_m) in errors.sources.iter().zip(&errors.stance_m) {
        let mut off = Misfit { plates: vec![PlateMisfit::NONE; 2], seed: 0, k: 0 };
        let (size, plate) = (source.u * small, &mut off.plates[source.plate]);
        match source.kind {
            Kind::Gain(c) => plate.response[c][c] += size,
            Kind::CrossTalk { into, from } => plate.response[into][from] += size,
            Kind::Zero(c) => plate.zero[c] += size,
            Kind::Height => plate.height_m += size,
            Kind::Angle => plate.angle_rad -= size,
            Kind::Skew => plate.late_s += size,
            Kind::Position(along) => {
                for (index, plate) in off.plates.iter_mut().enumerate() {
                    plate.shift_m[along] = if index == source.plate { -0.5 * size } else { 0.5 * size };
                }
            }
        }
        let mut real = scene.clone();
        for plate in &mut real.plates {
            plate.centre_m += off.plates[plate.plate].shift_m;
        }
        let (read, series) = bay.read(&record(&bay.simulated.recording, bay.rig(), &off));
        for ((k, at), linear) in readings.iter().zip(&linear) {
            let truly = evaluate(&real, at, DVec3::NAN);
            let wrong = evaluate(&read, &read.sample(&series, *k, rate), DVec3::NAN);
            let by = linear.source(&scene, source, *stance_m);
            for column in Column::ALL {
                let c = column.index();
                if truly.values[c].is_nan() || !linear.is_smooth(&scene, &errors, column) {
                    continue;
                }
                let seen = (wrong.values[c] - truly.values[c]) / small;
                // What is left is of second order, and the curvature of the swing over two samples for the delay.
                let scale = by[c].abs() + 0.02 * linear.of(&scene, &errors, column).u();
                let share = if source.kind == Kind::Skew { 0.2 } else { 0.01 };
                let close = (seen - by[c]).abs() <= share * scale + 1e-9;
                assert!(close, "{} by {source:?}: seen {seen}, stated {}", column.name(), by[c]);
            }
        }
    }
}
