//! The whole way of the data: `Recording → PlateWrenches → conditioned → FootSeries → Ledger → Events → Metrics`,
//! each step handing on its findings.
//!
//! Read [`analyse()`] and [`measure()`] first: every face calls them, so all faces give the same numbers.
//!
//! **Invariant:** no I/O, clock, threads or randomness. No units for people: that is `view`; words only in
//! findings and in the catalogue of metrics, from which manuals, exports and screens are made.
#![deny(clippy::disallowed_methods, clippy::disallowed_types, clippy::print_stdout, clippy::print_stderr)]
#![deny(clippy::iter_over_hash_type)]

pub mod about;
pub mod address;
pub mod analyse;
pub mod body;
pub mod condition;
pub mod events;
pub mod feet;
pub mod footmarks;
pub mod measure;
pub mod metrics;
pub mod quality;
pub mod sure;
pub mod target;

pub use about::About;
pub use address::Address;
pub use analyse::{Settings, Swing, SwingError, analyse, analyse_into};
pub use condition::Done;
pub use measure::{EDITION, MeasureSettings, Measurement, measure, measure_into};
pub use sure::Sure;
