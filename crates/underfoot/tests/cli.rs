//! The command line as a person or a script uses it: what it prints, what it writes, how it ends.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may

mod common;

use common::{ends, err, folder, json, out, underfoot};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// One invented swing as C3D, CSV and rig file in the folder.
fn one_swing(folder: &Path) {
    let done = underfoot(folder, &["simulate", "-o", ".", "--swings", "1", "--seed", "3", "--rate", "500"]);
    ends(&done, 0);
}

const SWING: [&str; 5] = ["alder-01.c3d", "--target", "+x", "--hand", "right"];

#[test]
fn demo_does_the_whole_job_and_says_the_cautions() {
    let folder = folder();
    let done = underfoot(folder.path(), &["demo"]);
    ends(&done, 0);
    let text = out(&done);
    for word in [
        "invented player",
        "LEDGER",
        "shear couple, toe–heel",
        "by foot: lead",
        "SESSION",
        "not a medical device",
    ] {
        assert!(text.contains(word), "{word} is missing from:\n{text}");
    }
    for file in ["alder-01.c3d", "alder-06.c3d", "alder-01.csv", "rig.toml", "alder-01.truth.csv"] {
        assert!(folder.path().join("underfoot-demo").join(file).is_file(), "{file}");
    }
    insta::assert_snapshot!("demo", text);
}

#[test]
fn the_page_of_one_instant() {
    let folder = folder();
    one_swing(folder.path());
    let done =
        underfoot(folder.path(), &[&["ledger"], &SWING[..], &["--at", "2.3", "--about", "stance"]].concat());
    ends(&done, 0);
    insta::assert_snapshot!("ledger-at", out(&done));
    let done = underfoot(folder.path(), &[&["inspect"], &SWING[..]].concat());
    ends(&done, 0);
    insta::assert_snapshot!("inspect", out(&done));
}

#[test]
fn ledger_for_machines_balances_in_every_account() {
    let folder = folder();
    one_swing(folder.path());
    for about in ["net-cop", "rig-centre", "plate:2", "stance", "mid-cop", "-0.1,0.2"] {
        let done =
            underfoot(folder.path(), &[&["ledger"], &SWING[..], &["--json", "--about", about]].concat());
        ends(&done, 0);
        let page = json(&done);
        assert_eq!(page["schema"], "underfoot.ledger/1");
        let instants = page["instants"].as_array().expect("instants");
        assert_eq!(instants.len(), 7);
        for instant in instants {
            let entries = instant["turn"]["entries"].as_array().expect("entries");
            let sum: f64 = entries.iter().map(|e| e["value_nm"].as_f64().expect("a number")).sum();
            let net = instant["turn"]["net_nm"].as_f64().expect("a number");
            assert!((sum - net).abs() < 1e-9 * 100.0, "{about}: {sum} {net}");
            for force in instant["forces"].as_array().expect("forces") {
                let of = |name: &str| force[name].as_f64().expect("a number");
                assert!((of("lead_n") + of("trail_n") - of("net_n")).abs() < 1e-9 * 1000.0);
            }
        }
    }
}

/// The columns that people script against, in this order.
const COLUMNS: &str = "time_s,lead_target_n,lead_toe_n,lead_up_n,lead_cop_target_m,lead_cop_toe_m,lead_free_moment_nm,\
trail_target_n,trail_toe_n,trail_up_n,trail_cop_target_m,trail_cop_toe_m,trail_free_moment_nm,net_target_n,net_toe_n,\
net_up_n,net_cop_target_m,net_cop_toe_m,turn_nm,turn_lead_nm,turn_trail_nm,turn_free_lead_nm,turn_free_trail_nm,\
turn_couple_toe_nm,turn_couple_target_nm,turn_offset_nm";

fn rows(text: &str) -> (Vec<String>, Vec<Vec<f64>>) {
    let mut lines = text.lines();
    let names = lines.next().unwrap_or_default().split(',').map(str::to_string).collect();
    let rows = lines.map(|l| l.split(',').map(|c| c.parse().unwrap_or(f64::NAN)).collect()).collect();
    (names, rows)
}

