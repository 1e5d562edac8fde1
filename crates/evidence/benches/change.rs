//! What a comparison of two sets of swings is made of; its peer is scipy (benches/peers/change.py).
#![allow(missing_docs)]

use divan::{Bencher, black_box};
use evidence::Spread;
use evidence::bootstrap::{Bootstrap, mean_difference};
use evidence::chance::Chance;
use evidence::permutation::{Permutation, two_groups};

fn main() {
    divan::main();
}

/// So many hands, each taking every so-many-th piece.
struct Hands(usize);

impl Spread for Hands {
    fn each<T: Send>(&self, count: usize, piece: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
        let (piece, hands) = (&piece, self.0);
        let share = move |hand: usize| (hand..count).step_by(hands).map(piece).collect::<Vec<T>>();
        let mut shares: Vec<_> = std::thread::scope(|scope| {
            let others: Vec<_> = (1..hands).map(|hand| scope.spawn(move || share(hand))).collect();
            let own = share(0);
            let rest = others.into_iter().map(|other| other.join().unwrap_or_default());
            std::iter::once(own).chain(rest).map(Vec::into_iter).collect()
        });
        (0..count).filter_map(|k| shares.get_mut(k % hands)?.next()).collect()
    }
}

fn groups() -> (Vec<f64>, Vec<f64>) {
    let mut chance = Chance::new(1, 0);
    let mut of = |n: usize, add: f64| (0..n).map(|_| add + chance.below(1000) as f64 / 100.0).collect();
    (of(20, 0.0), of(20, 2.0))
}

/// BCa interval of the difference of two means of 20 values, 10,000 resamples, by so many threads.
#[divan::bench(args = [1, 2])]
fn bca_of_a_mean_difference(bencher: Bencher<'_, '_>, hands: usize) {
    bootstrapped(bencher, hands, 10_000);
}

/// The same with 100,000 resamples.
#[divan::bench(args = [1, 2])]
fn bca_hundred_thousand(bencher: Bencher<'_, '_>, hands: usize) {
    bootstrapped(bencher, hands, 100_000);
}

fn bootstrapped(bencher: Bencher<'_, '_>, hands: usize, resamples: usize) {
    let (a, b) = groups();
    let how = Bootstrap { resamples, seed: 1, level: 0.95 };
    bencher.bench_local(|| mean_difference(black_box(&a), black_box(&b), &how, &Hands(hands)));
}

/// Labels of 20 and 20 values drawn 20,000 times, by so many threads.
#[divan::bench(args = [1, 2])]
fn permutation_of_two_groups(bencher: Bencher<'_, '_>, hands: usize) {
    permuted(bencher, hands, 20_000);
}

/// The same, drawn 200,000 times.
#[divan::bench(args = [1, 2])]
fn permutation_two_hundred_thousand(bencher: Bencher<'_, '_>, hands: usize) {
    permuted(bencher, hands, 200_000);
}

fn permuted(bencher: Bencher<'_, '_>, hands: usize, most: usize) {
    let (a, b) = groups();
    let how = Permutation { most, seed: 1 };
    bencher.bench_local(|| two_groups(black_box(&a), black_box(&b), &how, &Hands(hands)));
}
