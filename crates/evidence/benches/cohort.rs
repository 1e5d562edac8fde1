//! Cohorts: bands of 10,000 curves, depth, components, groups. `cargo bench -p evidence --bench cohort`; its peer is
//! benches/peers/cohort.py.
#![allow(clippy::unwrap_used)] // a bench may

use divan::{Bencher, black_box};
use evidence::cohort::bands::bands;
use evidence::cohort::components::components;
use evidence::cohort::depth::modified_band;
use evidence::cohort::groups::{Grouping, groups};
use evidence::{InTurn, Spread, chance::Chance};

const NODES: usize = 101;
const SHARES: [f64; 7] = [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95];

/// Two threads, every other piece each.
struct Two;

impl Spread for Two {
    fn each<T: Send>(&self, count: usize, piece: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
        let half = |own: usize| (0..count).filter(|k| k % 2 == own).map(&piece).collect::<Vec<T>>();
        let (even, odd) = std::thread::scope(|s| {
            let other = s.spawn(|| half(1));
            (half(0), other.join().unwrap())
        });
        let mut odd = odd.into_iter();
        even.into_iter().flat_map(|e| std::iter::once(e).chain(odd.next())).collect()
    }
}

fn curves(count: usize) -> Vec<Vec<f64>> {
    let mut chance = Chance::new(1, 0);
    let mut step = || chance.below(1 << 30) as f64 / f64::from(1 << 30) - 0.5;
    let one = |_| {
        let mut at = 10.0 * step();
        (0..NODES)
            .map(|_| {
                at += step();
                at
            })
            .collect()
    };
    (0..count).map(one).collect()
}

fn main() {
    divan::main();
}

#[divan::bench(args = [10_000])]
fn bands_one_thread(bencher: Bencher, count: usize) {
    let rows = curves(count);
    bencher.bench_local(|| bands(black_box(&rows), &SHARES, 0.95, &InTurn));
}

#[divan::bench(args = [10_000])]
fn bands_two_threads(bencher: Bencher, count: usize) {
    let rows = curves(count);
    bencher.bench_local(|| bands(black_box(&rows), &SHARES, 0.95, &Two));
}

#[divan::bench(args = [200, 10_000])]
fn depth_one_thread(bencher: Bencher, count: usize) {
    let rows = curves(count);
    bencher.bench_local(|| modified_band(black_box(&rows), &InTurn));
}

#[divan::bench(args = [200, 10_000])]
fn components_one_thread(bencher: Bencher, count: usize) {
    let rows = curves(count);
    let at: Vec<f64> = (0..NODES).map(|q| q as f64 / 100.0).collect();
    bencher.bench_local(|| components(black_box(&rows), &at));
}

#[divan::bench(args = [24, 200])]
fn groups_one_thread(bencher: Bencher, count: usize) {
    let how = Grouping {
        most: 6,
        least: 3,
        references: 100,
        starts: 10,
        resamples: 100,
        alpha: 0.05,
        stable: 0.75,
        seed: 1,
    };
    let rows: Vec<Vec<f64>> = curves(count).into_iter().map(|r| r[..4].to_vec()).collect();
    bencher.bench_local(|| groups(black_box(&rows), &how, &InTurn));
}
