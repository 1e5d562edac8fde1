//! `underfoot watch`: what a lesson sees, and what a script reads.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

mod common;

use common::{ends, err, folder, out, underfoot};
use serde_json::Value;
use std::io::{BufRead as _, BufReader, Read};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::channel;
use std::time::Duration;
use underfoot::archive::{Player, Study};

/// A study with a player, and three invented swings beside it.
fn prepared() -> tempfile::TempDir {
    let folder = folder();
    let made = ["simulate", "-o", "made", "--swings", "3", "--seed", "3", "--rate", "500"];
    ends(&underfoot(folder.path(), &made), 0);
    ends(&underfoot(folder.path(), &["study", "new", "practice"]), 0);
    let study = Study::open(&folder.path().join("practice")).unwrap();
    study.add_player(&Player { hand: Some("right".into()), ..Player::called("P01") }, None).unwrap();
    std::fs::create_dir(folder.path().join("in")).unwrap();
    folder
}

fn bring(folder: &Path, number: usize) {
    let name = format!("alder-{number:02}.c3d");
    std::fs::copy(folder.join("made").join(&name), folder.join("in").join(&name)).unwrap();
}

const WATCH: [&str; 8] = ["watch", "in", "--player", "p01", "--target", "+x", "--study", "practice"];

#[test]
fn once_has_a_line_a_swing_with_the_figures_that_measure_gives() {
    let folder = prepared();
    bring(folder.path(), 1);
    bring(folder.path(), 2);
    let done = underfoot(folder.path(), &[&WATCH[..], &["--once", "--club", "driver"]].concat());
    ends(&done, 0);
    assert!(
        err(&done).contains("in for P01, session 1") && err(&done).contains("made now"),
        "{}",
        err(&done)
    );
    assert!(err(&done).contains("2 taken in, 0 there before"), "{}", err(&done));
    let measured = underfoot(folder.path(), &["measure", "in", "--target", "+x", "--hand", "right"]);
    ends(&measured, 0);
    let cells = |text: &str, name: &str| -> Vec<String> {
        let line = text.lines().find(|l| l.contains(name)).unwrap_or_else(|| panic!("{name} in:\n{text}"));
        line.split("  ").map(str::trim).filter(|c| c.contains('±')).map(String::from).collect()
    };
    for name in ["alder-01.c3d", "alder-02.c3d"] {
        let told = cells(&out(&done), name);
        assert_eq!(told.len(), 4, "{}", out(&done));
        assert_eq!(told, cells(&out(&measured), name.trim_end_matches(".c3d")));
    }
    assert!(out(&done).lines().nth(1).unwrap().contains("both feet"));
    // The same session again; nothing is new.
    let again = underfoot(folder.path(), &[&WATCH[..], &["--once"]].concat());
    ends(&again, 0);
    assert!(err(&again).contains("session 1") && !err(&again).contains("made now"), "{}", err(&again));
    assert!(err(&again).contains("2 known from before") && out(&again).is_empty());
    let study = Study::open(&folder.path().join("practice")).unwrap();
    assert_eq!(study.sheet(1).unwrap().club, "driver");
}

#[test]
fn a_script_reads_a_line_an_event_and_a_code() {
    let folder = prepared();
    bring(folder.path(), 1);
    std::fs::write(folder.path().join("in/notes.txt"), "three balls\n").unwrap();
    let done = underfoot(folder.path(), &[&WATCH[..], &["--once", "--json"]].concat());
    ends(&done, 3);
    let events: Vec<Value> = out(&done).lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    let names: Vec<&str> = events.iter().map(|e| e["event"].as_str().unwrap()).collect();
    assert_eq!(names.first(), Some(&"watching"));
    let kept = events.iter().find(|e| e["event"] == "kept").unwrap();
    assert_eq!((&kept["swing"], &kept["number"], &kept["feet"]), (&1.into(), &1.into(), &2.into()));
    assert!(kept["took"]["storing_s"].as_f64().unwrap() > 0.0);
    let failed = events.iter().find(|e| e["event"] == "failed").unwrap();
    assert!(failed["why"].as_str().unwrap().contains("no row of numbers"));
    assert_eq!(err(&done), "");
}

/// A program that watches, and goes when the test does, however that ends.
struct Watching(Child);

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Lines as they are said, each within a minute.
fn lines(said: impl Read + Send + 'static) -> impl FnMut() -> String {
    let (send, lines) = channel();
    std::thread::spawn(move || {
        BufReader::new(said).lines().map_while(Result::ok).try_for_each(|line| send.send(line))
    });
    move || lines.recv_timeout(Duration::from_secs(60)).expect("a line")
}

#[test]
fn a_swing_is_told_while_it_goes_on() {
    let folder = prepared();
    let mut command = Command::new(env!("CARGO_BIN_EXE_underfoot"));
    command.current_dir(folder.path()).args(WATCH).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut watching = Watching(command.spawn().unwrap());
    let mut said = lines(watching.0.stderr.take().unwrap());
    while !said().starts_with("Watching") {}
    let mut told = lines(watching.0.stdout.take().unwrap());
    bring(folder.path(), 3);
    let (head, line) = (told(), told());
    assert!(head.contains("drive %BW") && line.contains("alder-03.c3d"), "{head}\n{line}");
}

#[test]
fn what_cannot_be_watched_is_said() {
    let folder = prepared();
    let no_one = underfoot(folder.path(), &["watch", "in", "--study", "practice"]);
    ends(&no_one, 2);
    assert!(err(&no_one).contains("--session") && err(&no_one).contains("--player"));
    let unknown = underfoot(folder.path(), &["watch", "in", "--player", "P02", "--study", "practice"]);
    ends(&unknown, 2);
    assert!(err(&unknown).contains("did you mean \"P01\"?"), "{}", err(&unknown));
    let session = underfoot(folder.path(), &["watch", "in", "--session", "7", "--study", "practice"]);
    ends(&session, 2);
    let mut elsewhere = WATCH;
    elsewhere[1] = "nowhere";
    let done = underfoot(folder.path(), &elsewhere);
    ends(&done, 3);
    assert!(err(&done).contains("where: nowhere"), "{}", err(&done));
    elsewhere[1] = "practice";
    let inside = underfoot(folder.path(), &elsewhere);
    ends(&inside, 2);
    assert!(err(&inside).contains("inside a study"), "{}", err(&inside));
}
