//! `underfoot check` as a person or a script uses it, and what it says of measured recordings.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use common::{ends, json, out, recording, underfoot};
use std::path::{Path, PathBuf};

/// Three invented swings, one of them cut short, one that is no recording, and a page of notes.
fn session() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let made = underfoot(
        folder.path(),
        &["simulate", "-o", ".", "--swings", "3", "--seed", "2", "--rate", "500", "--format", "c3d"],
    );
    ends(&made, 0);
    let at = |name: &str| folder.path().join(name);
    for k in 1..=3 {
        std::fs::remove_file(at(&format!("alder-0{k}.truth.csv"))).expect("a truth");
    }
    let whole = std::fs::read(at("alder-02.c3d")).expect("a swing");
    std::fs::write(at("cut.c3d"), &whole[..whole.len() / 2]).expect("written");
    std::fs::write(at("broken.csv"), "nothing to see\n").expect("written");
    std::fs::write(at("notes.md"), "windy\n").expect("written");
    folder
}

#[test]
fn one_recording() {
    let folder = session();
    let done = underfoot(folder.path(), &["check", "alder-01.c3d"]);
    ends(&done, 0);
    insta::assert_snapshot!("check-one", out(&done));
    // Everything said, nothing is left to notice.
    let done = underfoot(folder.path(), &["check", "alder-01.c3d", "--target", "+x", "--hand", "right"]);
    ends(&done, 0);
    assert_eq!(out(&done), "alder-01.c3d  nothing found\n");
    // The wrong hand contradicts the markers: a stop.
    let done = underfoot(folder.path(), &["check", "alder-01.c3d", "--target", "+x", "--hand", "left"]);
    ends(&done, 1);
    assert!(out(&done).starts_with("■ Q308 "), "{}", out(&done));
}

#[test]
fn a_folder_with_a_bad_file() {
    let folder = session();
    let done = underfoot(folder.path(), &["check", ".", "--target", "+x"]);
    ends(&done, 3);
    insta::assert_snapshot!("check-folder", out(&done));
    let done = underfoot(
        folder.path(),
        &["check", "alder-01.c3d", "alder-03.c3d", "--hand", "right", "--target", "+x"],
    );
    ends(&done, 0);
}

#[test]
fn for_machines() {
    let folder = session();
    let done = underfoot(folder.path(), &["check", ".", "--target", "+x", "--hand", "left", "--json"]);
    ends(&done, 3);
    let page = json(&done);
    assert_eq!(page["schema"], "underfoot.check/1");
    let recordings = page["recordings"].as_array().expect("recordings");
    let of = |name: &str| recordings.iter().find(|r| r["file"] == name).expect(name);
    assert_eq!(recordings.len(), 5);
    assert_eq!(of("alder-01.c3d")["stops"], 1);
    let stop = &of("alder-01.c3d")["findings"][0];
    assert_eq!((stop["code"].as_str(), stop["severity"].as_str()), (Some("Q308"), Some("stop")));
    assert!(stop["touches"].as_array().expect("touches").contains(&"which foot did what".into()));
    assert!(of("broken.csv")["error"].as_str().expect("an error").contains("not a C3D file"));
    assert_eq!(page["left_out"], serde_json::json!(["notes.md"]));
}

/// Alone, a file that cannot be read is the failure, as in every command.
#[test]
fn one_bad_file_alone() {
    let folder = session();
    let done = underfoot(folder.path(), &["check", "broken.csv"]);
    ends(&done, 3);
    assert!(out(&done).is_empty());
    ends(&underfoot(folder.path(), &["check", "missing.c3d"]), 3);
    ends(&underfoot(folder.path(), &["check", "alder-01.c3d", "--target", "sideways"]), 2);
    ends(&underfoot(folder.path(), &["check"]), 2);
}

