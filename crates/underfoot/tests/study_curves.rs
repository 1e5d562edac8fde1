//! `underfoot curves` as a person or a script uses it. What it finds and how it says so: view::claim::curves.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use archive::import::{Incoming, Told};
use archive::{Player, Session, Study, StudySettings};
use common::{ends, err, folder, json, out, underfoot};
use std::path::Path;
use std::process::Command;
use view::claim::accounts::ACCOUNTS;

/// An invented player on two days, seven swings each, on two plates.
fn two_days(folder: &Path) {
    let study = Study::create(&folder.join("study"), &StudySettings::named("invented")).unwrap();
    let player =
        study.add_player(&Player { hand: Some("right".into()), ..Player::called("P01") }, None).unwrap();
    for (day, seed) in [("2026-05-12", "3"), ("2026-06-01", "4")] {
        let made =
            ["simulate", "-o", day, "--swings", "7", "--seed", seed, "--rate", "250", "--format", "c3d"];
        ends(&underfoot(folder, &[&made[..], &["--plates", "two"]].concat()), 0);
        let session = Session { target: Some("+x".into()), date: Some(day.into()), ..Session::of(player) };
        let session = study.add_session(&session).unwrap();
        let files = folder.join(day).read_dir().unwrap().map(|e| e.unwrap().path());
        let mut files: Vec<_> = files.filter(|f| f.extension().is_some_and(|e| e == "c3d")).collect();
        files.sort();
        let incoming: Vec<_> = files.iter().map(|f| Incoming::new(f, session)).collect();
        study
            .import(&incoming, |_, told| assert!(matches!(told, Told::Kept { .. }), "{told:?}"), || true)
            .unwrap();
    }
}

fn on(folder: &Path, arguments: &[&str]) -> std::process::Output {
    underfoot(folder, &[&["curves"], arguments, &["--study", "study"]].concat())
}

#[test]
fn curves_of_a_study() {
    let folder = folder();
    two_days(folder.path());
    let ask = |arguments: &[&str]| on(folder.path(), arguments);

    let shape = ask(&["up.net", "--session", "1"]);
    ends(&shape, 0);
    assert!(
        out(&shape)
            .starts_with("How does net force up go from takeaway to impact (session 1)?\n\n▸ On the mean, ")
    );

    let two = ask(&["toe.lead", "session=1", "session=2", "--register"]);
    ends(&two, 0);
    assert!(
        out(&two).contains("between A (session 1) and B (session 2)") && out(&two).contains("moved by, s")
    );

    let told = json(&ask(&["up.net", "session=1", "session=2", "--json", "--nodes", "51"]));
    assert_eq!(told["schema"], "underfoot.curves/1");
    assert_eq!(told["counted"]["swings"], 14);
    assert_eq!(told["numbers"]["test"]["statistic"].as_array().unwrap().len(), 51);
    assert!(told["numbers"]["test"]["smoothness_percent"].is_null(), "no smoothness where none is supposed");

    // The same bytes on one thread and on two.
    let on_threads = |n: &str| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_underfoot"));
        let asked = ["curves", "turn", "session=1", "session=2", "--study", "study", "--json"];
        command.current_dir(folder.path()).args(asked).env("RAYON_NUM_THREADS", n).output().unwrap().stdout
    };
    let one = on_threads("1");
    assert!(one.len() > 10_000 && one == on_threads("2"));

    // Beside a number that every swing has.
    let along = ask(&["up.net", "--on", "up.net.most"]);
    ends(&along, 0);
    assert!(out(&along).starts_with("Does net force up follow net up, most, anywhere"));

    let twice = ask(&["up.net", "session=1", "session=1"]);
    ends(&twice, 2);
    assert!(err(&twice).contains("7 swings are in more than one choice"));
    let wrong = ask(&["net.up"]);
    ends(&wrong, 2);
    assert!(err(&wrong).contains("did you mean \"up.net\"?"), "{}", err(&wrong));
    ends(&ask(&["up.net", "session=1", "session=2", "--from-event", "impact", "--to-event", "top"]), 2);
}

/// Every account is a column of a swing's series, in its unit.
#[test]
fn accounts_are_columns() {
    let folder = folder();
    let made =
        ["simulate", "-o", ".", "--swings", "1", "--rate", "250", "--format", "c3d", "--plates", "two"];
    ends(&underfoot(folder.path(), &made), 0);
    let file = folder
        .path()
        .read_dir()
        .unwrap()
        .map(|e| e.unwrap().path())
        .find(|p| p.extension().is_some_and(|e| e == "c3d"));
    let file = file.unwrap();
    let asked = ["series", file.to_str().unwrap(), "--target", "+x", "--format", "csv", "-o", "series.csv"];
    ends(&underfoot(folder.path(), &asked), 0);
    let text = std::fs::read_to_string(folder.path().join("series.csv")).unwrap();
    let head = text.lines().find(|l| !l.starts_with('#')).unwrap();
    let columns: Vec<&str> = head.split(',').collect();
    let listed = out(&underfoot(folder.path(), &["curves", "--list"]));
    for a in ACCOUNTS {
        assert!(columns.contains(&a.column), "{} is no column", a.column);
        assert!(listed.contains(&format!("  {} ", a.id)) && listed.contains(a.label));
    }
}
