//! `underfoot list`, `values`, `tag` and `note` as a person or a script uses them.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use archive::import::{Incoming, Told};
use archive::{Identity, Player, Session, Study, StudySettings};
use common::{ends, err, folder, json, out, underfoot};
use std::path::Path;

/// Two invented players, two swings each: those of P01 on two plates, those of P02 on one. P02 has a name.
fn mixed(folder: &Path) {
    for (name, plates, seed) in [("two", "two", "3"), ("one", "one", "4")] {
        let made =
            ["simulate", "-o", name, "--swings", "2", "--seed", seed, "--rate", "500", "--format", "c3d"];
        ends(&underfoot(folder, &[&made[..], &["--plates", plates]].concat()), 0);
    }
    let study = Study::create(&folder.join("study"), &StudySettings::named("invented")).unwrap();
    for (alias, name, date) in [("P01", "two", "2026-05-12"), ("P02", "one", "2026-06-01")] {
        let player = Player { hand: Some("right".into()), ..Player::called(alias) };
        let who = Identity { name: "Alder Invented".into(), contact: "nobody@example.org".into() };
        let player = study.add_player(&player, (alias == "P02").then_some(&who)).unwrap();
        let session = Session { target: Some("+x".into()), date: Some(date.into()), ..Session::of(player) };
        let session = study.add_session(&session).unwrap();
        let mut files: Vec<_> = folder.join(name).read_dir().unwrap().map(|e| e.unwrap().path()).collect();
        files.retain(|f| f.extension().is_some_and(|e| e == "c3d"));
        files.sort();
        let incoming: Vec<_> = files
            .iter()
            .zip(["Driver", "7 iron"])
            .map(|(f, club)| Incoming { club: club.into(), ..Incoming::new(f, session) })
            .collect();
        study
            .import(&incoming, |_, told| assert!(matches!(told, Told::Kept { .. }), "{told:?}"), || true)
            .unwrap();
    }
}

/// Runs the program on the study.
fn on(folder: &Path, arguments: &[&str]) -> std::process::Output {
    underfoot(folder, &[arguments, &["--study", "study"]].concat())
}

#[test]
fn swings_are_listed_and_chosen() {
    let folder = folder();
    mixed(folder.path());
    let ask = |arguments: &[&str]| on(folder.path(), arguments);
    let whole = ask(&["list"]);
    ends(&whole, 0);
    let text = out(&whole);
    assert!(text.contains("both feet") && text.contains("net only") && text.contains("4 swings"), "{text}");
    assert!(
        !text.contains("by hand") && !text.contains("tags"),
        "columns that say nothing are left out: {text}"
    );
    let numbers = |arguments: &[&str]| -> Vec<i64> {
        let told = json(&ask(&[&["list", "--json"], arguments].concat()));
        assert_eq!(told["schema"], "underfoot.list/1");
        told["swings"].as_array().unwrap().iter().map(|s| s["swing"].as_i64().unwrap()).collect()
    };
    assert_eq!(numbers(&[]), [4, 3, 2, 1]);
    assert_eq!(numbers(&["--reverse", "--limit", "2", "--offset", "1"]), [2, 3]);
    assert_eq!(numbers(&["--player", "p01,P02", "--club", "driver"]), [3, 1]);
    assert_eq!(numbers(&["--plates", "one"]), [4, 3]);
    assert_eq!(numbers(&["--plates", "two", "--to", "2026-05-31", "--swing", "2-9"]), [2]);
    assert_eq!(numbers(&["--session", "2", "--from", "2026-06-01", "--no-stops"]), [4, 3]);
    assert_eq!(numbers(&["--where", "up.lead.most > 1 BW", "--where", "up.lead.most < 2 kN"]).len(), 2);
    assert_eq!(numbers(&["--where", "up.net.most > 9 BW"]), [0_i64; 0]);

    let some = ask(&["list", "--limit", "3"]);
    assert!(
        out(&some).contains("swings 1 to 3 of 4; --offset 3 shows the next, --limit 0 all"),
        "{}",
        out(&some)
    );
    let none = ask(&["list", "--where", "up.net.most > 9 BW"]);
    ends(&none, 0);
    assert!(out(&none).is_empty() && err(&none).contains("no swing of the study is like that"));

    let csv = out(&ask(&["list", "--csv"]));
    let mut lines = csv.lines();
    let head: Vec<&str> = lines.next().unwrap().split(',').collect();
    let first: Vec<&str> = lines.next().unwrap().split(',').collect();
    let told = json(&ask(&["list", "--json"]));
    let up = &told["swings"][0]["figures"][0];
    let column = |name: &str| first[head.iter().position(|h| *h == name).unwrap()].parse::<f64>().unwrap();
    assert_eq!(up["metric"], "up.net.most");
    // The reader of JSON may miss the last digit.
    let same = |a: f64, b: &serde_json::Value| (a / b.as_f64().unwrap() - 1.0).abs() < 1e-14;
    assert!(same(column("up.net.most"), &up["value"]) && same(column("up.net.most.u"), &up["u"]));
    assert!(same(column("up.net.most.body"), &up["body_value"]));
    assert_eq!(first.len(), head.len());
}