/// What was noticed before there was nothing to analyse is still told, by every command.
#[test]
fn findings_outlive_an_error() {
    let folder = session();
    let at = |name: &str| folder.path().join(name);
    // Two plates nobody stands on: forces a thousandth of a person's, that move like a person's.
    let rows: String = (0..1500)
        .map(|k| {
            let (t, sway) = (f64::from(k) / 500.0, f64::from(k % 97) * 0.0002);
            let push = if k > 900 && k < 1100 { 0.2 } else { 0.0 };
            format!("{t},0.001,0.002,{:.5},0.01,0.02,0.001\n", 0.7 + sway + push)
        })
        .collect();
    std::fs::write(at("kilo.csv"), format!("time,Fx,Fy,Fz,Mx,My,Mz\ns,N,N,N,Nm,Nm,Nm\n{rows}"))
        .expect("written");
    let rig = "up = \"+z\"\ntarget = \"+x\"\n[[plate]]\nname = \"front\"\nsize_m = [0.6, 0.4]\ncentre_m = [0, 0, 0]\nz = \"up\"\n\
               force = \"on player\"\nsix = { fx = \"Fx\", fy = \"Fy\", fz = \"Fz\", mx = \"Mx\", my = \"My\", mz = \"Mz\" }\n";
    std::fs::write(at("bay.toml"), rig).expect("written");
    let done = underfoot(folder.path(), &["check", "kilo.csv", "--rig", "bay.toml", "--hand", "right"]);
    ends(&done, 1);
    let text = out(&done);
    for word in ["Q324", "Q305", "force_unit = \"kN\"", "in the block of plate \"front\""] {
        assert!(text.contains(word), "{word} is missing from {text}");
    }
    let done = underfoot(folder.path(), &["ledger", "kilo.csv", "--rig", "bay.toml", "--hand", "right"]);
    ends(&done, 3);
    assert!(String::from_utf8_lossy(&done.stderr).contains("Q324"));
    // And following it helps.
    std::fs::write(at("bay.toml"), format!("{rig}force_unit = \"kN\"\n")).expect("written");
    let done =
        underfoot(folder.path(), &["check", "kilo.csv", "--rig", "bay.toml", "--hand", "right", "--json"]);
    let codes = format!("{}", json(&done)["recordings"][0]["findings"]);
    assert!(!codes.contains("Q324") && !codes.contains("Q305"), "{codes}");
}

/// A rig file after a person did what a remedy says of its blocks: what the lines state takes the place of what stood
/// there, a matrix that of the six channels and their origin.
fn followed(rig: &str, remedies: &[&str]) -> String {
    let mut blocks: Vec<String> = rig.split("[[plate]]").map(str::to_owned).collect();
    for remedy in remedies {
        let mut block = None;
        for line in remedy.lines().skip(1) {
            if let Some((_, rest)) = line.split_once("# in the block of plate \"") {
                let name = format!("name = \"{}\"", rest.split('"').next().expect("a name"));
                block = blocks.iter().position(|b| b.contains(&name));
                continue;
            }
            let block = &mut blocks[block.expect("a block is named first")];
            let keys: Vec<&str> = match line.split_once(" = ") {
                _ if line.starts_with('#') => continue,
                _ if line.starts_with("[plate.matrix]") => vec!["six", "origin_m", "depth_mm"],
                Some((key, _)) if !key.starts_with(' ') && !["channels", "rows"].contains(&key) => vec![key],
                _ => Vec::new(),
            };
            let stays = |l: &&str| !keys.iter().any(|k| l.starts_with(&format!("{k} =")));
            let kept: Vec<&str> = block.lines().filter(stays).collect();
            *block = format!("{}\n{line}\n", kept.join("\n").trim_end());
        }
    }
    blocks.join("\n[[plate]]")
}

/// A table and its rig, as `underfoot demo` writes them.
fn table() -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let arguments =
        ["simulate", "-o", ".", "--swings", "1", "--seed", "7", "--rate", "500", "--format", "csv"];
    ends(&underfoot(folder.path(), &arguments), 0);
    let rig = std::fs::read_to_string(folder.path().join("rig.toml")).expect("a rig");
    // The trigger stands after the plates; nothing here needs it.
    let rig = rig.split("[trigger]").next().expect("a head").to_owned();
    (folder, rig)
}

/// Findings of the table with a rig: code, severity and remedy.
fn findings_of(folder: &Path, rig: &str) -> Vec<(String, String, String)> {
    std::fs::write(folder.join("bay.toml"), rig).expect("written");
    let done =
        underfoot(folder, &["check", "alder-01.csv", "--rig", "bay.toml", "--hand", "right", "--json"]);
    let page = json(&done);
    let found = page["recordings"][0]["findings"].as_array().expect("findings").clone();
    let text = |f: &serde_json::Value, key: &str| f[key].as_str().unwrap_or_default().to_owned();
    found.iter().map(|f| (text(f, "code"), text(f, "severity"), text(f, "remedy"))).collect()
}

