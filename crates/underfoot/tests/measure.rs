//! `underfoot measure`, `metrics` and `filter` as a person or a script uses them.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use common::{ends, err, folder, json, out, underfoot};
use serde_json::Value;
use std::path::Path;

/// Invented swings as C3D files in the folder, and nothing else.
fn session(folder: &Path, swings: &str, more: &[&str]) {
    let made = ["simulate", "-o", ".", "--swings", swings, "--seed", "3", "--rate", "500", "--format", "c3d"];
    ends(&underfoot(folder, &[&made[..], more].concat()), 0);
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "csv") {
            std::fs::remove_file(path).unwrap();
        }
    }
}

const HOW: [&str; 4] = ["--target", "+x", "--hand", "right"];

fn metric<'a>(page: &'a Value, id: &str) -> &'a Value {
    page["metrics"].as_array().unwrap().iter().find(|m| m["id"] == id).unwrap_or_else(|| panic!("{id}"))
}

#[test]
fn the_page_of_one_swing() {
    let folder = folder();
    session(folder.path(), "1", &[]);
    let done = underfoot(folder.path(), &[&["measure", "alder-01.c3d"], &HOW[..]].concat());
    ends(&done, 0);
    insta::assert_snapshot!("measure", out(&done));
}

/// Every figure of the page stands in the JSON with its uncertainty; what is absent says why.
#[test]
fn for_machines() {
    let folder = folder();
    session(folder.path(), "1", &[]);
    let page = json(&underfoot(folder.path(), &[&["measure", "alder-01.c3d", "--json"], &HOW[..]].concat()));
    assert_eq!(page["schema"], "underfoot.measure/1");
    let ids = json(&underfoot(folder.path(), &["metrics", "--json"]));
    let metrics = page["metrics"].as_array().unwrap();
    assert_eq!(metrics.len(), ids.as_array().unwrap().len(), "the whole catalogue");
    for m in metrics {
        let there = m["value"].is_number() && m["u"].as_f64().is_some_and(|u| u > 0.0);
        // Couples of nothing and shares of one side are exact; everything else has a doubt.
        let exact = m["value"].is_number() && m["u"] == 0.0;
        assert!(there || exact || m["absent"].is_string(), "{m}");
    }
    let up = metric(&page, "up.net.most");
    assert_eq!(up["body_unit"], "%BW");
    let (value, u) = (up["value"].as_f64().unwrap(), up["u"].as_f64().unwrap());
    assert!((up["plus_minus"].as_f64().unwrap() - 1.96 * u).abs() < 1e-12);
    let bw = page["body_weight_n"].as_f64().unwrap();
    assert!((up["body_value"].as_f64().unwrap() - 100.0 * value / bw).abs() < 1e-9);
    // With one plate the split is absent, and says so.
    let made = &["measure", "alder-01.c3d", "--json", "--collapse"];
    let one = json(&underfoot(folder.path(), &[&made[..], &HOW[..]].concat()));
    let lead = metric(&one, "up.lead.most");
    assert!(lead["value"].is_null() && lead["absent"] == "the feet share a plate", "{lead}");
}

