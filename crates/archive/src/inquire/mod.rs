//! Questions asked of a study: tables and curves of chosen swings for [`view::claim`], and hands for its work.
//!
//! **Invariant:** no statistics here. What is computed of a table, `evidence` computes; what is said of it, `view` says.
mod ask;
mod rows;
mod table;
pub mod threads;
mod traces;

pub use ask::{Ask, asked};
pub use threads::Threads;

use crate::recipe::Basis;
use view::claim::table::Scale;

/// How swings are looked at, and how their figures are written.
#[derive(Clone, Debug, PartialEq)]
pub struct Looking {
    /// Plates apart or put together; reference point of turn.
    pub basis: Basis,
    /// Relative to the body, or not.
    pub scale: Scale,
}

/// Hears how many of how many swings are done, where they must be measured first.
pub type Tell<'a> = dyn FnMut(usize, usize) + 'a;
