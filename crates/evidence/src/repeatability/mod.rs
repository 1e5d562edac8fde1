//! How well a measurement repeats: intraclass correlations, the standard error of measurement, the least change that is more
//! than noise.
//!
//! Three designs. *Crossed* ([`crossed()`]): every subject (row) is measured under each of the same conditions (columns): two
//! days, two raters. *Nested* ([`nested()`]): each subject has some repeats of its own, in any number, that nothing pairs with
//! the repeats of another. *Levels* ([`levels()`]): subjects come on several occasions, with some repeats on each: the swings of
//! a player's sessions; what changes from occasion to occasion is then known apart from what changes from repeat to repeat.
mod combined;
mod error;
mod levels;
mod one_way;
mod share;
mod two_way;

pub use combined::{MeanSquare, combined};
pub use error::{Error, error_of_means, repeats_for};
pub use levels::{Levels, Means, Part, Unlike, levels};
pub use one_way::{Nested, nested};
pub use share::Redrawn;
pub use two_way::{Crossed, Form, crossed, error, icc};
