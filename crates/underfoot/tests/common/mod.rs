//! What tests of the command line share: running the program in a folder and reading what it says.
#![allow(dead_code)] // not every test file uses all of it
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// Runs the program in a folder.
pub fn underfoot(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_underfoot"));
    command.current_dir(folder).args(arguments).stdin(Stdio::null()).output().expect("the program starts")
}

/// Standard output.
pub fn out(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// Standard error.
pub fn err(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// The program ended with this code.
#[track_caller]
pub fn ends(output: &Output, code: i32) {
    assert_eq!(output.status.code(), Some(code), "stdout: {}\nstderr: {}", out(output), err(output));
}

/// A folder that goes away.
pub fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

/// Standard output as JSON.
pub fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).expect("JSON")
}
