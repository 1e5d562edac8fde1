//! Many players at once, from a table, as a person or a script adds them.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use common::{ends, err, folder, json, out, underfoot};
use std::path::Path;

fn add(folder: &Path, table: &str) -> std::process::Output {
    std::fs::write(folder.join("players.csv"), table).unwrap();
    underfoot(folder, &["player", "add", "--from", "players.csv", "--study", "study"])
}

fn listed(folder: &Path) -> serde_json::Value {
    json(&underfoot(folder, &["player", "list", "--json", "--study", "study"]))["players"].take()
}

#[test]
fn a_table_of_players_is_added_as_a_whole_or_not_at_all() {
    let folder = folder();
    let here = folder.path();
    ends(&underfoot(here, &["study", "new", "study"]), 0);

    let done = add(
        here,
        "alias,hand,sex,handicap,born,shoe,consent_on\nP01,right,female,12.4,1990,41,2026-05-12\nP02,left,male,+2.1,1979,44,\n",
    );
    ends(&done, 0);
    assert_eq!(out(&done), "2 players added to the study\n");
    let said = err(&done);
    assert!(said.contains("column \"shoe\" is left out"), "{said}");
    assert!(said.contains("no consent is written down of P02;") && !said.contains("P01"), "{said}");
    let players = listed(here);
    assert_eq!(players[0]["consent_on"], "2026-05-12");
    assert_eq!(
        (&players[1]["alias"], &players[1]["hand"], &players[1]["sex"]),
        (&"P02".into(), &"left".into(), &"male".into())
    );
    // As golfers write it: a plus is better than scratch, and negative.
    assert_eq!(players[1]["handicap"], -2.1);
    assert_eq!(players[1]["born"], 1979);

    // The second row is known already, the first is not: neither is added.
    let again = add(here, "alias,hand\nP03,right\np02,left\n");
    ends(&again, 3);
    assert!(
        err(&again).contains("players.csv, line 3, column \"alias\": p02 is in the study already"),
        "{}",
        err(&again)
    );
    let wrong = add(here, "alias,hand\nP03,right\nP04,both\n");
    ends(&wrong, 3);
    assert!(err(&wrong).contains("line 3, column \"hand\": \"both\" is no hand"), "{}", err(&wrong));
    assert_eq!(listed(here).as_array().unwrap().len(), 2);
}

#[test]
fn a_table_or_one_player_is_asked_for() {
    let folder = folder();
    let here = folder.path();
    ends(&underfoot(here, &["study", "new", "study"]), 0);
    let none = underfoot(here, &["player", "add", "--study", "study"]);
    ends(&none, 2);
    let both = underfoot(here, &["player", "add", "P01", "--from", "players.csv", "--study", "study"]);
    ends(&both, 2);
    let more = underfoot(here, &["player", "add", "--from", "players.csv", "--sex", "f", "--study", "study"]);
    ends(&more, 2);
    let gone = underfoot(here, &["player", "add", "--from", "nobody.csv", "--study", "study"]);
    ends(&gone, 3);
    assert!(err(&gone).contains("nobody.csv"), "{}", err(&gone));
}
