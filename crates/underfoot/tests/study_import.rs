//! Recordings and outcomes into a study, as a person or a script does it: each where it belongs, nothing invented.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use common::{ends, err, folder, json, out, underfoot};
use serde_json::Value;
use std::path::Path;

/// Runs the program, which ends well.
#[track_caller]
fn done(folder: &Path, arguments: &[&str]) -> String {
    let output = underfoot(folder, arguments);
    ends(&output, 0);
    out(&output)
}

#[track_caller]
fn told(folder: &Path, arguments: &[&str], code: i32) -> Value {
    let output = underfoot(folder, &[arguments, &["--json"]].concat());
    ends(&output, code);
    json(&output)
}

/// Invented C3D recordings `NAME-01.c3d`… in a folder, and nothing else.
fn recordings(folder: &Path, to: &str, swings: &str, seed: &str) {
    let made = [
        "simulate", "-o", to, "--swings", swings, "--seed", seed, "--rate", "250", "--format", "c3d",
        "--noise", "none",
    ];
    done(folder, &made);
    for entry in std::fs::read_dir(folder.join(to)).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "csv") {
            std::fs::remove_file(path).unwrap();
        }
    }
}

const STUDY: &str = "a study"; // with a space
const IN: [&str; 2] = ["--study", STUDY];

/// A study in the folder, with a right-handed player P01.
fn study(folder: &Path) {
    done(folder, &["study", "new", STUDY]);
    done(folder, &[&["player", "add", "P01", "--hand", "right"], &IN[..]].concat());
}

fn outcomes_of(list: &Value) -> Vec<&str> {
    list["files"].as_array().unwrap().iter().map(|f| f["outcome"].as_str().unwrap()).collect()
}

#[test]
fn names_of_folders_say_whose_recordings_are() {
    let folder = folder();
    let here = folder.path();
    study(here);
    recordings(here, "in/P01/2026-05-12", "2", "1");
    recordings(here, "in/p07/2026-05-13", "1", "2");
    std::fs::rename(here.join("in/P01/2026-05-12/alder-02.c3d"), here.join("in/P01/2026-05-12/alder_02.c3d"))
        .unwrap();
    let import =
        ["import", "in", "--recursive", "--target", "+x", "--pattern", "{player}/{date}/{club}-{number}.c3d"];
    let import = [&import[..], &IN[..]].concat();

    // Looking changes nothing.
    let dry = told(here, &[&import[..], &["--dry-run"]].concat(), 3);
    assert_eq!(outcomes_of(&dry), ["not-placed", "not-placed", "would-go"]);
    let sessions = told(here, &[&["session", "list"], &IN[..]].concat(), 0);
    assert!(sessions["sessions"].as_array().unwrap().is_empty());

    // What is known goes in; the others are told of by reason, and nobody is invented.
    let output = underfoot(here, &import);
    ends(&output, 3);
    let errors = err(&output);
    assert!(errors.contains("error: player p07 is not in the study"), "{errors}");
    let drawing = "pattern  {player} / {date}     / {club}-{number}.c3d\n\
                   path     P01      / 2026-05-12 / alder_02.c3d";
    assert!(errors.contains(drawing) && errors.contains("no \"-\" follows {club}"), "{errors}");
    assert!(out(&output).contains("1 recording taken in (swing 1)"), "{}", out(&output));
    let players = told(here, &[&["player", "list"], &IN[..]].concat(), 0);
    assert_eq!(players["players"].as_array().unwrap().len(), 1);

    // With leave to add, the player comes in too; what was there before is one swing.
    let again = told(here, &[&import[..], &["--add-players"]].concat(), 3);
    assert_eq!(outcomes_of(&again), ["not-placed", "there", "kept"]);
    assert_eq!(again["players_added"], serde_json::json!(["p07"]));
    assert_eq!(again["sessions_made"], serde_json::json!([2]));
    let swing = again["files"].as_array().unwrap().iter().find(|f| f["outcome"] == "there").unwrap();
    assert_eq!(swing["swing"], 1);
    assert!(
        again["sessions"][1]["session"]["date"] == "2026-05-13"
            && again["sessions"][1]["session"]["target"] == "+x"
    );
}