#[test]
fn series_has_its_columns_and_says_its_convention() {
    let folder = folder();
    one_swing(folder.path());
    let done = underfoot(folder.path(), &[&["series"], &SWING[..], &["-o", "swing.csv"]].concat());
    ends(&done, 0);
    let text = std::fs::read_to_string(folder.path().join("swing.csv")).expect("the file");
    assert_eq!(text.lines().next(), Some(COLUMNS));
    let (names, reaction) = rows(&text);
    let at = |name: &str| names.iter().position(|n| n == name).expect("a column");
    for row in &reaction {
        let sum: f64 = ["free_lead", "free_trail", "couple_toe", "couple_target", "offset"]
            .iter()
            .map(|e| row[at(&format!("turn_{e}_nm"))])
            .sum();
        assert!((sum - row[at("turn_nm")]).abs() < 1e-9 * 100.0 || row[at("turn_nm")].is_nan());
    }
    let about: Value = serde_json::from_slice(
        &std::fs::read(folder.path().join("swing.csv-metadata.json")).expect("metadata"),
    )
    .expect("JSON");
    assert_eq!(about["url"], "swing.csv");
    assert_eq!(about["tableSchema"]["columns"][3]["schema:unitText"], "N");
    assert!(about["dc:description"].as_str().expect("words").contains("reaction on the player"));

    // Actions turn forces and moments, never places.
    let done = underfoot(folder.path(), &[&["series"], &SWING[..], &["--signs", "action"]].concat());
    let (_, action) = rows(&out(&done));
    let k = reaction.len() / 2;
    assert_eq!(action[k][at("lead_up_n")], -reaction[k][at("lead_up_n")]);
    assert_eq!(action[k][at("lead_cop_toe_m")], reaction[k][at("lead_cop_toe_m")]);
    assert_eq!(action[k][at("turn_nm")], -reaction[k][at("turn_nm")]);

    // The laboratory frame of this recording is the golf frame: toe is −y, and the plates' centre is the origin.
    let done =
        underfoot(folder.path(), &[&["series"], &SWING[..], &["--frame", "lab", "--format", "csv"]].concat());
    let (lab_names, lab) = rows(&out(&done));
    let lab_at = |name: &str| lab_names.iter().position(|n| n == name).expect("a column");
    assert!((lab[k][lab_at("lead_y_n")] + reaction[k][at("lead_toe_n")]).abs() < 1e-9);
    assert!((lab[k][lab_at("net_cop_x_m")] - reaction[k][at("net_cop_target_m")]).abs() < 1e-9);
}

#[test]
fn one_plate_gives_net_accounts_and_says_why() {
    let folder = folder();
    let made = ["simulate", "-o", ".", "--swings", "1", "--plates", "one", "--type", "3", "--rate", "500"];
    ends(&underfoot(folder.path(), &made), 0);
    let done = underfoot(folder.path(), &[&["ledger"], &SWING[..]].concat());
    ends(&done, 0);
    assert!(out(&done).contains("net accounts only"), "{}", out(&done));
    assert!(err(&done).contains("Q306 One plate: only net accounts exist"), "{}", err(&done));
    let done = underfoot(folder.path(), &[&["series"], &SWING[..]].concat());
    let (names, rows) = rows(&out(&done));
    assert_eq!(names.join(","), COLUMNS);
    assert!(rows.iter().all(|r| r[1].is_nan() && r[13].is_finite() && r[18].is_finite() && r[21].is_nan()));
    let refused = underfoot(folder.path(), &[&["ledger"], &SWING[..], &["--about", "stance"]].concat());
    ends(&refused, 2);
    assert!(err(&refused).contains("a plate for each foot"), "{}", err(&refused));
}

#[test]
fn a_table_with_its_rig_is_the_same_swing_and_converts_back() {
    let folder = folder();
    one_swing(folder.path());
    let of = |arguments: &[&str]| {
        let done = underfoot(folder.path(), arguments);
        ends(&done, 0);
        rows(&out(&done)).1
    };
    let c3d = of(&[&["series"], &SWING[..]].concat());
    let table = of(&["series", "alder-01.csv", "--rig", "rig.toml", "--hand", "right"]);
    ends(&underfoot(folder.path(), &["convert", "alder-01.csv", "back.c3d", "--rig", "rig.toml"]), 0);
    let back = of(&["series", "back.c3d", "--target", "+x", "--hand", "right"]);
    ends(&underfoot(folder.path(), &["convert", "alder-01.c3d", "there.tsv"]), 0);
    let there = of(&["series", "there.tsv", "--rig", "there.rig.toml", "--hand", "right", "--target", "+x"]);
    for other in [table, back, there] {
        assert_eq!(other.len(), c3d.len());
        let worst = c3d
            .iter()
            .flatten()
            .zip(other.iter().flatten())
            .map(|(a, b)| (a - b).abs() / a.abs().max(1.0))
            .filter(|d| d.is_finite())
            .fold(0.0, f64::max);
        // A C3D file keeps 24 bits of every channel, also of a moment about a far point.
        assert!(worst < 1e-4, "{worst}");
    }
}

