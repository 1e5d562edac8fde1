//! `underfoot compare` as a person or a script uses it.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use common::{ends, err, folder, json, out, underfoot};
use std::path::Path;

/// Two invented players: five swings on each of two days, of another style on the second.
fn study(folder: &Path) {
    let run = |arguments: &[&str]| {
        let done = underfoot(folder, arguments);
        assert!(matches!(done.status.code(), Some(0 | 1)), "{arguments:?}: {}", err(&done));
    };
    run(&["study", "new", "study"]);
    for (alias, mass) in [("P01", "75"), ("P02", "68")] {
        run(&["player", "add", alias, "--hand", "right", "--study", "study"]);
        for (day, date) in [("a", "2026-05-12"), ("b", "2026-06-01")] {
            let name = format!("{alias}-{day}");
            let (style, seed) = if day == "a" { ("early", "3") } else { ("press", "4") };
            run(&[
                "simulate", "-o", &name, "--swings", "5", "--seed", seed, "--style", style, "--mass", mass,
                "--rate", "500", "--format", "c3d",
            ]);
            run(&[
                "import",
                &name,
                "--player",
                alias,
                "--date",
                date,
                "--target=+x",
                "--club",
                day,
                "--study",
                "study",
            ]);
        }
    }
}

#[test]
fn two_sides_of_a_study() {
    let folder = folder();
    study(folder.path());
    let ask = |arguments: &[&str]| {
        underfoot(folder.path(), &[&["compare"], arguments, &["--study", "study"]].concat())
    };
    let sides = ["session=1", "session=2"];

    let told = ask(&sides);
    ends(&told, 0);
    let text = out(&told);
    assert!(text.starts_with("Did P01's swings change from A (session 1) to B (session 2)?"), "{text}");
    for part in [
        "▸ ",
        "B − A",
        "10 swings of 1 player in 2 sessions",
        "mind: A and B are of different days",
        "seed 1",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    assert!(text.lines().all(|l| l.chars().count() <= 100), "{text}");

    // The same bits again, and on another number of threads.
    let whole = [&sides[..], &["--json", "--chapter", "timing"]].concat();
    let first = out(&ask(&whole));
    let mut one_thread = std::process::Command::new(env!("CARGO_BIN_EXE_underfoot"));
    one_thread.current_dir(folder.path()).env("RAYON_NUM_THREADS", "1").arg("compare").args(&whole);
    let alone = one_thread.args(["--study", "study"]).output().unwrap();
    assert_eq!(first, out(&alone));
    let numbers = json(&alone);
    assert_eq!(numbers["schema"], "underfoot.change/1");
    let metrics = numbers["numbers"]["metrics"].as_array().unwrap();
    assert!(metrics.len() > 3 && metrics.iter().all(|m| !m["metric"].as_str().unwrap().ends_with(".time")));
    assert!(metrics.iter().all(|m| m["detectable"]["of_days"].is_null()), "days are not known: null, not 0");

    // Players are counted, not swings; two are too few for any answer.
    let players = json(&ask(&["to=2026-05-31", "from=2026-06-01", "--metric", "up.net.most", "--json"]));
    assert_eq!(players["numbers"]["design"], "paired players");
    let row = &players["numbers"]["metrics"][0];
    assert_eq!((&row["verdict"], &row["p_least"]), (&"cannot be told".into(), &0.5.into()));
    assert!(row["p_adjusted"].is_null());
    assert!(players["verdict"].as_str().unwrap().contains("at least 6 players"), "{players}");
}

#[test]
fn what_cannot_be_asked_is_said() {
    let folder = folder();
    study(folder.path());
    let ask = |arguments: &[&str]| {
        underfoot(folder.path(), &[&["compare"], arguments, &["--study", "study"]].concat())
    };
    for (arguments, words) in [
        (&["player=P01", "session=1"][..], &["5 swings are in both A (P01) and B (session 1)", "do:"][..]),
        (&["session=1", "sesion=2"], &["session"]),
        (&["session=1", "session=2", "--club", "zz"], &["zz"]),
        (&["session=1", "session=2", "--player", "P02"], &["no swing of the study"]),
        (&["session=1", "session=2", "--metric", "up.nett.most"], &["up.net.most"]),
        (&["session=1", "session=2", "--alpha", "5"], &["0.05"]),
        (&["session=1"], &["<B>"]),
    ] {
        let told = ask(arguments);
        ends(&told, 2);
        assert!(words.iter().all(|w| err(&told).contains(w)), "{arguments:?}: {}", err(&told));
    }
}
