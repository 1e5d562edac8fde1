//! Whole curves compared at once: a statistic at every node, and how high it would rise, anywhere along the curve, by chance.
//!
//! Curves are rows of equal length, one node a column. A node where a curve that takes part is not defined has no
//! statistic; the parts between such gaps are tested together, as the pieces of one field.
//!
//! [`Comparison`] says what is asked; [`by_field`] and [`by_permutation`] answer it. [`between`] brings recordings to the same
//! nodes, [`Warp`] lays their events over one another, [`bands`] draws their mean.
pub mod bands;
mod clusters;
mod comparison;
pub mod field;
mod fit;
mod permute;
mod rearrange;
mod resampled;
mod test;
mod warp;

pub use clusters::Cluster;
pub use comparison::{Comparison, NoTest, Rows};
pub use field::{Field, Kind};
pub use resampled::between;
pub use test::{By, CurveTest, Rule, SIGNS_NEED, Tails, by_field, by_permutation};
pub use warp::{Warp, mean_shares};