/// Nothing that lists swings says who a player is.
#[test]
fn no_name_is_shown() {
    let folder = folder();
    mixed(folder.path());
    for command in
        [&["list"][..], &["list", "--json"], &["list", "--csv"], &["values", "up.net.most", "--json"]]
    {
        let told = on(folder.path(), command);
        ends(&told, 0);
        assert!(out(&told).contains("P02") && !out(&told).contains("Alder Invented"), "{}", out(&told));
        assert!(!out(&told).contains("example.org"));
    }
}

/// Swings on two plates, put together in the study, have the figures that `measure --collapse` gives of the same file.
#[test]
fn put_together_as_measure_does() {
    let folder = folder();
    mixed(folder.path());
    for about in ["net-cop", "rig-centre"] {
        for metric in ["up.net.most", "turn.net-cop.most", "turn.rig-centre.least", "up.lead.most"] {
            let asked = ["values", metric, "--collapse", "--about", about, "--json"];
            let told = json(&on(folder.path(), &asked));
            assert_eq!((told["collapse"].as_bool(), told["about"].as_str()), (Some(true), Some(about)));
            let values = told["values"].as_array().unwrap();
            assert_eq!(values.len(), 4);
            for value in values {
                let swing = value["swing"].as_i64().unwrap();
                let (name, k) = if swing <= 2 { ("two", swing) } else { ("one", swing - 2) };
                let file = format!("{name}/alder-{k:02}.c3d");
                let how = ["--target", "+x", "--hand", "right", "--collapse", "--about", about, "--json"];
                let page = json(&underfoot(folder.path(), &[&["measure", &file], &how[..]].concat()));
                let same = page["metrics"].as_array().unwrap().iter().find(|m| m["id"] == metric).unwrap();
                for key in ["value", "u", "body_value", "body_plus_minus", "at_s", "absent"] {
                    assert_eq!(value[key], same[key], "{metric} of swing {swing}: {key}");
                }
                assert!(value["value"].is_number() == metric.contains("net") || metric.contains("rig"));
            }
        }
    }
    // What was measured is kept, and the page says how it was looked at.
    let again = on(folder.path(), &["values", "up.net.most", "--collapse"]);
    let text = out(&again);
    assert!(
        text.contains("as one plate, about the net centre of pressure: the plates of 2 swings put together"),
        "{text}"
    );
    assert!(!text.contains("just now"), "{text}");
}

#[test]
fn values_of_a_mixed_study() {
    let folder = folder();
    mixed(folder.path());
    let foot = out(&on(folder.path(), &["values", "up.lead.most"]));
    assert!(foot.contains("it needs a plate for each foot, which 2 of 4 swings have"), "{foot}");
    assert!(foot.contains("without a value: 2 swings, since the feet share a plate"), "{foot}");
    let net = out(&on(folder.path(), &["values", "up.net.most"]));
    assert!(
        net.contains("as recorded: 2 with a plate for each foot beside 2 with both feet on one; --collapse"),
        "{net}"
    );
    assert!(net.contains("(4 swings of 2 players)") && net.contains("%BW, quartiles"), "{net}");
    let point = out(&on(folder.path(), &["values", "up.net.most", "--about", "stance", "--player", "P01"]));
    assert!(point.contains("2 swings measured in this way just now, and kept"), "{point}");
    let csv = out(&on(folder.path(), &["values", "up.net.most", "--csv"]));
    assert_eq!(csv.lines().count(), 5);
    assert!(csv.lines().all(|l| l.split(',').count() == 20), "{csv}");
}

