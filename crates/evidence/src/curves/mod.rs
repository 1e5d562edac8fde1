//! Whole curves compared at once: a statistic at every node, and how high it would rise, anywhere along the curve, by chance.
//!
//! Curves are rows of equal length, one node a column. A node where a curve that takes part is not defined has no
//! statistic; the parts between such gaps are tested together, as the pieces of one field.
pub mod field;
pub mod test;

pub use field::{Field, Kind};
pub use test::{Cluster, CurveTest, Tails};
