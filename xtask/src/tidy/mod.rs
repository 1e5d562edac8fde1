//! What must hold for the tree as a whole. Each check is a function of plain data that returns complaints, so
//! that a test can hand it a planted violation.

mod edges;
mod files;
mod licences;
mod purity;
mod words;

use cargo_metadata::MetadataCommand;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::Command;

/// One file that git holds, as text.
pub struct File {
    /// Path from the workspace's root, with `/`.
    pub path: String,
    /// Contents.
    pub text: String,
}

/// Runs every check over the workspace; the complaints are in a fixed order.
pub fn check_workspace() -> Result<Vec<String>, Box<dyn Error>> {
    let root = root();
    let workspace = MetadataCommand::new().manifest_path(root.join("Cargo.toml")).no_deps().exec()?;
    let files = files_in_git(&root)?;
    let mut complaints = edges::check(&edges::of(&workspace));
    complaints.extend(purity::check(&files));
    complaints.extend(words::check(&files));
    complaints.extend(files::check(&files));
    complaints.extend(licences::check(&licences::of(&root)?));
    Ok(complaints)
}

/// The workspace's root: the folder above this crate.
fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_path_buf()
}

/// Every text file that git tracks; binary files are left out.
fn files_in_git(root: &Path) -> Result<Vec<File>, Box<dyn Error>> {
    let out = Command::new("git").current_dir(root).args(["ls-files", "-z"]).output()?;
    if !out.status.success() {
        return Err(format!("git ls-files failed: {}", String::from_utf8_lossy(&out.stderr)).into());
    }
    let mut paths: Vec<&str> =
        std::str::from_utf8(&out.stdout)?.split('\0').filter(|p| !p.is_empty()).collect();
    paths.sort_unstable();
    let mut files = Vec::new();
    for path in paths {
        // A file deleted but still listed has no text; neither has a binary one.
        if let Ok(text) = std::fs::read_to_string(root.join(path)) {
            files.push(File { path: path.to_owned(), text });
        }
    }
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The tree as it is now passes.
    #[test]
    fn the_workspace_is_tidy() {
        let complaints = check_workspace().unwrap();
        assert!(complaints.is_empty(), "\n{}\n", complaints.join("\n"));
    }

    /// The checks above look at something.
    #[test]
    fn there_are_files_to_check() {
        let files = files_in_git(&root()).unwrap();
        assert!(files.iter().any(|f| f.path == "crates/signal/src/lib.rs"));
        assert!(files.len() > 20);
    }
}
