//! The project's own checks.
fn main() {}
