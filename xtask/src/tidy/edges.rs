//! The direction of dependencies between our crates. The list is the law: a new edge is a reviewed line here
//! and in ARCHITECTURE.md, not an accident in a Cargo.toml.

use cargo_metadata::{DependencyKind, Metadata};
use std::collections::{BTreeMap, BTreeSet};

/// What each crate may use. Crates that are absent from a list are below or beside it in the picture.
const MAY_USE: &[(&str, &[&str])] = &[
    ("signal", &[]),
    ("mechanics", &["signal"]),
    ("evidence", &["signal"]),
    ("formats", &["mechanics", "signal"]),
    ("simulate", &["mechanics", "signal"]),
    ("swing", &["mechanics", "signal"]),
    ("view", &["evidence", "mechanics", "signal", "swing"]),
    ("archive", &["evidence", "formats", "mechanics", "swing", "view"]),
    ("underfoot", &["archive", "formats", "mechanics", "simulate", "swing", "view"]),
    ("xtask", &[]),
];

/// What tests may use beyond that: the simulator's truth is recovered through files and the pipeline, and lives
/// above both for that.
const TESTS_MAY_USE: &[(&str, &[&str])] = &[("simulate", &["formats", "swing"]), ("archive", &["simulate"])];

/// A dependency of one of our crates on another.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Edge {
    from: String,
    to: String,
    for_tests: bool,
}

/// All edges between workspace members.
pub fn of(workspace: &Metadata) -> (BTreeSet<String>, BTreeSet<Edge>) {
    let packages = workspace.workspace_packages();
    let names: BTreeSet<String> = packages.iter().map(|p| p.name.to_string()).collect();
    let mut edges = BTreeSet::new();
    for package in packages {
        for dependency in package.dependencies.iter().filter(|d| names.contains(&d.name)) {
            edges.insert(Edge {
                from: package.name.to_string(),
                to: dependency.name.clone(),
                for_tests: dependency.kind == DependencyKind::Development,
            });
        }
    }
    (names, edges)
}

/// Normal edges must equal [`MAY_USE`]; edges for tests must lie within it, followed down, or in [`TESTS_MAY_USE`].
pub fn check((names, edges): &(BTreeSet<String>, BTreeSet<Edge>)) -> Vec<String> {
    let law: BTreeMap<&str, BTreeSet<&str>> =
        MAY_USE.iter().map(|(from, to)| (*from, to.iter().copied().collect())).collect();
    let mut complaints = Vec::new();
    let listed: BTreeSet<&str> = law.keys().copied().collect();
    let present: BTreeSet<&str> = names.iter().map(String::as_str).collect();
    for name in present.symmetric_difference(&listed) {
        complaints.push(format!("edges: crate {name} is in only one of the workspace and MAY_USE"));
    }
    let hint = "change MAY_USE (xtask/src/tidy/edges.rs) and ARCHITECTURE.md together";
    for Edge { from, to, for_tests } in edges {
        let direct = law.get(from.as_str()).is_some_and(|l| l.contains(to.as_str()));
        let tests = TESTS_MAY_USE.iter().any(|(f, l)| f == from && l.contains(&to.as_str()));
        let allowed = if *for_tests { tests || reaches(&law, from, to) } else { direct };
        if !allowed {
            let what = if *for_tests { "tests of " } else { "" };
            complaints.push(format!("edges: {what}{from} may not use {to}; {hint}"));
        }
    }
    for (from, list) in &law {
        for to in list {
            let there = edges.iter().any(|e| e.from == *from && e.to == *to && !e.for_tests);
            if !there && present.contains(from) {
                complaints.push(format!("edges: MAY_USE lets {from} use {to}, which it does not; {hint}"));
            }
        }
    }
    complaints
}

/// Whether `to` is `from` or lies below it.
fn reaches(law: &BTreeMap<&str, BTreeSet<&str>>, from: &str, to: &str) -> bool {
    from == to || law.get(from).is_some_and(|list| list.iter().any(|next| reaches(law, next, to)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lawful() -> (BTreeSet<String>, BTreeSet<Edge>) {
        let edge = |from: &str, to: &str| Edge { from: from.into(), to: to.into(), for_tests: false };
        (
            MAY_USE.iter().map(|(name, _)| (*name).to_owned()).collect(),
            MAY_USE.iter().flat_map(|(from, l)| l.iter().map(move |to| edge(from, to))).collect(),
        )
    }

    fn with(from: &str, to: &str, for_tests: bool) -> Vec<String> {
        let (names, mut edges) = lawful();
        edges.insert(Edge { from: from.into(), to: to.into(), for_tests });
        check(&(names, edges))
    }

    #[test]
    fn upward_edges_are_caught() {
        assert_eq!(check(&lawful()), Vec::<String>::new());
        assert!(with("signal", "mechanics", false)[0].contains("signal may not use mechanics"));
        assert!(with("formats", "swing", false)[0].contains("formats may not use swing"));
        assert!(with("mechanics", "simulate", true)[0].contains("tests of mechanics may not use simulate"));
    }

    #[test]
    fn tests_may_look_down_and_the_simulator_at_its_judges() {
        assert_eq!(with("view", "signal", true), Vec::<String>::new());
        assert_eq!(with("simulate", "swing", true), Vec::<String>::new());
        assert!(!with("simulate", "swing", false).is_empty());
    }

    #[test]
    fn a_list_that_says_too_much_is_caught() {
        let (names, mut edges) = lawful();
        edges.retain(|e| e.from != "mechanics");
        assert!(check(&(names.clone(), edges))[0].contains("lets mechanics use signal"));
        let (mut names, edges) = lawful();
        names.insert("attic".into());
        assert!(check(&(names, edges))[0].contains("crate attic"));
    }
}
