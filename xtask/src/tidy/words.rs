//! Nothing in the tree names one machine, the place a package was fetched from, or how the text came about:
//! such lines help no reader and go stale.
//!
//! The lists are written in pieces, so that this file does not match itself.

use super::File;

/// First folders of absolute paths on somebody's machine.
const PLACES: &[&str] = &["home", "root", "work", "tmp", "Users"];

/// Hosts of package registries, in two pieces each.
const HOSTS: &[(&str, &str)] = &[
    ("crates", ".io"),
    ("pypi", ".org"),
    ("pythonhosted", ".org"),
    ("npmjs", ".org"),
    ("npmjs", ".com"),
    ("deb.debian", ".org"),
    ("debian", ".org"),
];

/// Whole words about the tooling that wrote a text, in two pieces each.
const TOOLING: &[(&str, &str)] = &[
    ("age", "nt"),
    ("age", "nts"),
    ("suba", "gent"),
    ("suba", "gents"),
    ("l", "lm"),
    ("l", "lms"),
    ("clau", "de"),
    ("anthro", "pic"),
    ("chat", "gpt"),
    ("open", "ai"),
    ("co", "pilot"),
    ("language ", "model"),
    ("as an ", "ai"),
    ("issues ", "show"),
    ("brief", ".md"),
    ("lead ", "engineer"),
];

/// Files written by another program, which names its registry there.
const EXEMPT: &[&str] = &["Cargo.lock", "fuzz/Cargo.lock"];

pub fn check(files: &[File]) -> Vec<String> {
    let mut complaints = Vec::new();
    for file in files.iter().filter(|f| !EXEMPT.contains(&f.path.as_str())) {
        for (number, line) in file.text.lines().enumerate() {
            if let Some(what) = fault(line) {
                complaints.push(format!("{}:{}: {what}", file.path, number + 1));
            }
        }
    }
    complaints
}

/// What is wrong with a line, if anything is.
fn fault(line: &str) -> Option<String> {
    for place in PLACES {
        if contains_whole(line, &format!("/{place}"), |c| c.is_alphanumeric() || ".-_~*}$>)".contains(c)) {
            return Some(format!("an absolute path of a machine (/{place})"));
        }
    }
    let lower = line.to_lowercase();
    for (a, b) in HOSTS {
        if lower.contains(&format!("{a}{b}")) {
            return Some("a package registry's host".to_owned());
        }
    }
    for (a, b) in TOOLING {
        if contains_whole(&lower, &format!("{a}{b}"), |c| c.is_alphanumeric() || c == '_') {
            return Some(format!("a word about tooling ({a}…)"));
        }
    }
    let numbered = format!("iss{} ", "ue");
    if lower
        .split(&numbered)
        .skip(1)
        .any(|rest| rest.trim_start_matches('#').starts_with(|c: char| c.is_ascii_digit()))
    {
        return Some("a numbered piece of work".to_owned());
    }
    None
}

/// Whether `needle` stands in `line` with no joining character before it and no letter, digit or `_` after it.
fn contains_whole(line: &str, needle: &str, joins: impl Fn(char) -> bool) -> bool {
    line.match_indices(needle).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        let after = line[at + needle.len()..].chars().next();
        !before.is_some_and(&joins) && !after.is_some_and(|c| c.is_alphanumeric() || c == '_')
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults(text: &str) -> usize {
        check(&[File { path: "a/b.md".into(), text: text.into() }]).len()
    }

    #[test]
    fn planted_violations_are_caught() {
        for place in PLACES {
            for line in
                [format!("open(\"/{place}/x.c3d\")"), format!("cd /{place}"), format!("file:///{place}/y")]
            {
                assert_eq!(faults(&line), 1, "{line}");
            }
        }
        for (a, b) in HOSTS {
            assert_eq!(faults(&format!("see https://www.{a}{b}/x")), 1, "{a}");
        }
        for (a, b) in TOOLING {
            assert_eq!(faults(&format!("text by {}{b}.", a.to_uppercase())), 1, "{a}");
        }
        assert_eq!(faults(&format!("see Iss{} 12 for why", "ue")), 1);
        assert_eq!(faults(&format!("fine\nsee iss{} #12", "ue")), 1);
    }

    #[test]
    fn innocent_lines_pass() {
        for line in [
            "target/tmp/x and ../shared/data/real and ~/work/notes",
            "force/work ratio, the player's session, tooling and this issue of a journal",
            "[package](https://docs.rs/libm) and registry packages",
            "reagents, agentless",
        ] {
            assert_eq!(faults(line), 0, "{line}");
        }
    }

    #[test]
    fn the_lock_file_may_name_its_registry() {
        let line =
            format!("source = \"registry+https://github.com/rust-lang/{}{}-index\"", HOSTS[0].0, HOSTS[0].1);
        assert_eq!(check(&[File { path: "Cargo.lock".into(), text: line.clone() }]).len(), 0);
        assert_eq!(faults(&line), 1);
    }
}
