//! The shape of source files: each says in its first lines what it is for, and none is a heap.

use super::File;

/// A source file longer than this holds more than one idea.
const LONGEST: usize = 700;

pub fn check(files: &[File]) -> Vec<String> {
    let mut complaints = Vec::new();
    for file in files {
        let rust = file.path.ends_with(".rs");
        let lines = file.text.lines().count();
        if (rust || file.path.ends_with(".py")) && lines > LONGEST {
            complaints.push(format!("{}: {lines} lines; {LONGEST} at most, cut it into ideas", file.path));
        }
        if rust && !file.text.trim_start().starts_with("//!") {
            complaints.push(format!("{}: must begin with //! and what the file is for", file.path));
        }
    }
    complaints
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults(path: &str, text: &str) -> Vec<String> {
        check(&[File { path: path.into(), text: text.into() }])
    }

    #[test]
    fn planted_violations_are_caught() {
        let long = format!("//! Long.\n{}", "fn f() {}\n".repeat(LONGEST));
        assert!(faults("crates/a/src/b.rs", &long)[0].contains("701 lines"));
        assert!(faults("checks/b.py", &"x\n".repeat(LONGEST + 1))[0].contains("701 lines"));
        assert!(faults("crates/a/src/b.rs", "// Not a module comment.\nfn f() {}")[0].contains("must begin"));
    }

    #[test]
    fn innocent_files_pass() {
        assert_eq!(faults("crates/a/src/b.rs", "//! Fine.\n"), Vec::<String>::new());
        assert_eq!(faults("refs/data.toml", &"x = 1\n".repeat(5000)), Vec::<String>::new());
    }
}
