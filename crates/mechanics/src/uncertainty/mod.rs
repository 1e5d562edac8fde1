//! How sure a number of the accounts is: first-order propagation of a rig's error budget.
//!
//! 1. [`scene`]: what stays the same over a swing ([`Scene`]) and what the plates say at one sample, as a mean, or
//!    over an interval ([`PlateAt`]).
//! 2. [`instant`]: every number of the accounts at once ([`evaluate`]), the same as [`crate::ledger`] gives.
//! 3. [`source`]: the independent errors of a rig ([`Errors`]), and what each does to a plate's reading.
//! 4. [`noise`]: what is left of random noise in means and slopes.
//! 5. [`linear`]: the accounts of a sample with their derivatives ([`Linear`]).
//! 6. [`uncertain`]: a number with each source's signed contribution ([`Uncertain`]), and arithmetic on such numbers.
//!
//! Errors belong to plates, not to feet: one plate's zero is in its foot, in the net and in every turn account, so
//! contributions keep their signs and are summed with them; only at the end are squares summed over the sources.
//! In short, for a swing: `Scene::new`, then `Errors::new` once; `Linear::new` for every sample of interest; then
//! `linear.of(column)` for a number with its parts, or `linear.u()` for the standard uncertainty of all of them.
//!
//! Source: JCGM 100:2008 (GUM), 5.1. Checked against Monte Carlo in `simulate/tests/coverage.rs`.
pub mod column;
pub mod instant;
pub mod linear;
pub mod noise;
mod number;
pub mod scene;
pub mod source;
pub mod uncertain;

pub use column::{Along, COLUMNS, Column, Flat, Point, Who};
pub use instant::{Instant, evaluate};
pub use linear::{Linear, Row};
pub use noise::Noise;
pub use scene::{Booked, Place, PlateAt, Scene, ScenePlate, Stance};
pub use source::{CROSSTALK_LEVER_M, Cause, Errors, Kind, Source, perturb, sources};
pub use uncertain::{COVERAGE_95, Uncertain};
