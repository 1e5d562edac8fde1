//! The zero-phase filter over the columns of a recording; its peer is scipy (`scripts/bench`).
#![allow(missing_docs, clippy::unwrap_used)]

use divan::{Bencher, black_box};
use signal::filter::{Band, ShortRuns, butterworth_both_ways, zero_phase};

fn main() {
    divan::main();
}

/// Twelve columns of ten seconds at 2 kHz, filtered at 50 Hz with order 2 each way; the peer does the same.
#[divan::bench]
fn twelve_columns(bencher: Bencher<'_, '_>) {
    let sections = butterworth_both_ways(2, Band::Low(50.0), 2000.0).unwrap();
    let column: Vec<f64> = (0..20_000).map(|i| f64::from((i * 7919) % 1009)).collect();
    let columns = vec![column; 12];
    let mut scratch = Vec::new();
    bencher.with_inputs(|| columns.clone()).bench_local_values(|mut columns| {
        for column in &mut columns {
            black_box(zero_phase(&sections, column, ShortRuns::Keep, &mut scratch));
        }
        columns
    });
}
