//! The zero-phase filter over the columns of a recording; its peer is scipy (`scripts/bench`).
#![allow(missing_docs, clippy::unwrap_used)]

use divan::{Bencher, black_box};
use signal::filter::{Band, ShortRuns, butterworth_both_ways, zero_phase, zero_phase_lanes};

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

/// The same twelve columns as two blocks of six lanes, already side by side.
#[divan::bench]
fn twelve_lanes(bencher: Bencher<'_, '_>) {
    let sections = butterworth_both_ways(2, Band::Low(50.0), 2000.0).unwrap();
    let rows: Vec<[f64; 6]> = (0..20_000).map(|i| [f64::from((i * 7919) % 1009); 6]).collect();
    let blocks = vec![rows; 2];
    let mut scratch = Vec::new();
    bencher.with_inputs(|| blocks.clone()).bench_local_values(|mut blocks| {
        for rows in &mut blocks {
            black_box(zero_phase_lanes::<6>(&sections, rows, ShortRuns::Keep, &mut scratch));
        }
        blocks
    });
}

/// As `twelve_lanes`, from columns and back to columns.
#[divan::bench]
fn twelve_columns_through_lanes(bencher: Bencher<'_, '_>) {
    let sections = butterworth_both_ways(2, Band::Low(50.0), 2000.0).unwrap();
    let column: Vec<f64> = (0..20_000).map(|i| f64::from((i * 7919) % 1009)).collect();
    let columns = vec![column; 12];
    let (mut scratch, mut rows) = (Vec::new(), Vec::new());
    bencher.with_inputs(|| columns.clone()).bench_local_values(|mut columns| {
        for six in columns.as_chunks_mut::<6>().0 {
            let [a, b, c, d, e, f] = &*six;
            rows.clear();
            rows.extend((0..a.len()).map(|i| [a[i], b[i], c[i], d[i], e[i], f[i]]));
            black_box(zero_phase_lanes::<6>(&sections, &mut rows, ShortRuns::Keep, &mut scratch));
            for (l, column) in six.iter_mut().enumerate() {
                column.iter_mut().zip(&rows).for_each(|(x, row)| *x = row[l]);
            }
        }
        columns
    });
}
