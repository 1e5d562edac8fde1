//! The study: a folder that keeps recordings, what was made of them, and how; for years, and for several programs at once.
//!
//! `study.toml` has the settings, `catalogue.sqlite` players, rigs, sessions, swings and everything measured, `originals/`
//! every recording as it came, named by its SHA-256, `derived/` series that can be made again.
//!
//! **Invariant:** a change is one transaction and one row of the log. Files are placed before the change that speaks of
//! them, and removed after the change that lets go of them: a crash leaves a study as it was before or as it is after.
//! **Invariant:** an original is never written to, and removed only with its player.
//! **Invariant:** no mechanics and no statistics: a measurement is [`make::make`], and that is `swing::measure`; a question
//! is answered by `evidence` and `view`.
//! **Invariant:** nothing is ordered by the clock.
pub mod again;
mod carry;
mod choice;
pub mod columnar;
pub mod condition;
pub mod date;
pub mod delimited;
pub mod error;
pub mod export;
pub mod import;
pub mod info;
pub mod inquire;
pub mod keep;
pub mod list;
pub mod log;
pub mod make;
pub mod outcomes;
pub mod people;
pub mod place;
pub mod privacy;
pub mod rebuild;
mod recall;
pub mod recipe;
pub mod rigs;
pub mod roster;
pub mod salvage;
pub mod schema;
mod seal;
pub mod select;
pub mod sessions;
pub mod sheet;
mod store;
pub mod study;
pub mod tag;
pub mod units;
pub mod values;
pub mod verify;
pub mod wanted;
pub mod watch;

pub use error::StudyError;
pub use people::{Identity, Player};
pub use select::Selection;
pub use sessions::Session;
pub use study::{Study, StudySettings};
