//! What ± costs: two plates, a foot on each, the usual budget (75 sources and the noise of 12 components).
//!
//! `nominal` and `linear` are one sample; `one_number` a column of it; `all_columns` the standard uncertainty of all 54;
//! `swing` 60 samples with three numbers each and their differences; `series` all columns of 3,000 samples.
use divan::{Bencher, black_box};
use glam::{DMat3, DVec3};
use mechanics::uncertainty::{
    Along, Booked, Column, Errors, Linear, Noise, Place, PlateAt, Point, Scene, ScenePlate, Stance, Who,
    evaluate,
};
use mechanics::wrench::Surface;
use mechanics::{ErrorBudget, Hand};

fn main() {
    divan::main();
}

fn setting() -> (Scene, Errors) {
    let level = Surface::around(&[]);
    let plate = |plate: usize, x: f64, booked| ScenePlate {
        plate,
        booked,
        centre_m: DVec3::new(x, 0.0, 0.0),
        axes: DMat3::from_cols(DVec3::X, DVec3::NEG_Y, DVec3::NEG_Z),
    };
    let plates = vec![plate(0, 0.25, Booked::Lead), plate(1, -0.25, Booked::Trail)];
    let on = |k: usize| Surface { centre_m: plates[k].centre_m, ..level };
    let scene = Scene {
        hand: Hand::Right,
        floor_n: 20.0,
        surfaces: [on(0), on(1), level],
        plates,
        asked: Place::NetCop,
        stance: Some(Stance { point_m: DVec3::ZERO, address: reading(0).to_vec() }),
        rig_plates: 2,
        origin_stated: false,
    };
    let errors =
        Errors::new(&scene, &ErrorBudget::TYPICAL, &[Noise::white([0.8, 0.8, 0.8, 0.2, 0.2, 0.2]); 2]);
    (scene, errors)
}

/// Sample `k` of an invented swing.
fn reading(k: usize) -> [PlateAt; 2] {
    let t = k as f64 / 1000.0;
    let at = |force: DVec3, cop: DVec3, free: f64| PlateAt {
        force_n: force,
        moment_nm: cop.cross(force) + DVec3::Z * free,
        force_rate: DVec3::new(500.0, -300.0, 2000.0),
        moment_rate: DVec3::new(80.0, 60.0, -40.0),
        weight: 1.0,
        noise: 1.0,
        samples: 1.0,
    };
    [
        at(
            DVec3::new(60.0 - 40.0 * t, -40.0, 500.0 + 200.0 * t),
            DVec3::new(0.25, 0.02 + 0.02 * t, 0.0),
            8.0,
        ),
        at(DVec3::new(-90.0, 70.0 + 10.0 * t, 450.0 - 100.0 * t), DVec3::new(-0.25, 0.05, 0.0), -5.0),
    ]
}

#[divan::bench]
fn nominal(bencher: Bencher) {
    let (scene, _) = setting();
    bencher.bench(|| evaluate(&scene, black_box(&reading(7)), DVec3::NAN));
}

#[divan::bench]
fn linear(bencher: Bencher) {
    let (scene, _) = setting();
    bencher.bench(|| Linear::new(&scene, black_box(&reading(7)), DVec3::NAN));
}

#[divan::bench]
fn one_number(bencher: Bencher) {
    let (scene, errors) = setting();
    let linear = Linear::new(&scene, &reading(7), DVec3::NAN);
    bencher.bench(|| linear.of(&scene, &errors, black_box(Column::Turn(Point::NetCop))));
}

#[divan::bench]
fn all_columns(bencher: Bencher) {
    let (scene, errors) = setting();
    let linear = Linear::new(&scene, &reading(7), DVec3::NAN);
    bencher.bench(|| black_box(&linear).u(&scene, &errors));
}

#[divan::bench]
fn swing(bencher: Bencher) {
    bencher.bench(|| {
        let (scene, errors) = setting();
        let mut before = Linear::new(&scene, &reading(0), DVec3::NAN);
        let mut sum = 0.0;
        for k in 0..60 {
            let linear = Linear::new(&scene, black_box(&reading(50 * k)), DVec3::NAN);
            for column in
                [Column::Turn(Point::NetCop), Column::Force(Who::Lead, Along::Up), Column::CoupleToe]
            {
                let change = linear.of(&scene, &errors, column).minus(&before.of(&scene, &errors, column));
                sum += change.u();
            }
            before = linear;
        }
        sum
    });
}

#[divan::bench]
fn series(bencher: Bencher) {
    let (scene, errors) = setting();
    bencher.bench(|| {
        (0..3000)
            .map(|k| Linear::new(&scene, black_box(&reading(k)), DVec3::NAN).u(&scene, &errors)[0])
            .sum::<f64>()
    });
}