#[test]
fn a_manifest_says_everything_and_is_held_to_it() {
    let folder = folder();
    let here = folder.path();
    study(here);
    recordings(here, "in", "3", "1");
    let manifest = "\u{feff}File;Player;Date;Club;Number;Mass (kg);Tags;Target;Club Speed (km/h);Carry [yd]\n\
                    alder-01.c3d;P01;2026-05-12;7-iron;4;81,5;warm;+x;144,0;150\n\
                    alder-02;p01;20260512;driver;;;;+x;180,0;\n\
                    gone.c3d;P01;2026-05-12;;;;;;;\n";
    std::fs::write(here.join("in/manifest.csv"), manifest).unwrap();
    let import = [&["import", "in", "--manifest", "in/manifest.csv"], &IN[..]].concat();
    let output = underfoot(here, &import);
    ends(&output, 3);
    assert!(
        err(&output).contains("rows of the manifest whose file was not given: 1 (gone.c3d)"),
        "{}",
        err(&output)
    );
    assert!(err(&output).contains("the manifest has no row for it\nwhere: alder-03.c3d"), "{}", err(&output));
    // 144 km/h = 40 m/s; 150 yd × 0.9144 = 137.16 m (SI; yard of 1959).
    assert!(out(&output).contains("3 outcomes of 2 swings kept"), "{}", out(&output));
    let sessions = told(here, &[&["session", "list"], &IN[..]].concat(), 0);
    assert_eq!(sessions["sessions"].as_array().unwrap().len(), 1);
    assert_eq!(
        (&sessions["sessions"][0]["mass_kg"], &sessions["sessions"][0]["swings"]),
        (&81.5.into(), &2.into())
    );
    let opened = underfoot::archive::Study::open(&here.join(STUDY)).unwrap();
    let kept = opened.outcomes_of(&[1, 2]).unwrap();
    let values: Vec<(i64, &str, f64)> = kept.iter().map(|o| (o.swing, o.name.as_str(), o.value)).collect();
    assert_eq!(
        values,
        [(1, "carry", 150.0 * 0.9144), (1, "clubhead-speed", 40.0), (2, "clubhead-speed", 50.0)]
    );
    let swings = opened.candidates(&Default::default()).unwrap();
    let numbers: Vec<i64> = swings.iter().map(|s| s.number).collect();
    assert_eq!(numbers, [4, 5], "the number that is stated, then the next");

    // A cell that cannot be stops everything, with its place.
    std::fs::write(here.join("in/manifest.csv"), manifest.replace("20260512", "12.05.2026")).unwrap();
    let output = underfoot(here, &import);
    ends(&output, 3);
    assert!(
        err(&output).contains("manifest.csv, line 3, column \"Date\": \"12.05.2026\" is no day"),
        "{}",
        err(&output)
    );
}

#[test]
fn a_day_that_nobody_states_is_asked_for() {
    let folder = folder();
    let here = folder.path();
    study(here);
    recordings(here, "in", "1", "1");
    let import = [&["import", "in", "--player", "P01", "--target", "+x"], &IN[..]].concat();
    let output = underfoot(here, &import);
    ends(&output, 3);
    assert!(err(&output).contains("nobody says of which day it is") && err(&output).contains("--undated"));
    let kept = told(here, &[&import[..], &["--undated"]].concat(), 0);
    assert!(kept["sessions"][0]["session"]["date"].is_null());
    // Recordings that cannot be read leave no empty session behind.
    std::fs::write(here.join("in/alder-02.csv"), "not a recording").unwrap();
    let refused = told(
        here,
        &[&["import", "in/alder-02.csv", "--player", "P01", "--date", "2026-01-01"], &IN[..]].concat(),
        3,
    );
    assert_eq!(outcomes_of(&refused), ["refused"]);
    let sessions = told(here, &[&["session", "list"], &IN[..]].concat(), 0);
    assert_eq!(sessions["sessions"].as_array().unwrap().len(), 1);
    let output = underfoot(here, &[&["import", "in", "--session", "9"], &IN[..]].concat());
    ends(&output, 3);
    assert!(err(&output).contains("there is no session 9"), "{}", err(&output));
}