/// Units, `force` and z stated wrongly in the rig of a table: the lines of the finding, put where they say, settle it
/// and leave nothing behind that marks a figure.
#[test]
fn following_the_lines_settles_a_table() {
    let (folder, right) = table();
    assert!(findings_of(folder.path(), &right).iter().all(|f| f.1 == "note"));
    let second = |text: &str, from: &str, to: &str| {
        let at = text.rfind(from).expect("the second plate");
        format!("{}{}", &text[..at], text[at..].replacen(from, to, 1))
    };
    let cases = [
        ("Q339", right.replace("force = \"on player\"", "force = \"on plate\""), false),
        ("Q339", second(&right, "force = \"on player\"", "force = \"on plate\""), false),
        ("Q324", right.replace("force_unit = \"N\"", "force_unit = \"kN\""), false),
        ("Q325", right.replace("moment_unit = \"N·mm\"", "moment_unit = \"Nm\""), false),
        ("Q337", right.replace("force_unit = \"N\"", "force_unit = \"kgf\""), false),
    ];
    for (code, wrong, corners) in cases {
        let before = findings_of(folder.path(), &wrong);
        let remedies: Vec<&str> = before.iter().filter(|f| f.0 == code).map(|f| f.2.as_str()).collect();
        assert!(!remedies.is_empty(), "{code} is not among {before:?}");
        assert_eq!(remedies.iter().any(|r| r.contains("corners")), corners, "{code}: {remedies:?}");
        let after = findings_of(folder.path(), &followed(&wrong, &remedies));
        assert!(after.iter().all(|f| f.1 == "note"), "{code}: {after:?}\n{}", followed(&wrong, &remedies));
    }
}

/// Times in milliseconds that no unit gives away.
#[test]
fn times_in_milliseconds() {
    let (folder, right) = table();
    let text = std::fs::read_to_string(folder.path().join("alder-01.csv")).expect("a table");
    for (unit, times) in [("ms", 1e3), ("us", 1e6)] {
        let scaled = text.lines().enumerate().map(|(k, line)| match line.split_once(',') {
            Some((time, rest)) if k > 1 => format!("{},{rest}", time.parse::<f64>().expect("a time") * times),
            _ => line.to_owned(),
        });
        std::fs::write(folder.path().join("alder-01.csv"), scaled.collect::<Vec<_>>().join("\n"))
            .expect("written");
        let before = findings_of(folder.path(), &right);
        let told = before.iter().find(|f| f.0 == "Q340").unwrap_or_else(|| panic!("{before:?}"));
        assert!(told.1 == "stop" && before.iter().all(|f| f.0 != "Q328"), "{before:?}");
        let (_, lines) = told.2.split_once('\n').expect("lines");
        assert!(lines.contains(&format!("time_unit = \"{unit}\"")), "{lines}");
        let after = findings_of(folder.path(), &format!("{right}\n{lines}\n"));
        assert!(after.iter().all(|f| f.1 == "note"), "{after:?}");
    }
}

/// `docs/findings.md` is the manual made from the catalogue. To write it anew:
/// `UPDATE_DOCS=1 cargo test -p underfoot --test check manual`.
#[test]
fn the_manual_is_in_docs() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/findings.md");
    let manual = view::findings::manual();
    if std::env::var_os("UPDATE_DOCS").is_some() {
        std::fs::write(path, &manual).expect("written");
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    assert!(kept == manual, "docs/findings.md is out of date; see above this test how to write it anew");
}

/// A measured recording, its rig, target and hand as its description says, and the stops that are right.
type Expected = (&'static str, Option<&'static str>, &'static str, &'static str, &'static [&'static str]);

/// Stops that are right, and why; every other stop is a false one.
const STOPS: &[Expected] = &[
    // Horizontal forces of the action (standing pendulum +0.98 and +0.51; README of the recordings).
    ("quiet-stance.c3d", None, "+x", "right", &["Q303"]),
    ("drop-jump-two-plates.c3d", None, "+y", "right", &["Q303"]),
    // Offsets of −212 and −181 N that nobody removed (RECORDINGS.md, note 3).
    ("gait_four_plates_type3_type2_dec_int.c3d", None, "+y", "right", &["Q318"]),
    ("gait_one_plate_type1_yup.c3d", None, "+x", "right", &[]),
    ("gait_two_plates_type2_2000hz.c3d", None, "+x", "right", &[]),
    ("gait_two_plates_type2_intel_int.c3d", None, "+y", "right", &[]),
    ("gait_two_plates_type2_mips_real.c3d", None, "+y", "right", &[]),
    ("gait_two_plates_type4_metres.c3d", None, "+x", "right", &[]),
    ("jump-markers-two-plates.c3d", None, "+y", "right", &[]),
    ("jump_two_plates_type4.c3d", None, "-x", "right", &[]),
    ("standing_three_plates_type2_dec_real.c3d", None, "+y", "right", &[]),
    ("standing_two_plates_type2.c3d", None, "-x", "right", &[]),
    ("standing_two_plates_type3.c3d", None, "+x", "right", &[]),
    ("standing_two_plates_per_foot.tsv", Some("standing-per-foot.toml"), "-z", "right", &[]),
    ("standing_one_plate_six_channels.tsv", Some("standing-one-plate.toml"), "+y", "right", &[]),
    ("quiet-stance.csv", Some("quiet-stance.toml"), "+x", "right", &[]),
    ("drop-jump-two-plates.csv", Some("drop-jump-two-plates.toml"), "+y", "right", &[]),
];

