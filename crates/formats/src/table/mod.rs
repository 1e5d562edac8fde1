//! Delimited text: reading and writing.
