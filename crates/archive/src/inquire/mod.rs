//! Questions asked of a study: tables and curves of chosen swings for [`view::claim`], and hands for its work.
//!
//! **Invariant:** no statistics here. What is computed of a table, `evidence` computes; what is said of it, `view` says.
pub mod threads;

pub use threads::Threads;