fn rig_path(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../formats/tests/rigs").join(name)
}

#[test]
fn measured_recordings_raise_no_false_stop() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for (name, rig, target, hand, right) in STOPS {
        let Some(path) = recording(name) else { continue };
        let path = path.display().to_string();
        let rig = rig.map(|r| rig_path(r).display().to_string());
        let mut arguments = vec!["check", &path, "--json", "--target", target, "--hand", hand];
        if let Some(rig) = &rig {
            arguments.extend(["--rig", rig]);
        }
        let done = underfoot(folder.path(), &arguments);
        let page = json(&done);
        let findings = page["recordings"][0]["findings"].as_array().expect("findings").clone();
        let mut stops: Vec<&str> =
            findings.iter().filter(|f| f["severity"] == "stop").filter_map(|f| f["code"].as_str()).collect();
        stops.dedup();
        assert_eq!(stops, *right, "{name}: {findings:#?}");
        ends(&done, i32::from(!stops.is_empty()));
        // Standing people and walkers are no late plates, and nothing clipped.
        let codes: Vec<&str> = findings.iter().filter_map(|f| f["code"].as_str()).collect();
        for false_one in ["Q320", "Q322", "Q324", "Q325", "Q326", "Q331", "Q332"] {
            assert!(!codes.contains(&false_one), "{name}: {false_one}");
        }
        // The first 20 samples of this one are one value held, then the channels jump.
        assert_eq!(codes.contains(&"Q321"), *name == "quiet-stance.c3d", "{name}");
    }
}

/// The lines that the finding gives for a measured file, pasted into a rig file, settle it.
#[test]
fn pasting_the_lines_settles_measured_files() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for (name, target) in [("quiet-stance.c3d", "+x"), ("drop-jump-two-plates.c3d", "+y")] {
        let Some(path) = recording(name) else { continue };
        let path = path.display().to_string();
        let check = |rig: &[&str]| {
            let arguments =
                [&["check", &path, "--json", "--target", target, "--hand", "right"], rig].concat();
            json(&underfoot(folder.path(), &arguments))["recordings"][0]["findings"]
                .as_array()
                .expect("findings")
                .clone()
        };
        let before = check(&[]);
        let remedy =
            before.iter().find(|f| f["code"] == "Q303").expect("Q303")["remedy"].as_str().expect("a text");
        let (_, lines) = remedy.split_once('\n').expect("lines to paste");
        assert!(lines.contains("z = \"down\"\nforce = \"on plate\""), "{lines}");
        std::fs::write(folder.path().join("bay.toml"), lines).expect("written");
        let after = check(&["--rig", "bay.toml"]);
        let codes: Vec<&str> = after.iter().filter_map(|f| f["code"].as_str()).collect();
        assert!(!codes.contains(&"Q303") && !codes.contains(&"F102"), "{name}: {codes:?}");
    }
    // The same of a table, whose rig file says the other reading: the block of that plate is named.
    let Some(path) = recording("standing_one_plate_six_channels.tsv") else { return };
    let path = path.display().to_string();
    let right = std::fs::read_to_string(rig_path("standing-one-plate.toml")).expect("a rig");
    let wrong = right
        .replace(
            "corners_mm = [[400, 0, 0], [0, 0, 0], [0, 300, 0], [400, 300, 0]]",
            "corners_mm = [[400, 300, 0], [0, 300, 0], [0, 0, 0], [400, 0, 0]]",
        )
        .replace("z = \"down\"", "z = \"up\"")
        .replace("force = \"on plate\"", "force = \"on player\"");
    std::fs::write(folder.path().join("wrong.toml"), wrong).expect("written");
    let done = underfoot(folder.path(), &["check", &path, "--rig", "wrong.toml", "--hand", "right"]);
    ends(&done, 1);
    for word in ["Q303", "block of plate \"1\"", "order 4, 3, 2, 1", "z = \"down\"", "force = \"on plate\""] {
        assert!(out(&done).contains(word), "{word} is missing from {}", out(&done));
    }
}
