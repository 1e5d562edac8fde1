//! A study keeps what it was given: once, whole, with how it was measured; and measures again exactly what a change touches.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use archive::Study;
use archive::import::Told;
use common::{import, study, swings, write};

#[test]
fn the_same_bytes_are_one_swing() {
    let folder = tempfile::tempdir().unwrap();
    let (study, _, session) = study(&folder.path().join("study"));
    let two = write(&folder.path().join("in"), &swings(2, 1, true), "a");
    let one = write(&folder.path().join("in"), &swings(1, 2, false), "one");
    let mut files = two.clone();
    files.extend(one);
    files.push(folder.path().join("in/same.c3d"));
    std::fs::copy(&two[0], files.last().unwrap()).unwrap();
    let told = import(&study, &files, session);
    assert!(matches!(told[0], Told::Kept { feet: Some(2), .. }), "{told:?}");
    assert!(matches!(told[2], Told::Kept { feet: Some(1), .. }), "{told:?}");
    assert!(matches!(told[3], Told::There { swing: 1, .. }), "{told:?}");
    let again = import(&study, &files, session);
    assert!(again.iter().all(|t| matches!(t, Told::There { .. })));
    let (basis, _) = study.usual_basis().unwrap();
    assert!(study.stale(basis, true).unwrap().is_empty());
}

#[test]
fn an_event_moved_in_a_study_opened_anew_changes_what_depends_on_it_alone() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("study");
    let (study, _, session) = study(&root);
    import(&study, &write(&folder.path().join("in"), &swings(1, 1, true), "a"), session);
    drop(study);
    let moved = Study::open(&root).unwrap().mark(1, "impact", Some((1.5, None))).unwrap();
    assert!(moved.changed.iter().any(|c| c.metric.contains("impact")));
    assert!(moved.changed.iter().all(|c| c.metric != "up.net.most") && moved.same > 0, "{:?}", moved.changed);
}
