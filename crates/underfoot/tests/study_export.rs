//! `underfoot export` as a person calls it.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use common::{ends, err, folder, json, out, underfoot};
use std::path::Path;
use underfoot::archive::import::Incoming;
use underfoot::archive::{Identity, Player, Session, Study, StudySettings};

/// A study of an invented player with a two-plate and a one-plate swing, each imported from what `underfoot simulate` wrote.
fn study(folder: &Path) -> Study {
    for (name, plates) in [("two", "two"), ("one", "one")] {
        let made =
            underfoot(folder, &["simulate", "-o", name, "--swings", "1", "--seed", "7", "--plates", plates]);
        ends(&made, 0);
    }
    let study = Study::create(&folder.join("study"), &StudySettings::named("practice")).unwrap();
    let who = Identity { name: "An Invented Name".into(), contact: String::new() };
    let player = Player { hand: Some("right".into()), ..Player::called("P01") };
    let player = study.add_player(&player, Some(&who)).unwrap();
    for (name, day) in [("two", "2026-05-12"), ("one", "2026-05-19")] {
        let session = Session { date: Some(day.into()), target: Some("+x".into()), ..Session::of(player) };
        let session = study.add_session(&session).unwrap();
        let file = std::fs::read_dir(folder.join(name))
            .unwrap()
            .map(|e| e.unwrap().path())
            .find(|p| p.extension().is_some_and(|e| e == "c3d"))
            .unwrap();
        let incoming = Incoming { club: "7-iron".into(), ..Incoming::new(&file, session) };
        study.import(&[incoming], |_, _| (), || true).unwrap();
    }
    study
}

#[test]
fn a_package_in_one_command() {
    let folder = folder();
    let at = folder.path();
    study(at);
    let done = underfoot(at, &["export", "paper", "--study", "study", "--series"]);
    ends(&done, 0);
    assert!(out(&done).starts_with("wrote paper: 2 swings in 12 files, "), "{}", out(&done));
    let about: serde_json::Value =
        serde_json::from_slice(&std::fs::read(at.join("paper/datapackage.json")).unwrap()).unwrap();
    assert_eq!(about["name"], "practice");
    let names: Vec<&str> =
        about["resources"].as_array().unwrap().iter().map(|r| r["name"].as_str().unwrap()).collect();
    assert_eq!(
        names,
        [
            "players", "rigs", "sessions", "swings", "events", "findings", "metrics", "figures", "outcomes",
            "tags", "changes", "series"
        ]
    );
    let read = |name: &str| std::fs::read_to_string(at.join("paper").join(name)).unwrap();
    assert!(!read("players.csv").contains("Invented"));
    assert!(read("README.md").contains("±") || read("README.md").contains("plus_minus_95"));
    // Once more over it: refused, and nothing is changed.
    let again = underfoot(at, &["export", "paper", "--study", "study"]);
    ends(&again, 2);
    assert!(err(&again).contains("already there"), "{}", err(&again));
    // Names only where they are asked for, and said.
    let named = underfoot(at, &["export", "named", "--study", "study", "--with-identity"]);
    ends(&named, 0);
    assert!(err(&named).contains("holds names"));
    assert!(std::fs::read_to_string(at.join("named/identity.csv")).unwrap().contains("An Invented Name"));
}