/// A recording without marks and channels: an estimated impact serves nothing unless it is asked for, and says so.
#[test]
fn estimates_are_asked_for() {
    let folder = folder();
    session(folder.path(), "1", &[]);
    let bare = |more: &[&str]| {
        let set = ["measure", "alder-01.csv", "--rig", "rig.toml", "--json"];
        json(&underfoot(folder.path(), &[&set[..], &HOW[..], more].concat()))
    };
    let made = ["simulate", "-o", ".", "--swings", "1", "--seed", "3", "--rate", "500", "--format", "csv"];
    ends(&underfoot(folder.path(), &made), 0);
    // The table keeps the trigger channel: take its column's name away, so that nothing speaks of impact.
    let table = std::fs::read_to_string(folder.path().join("alder-01.csv")).unwrap();
    std::fs::write(folder.path().join("alder-01.csv"), table.replace("IMPACT", "AUX")).unwrap();
    let rig = std::fs::read_to_string(folder.path().join("rig.toml")).unwrap();
    let rig = rig.split("[trigger]").next().unwrap().to_string();
    std::fs::write(folder.path().join("rig.toml"), rig).unwrap();
    let page = bare(&[]);
    let tempo = metric(&page, "tempo");
    assert!(tempo["value"].is_null(), "{tempo}");
    assert!(tempo["absent"].as_str().unwrap().contains("more than an estimate"), "{tempo}");
    let page = bare(&["--estimates"]);
    let tempo = metric(&page, "tempo");
    assert!(tempo["value"].is_number() && tempo["estimate"] == true, "{tempo}");
    // Placed by hand it is known.
    let page = bare(&["--set", "top=2.0", "--set", "impact=2.3"]);
    let down = metric(&page, "lasts.downswing");
    assert!((down["value"].as_f64().unwrap() - 0.3).abs() < 1e-9 && down["estimate"] == false, "{down}");
}

/// A folder: one bad file stops none, is told, and decides the exit code.
#[test]
fn a_folder_with_a_bad_file() {
    let folder = folder();
    session(folder.path(), "3", &[]);
    let done = underfoot(folder.path(), &[&["measure", "."], &HOW[..]].concat());
    ends(&done, 0);
    for k in 1..=3 {
        assert!(out(&done).contains(&format!("alder-0{k}.c3d")), "{}", out(&done));
    }
    std::fs::write(folder.path().join("broken.c3d"), "not a recording").unwrap();
    std::fs::write(folder.path().join("notes.md"), "windy").unwrap();
    let done = underfoot(folder.path(), &[&["measure", ".", "-o", "all.csv"], &HOW[..]].concat());
    ends(&done, 3);
    assert!(err(&done).contains("3 of 4 recordings measured"), "{}", err(&done));
    assert!(err(&done).contains("where: broken.c3d"), "{}", err(&done));
    let table = std::fs::read_to_string(folder.path().join("all.csv")).unwrap();
    let rows: Vec<&str> = table.lines().collect();
    assert_eq!(rows[0].split(',').count(), 15);
    assert_eq!((rows.len() - 1) % 3, 0);
    assert!(
        rows.iter()
            .any(|r| r.starts_with("alder-02.c3d,turn.net-cop.most,\"turn about the net cop, most\",N·m,")),
        "{}",
        rows[1]
    );
    // The same answer on any number of threads.
    let on = |threads: &str| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_underfoot"));
        command.current_dir(folder.path()).args(["measure", ".", "--json"]).args(HOW);
        command.env("RAYON_NUM_THREADS", threads).output().expect("the program starts")
    };
    let (one, three) = (on("1"), on("3"));
    assert!(!one.stdout.is_empty() && one.stdout == three.stdout);
}