/// 100 mph is 44.704 m/s (yard of 1959).
#[test]
fn outcomes_find_their_swings_by_order_and_by_time() {
    let folder = folder();
    let here = folder.path();
    study(here);
    recordings(here, "in", "3", "1");
    let manifest = "file,player,date,time,target\n\
                    alder-01.c3d,P01,2026-05-12,10:00:00,+x\n\
                    alder-02.c3d,P01,2026-05-12,10:00:47,+x\n\
                    alder-03.c3d,P01,2026-05-12,10:02:05,+x\n";
    std::fs::write(here.join("manifest.csv"), manifest).unwrap();
    done(here, &[&["import", "in", "--manifest", "manifest.csv"], &IN[..]].concat());

    let four = "Shot,Club Speed,Ball\n,mph,\n1,90,x\n2,100,x\n3,101,x\n4,102,x\n";
    std::fs::write(here.join("radar.csv"), four).unwrap();
    let order = [&["outcomes", "radar.csv", "--by", "order", "--session", "1"], &IN[..]].concat();
    let output = underfoot(here, &order);
    ends(&output, 3);
    assert!(
        err(&output).contains("error: 4 rows, but 3 swings") && err(&output).contains("alder-03.c3d"),
        "{}",
        err(&output)
    );
    let opened = underfoot::archive::Study::open(&here.join(STUDY)).unwrap();
    assert!(opened.outcomes_of(&[1, 2, 3]).unwrap().is_empty(), "refused is not written");
    let dry = told(here, &[&order[..], &["--skip-first", "1", "--dry-run"]].concat(), 0);
    assert!(dry["written"].is_null() && dry["matched"].as_array().unwrap().len() == 3);
    let kept = told(here, &[&order[..], &["--only", "2-4"]].concat(), 0);
    assert_eq!((&kept["written"]["new"], &kept["left_out"][0][0]), (&3.into(), &"Ball".into()));
    let first = opened.outcomes_of(&[1]).unwrap();
    assert!((first[0].value - 44.704).abs() < 1e-12 && first[0].given == "100 mph", "{first:?}");

    // By time: the radar's clock is an hour behind, give or take a second; one shot was not recorded.
    let times = "Time;Club Speed [mph];Carry [m]\n09:00:00;110,5;200\n09:00:48;111;201\n09:01:30;70;90\n09:02:04;112;202\n";
    std::fs::write(here.join("times.csv"), times).unwrap();
    let time = [&["outcomes", "times.csv", "--by", "time", "--player", "P01"], &IN[..]].concat();
    let kept = told(here, &time, 3);
    let swings: Vec<i64> =
        kept["matched"].as_array().unwrap().iter().map(|m| m["swing"].as_i64().unwrap()).collect();
    assert_eq!(swings, [1, 2, 3]);
    assert!((kept["clock_offsets_s"][0].as_f64().unwrap() - 3600.0).abs() <= 1.0, "{kept}");
    assert_eq!(kept["rows_alone"][0]["line"], 4);
    assert_eq!(
        (&kept["written"]["new"], kept["written"]["replaced"].as_array().unwrap().len()),
        (&3.into(), 3)
    );
    assert_eq!(kept["written"]["replaced"][0]["before"], "100 mph");

    // No unit, nothing taken.
    std::fs::write(here.join("bare.csv"), "Shot,Club Speed\n1,100\n").unwrap();
    let output = underfoot(here, &[&["outcomes", "bare.csv", "--by", "order"], &IN[..]].concat());
    ends(&output, 3);
    assert!(
        err(&output).contains("column \"Club Speed\": no unit is stated, and none is guessed"),
        "{}",
        err(&output)
    );
    let stated =
        [&["outcomes", "bare.csv", "--by", "swing", "--column", "Club Speed=[mph]"], &IN[..]].concat();
    assert_eq!(told(here, &stated, 0)["written"]["swings"], 1);
}

