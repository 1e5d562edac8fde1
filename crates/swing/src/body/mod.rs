//! The body as a whole: its motion from the force, and its centre of mass from markers.
//!
//! The two know nothing of each other: force gives how the centre of mass moves, but not where it is; a marker model gives
//! where it is, to a few centimetres.
pub mod force;
pub mod landmarks;

pub use force::{Body, of};
pub use landmarks::{Seen, centre, seen};
