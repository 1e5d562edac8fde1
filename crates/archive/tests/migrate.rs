//! A catalogue of any version is brought up to this one; a newer one is left alone; a beginning that was cut short is begun again.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;
mod faults;

use archive::schema::{STEPS, VERSION, version};
use archive::{Study, StudyError, StudySettings};
use faults::{empty, raw};

/// Tables with their columns.
fn layout(db: &rusqlite::Connection) -> String {
    faults::dump(db, "SELECT type, name, sql FROM sqlite_schema ORDER BY type, name")
}

#[test]
fn every_version_comes_up_to_this_one() {
    let folder = tempfile::tempdir().unwrap();
    let now = folder.path().join("now");
    drop(empty(&now));
    for from in 1..STEPS.len() {
        let root = folder.path().join(format!("from-{from}"));
        drop(empty(&root));
        std::fs::remove_file(root.join("catalogue.sqlite")).unwrap();
        let old = raw(&root);
        STEPS.iter().take(from).for_each(|step| old.execute_batch(step).unwrap());
        old.pragma_update(None, "user_version", from as i64).unwrap();
        old.execute("INSERT INTO player (id, alias, alias_key, added_at) VALUES (7, 'P07', 'p07', '')", [])
            .unwrap();
        drop(old);
        let study = Study::open(&root).unwrap();
        assert_eq!(study.player_called("P07").unwrap().id, 7);
        assert_eq!(version(&raw(&root)).unwrap(), VERSION);
        assert_eq!(layout(&raw(&root)), layout(&raw(&now)));
    }
}

#[test]
fn a_newer_study_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("study");
    drop(empty(&root));
    let db = raw(&root);
    db.pragma_update(None, "user_version", VERSION + 1).unwrap();
    db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
    drop(db);
    let before = std::fs::read(root.join("catalogue.sqlite")).unwrap();
    let error = Study::open(&root).unwrap_err();
    assert!(matches!(error, StudyError::Newer { found, known } if found == VERSION + 1 && known == VERSION));
    assert!(matches!(faults::rebuild(&root), Err(StudyError::Newer { .. })));
    assert!(matches!(archive::verify::verify(&root, &|_| {}), Err(StudyError::Newer { .. })));
    assert_eq!(std::fs::read(root.join("catalogue.sqlite")).unwrap(), before);
}

#[test]
fn a_beginning_that_was_cut_short_is_begun_again() {
    let folder = tempfile::tempdir().unwrap();
    let settings = StudySettings::named("again");
    // As far as each step of a creation.
    let all = ["originals", "derived", ".open", "catalogue.sqlite"];
    for far in 1..=all.len() {
        let root = folder.path().join(format!("far-{far}"));
        std::fs::create_dir_all(&root).unwrap();
        for name in &all[..far] {
            match *name {
                "catalogue.sqlite" => drop(rusqlite::Connection::open(root.join(name)).unwrap()),
                ".open" => std::fs::write(root.join(name), b"").unwrap(),
                folder => std::fs::create_dir_all(root.join(folder)).unwrap(),
            }
        }
        assert!(matches!(Study::open(&root), Err(StudyError::NoStudy(_))));
        drop(Study::create(&root, &settings).unwrap());
        assert!(faults::verify(&root).clean());
    }
    // With the whole catalogue, and half of the settings.
    let root = folder.path().join("last");
    drop(empty(&root));
    std::fs::remove_file(root.join("study.toml")).unwrap();
    std::fs::write(root.join(".unfinished-xyz"), b"name").unwrap();
    drop(Study::create(&root, &settings).unwrap());
    assert!(matches!(Study::create(&root, &settings), Err(StudyError::Occupied(_))));
}

#[test]
fn a_study_that_lost_its_settings_is_not_begun_again() {
    let folder = tempfile::tempdir().unwrap();
    let (study, ..) = common::study(&folder.path().join("study"));
    let root = study.root.clone();
    drop(study);
    std::fs::remove_file(root.join("study.toml")).unwrap();
    let settings = StudySettings::named("again");
    assert!(matches!(Study::create(&root, &settings), Err(StudyError::Occupied(_))));
    assert!(!root.join("study.toml").exists());
    // Anything else in the folder is somebody's.
    let other = folder.path().join("other");
    std::fs::create_dir_all(&other).unwrap();
    std::fs::write(other.join("notes.txt"), b"mine").unwrap();
    assert!(matches!(Study::create(&other, &settings), Err(StudyError::Occupied(_))));
}
