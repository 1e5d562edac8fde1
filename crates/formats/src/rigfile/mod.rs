//! Rig files: what no recording says of itself, written once for a rig, in TOML.
//!
//! `docs/rig.md` is the manual. [`parse`] reads the text, [`RigFile::resolve`] lays it over a recording and gives
//! the [`mechanics::Rig`] that the pipeline works with.
mod conditioning;
mod error;
mod explain;
mod geometry;
pub mod guess;
mod of_rig;
mod parse;
mod resolve;
mod schema;
mod sensing;
pub(crate) mod words;
mod write;

pub use crate::table::Column;
pub use conditioning::{ConditioningEntry, DriftWord, ZeroEntry};
pub use error::{RigError, RigFault};
pub use explain::explain;
pub use guess::propose;
pub use of_rig::of_rig;
pub use parse::parse;
pub use schema::{
    AxesWord, Foot, Force, Matrix, Piezo, PlateEntry, Reduced, RigFile, Six, Source, TargetEntry,
    TriggerEntry, TriggerWord, UncertaintyEntry, Vertical,
};
pub use words::nearest;
pub use write::write;
