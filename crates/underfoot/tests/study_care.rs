//! `underfoot study verify`, `rebuild` and `vacuum` as a person or a script uses them.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use archive::import::Incoming;
use archive::{Player, Session, Study, StudySettings};
use common::{ends, err, folder, json, out, underfoot};
use std::path::Path;

/// A study of two invented swings in `study`, made without the command line.
fn study(folder: &Path) {
    let done = underfoot(folder, &["simulate", "-o", "in", "--swings", "2", "--seed", "3", "--rate", "250"]);
    ends(&done, 0);
    let study = Study::create(&folder.join("study"), &StudySettings::named("invented")).unwrap();
    let player =
        study.add_player(&Player { hand: Some("right".into()), ..Player::called("P01") }, None).unwrap();
    let session = study.add_session(&Session { target: Some("+x".into()), ..Session::of(player) }).unwrap();
    let files = ["alder-01.c3d", "alder-02.c3d"].map(|f| Incoming::new(&folder.join("in").join(f), session));
    study.import(&files, |_, _| {}, || true).unwrap();
}

/// Writes noise into the middle of the catalogue, page after page, until verify sees the figures damaged.
fn spoil_figures(folder: &Path) {
    let root = folder.join("study");
    let path = root.join("catalogue.sqlite");
    let whole = std::fs::read(&path).unwrap();
    for page in (0..whole.len() / 4096).rev() {
        let mut bytes = whole.clone();
        bytes[page * 4096..(page + 1) * 4096].fill(0xa5);
        std::fs::write(&path, &bytes).unwrap();
        let verdict = archive::verify::verify(&root, &|_| {}).unwrap();
        if verdict.faults.iter().all(|f| f.place.ends_with("table figure")) && !verdict.clean() {
            return;
        }
    }
    panic!("no page of figures");
}

#[test]
fn a_whole_study_and_one_that_is_not() {
    let folder = folder();
    study(folder.path());
    let care = |args: &[&str]| underfoot(folder.path(), &[&["study"], args, &["--study", "study"]].concat());
    let done = care(&["verify"]);
    ends(&done, 0);
    assert!(out(&done).contains("2 swings, 2 recordings, 2 series"), "{}", out(&done));
    assert!(out(&done).contains("everything is as it was kept"), "{}", out(&done));

    let done = care(&["rebuild"]);
    ends(&done, 0);
    assert!(out(&done).contains("every figure came out the same"), "{}", out(&done));
    let done = care(&["rebuild", "--changed"]);
    ends(&done, 0);
    assert!(out(&done).contains("no swing is touched"), "{}", out(&done));

    spoil_figures(folder.path());
    let done = care(&["verify"]);
    ends(&done, 3);
    for word in
        ["fault: the table figure is damaged", "where: catalogue.sqlite, table figure", "study rebuild"]
    {
        assert!(out(&done).contains(word), "{word} is missing from:\n{}", out(&done));
    }
    let done = care(&["verify", "--json"]);
    ends(&done, 3);
    assert_eq!(json(&done)["faults"][0]["heals"], true);
    let done = care(&["rebuild"]);
    ends(&done, 0);
    for word in [
        "whole again (damaged: figure)",
        "catalogue.damaged-1.sqlite",
        "nothing that a person entered is lost",
    ] {
        assert!(out(&done).contains(word), "{word} is missing from:\n{}", out(&done));
    }
    ends(&care(&["verify"]), 0);
    let done = care(&["vacuum"]);
    ends(&done, 0);
    assert!(out(&done).contains("--strays removes them"), "{}", out(&done));
    let done = care(&["vacuum", "--strays", "--json"]);
    ends(&done, 0);
    assert_eq!(json(&done)["removed"][0], "catalogue.damaged-1.sqlite");
}

#[test]
fn a_recording_that_is_gone_is_named_with_what_to_do() {
    let folder = folder();
    study(folder.path());
    let root = folder.path().join("study");
    let place = archive::keep::all(&root, archive::keep::ORIGINALS).unwrap().remove(0);
    std::fs::remove_file(root.join(&place)).unwrap();
    let done = underfoot(folder.path(), &["study", "verify", "--study", "study"]);
    ends(&done, 3);
    for word in ["fault: the recording of swing", place.as_str(), "underfoot import"] {
        assert!(out(&done).contains(word), "{word} is missing from:\n{}", out(&done));
    }
    let done = underfoot(folder.path(), &["study", "rebuild", "--study", "study"]);
    ends(&done, 3);
    assert!(out(&done).contains("was not measured again: cannot read"), "{}", out(&done));
    let done = underfoot(folder.path(), &["study", "verify", "--study", "nowhere"]);
    ends(&done, 3);
    assert!(err(&done).contains("no study"), "{}", err(&done));
}

#[test]
fn a_player_is_deleted_only_when_the_alias_is_said_once_more() {
    let folder = folder();
    study(folder.path());
    let delete = |args: &[&str]| {
        underfoot(folder.path(), &[&["player", "delete", "P01", "--study", "study"], args].concat())
    };
    for args in [&[][..], &["--yes", "P02"]] {
        let done = delete(args);
        ends(&done, 2);
        for word in
            ["1 session, 2 swings and 4 files", "Copies elsewhere are not touched", "nothing was deleted"]
        {
            assert!(err(&done).contains(word), "{word} is missing from:\n{}", err(&done));
        }
    }
    let there = || archive::keep::all(&folder.path().join("study"), archive::keep::ORIGINALS).unwrap().len();
    assert_eq!(there(), 2);
    let done = delete(&["--yes", "P01", "--json"]);
    ends(&done, 0);
    assert_eq!((json(&done)["swings"].as_u64(), there()), (Some(2), 0));
    ends(&delete(&["--yes", "P01"]), 2);
    ends(&underfoot(folder.path(), &["study", "verify", "--study", "study"]), 0);
}