#[test]
fn conditioning_is_asked_for_and_told() {
    let folder = folder();
    session(folder.path(), "1", &[]);
    let with =
        |more: &[&str]| underfoot(folder.path(), &[&["measure", "alder-01.c3d"], &HOW[..], more].concat());
    let done = with(&["--low-pass", "30", "--zero", "0.0:0.1", "--resample", "250"]);
    let text = out(&done);
    assert!(text.contains("low-pass 30 Hz (zero-lag Butterworth, order 2 both ways)"), "{text}");
    assert!(text.contains("resampled to 250 Hz"), "{text}");
    // Nobody is off the plates in that interval: the zero is refused, with a finding.
    assert!(err(&done).contains("F108"), "{}", err(&done));
    // The rig's table is followed, and --raw goes before it.
    std::fs::write(folder.path().join("bay.toml"), "[conditioning]\nlow_pass_hz = 25\norder = 4\n").unwrap();
    let text = out(&with(&["--rig", "bay.toml"]));
    assert!(text.contains("low-pass 25 Hz (zero-lag Butterworth, order 4 both ways)"), "{text}");
    let text = out(&with(&["--rig", "bay.toml", "--raw"]));
    assert!(text.contains("as recorded: no zero taken off, unfiltered"), "{text}");
    // A cut-off that cuts into the swing is told; one far above it is not.
    assert!(err(&with(&["--low-pass", "2"])).contains("Q365"));
    assert!(!err(&with(&["--low-pass", "30"])).contains("Q365"));
    // Events out of order span nothing, and say so.
    let page = json(&with(&["--json", "--set", "top=2.4", "--set", "impact=2.5", "--set", "takeaway=2.3"]));
    assert!((metric(&page, "lasts.downswing")["value"].as_f64().unwrap() - 0.1).abs() < 1e-9);
    let page = json(&with(&["--json", "--set", "takeaway=2.3"]));
    let back = metric(&page, "lasts.backswing");
    assert_eq!(back["absent"], "the events it lies between are not in order", "{back}");
    // Calls that cannot be.
    for bad in [
        &["--low-pass", "300"][..],
        &["--order", "4"],
        &["--zero", "nowhere.c3d"],
        &["--raw", "--low-pass", "20"],
        &["--zero", "2:1"],
        &["--set", "impact=99"],
    ] {
        let done = with(bad);
        ends(&done, 2);
        assert!(out(&done).is_empty(), "{bad:?}");
    }
}

#[test]
fn the_catalogue_explains_itself() {
    let folder = folder();
    let list = out(&underfoot(folder.path(), &["metrics", "--list"]));
    assert!(list.contains("turn.net-cop.most") && list.contains("a plate for each foot"));
    let one = out(&underfoot(folder.path(), &["metrics", "stance.width"]));
    assert!(one.contains("|c_lead − c_trail| at address"), "{one}");
    let unknown = underfoot(folder.path(), &["metrics", "stance"]);
    ends(&unknown, 2);
    assert!(err(&unknown).contains("did you mean stance.width"), "{}", err(&unknown));
}

/// The proposal is near the noise that was put in, and following it is a call that works.
#[test]
fn a_cut_off_is_proposed_with_its_plot() {
    let folder = folder();
    session(folder.path(), "1", &[]);
    let done = underfoot(folder.path(), &["filter", "--suggest", "alder-01.c3d", "--target", "+x"]);
    ends(&done, 0);
    let text = out(&done);
    assert!(text.contains("[conditioning]") && text.contains("line of noise"), "{text}");
    let page = json(&underfoot(folder.path(), &["filter", "alder-01.c3d", "--target", "+x", "--json"]));
    let hz = page["low_pass_hz"].as_f64().unwrap();
    assert!((5.0..80.0).contains(&hz), "{hz}");
    // White noise of 0.8 N went into every force (Noise::USUAL of the simulator).
    for c in page["components"].as_array().unwrap().iter().filter(|c| c["unit"] == "N") {
        let noise = c["noise"].as_f64().unwrap();
        assert!((0.6..1.1).contains(&noise), "{c}");
    }
}

/// What is wrong with one recording of a folder stops neither `check` nor `measure` for the others.
#[test]
fn one_recording_that_cannot_be_read_as_asked() {
    let folder = folder();
    session(folder.path(), "1", &[]);
    let slow = ["simulate", "-o", "slow", "--swings", "1", "--rate", "200", "--format", "c3d"];
    ends(&underfoot(folder.path(), &slow), 0);
    std::fs::rename(folder.path().join("slow/alder-01.c3d"), folder.path().join("slow.c3d")).unwrap();
    for command in ["check", "measure"] {
        let done = underfoot(folder.path(), &[&[command, ".", "--low-pass", "150"], &HOW[..]].concat());
        ends(&done, 3);
        assert!(out(&done).contains("alder-01.c3d"), "{command}: {}", out(&done));
    }
}
