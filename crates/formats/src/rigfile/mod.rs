//! Rig files.
pub(crate) mod words;
