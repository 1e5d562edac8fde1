//! Every quantity in the user's units, signs and words, once, for every face.
//!
//! Wire types ([`serde::Serialize`]) live here; `mechanics` and `swing` stay free to change.
//!
//! **Invariant:** no I/O; nothing is computed here that `swing` should know. NaN is shown as "—" and written as null.
#![deny(clippy::disallowed_methods, clippy::disallowed_types, clippy::print_stdout, clippy::print_stderr)]
#![deny(clippy::iter_over_hash_type)]

pub mod catalogue;
pub mod check;
pub mod claim;
pub mod convention;
pub mod events;
pub mod facts;
pub mod filter;
pub mod findings;
pub mod floor;
pub mod inspect;
pub mod ledger;
pub mod measure;
pub mod page;
pub mod plot;
pub mod quantity;
pub mod series;
pub mod study;
pub mod table;
pub mod units;
pub mod words;

pub use convention::{Convention, Shown, Signs};