#[test]
fn a_rig_file_is_written_and_explained() {
    let folder = folder();
    one_swing(folder.path());
    let new = ["rig", "new", "alder-01.csv", "-o", "bay.toml", "--yes", "--answer", "target=-y"];
    ends(&underfoot(folder.path(), &new), 0);
    let text = std::fs::read_to_string(folder.path().join("bay.toml")).expect("the file");
    assert!(text.contains("target = \"-y\"") && text.contains("Assumed, not measured"), "{text}");
    let again = underfoot(folder.path(), &new);
    ends(&again, 2);
    assert!(err(&again).contains("--force"));
    let done = underfoot(folder.path(), &["rig", "check", "bay.toml", "alder-01.csv"]);
    ends(&done, 0);
    assert!(out(&done).contains("target →"), "{}", out(&done));
    let listed = underfoot(folder.path(), &["rig", "new", "alder-01.csv", "--questions"]);
    ends(&listed, 0);
    assert!(out(&listed).contains("plate1.size = "));
}

#[test]
fn wrong_calls_end_with_two_and_bad_files_with_three() {
    let folder = folder();
    one_swing(folder.path());
    std::fs::write(folder.path().join("empty.c3d"), b"").expect("written");
    std::fs::write(folder.path().join("noise.bin"), [7_u8, 0, 200, 1].repeat(300)).expect("written");
    std::fs::write(folder.path().join("words.txt"), "no numbers here\nonly words\n").expect("written");
    std::fs::write(folder.path().join("odd.toml"), "plates = 3\n").expect("written");
    let whole = std::fs::read(folder.path().join("alder-01.c3d")).expect("read");
    std::fs::write(folder.path().join("head.c3d"), &whole[..700]).expect("written");
    let cases: &[(&[&str], i32, &str)] = &[
        (&["ledger"], 2, "<FILE>"),
        (&["ledger", "alder-01.c3d", "--about", "nowhere"], 2, "net-cop"),
        (&["ledger", "alder-01.c3d", "--target", "up there"], 2, "laboratory axis"),
        (&["ledger", "alder-01.c3d", "--target", "+z"], 2, "horizontal"),
        (&["ledger", "alder-01.c3d", "--about", "plate:9"], 2, "there is no plate 9"),
        (&["ledger", "alder-01.c3d", "--at", "99"], 2, "between 0.000 and"),
        (&["ledger", "alder-01.c3d", "--mass", "-3"], 2, "kilograms"),
        (&["series", "alder-01.c3d", "--format", "parquet"], 2, "-o OUT.parquet"),
        (&["explain", "Q999"], 2, "there is no finding"),
        (&["convert", "alder-01.c3d", "swing.xlsx"], 2, ".c3d, .csv or .tsv"),
        (&["simulate", "-o", ".", "--type", "0", "--format", "c3d"], 2, "--format csv"),
        (&["ledger", "missing.c3d"], 3, "missing.c3d"),
        (&["ledger", "."], 3, "folder"),
        (&["ledger", "empty.c3d"], 3, "empty"),
        (&["ledger", "noise.bin"], 3, "noise.bin"),
        (&["ledger", "words.txt"], 3, "words.txt"),
        (&["ledger", "head.c3d"], 3, "head.c3d"),
        (&["ledger", "alder-01.csv"], 3, "rig new"),
        (&["ledger", "alder-01.csv", "--rig", "odd.toml"], 3, "plates"),
        (&["series", "alder-01.c3d", "-o", "nowhere/swing.csv"], 3, "folder exists"),
    ];
    for (arguments, code, word) in cases {
        let done = underfoot(folder.path(), arguments);
        ends(&done, *code);
        assert!(err(&done).contains(word), "{arguments:?} should say {word:?}:\n{}", err(&done));
        assert_eq!(out(&done), "", "{arguments:?} printed a result");
    }
    let left: Vec<PathBuf> =
        std::fs::read_dir(folder.path()).expect("folder").map(|e| e.expect("entry").path()).collect();
    assert!(left.iter().all(|p| !p.to_string_lossy().contains(".underfoot-")), "half-written: {left:?}");
}

/// Whatever happens to a file's bytes, the program ends by itself, and never as our bug.
#[test]
fn spoilt_bytes_never_end_as_our_bug() {
    let folder = folder();
    one_swing(folder.path());
    let whole = std::fs::read(folder.path().join("alder-01.c3d")).expect("read");
    let mut seed = 12345_u32;
    let mut draw = |below: usize| {
        // A linear congruential generator: reproducible, good enough to spoil bytes.
        seed = seed.wrapping_mul(1_103_515_245).wrapping_add(12345);
        (seed >> 8) as usize % below
    };
    for round in 0..40 {
        let mut bytes = whole.clone();
        if round % 4 == 0 {
            bytes.truncate(draw(whole.len()));
        }
        let reach = bytes.len().min(4096);
        for _ in 0..3 {
            if reach > 0 {
                let place = draw(reach);
                bytes[place] = draw(256) as u8;
            }
        }
        let path = folder.path().join("spoilt.c3d");
        std::fs::write(&path, &bytes).expect("written");
        let done = underfoot(folder.path(), &["inspect", "spoilt.c3d"]);
        let code = done.status.code();
        assert!(matches!(code, Some(0 | 1 | 3)), "round {round}: {code:?}\n{}", err(&done));
    }
}

