//! Where one stands among others: centiles and bands of a reference, how deep a curve lies among curves, and whether the
//! reference is one group or several.
//!
//! A *subject* is what was drawn independently of the others (a player), and may have several values or curves of its own.
//! Curves are rows of equal length, one node a column; NaN is a node where a curve is not defined.
pub mod bands;
pub mod boxplot;
pub mod centile;
pub mod components;
pub mod depth;
pub mod dip;
mod eigen;
pub mod groups;
pub mod k_means;
pub mod peaks;
pub mod rand_index;
pub mod unusual;

pub use bands::Band;
pub use centile::{Centile, Standing};
pub use components::Components;
pub use groups::{Grouping, Groups, Outcome};
pub use unusual::Unusual;
