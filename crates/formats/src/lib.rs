//! Bytes to recordings and back: C3D, delimited text, rig files.
//!
//! **Invariant:** decoders take bytes and never panic, whatever the bytes; only faces open files.
#![deny(clippy::disallowed_methods, clippy::disallowed_types, clippy::print_stdout, clippy::print_stderr)]
#![deny(clippy::iter_over_hash_type)]

pub mod c3d;
mod read;
pub mod rigfile;
pub mod table;

pub use read::{Read, ReadError, decode, is_c3d, join, read};
