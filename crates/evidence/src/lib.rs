//! Statistics over columns and matrices: is it repeatable, is it a real change, do two ways of measuring agree.
//!
//! **Invariant:** knows numbers, not golf: no recording, no metric, no unit. What a row or a group is, the caller says.
//! **Invariant:** every number of chance comes from a stated seed; the same seed gives the same bits on any number of threads.
#![deny(clippy::disallowed_methods, clippy::disallowed_types, clippy::print_stdout, clippy::print_stderr)]
#![deny(clippy::iter_over_hash_type)]

pub mod agreement;
pub mod association;
pub mod bootstrap;
pub mod chance;
pub mod change;
pub mod cohort;
pub mod curves;
pub mod draws;
pub mod effect;
pub mod interval;
pub mod many;
pub mod mixed;
pub mod permutation;
pub mod plan;
pub mod repeatability;
pub mod work;

pub use interval::Interval;
pub use work::{InTurn, Spread};
