//! Columns of numbers: deterministic mathematics, filters, simple statistics.
//!
//! This crate knows `&[f64]` and nothing of plates, players or files. NaN means *not defined*; each
//! function says what it makes of one. Sums run in index order, so the same column gives the same
//! bits everywhere.
#![deny(clippy::disallowed_methods, clippy::disallowed_types, clippy::print_stdout, clippy::print_stderr)]
#![deny(clippy::iter_over_hash_type)]

pub mod beta;
pub mod chi_square;
pub mod filter;
pub mod fisher;
pub mod gaps;
pub mod integrate;
pub mod line;
pub mod math;
pub mod noncentral;
pub mod periodic;
pub mod propagate;
pub mod quiet;
pub mod resample;
pub mod runs;
pub mod stats;
pub mod student;
#[cfg(test)]
mod testing;
pub mod white;
