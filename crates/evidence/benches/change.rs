//! What a comparison of two sets of swings is made of; its peer is scipy (benches/peers/change.py).
#![allow(missing_docs)]

use divan::{Bencher, black_box};
use evidence::bootstrap::{Bootstrap, mean_difference};
use evidence::chance::Chance;
use evidence::permutation::{Permutation, two_groups};
use evidence::{InTurn, Spread};

fn main() {
    divan::main();
}

/// Two hands, that take every other piece.
struct Two;

impl Spread for Two {
    fn each<T: Send>(&self, count: usize, piece: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
        let piece = &piece;
        let half = |first: usize| (first..count).step_by(2).map(piece).collect::<Vec<T>>();
        let (even, odd) = std::thread::scope(|scope| {
            let other = scope.spawn(|| half(1));
            (half(0), other.join())
        });
        let mut odd = odd.unwrap_or_default().into_iter();
        let mut all = Vec::with_capacity(count);
        for value in even {
            all.push(value);
            all.extend(odd.next());
        }
        all
    }
}

fn groups() -> (Vec<f64>, Vec<f64>) {
    let mut chance = Chance::new(1, 0);
    let mut of = |n: usize, add: f64| (0..n).map(|_| add + chance.below(1000) as f64 / 100.0).collect();
    (of(20, 0.0), of(20, 2.0))
}

const BOOTSTRAP: Bootstrap = Bootstrap { resamples: 10_000, seed: 1, level: 0.95 };
const PERMUTATION: Permutation = Permutation { most: 20_000, seed: 1 };

/// BCa interval of the difference of two means of 20 values, 10,000 resamples.
#[divan::bench]
fn bca_of_a_mean_difference(bencher: Bencher<'_, '_>) {
    let (a, b) = groups();
    bencher.bench_local(|| mean_difference(black_box(&a), black_box(&b), &BOOTSTRAP, &InTurn));
}

/// The same by two threads.
#[divan::bench]
fn bca_of_a_mean_difference_by_two(bencher: Bencher<'_, '_>) {
    let (a, b) = groups();
    bencher.bench_local(|| mean_difference(black_box(&a), black_box(&b), &BOOTSTRAP, &Two));
}

/// Labels of 20 and 20 values drawn 20,000 times.
#[divan::bench]
fn permutation_of_two_groups(bencher: Bencher<'_, '_>) {
    let (a, b) = groups();
    bencher.bench_local(|| two_groups(black_box(&a), black_box(&b), &PERMUTATION, &InTurn));
}

/// The same by two threads.
#[divan::bench]
fn permutation_of_two_groups_by_two(bencher: Bencher<'_, '_>) {
    let (a, b) = groups();
    bencher.bench_local(|| two_groups(black_box(&a), black_box(&b), &PERMUTATION, &Two));
}
