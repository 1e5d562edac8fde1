//! The body as one mass: its motion from the net force, and its centre from a model of segments.
//!
//! Columns come three at a time, in the order target, toe, up (player components) or x, y, z (golf frame): what is
//! written here holds in either, as long as the third is up.

pub mod doubt;
pub mod impulse;
pub mod motion;
pub mod segments;

pub use doubt::Doubt;
pub use impulse::{Impulse, impulse};
pub use motion::{Drift, Mass, Motion, Unfit, motion};