/// A correction of a rig touches the sessions that are read by the corrected version, and no other.
#[test]
fn a_corrected_rig_measures_exactly_its_sessions_again() {
    let folder = folder();
    let here = folder.path();
    study(here);
    for (to, seed) in [("old", "1"), ("new", "2")] {
        let made =
            ["simulate", "-o", to, "--swings", "1", "--seed", seed, "--rate", "250", "--format", "csv"];
        done(here, &made);
    }
    recordings(here, "own", "1", "3");
    let needs =
        underfoot(here, &[&["import", "old", "--player", "P01", "--date", "2026-01-01"], &IN[..]].concat());
    ends(&needs, 3);
    assert!(err(&needs).contains("its plates are not known") && err(&needs).contains("underfoot rig add"));
    let rig = std::fs::read_to_string(here.join("old/rig.toml")).unwrap();
    done(here, &[&["rig", "add", "bay", "old/rig.toml"], &IN[..]].concat());
    for (from, date) in [("old", "2026-01-01"), ("new", "2026-03-01")] {
        done(here, &[&["import", from, "--player", "P01", "--date", date, "--rig", "bay"], &IN[..]].concat());
    }
    done(here, &[&["session", "add", "P01", "--date", "2026-03-02", "--target", "+x"], &IN[..]].concat());
    let sessions = told(here, &[&["session", "list"], &IN[..]].concat(), 0);
    let last = sessions["sessions"].as_array().unwrap().last().unwrap()["id"].to_string();
    done(here, &[&["import", "own", "--session", &last], &IN[..]].concat());

    // The bay as it stands from February on: only the session of March is read by it. Its sensors lie a centimetre deeper.
    std::fs::write(
        here.join("moved.toml"),
        rig.replace("[0.0012, -0.0008, -0.04]", "[0.0012, -0.0008, -0.05]"),
    )
    .unwrap();
    let from = [&["rig", "add", "bay", "moved.toml", "--from", "2026-02-01"], &IN[..]].concat();
    let again = told(here, &from, 0);
    assert_eq!((&again["measured_again"], &again["untouched"]), (&serde_json::json!([2]), &2.into()));
    let changed = again["swings"][0]["changed"].as_array().unwrap();
    assert!(
        !changed.is_empty() && changed.iter().all(|c| c["before"] != c["after"] || c["before"].is_number())
    );
    let twice = underfoot(here, &[&["rig", "add", "bay", "moved.toml"], &IN[..]].concat());
    ends(&twice, 2);
    assert!(err(&twice).contains("--corrects"));

    // A correction of the newest: again the session of March, and it is back where it was.
    let corrected = told(here, &[&["rig", "add", "bay", "old/rig.toml", "--corrects"], &IN[..]].concat(), 0);
    assert_eq!(corrected["measured_again"], serde_json::json!([2]));
    let back = corrected["swings"][0]["changed"].as_array().unwrap();
    assert_eq!(back.len(), changed.len());
    assert!(changed.iter().zip(back).all(|(a, b)| a["before"] == b["after"] && a["after"] == b["before"]));
    assert_eq!(done(here, &[&["rig", "show", "bay", "3"], &IN[..]].concat()), rig);

    let same = underfoot(here, &[&["rig", "add", "bay", "old/rig.toml", "--corrects"], &IN[..]].concat());
    ends(&same, 2);
    assert!(err(&same).contains("nothing to correct"), "{}", err(&same));

    // A hand or a target touches what depends on it; a note touches nothing.
    let edited = told(here, &[&["session", "edit", "2", "--target", "+y"], &IN[..]].concat(), 0);
    assert_eq!(edited["measured_again"], serde_json::json!([1]));
    let noted = told(here, &[&["player", "edit", "P01", "--note", "new shoes"], &IN[..]].concat(), 0);
    assert_eq!(noted["measured_again"], serde_json::json!([]));
    let handed = done(here, &[&["player", "edit", "P01", "--hand", "left"], &IN[..]].concat());
    assert!(handed.starts_with("3 swings measured again: 1–3\n0 swings untouched\n"), "{handed}");
}

/// Under 18 a guardian consents (common practice, no source); names are shown only where they are asked for.
#[test]
fn consent_days_and_names_are_looked_after() {
    let folder = folder();
    let here = folder.path();
    study(here);
    let add = ["player", "add", "P02", "--hand", "left", "--born", "2012", "--consent-on", "2026-05-01"];
    let more = [
        "--keep-until",
        "2026-12-31",
        "--handicap",
        "+1.5",
        "--name",
        "Invented Zebra",
        "--contact",
        "zebra@invalid",
    ];
    let output = underfoot(here, &[&add[..], &more[..], &IN[..]].concat());
    ends(&output, 0);
    assert!(err(&output).contains("a guardian's consent is needed"), "{}", err(&output));
    let plain = done(here, &[&["player", "list"], &IN[..]].concat());
    assert!(!plain.contains("Zebra") && plain.contains("+1.5"), "{plain}");
    assert!(!told(here, &[&["player", "list"], &IN[..]].concat(), 0).to_string().contains("Zebra"));
    assert!(done(here, &[&["player", "list", "--names"], &IN[..]].concat()).contains("Invented Zebra"));
    let on = |day: &str| told(here, &[&["player", "due", "--on", day], &IN[..]].concat(), 0);
    let before = on("2026-12-31");
    assert_eq!(before["past_keep_until"], serde_json::json!([]));
    assert_eq!(before["without_consent"][0]["player"], "P01");
    let after = on("2027-01-01");
    assert_eq!(after["past_keep_until"][0]["player"], "P02");
    assert_eq!(after["guardian"][0]["player"], "P02");
    done(here, &[&["player", "edit", "P02", "--clear", "keep-until"], &IN[..]].concat());
    assert_eq!(on("2027-01-01")["past_keep_until"], serde_json::json!([]));
    done(here, &[&["player", "name", "P02", "--remove"], &IN[..]].concat());
    assert!(!done(here, &[&["player", "list", "--names"], &IN[..]].concat()).contains("Zebra"));
    let twin = underfoot(here, &[&["player", "add", "p02"], &IN[..]].concat());
    ends(&twin, 2);
}
