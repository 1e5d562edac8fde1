//! What tests of the command line share: running the program in a folder and reading what it says.
#![allow(dead_code)] // not every test file uses all of it
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

use serde_json::Value;
use std::path::{Path, PathBuf};
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

/// A measured recording by name, or a word that it is skipped: in the folder that `UNDERFOOT_RECORDINGS` names, else in
/// the one beside the clone.
pub fn recording(name: &str) -> Option<PathBuf> {
    let beside = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../shared/data/real");
    let folder =
        std::env::var_os("UNDERFOOT_RECORDINGS").map_or_else(|| PathBuf::from(beside), PathBuf::from);
    let path = folder.join(name);
    if path.is_file() {
        return Some(path);
    }
    println!("skipped: {name} is not among the measured recordings here");
    None
}