#[test]
fn tags_and_notes() {
    let folder = folder();
    mixed(folder.path());
    let ask = |arguments: &[&str]| on(folder.path(), arguments);
    let told = ask(&["tag", "add", "warm-up", "1-2"]);
    ends(&told, 0);
    assert_eq!(out(&told), "tagged \"warm-up\": 2 swings\n");
    assert_eq!(
        out(&ask(&["tag", "add", "Warm-Up", "--player", "P01,P02"])),
        "tagged \"Warm-Up\": 2 swings; 2 swings had it\n"
    );
    assert_eq!(out(&ask(&["tag", "remove", "warm-up", "4"])), "no longer tagged \"warm-up\": 1 swing\n");
    assert_eq!(
        json(&ask(&["tag", "list", "--json"])),
        serde_json::json!({ "schema": "underfoot.tags/1", "tags": [{ "word": "warm-up", "swings": 3 }] })
    );
    let listed = json(&ask(&["list", "--tag", "warm-up", "--json"]));
    assert_eq!(listed["total"], 3);
    // A tag on everything is seldom what was meant: swings must be named.
    let none = ask(&["tag", "add", "odd"]);
    ends(&none, 2);
    assert!(err(&none).contains("no swing is named"));
    ends(&ask(&["tag", "add", "odd", "99"]), 2);

    ends(&ask(&["note", "2", "lost balance"]), 0);
    assert_eq!(out(&ask(&["note", "2"])), "lost balance\n");
    ends(&ask(&["note", "--session", "1", "wet mat"]), 0);
    assert_eq!(out(&ask(&["note", "--session", "1"])), "wet mat\n");
    ends(&ask(&["note", "2", "--remove"]), 0);
    assert!(out(&ask(&["note", "2"])).is_empty());
    ends(&ask(&["note"]), 2);
    ends(&ask(&["note", "99", "x"]), 2);
}

#[test]
fn what_cannot_be_asked_teaches() {
    let folder = folder();
    mixed(folder.path());
    let says = |arguments: &[&str], parts: &[&str]| {
        let told = on(folder.path(), arguments);
        ends(&told, 2);
        for part in parts {
            assert!(err(&told).contains(part), "{part}: {}", err(&told));
        }
    };
    says(&["list", "--where", "up.net.mots > 3"], &["did you mean \"up.net.most\"?", "underfoot metrics"]);
    says(&["list", "--where", "up.net.most > 3 kg"], &["units that do: N, kN, %BW, BW"]);
    says(&["list", "--where", "up.net.most 3"], &["compares nothing", "--where", "for example"]);
    says(&["list", "--player", "P03"], &["did you mean", "underfoot player list"]);
    says(&["list", "--finding", "Q3O3"], &["did you mean \"Q303\"?", "underfoot explain"]);
    says(&["list", "--sort", "newset"], &["--sort"]);
    says(&["values", "tempos"], &["did you mean \"tempo\"?"]);
    says(&["list", "--swing", "9-3"], &["3-9"]);
}

#[test]
fn every_document_of_a_study_names_its_schema() {
    let folder = folder();
    mixed(folder.path());
    let schema = |command: &str| {
        let words: Vec<&str> = command.split(' ').chain(["--json"]).collect();
        json(&on(folder.path(), &words))["schema"].as_str().map(String::from)
    };
    for (command, name) in [
        ("list", "list"),
        ("values tempo", "values"),
        ("show 1", "show"),
        ("event list 1", "swing-events"),
        ("event set 1 impact=1.5", "again"),
        ("tag list", "tags"),
        ("player list", "players"),
        ("session list", "sessions"),
        ("rig list", "rigs"),
        ("study info", "study-info"),
        ("study verify", "verdict"),
        ("study vacuum", "swept"),
    ] {
        assert_eq!(schema(command), Some(format!("underfoot.{name}/1")), "{command}");
    }
}