#[test]
fn a_closed_pipe_is_success() {
    let folder = folder();
    one_swing(folder.path());
    let mut child = Command::new(env!("CARGO_BIN_EXE_underfoot"))
        .current_dir(folder.path())
        .args([&["series"], &SWING[..]].concat())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("starts");
    drop(child.stdout.take());
    assert_eq!(child.wait().expect("ends").code(), Some(0));
}

#[test]
fn findings_of_severity_stop_end_with_one() {
    let folder = folder();
    one_swing(folder.path());
    // The markers of a right-handed player contradict a left-handed one.
    let done = underfoot(folder.path(), &["ledger", "alder-01.c3d", "--target", "+x", "--hand", "left"]);
    ends(&done, 1);
    assert!(err(&done).contains("■ Q308"), "{}", err(&done));
    assert!(out(&done).starts_with("LEDGER"));
}

#[test]
fn findings_are_explained_and_completions_written() {
    let folder = folder();
    let all = underfoot(folder.path(), &["explain", "--json"]);
    ends(&all, 0);
    assert!(json(&all).as_array().expect("a list").len() > 30);
    let one = underfoot(folder.path(), &["explain", "q303"]);
    ends(&one, 0);
    assert!(out(&one).contains("Winter 1995"));
    for shell in ["bash", "zsh", "fish"] {
        let done = underfoot(folder.path(), &["completions", shell]);
        ends(&done, 0);
        assert!(out(&done).contains("underfoot"));
    }
    for command in
        ["inspect", "ledger", "series", "simulate", "demo", "convert", "explain", "completions", "rig"]
    {
        let done = underfoot(folder.path(), &[command, "--help"]);
        ends(&done, 0);
        assert!(
            command == "rig" || out(&done).contains("xample"),
            "{command} has no example:\n{}",
            out(&done)
        );
    }
}

/// What is being read is never written over, and a rig file made by hand is not replaced unasked.
#[test]
fn results_do_not_replace_recordings() {
    let folder = folder();
    one_swing(folder.path());
    let before = std::fs::read(folder.path().join("alder-01.csv")).expect("read");
    for arguments in [
        &["convert", "alder-01.csv", "alder-01.csv", "--rig", "rig.toml"][..],
        &["series", "alder-01.csv", "--rig", "rig.toml", "-o", "alder-01.csv"],
        &["series", "alder-01.csv", "--rig", "rig.toml", "-o", "rig.toml", "--format", "csv"],
    ] {
        let refused = underfoot(folder.path(), arguments);
        ends(&refused, 2);
        assert!(err(&refused).contains("not written over"), "{}", err(&refused));
    }
    assert_eq!(std::fs::read(folder.path().join("alder-01.csv")).expect("read"), before);
    ends(&underfoot(folder.path(), &["convert", "alder-01.c3d", "there.csv"]), 0);
    ends(&underfoot(folder.path(), &["convert", "alder-01.c3d", "there.csv"]), 2);
    ends(&underfoot(folder.path(), &["convert", "alder-01.c3d", "there.csv", "--force"]), 0);
}

/// By hand: action turns force and moment together, so pitch and the least moment along the force stay.
#[test]
fn the_central_line_is_the_same_for_reaction_and_action() {
    let folder = folder();
    one_swing(folder.path());
    let line = |signs: &str| {
        let done = underfoot(
            folder.path(),
            &[&["ledger"], &SWING[..], &["--at", "2.3", "--json", "--signs", signs]].concat(),
        );
        let page = json(&done);
        let instant = &page["instants"][0];
        let force: f64 = instant["forces"]
            .as_array()
            .expect("forces")
            .iter()
            .map(|f| f["net_n"].as_f64().expect("N").powi(2))
            .sum::<f64>()
            .sqrt();
        let of = |name: &str| instant["central_line"][name].as_f64().expect("a number");
        (of("pitch_m"), of("least_moment_nm"), force)
    };
    let (reaction, action) = (line("reaction"), line("action"));
    assert_eq!(reaction, action);
    assert!((reaction.0 * reaction.2 - reaction.1).abs() < 1e-9 * 100.0, "{reaction:?}");
}
