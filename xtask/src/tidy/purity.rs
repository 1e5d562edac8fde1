//! Pure crates stay pure: the lints that say so are switched on, nothing switches them off, and the text of
//! their sources does not reach for the outside by a path the lints do not list.

use super::File;

/// Crates below the line of ARCHITECTURE.md.
const PURE: &[&str] = &["signal", "mechanics", "formats", "simulate", "swing", "view", "evidence"];

/// Lints each of their lib.rs denies.
const DENIED: &[&str] = &[
    "clippy::disallowed_methods",
    "clippy::disallowed_types",
    "clippy::print_stdout",
    "clippy::print_stderr",
    "clippy::iter_over_hash_type",
];

/// Modules of the standard library that touch the world.
const WORLDLY: &[&str] = &["fs", "env", "net", "process", "thread", "time"];

/// Other text that has no place there. Time spans as plain data would be fine, but seconds are `f64` here.
const WORDS: &[&str] = &["Instant::now", "SystemTime", "println!", "eprintln!", "print!(", "dbg!", "stdin()"];

pub fn check(files: &[File]) -> Vec<String> {
    let mut complaints = Vec::new();
    for name in PURE {
        let src = format!("crates/{name}/src/");
        let lib = files.iter().find(|f| f.path == format!("{src}lib.rs"));
        let denied = lib.map(|f| denied_lints(&f.text)).unwrap_or_default();
        for lint in DENIED.iter().filter(|lint| !denied.contains(lint)) {
            complaints.push(format!("{src}lib.rs: must have #![deny({lint})]"));
        }
        for file in files.iter().filter(|f| f.path.starts_with(&src) && f.path.ends_with(".rs")) {
            for (number, line) in file.text.lines().enumerate() {
                if let Some(what) = worldly(line) {
                    complaints.push(format!("{}:{}: {what} in a pure crate", file.path, number + 1));
                }
            }
        }
    }
    complaints
}

/// The lints named in the `#![deny(…)]` attributes of a file.
fn denied_lints(text: &str) -> Vec<&str> {
    let attributes = text.split("#![deny(").skip(1).filter_map(|rest| rest.split_once(")]"));
    attributes.flat_map(|(list, _)| list.split(',').map(str::trim)).collect()
}

/// What in a line of code touches the world, if anything does. Comments may say what they like.
fn worldly(line: &str) -> Option<String> {
    let code = line.trim_start();
    if code.starts_with("//") {
        return None;
    }
    if let Some(word) = WORDS.iter().find(|word| code.contains(**word)) {
        return Some(format!("`{word}`"));
    }
    if DENIED.iter().any(|lint| code.contains(lint))
        && ["allow(", "expect(", "warn("].iter().any(|a| code.contains(a))
    {
        return Some("a purity lint switched off".to_owned());
    }
    for (at, _) in code.match_indices("std::") {
        let rest = &code[at + "std::".len()..];
        // `std::fs`, or any name in `std::{fmt, fs}`.
        let names = match rest.strip_prefix('{') {
            Some(group) => group.split(['{', '}']).next().unwrap_or(group),
            None => rest.split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap_or(rest),
        };
        let first = |name: &str| name.trim().split("::").next().map(str::to_owned).unwrap_or_default();
        if let Some(module) = names.split(',').map(first).find(|n| WORLDLY.contains(&n.as_str())) {
            return Some(format!("`std::{module}`"));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tree(extra: &str) -> Vec<File> {
        let head = format!("#![deny({})]\n#![deny(\n    {},\n)]\n", DENIED[..4].join(", "), DENIED[4]);
        let lib = |name: &&str| File { path: format!("crates/{name}/src/lib.rs"), text: head.clone() };
        let mut files: Vec<File> = PURE.iter().map(lib).collect();
        files.push(File { path: "crates/swing/src/deep/part.rs".into(), text: extra.into() });
        files
    }

    #[test]
    fn planted_violations_are_caught() {
        for bad in [
            "let b = std::fs::read(p);",
            "use std::{fmt, fs};",
            "use std::{fmt, env::var};",
            "let t = std::time::Instant::now();",
            "use std::time::SystemTime;",
            "    println!(\"x\");",
            "    eprintln!(\"x\");",
            "std::thread::spawn(f);",
            "#[allow(clippy::print_stdout)]",
        ] {
            let complaints = check(&tree(bad));
            assert_eq!(complaints.len(), 1, "{bad}: {complaints:?}");
            assert!(complaints[0].starts_with("crates/swing/src/deep/part.rs:1: "), "{complaints:?}");
        }
    }

    #[test]
    fn innocent_lines_pass() {
        let innocent =
            "// no std::fs here\nuse std::{fmt, f64::consts::PI};\nlet environment = 1;\n/// println!";
        assert_eq!(check(&tree(innocent)), Vec::<String>::new());
    }

    #[test]
    fn a_missing_deny_line_is_caught() {
        let mut files = tree("");
        files[0].text = format!("#![deny({})]\n", DENIED[..4].join(", "));
        assert_eq!(
            check(&files),
            ["crates/signal/src/lib.rs: must have #![deny(clippy::iter_over_hash_type)]"]
        );
        files[0].text = format!("#![allow({})]\n", DENIED.join(", "));
        assert!(check(&files).len() >= DENIED.len());
    }

    /// Faces may print.
    #[test]
    fn other_crates_are_free() {
        let mut files = tree("");
        files.push(File { path: "crates/underfoot/src/main.rs".into(), text: "println!(\"x\")".into() });
        assert_eq!(check(&files), Vec::<String>::new());
    }
}
