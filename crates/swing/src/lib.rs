//! The whole way of the data: `Recording → PlateWrenches → FootSeries → Ledger`, each step handing on its findings.
//!
//! Read [`analyse()`] first: every face calls it, so all faces give the same numbers.
//!
//! **Invariant:** no I/O, clock, threads or randomness. No words or units for people: that is `view`.
#![deny(clippy::disallowed_methods, clippy::disallowed_types, clippy::print_stdout, clippy::print_stderr)]
#![deny(clippy::iter_over_hash_type)]

pub mod about;
pub mod address;
pub mod analyse;
pub mod baseline;
pub mod events;
pub mod feet;
pub mod footmarks;
pub mod quality;
pub mod target;

pub use about::About;
pub use address::Address;
pub use analyse::{Settings, Swing, SwingError, Zero, analyse, analyse_into};
