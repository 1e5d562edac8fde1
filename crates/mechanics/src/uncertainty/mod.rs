//! How sure a number of the accounts is: first-order propagation of a rig's error budget (GUM, JCGM 100:2008, 5.1).
//!
//! 1. [`scene`]: what stays the same over a swing ([`Scene`]) and what the plates say at one sample, or over an
//!    interval ([`PlateAt`]).
//! 2. [`instant`]: every number of the accounts at once ([`evaluate`]), the same as [`crate::ledger`] gives.
//!
//! Errors belong to plates, not to feet: one plate's zero is in its foot, in the net and in every turn account, so
//! contributions keep their signs and are summed with them; only at the end are squares summed over the sources.
pub mod column;
pub mod instant;
mod number;
pub mod scene;

pub use column::{Along, COLUMNS, Column, Flat, Point, Who};
pub use instant::{Instant, evaluate};
pub use scene::{Booked, Place, PlateAt, Scene, ScenePlate, Stance};
