//! Two groups of 20 curves of 101 nodes, 10,000 rearrangements; the peer is spm1d (benches/peers/curves.py runs both).
#![allow(missing_docs, clippy::unwrap_used)]

use divan::{Bencher, black_box};
use evidence::chance::Chance;
use evidence::curves::{Comparison, Rule, Tails, by_field, by_permutation};
use evidence::permutation::Permutation;
use evidence::{InTurn, Spread};

fn main() {
    divan::main();
}

/// Work dealt to so many threads, each the pieces whose number leaves it over.
struct Threads(usize);

impl Spread for Threads {
    fn each<T: Send>(&self, count: usize, piece: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
        let (piece, hands) = (&piece, self.0);
        let mut done: Vec<(usize, T)> = std::thread::scope(|scope| {
            let own =
                |hand| scope.spawn(move || (hand..count).step_by(hands).map(|k| (k, piece(k))).collect());
            let all: Vec<std::thread::ScopedJoinHandle<'_, Vec<(usize, T)>>> = (0..hands).map(own).collect();
            all.into_iter().flat_map(|hand| hand.join().unwrap()).collect()
        });
        done.sort_by_key(|(k, _)| *k);
        done.into_iter().map(|(_, value)| value).collect()
    }
}

const RULE: Rule = Rule { alpha: 0.05, tails: Tails::Both };
const HOW: Permutation = Permutation { most: 10_000, seed: 1 };

/// Sums of a dozen steps: smooth enough, and the same numbers everywhere.
fn curves(count: usize, nodes: usize, block: usize, lift: f64) -> Vec<Vec<f64>> {
    let mut chance = Chance::new(7, block);
    let mut one = || {
        let noise: Vec<f64> =
            (0..nodes + 12).map(|_| chance.below(1 << 20) as f64 / 2_f64.powi(20) - 0.5).collect();
        noise.windows(13).take(nodes).map(|w| lift + w.iter().sum::<f64>()).collect()
    };
    (0..count).map(|_| one()).collect()
}

fn two(lift: f64) -> (Vec<Vec<f64>>, Vec<Vec<f64>>) {
    (curves(20, 101, 0, lift), curves(20, 101, 1, 0.0))
}

/// Nothing to see, no stretch to weigh.
#[divan::bench]
fn two_groups_nothing(bencher: Bencher<'_, '_>) {
    let (a, b) = two(0.0);
    bencher.bench_local(|| by_permutation(&Comparison::TwoGroups(black_box(&a), &b), RULE, &HOW, &InTurn));
}

/// A difference, so that stretches are weighed too.
#[divan::bench]
fn two_groups_different(bencher: Bencher<'_, '_>) {
    let (a, b) = two(1.5);
    bencher.bench_local(|| by_permutation(&Comparison::TwoGroups(black_box(&a), &b), RULE, &HOW, &InTurn));
}

/// The same on two threads.
#[divan::bench]
fn two_groups_different_two_threads(bencher: Bencher<'_, '_>) {
    let (a, b) = two(1.5);
    bencher
        .bench_local(|| by_permutation(&Comparison::TwoGroups(black_box(&a), &b), RULE, &HOW, &Threads(2)));
}

/// Ten times as many rearrangements, where starting threads is nothing beside the work.
#[divan::bench(args = [1, 2])]
fn two_groups_hundred_thousand(bencher: Bencher<'_, '_>, threads: usize) {
    let (a, b) = two(1.5);
    let how = Permutation { most: 100_000, seed: 1 };
    bencher.bench_local(|| {
        by_permutation(&Comparison::TwoGroups(black_box(&a), &b), RULE, &how, &Threads(threads))
    });
}

#[divan::bench]
fn welch_different(bencher: Bencher<'_, '_>) {
    let (a, b) = two(1.5);
    bencher.bench_local(|| by_permutation(&Comparison::Welch(black_box(&a), &b), RULE, &HOW, &InTurn));
}

#[divan::bench]
fn pairs_different(bencher: Bencher<'_, '_>) {
    let (a, b) = two(1.5);
    bencher.bench_local(|| by_permutation(&Comparison::Pairs(black_box(&a), &b), RULE, &HOW, &InTurn));
}

/// By random field theory.
#[divan::bench]
fn field_two_groups(bencher: Bencher<'_, '_>) {
    let (a, b) = two(1.5);
    bencher.bench_local(|| by_field(&Comparison::TwoGroups(black_box(&a), &b), RULE));
}