#[test]
fn every_format_and_one_table() {
    let folder = folder();
    let at = folder.path();
    study(at);
    let run = |words: &[&str]| underfoot(at, &[&["export", "--study", "study"], words].concat());
    for (words, file) in [
        (&["csv", "--format", "csv", "--swing", "2"][..], "csv/figures.csv"),
        (&["parquet", "--format", "parquet", "--series"][..], "parquet/series.parquet"),
        (&["c3d", "--format", "c3d", "--without-identity"][..], "c3d/swing-000001.c3d"),
        (&["one.csv", "--table", "swings"][..], "one.csv"),
        (&["one.parquet", "--table", "figures"][..], "one.parquet"),
        (&["study.json"][..], "study.json"),
    ] {
        ends(&run(words), 0);
        assert!(std::fs::metadata(at.join(file)).unwrap().len() > 100, "{file}");
    }
    let table = std::fs::read_to_string(at.join("one.csv")).unwrap();
    assert_eq!(table.lines().count(), 3);
    // A file that is there is written over only where that is said; the study's own never.
    let again = run(&["one.csv", "--table", "players"]);
    ends(&again, 2);
    assert!(err(&again).contains("already a file") && err(&again).contains("--overwrite"), "{}", err(&again));
    assert_eq!(std::fs::read_to_string(at.join("one.csv")).unwrap(), table);
    ends(&run(&["one.csv", "--table", "players", "--overwrite"]), 0);
    assert!(std::fs::read_to_string(at.join("one.csv")).unwrap().starts_with("player,"));
    ends(&run(&["study/catalogue.sqlite", "--table", "players", "--overwrite"]), 2);
    let document: serde_json::Value =
        serde_json::from_slice(&std::fs::read(at.join("study.json")).unwrap()).unwrap();
    let swings = |session: usize| &document["players"][0]["sessions"][session]["swings"];
    assert_eq!(swings(1)[0]["plates"], "one");
    assert!(swings(0)[0]["figures"].as_array().unwrap().len() > 300);
    // The same number as `measure` gives of the file itself.
    let file = std::fs::read_dir(at.join("two")).unwrap().map(|e| e.unwrap().path());
    let file = file.into_iter().find(|p| p.extension().is_some_and(|e| e == "c3d")).unwrap();
    let page = json(&underfoot(
        at,
        &["measure", file.to_str().unwrap(), "--target", "+x", "--hand", "right", "--json"],
    ));
    let metrics = page["metrics"].as_array().unwrap();
    let figures = swings(0)[0]["figures"].as_array().unwrap();
    let mut compared = 0;
    for m in metrics {
        let kept = figures.iter().find(|f| f["metric"] == m["id"]).unwrap();
        assert_eq!(kept["value"], m["value"], "{}", m["id"]);
        assert_eq!(kept["u"], m["u"], "{}", m["id"]);
        compared += usize::from(!m["value"].is_null());
    }
    assert!(compared > 50);
    let told = json(&run(&["told", "--json"]));
    assert_eq!((told["swings"].as_u64(), told["stale"].as_u64()), (Some(2), Some(0)));
    assert_eq!(told["schema"], "underfoot.exported/1");
}

#[test]
fn what_does_not_go_together_is_refused() {
    let folder = folder();
    let at = folder.path();
    study(at);
    let run = |words: &[&str]| underfoot(at, &[&["export", "--study", "study"], words].concat());
    for (words, said) in [
        (&["x.csv"][..], "one table"),
        (&["x.csv", "--table", "figure"][..], "figures"),
        (&["x", "--originals", "--without-identity"][..], "never exported without identity"),
        (&["x.csv", "--table", "tags", "--without-identity"][..], "tags"),
        (&["x.json", "--series"][..], "too many"),
        (&["x", "--with-identity", "--without-identity"][..], "cannot be used with"),
        (&["x", "--player", "P02"][..], "P02"),
        (&["x", "--swing", "1", "--session", "2"][..], "no swing fits"),
        (&["study/derived/x"][..], "in the study's own folder"),
    ] {
        let done = run(words);
        ends(&done, 2);
        assert!(err(&done).contains(said), "{words:?}: {}", err(&done));
        assert!(!at.join("x").exists() && !at.join("x.csv").exists() && !at.join("x.json").exists());
    }
}

/// A rig file may have series resampled: C3D has no second rate for them, and says so.
#[test]
fn what_is_out_of_date_or_not_in_it_is_said() {
    let folder = folder();
    let at = folder.path();
    let study = study(at);
    // A setting is changed in a file, so that nobody knows of it until it is asked for.
    let settings = at.join("study/study.toml");
    let text = std::fs::read_to_string(&settings).unwrap();
    std::fs::write(&settings, text.replace("estimates = false", "estimates = true")).unwrap();
    let done = underfoot(at, &["export", "old", "--study", "study"]);
    ends(&done, 0);
    assert!(err(&done).contains("2 of the swings were measured with something else"), "{}", err(&done));
    let swings = std::fs::read_to_string(at.join("old/swings.csv")).unwrap();
    assert_eq!(swings.matches(",false,").count(), 2, "{swings}");

    let rig = std::fs::read_to_string(at.join("two/rig.toml")).unwrap();
    let text = format!("{rig}\n[conditioning]\nresample_hz = 500\n");
    study.add_rig("bay", &text, &underfoot::archive::rigs::Since::New).unwrap();
    let session = study.session(1).unwrap();
    let rig = Some(study.rig_called("bay").unwrap()[0].rig);
    study.edit_session(&session, &underfoot::archive::Session { rig, ..session.clone() }).unwrap();
    let done = underfoot(at, &["export", "c3d", "--study", "study", "--format", "c3d"]);
    ends(&done, 3);
    assert!(err(&done).contains("resampled") && err(&done).contains("swing 1"), "{}", err(&done));
    assert!(at.join("c3d/swing-000002.c3d").is_file() && !at.join("c3d/swing-000001.c3d").exists());
}
