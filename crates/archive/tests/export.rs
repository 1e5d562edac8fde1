//! What leaves a study: the same bytes for the same study, the figures that were measured, and nobody's name where none is asked for.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use archive::export::{self, Ask, Format, Told, Who};
use archive::rigs::Since;
use archive::{Identity, Player, Selection, Session, Study, StudySettings};
use arrow_array::cast::AsArray as _;
use common::{import, rig_text, study, swings, write};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

fn ask(who: Who) -> Ask {
    Ask {
        selection: Selection::default(),
        who,
        series: false,
        originals: false,
        parquet: false,
        overwrite: false,
    }
}

/// A study with a two-plate swing and two one-plate swings of one player.
fn small(folder: &Path) -> Study {
    let (study, _, session) = study(&folder.join("study"));
    let mut files = write(&folder.join("in"), &swings(1, 1, true), "two");
    files.extend(write(&folder.join("in"), &swings(2, 2, false), "one"));
    import(&study, &files, session);
    study
}

fn package(study: &Study, ask: &Ask, out: &Path) -> Told {
    export::package(study, ask, out, &mut || ()).unwrap()
}

/// Every file below a folder, by its name there.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut look = vec![folder.to_path_buf()];
    while let Some(at) = look.pop() {
        for entry in std::fs::read_dir(&at).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => look.push(path),
                false => {
                    let name = path.strip_prefix(folder).unwrap().to_path_buf();
                    found.insert(name, std::fs::read(&path).unwrap());
                }
            }
        }
    }
    found
}

/// A CSV file as rows of cells by column.
fn table(bytes: &[u8]) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(bytes);
    reader.deserialize().map(|row| row.unwrap()).collect()
}

#[test]
fn an_unchanged_study_gives_the_same_package() {
    let folder = tempfile::tempdir().unwrap();
    let study = small(folder.path());
    let all = Ask { series: true, originals: true, parquet: true, ..ask(Who::Aliases) };
    let (one, two) = (folder.path().join("one"), folder.path().join("two"));
    let told = package(&study, &all, &one);
    assert_eq!((told.swings, told.stale, told.not_written.len()), (3, 0, 0));
    package(&study, &all, &two);
    let (one, two) = (files(&one), files(&two));
    assert!(one.keys().eq(two.keys()));
    for (name, bytes) in &one {
        assert!(bytes == two.get(name).unwrap(), "{} differs", name.display());
    }
    // What the description says of a file is so.
    let about: serde_json::Value = serde_json::from_slice(&one[Path::new("datapackage.json")]).unwrap();
    let resources = about["resources"].as_array().unwrap();
    assert_eq!(resources.len(), told.files);
    for resource in resources {
        let bytes = &one[Path::new(resource["path"].as_str().unwrap())];
        assert_eq!(resource["bytes"], bytes.len());
        assert_eq!(resource["hash"], format!("sha256:{}", archive::keep::hash(bytes)));
    }
    // And nothing is there that it does not speak of, but itself and what people read.
    let known = ["datapackage.json", "README.md", "signs.md"];
    assert_eq!(one.len(), resources.len() + known.len());
}

#[test]
fn figures_are_those_that_were_measured() {
    let folder = tempfile::tempdir().unwrap();
    let study = small(folder.path());
    let out = folder.path().join("out");
    package(&study, &ask(Who::Aliases), &out);
    let out = files(&out);
    let csv = |name: &str| table(&out[Path::new(name)]);
    let figures = csv("figures.csv");
    assert_eq!(figures.len(), 3 * swing::metrics::catalogue().len());
    // The way of the pipeline, without the archive.
    let bytes = std::fs::read(folder.path().join("in/two-01.c3d")).unwrap();
    let read = formats::read("two-01.c3d", &bytes, None).unwrap().value;
    let how = swing::Settings {
        target: mechanics::Target::parse("+x", &[]),
        hand: Some(mechanics::Hand::Right),
        ..swing::Settings::UNSTATED
    };
    let what = swing::MeasureSettings {
        events: swing::events::EventSettings { by_hand: Vec::new(), club_marker: None },
        estimates: false,
    };
    let mut findings = Vec::new();
    let measured = swing::measure_into(&read.recording, &read.rig, &how, &what, &mut findings).unwrap();
    let mut compared = 0;
    for m in &measured.metrics {
        let id = m.metric.id.as_str();
        let row = figures.iter().find(|r| r["swing"] == "1" && r["metric"] == id).unwrap();
        assert_eq!(row["unit"], m.metric.unit.symbol());
        match &m.figure {
            Ok(f) if f.value.is_finite() => {
                assert_eq!(row["value"].parse::<f64>().unwrap().to_bits(), f.value.to_bits(), "{id}");
                // JCGM 100:2008, table G.2: 95 % of a normal distribution lie within 1.96 standard deviations.
                if f.u.is_finite() {
                    let wide: f64 = row["plus_minus_95"].parse().unwrap();
                    assert!((wide - 1.96 * f.u).abs() <= 1e-12 * f.u.abs(), "{id}: {wide}");
                }
                compared += 1;
            }
            Ok(_) => assert!(row["value"].is_empty() && !row["absent"].is_empty(), "{id}"),
            Err(why) => {
                assert_eq!((row["value"].as_str(), row["absent"].as_str()), ("", why.words().as_str()))
            }
        }
    }
    assert!(compared > 50, "{compared}");
    let swings = csv("swings.csv");
    let said = |k: usize| (swings[k]["plates"].as_str(), swings[k]["accounts"].as_str());
    assert_eq!((said(0), said(1)), (("two", "net, lead and trail"), ("one", "net")));
    assert!(swings.iter().all(|s| s["current"] == "true"));
    assert_eq!(csv("findings.csv").iter().filter(|f| f["swing"] == "1").count(), findings.len());
    assert!(!csv("changes.csv").is_empty() && !csv("events.csv").is_empty());
}

#[test]
fn a_choice_has_only_what_belongs_to_it() {
    let folder = tempfile::tempdir().unwrap();
    let study = small(folder.path());
    let other = study.add_player(&Player::called("P02"), None).unwrap();
    study.add_session(&Session::of(other)).unwrap();
    let out = folder.path().join("out");
    package(&study, &Ask { selection: Selection::of(&[2]), ..ask(Who::Aliases) }, &out);
    let one = files(&out);
    let column = |files: &BTreeMap<PathBuf, Vec<u8>>, name: &str, column: &str| -> Vec<String> {
        table(&files[Path::new(name)]).iter().map(|r| r[column].clone()).collect()
    };
    assert_eq!(column(&one, "players.csv", "player"), ["P01"]);
    assert_eq!(column(&one, "swings.csv", "swing"), ["2"]);
    assert!(column(&one, "figures.csv", "swing").iter().all(|s| s == "2"));
    assert!(column(&one, "changes.csv", "swing").iter().all(|s| s == "2" || s.is_empty()));
    assert!(column(&one, "changes.csv", "player").iter().all(|s| s == "P01"));
    let out = folder.path().join("all");
    package(&study, &ask(Who::Aliases), &out);
    assert_eq!(column(&files(&out), "players.csv", "player"), ["P01", "P02"]);
}

/// A study's own files, and anybody's, stay what they are.
#[test]
fn nothing_that_is_there_is_written_over_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let study = small(folder.path());
    let root = study.root.clone();
    let write = |out: &Path, overwrite: bool| {
        let ask = Ask { overwrite, ..ask(Who::Aliases) };
        export::table(&study, &ask, "players", Format::Csv, out, &mut || ())
    };
    let before = files(&root);
    for place in ["catalogue.sqlite", "new.csv", "originals/new.csv", "derived/../new.csv"] {
        let refused = write(&root.join(place), true).unwrap_err();
        assert!(matches!(refused, archive::StudyError::Refused(_)), "{place}: {refused}");
        assert!(export::json(&study, &ask(Who::Aliases), &root.join(place)).is_err());
        assert!(export::package(&study, &ask(Who::Aliases), &root.join(place), &mut || ()).is_err());
    }
    assert!(write(&root, true).is_err() && files(&root) == before);
    let mine = folder.path().join("x.c3d");
    std::fs::write(&mine, b"a recording").unwrap();
    let refused = write(&mine, false).unwrap_err();
    assert!(matches!(refused, archive::StudyError::Exists { kind: "file", .. }), "{refused}");
    assert!(export::json(&study, &ask(Who::Aliases), &mine).is_err());
    // Nor one that comes while it is being made.
    let late = folder.path().join("late.csv");
    let raced = export::place::whole_file(&late, false, |path| {
        std::fs::write(path, b"ours").unwrap();
        std::fs::write(&late, b"theirs").unwrap();
        Ok(())
    });
    assert!(matches!(raced, Err(archive::StudyError::Exists { .. })), "{raced:?}");
    assert_eq!(std::fs::read(&late).unwrap(), b"theirs");
    assert_eq!(std::fs::read(&mine).unwrap(), b"a recording");
    write(&mine, true).unwrap();
    assert!(std::fs::read(&mine).unwrap().starts_with(b"player,"));
    write(&folder.path().join("new.csv"), false).unwrap();
}

#[test]
fn it_is_whole_or_not_there() {
    let folder = tempfile::tempdir().unwrap();
    let study = small(folder.path());
    let out = folder.path().join("out");
    std::fs::create_dir(&out).unwrap();
    std::fs::write(out.join("mine.txt"), "mine").unwrap();
    let refused = export::package(&study, &ask(Who::Aliases), &out, &mut || ()).unwrap_err();
    assert!(matches!(refused, archive::StudyError::Occupied(_)), "{refused}");
    assert_eq!(files(&out).len(), 1);
    // A damaged original stops the export half way: nothing is left of it.
    let stem = archive::keep::all(&study.root, archive::keep::ORIGINALS).unwrap();
    for place in stem {
        let path = study.root.join(place);
        std::fs::remove_file(path).unwrap();
    }
    let before: Vec<_> = std::fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().path()).collect();
    let all = Ask { originals: true, ..ask(Who::Aliases) };
    assert!(export::package(&study, &all, &folder.path().join("new"), &mut || ()).is_err());
    let after: Vec<_> = std::fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().path()).collect();
    assert_eq!(before, after);
    // The study's own folders are not written to.
    let own = study.root.join("derived/mine");
    assert!(export::package(&study, &ask(Who::Aliases), &own, &mut || ()).is_err());
}

/// A study in which everything that a person can write holds a word of its own.
fn marked(folder: &Path) -> (Study, Vec<String>) {
    let mut words = Vec::new();
    let mut word = || {
        words.push(format!("ZZMARK{}X", words.len()));
        words.last().unwrap().clone()
    };
    // A label of a marker may be a name.
    let marker = word();
    let settings = StudySettings { about: format!("marker:{marker}"), ..StudySettings::named(&word()) };
    let study = Study::create(&folder.join("study"), &settings).unwrap();
    let who = Player {
        hand: Some("right".into()),
        sex: Some(word()),
        born: Some(1987),
        handicap: Some(12.3),
        note: word(),
        consent_on: Some("2026-05-11".into()),
        consent_to: word(),
        keep_until: Some("2031-05-11".into()),
        ..Player::called(&word())
    };
    let player = study.add_player(&who, Some(&Identity { name: word(), contact: word() })).unwrap();
    let mut recorded = swings(1, 1, true);
    recorded.extend(swings(1, 2, false));
    for swing in &mut recorded {
        let recording = &mut swing.recording;
        for channel in &mut recording.analog.channels {
            channel.description = word();
        }
        let still = |label: &str, description: String, frames: usize| mechanics::recording::Marker {
            label: label.into(),
            description,
            path_m: vec![[0.1, 0.2, 1.0]; frames],
        };
        let samples = recording.analog.len();
        let each = (1..=20).rev().find(|n| samples.is_multiple_of(*n)).unwrap();
        let frames = samples / each;
        recording.marker_rate_hz = recording.analog.rate_hz / each as f64;
        recording.markers = vec![still(&marker, word(), frames), still(&word(), word(), frames)];
        recording.marks.push(mechanics::recording::Mark { label: word(), context: word(), time_s: 0.5 });
        recording.analog.channels.push(mechanics::Channel {
            label: word(),
            unit: word(),
            description: word(),
            samples: vec![0.5; recording.analog.len()],
        });
    }
    let paths = [
        write(&folder.join("in"), &recorded[..1], &word()),
        write(&folder.join("in"), &recorded[1..], &word()),
    ]
    .concat();
    let rig = word();
    let text = rig_text(&recorded[0].rig, &recorded[0]);
    let text: String = text.split("name = \"").collect::<Vec<_>>().join(&format!("name = \"{}", word()));
    let text = format!("# {}\n{text}", word());
    study.add_rig(&rig, &text, &Since::New).unwrap();
    let rig = study.rig_called(&rig).unwrap()[0].rig;
    let of = |rig: Option<i64>, word: &mut dyn FnMut() -> String| Session {
        target: Some("+x".into()),
        date: Some("2026-05-12".into()),
        rig,
        mass_kg: Some(78.5),
        club_marker: Some(word()),
        place: word(),
        note: word(),
        ..Session::of(player)
    };
    let two = study.add_session(&of(Some(rig), &mut word)).unwrap();
    let one = study.add_session(&Session { date: Some("2026-05-19".into()), ..of(None, &mut word) }).unwrap();
    for (path, session) in paths.iter().zip([two, one]) {
        let mut incoming = archive::import::Incoming::new(path, session);
        incoming.club = word();
        incoming.tags = vec![word()];
        incoming.note = word();
        incoming.recorded_at = Some(word());
        let mut told = Vec::new();
        study.import(&[incoming], |_, t| told.push(t), || true).unwrap();
        assert!(matches!(told[..], [archive::import::Told::Kept { feet: Some(_), .. }]), "{told:?}");
    }
    let db = rusqlite::Connection::open(study.root.join("catalogue.sqlite")).unwrap();
    let put =
        "INSERT INTO outcome (swing, name, value, unit, given, source) VALUES (1, ?1, 45.0, ?2, ?3, ?4)";
    db.execute(put, ["clubhead-speed", "m/s", &word(), &word()]).unwrap();
    db.execute(put, [&word(), &word(), &word(), &word()]).unwrap();
    // What the pipeline has seen, and the log, may hold anything that was in a file.
    for ask in [
        "UPDATE event SET seen = seen || ?1",
        "UPDATE finding SET seen = seen || ?1, remedy = remedy || ?1",
        "UPDATE measurement SET conditioning = 'zero from ' || ?1 || '.c3d; ' || ?1",
        "UPDATE change SET before = ?1",
    ] {
        assert!(db.execute(ask, [&word()]).unwrap() > 0, "{ask}");
    }
    (study, words)
}

/// Everything that can be read of a file, in lower case: its name, its bytes, the columns and the schema of Parquet.
fn readable(name: &Path, bytes: &[u8]) -> String {
    let mut text = format!("{}\n{}", name.display(), String::from_utf8_lossy(bytes));
    if name.extension().is_some_and(|e| e == "parquet") {
        let file = tempfile::NamedTempFile::new().unwrap();
        std::fs::write(file.path(), bytes).unwrap();
        let opened = std::fs::File::open(file.path()).unwrap();
        let reader = parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder::try_new(opened).unwrap();
        text.push_str(&format!("{:?}", reader.schema()));
        for batch in reader.build().unwrap() {
            for column in batch.unwrap().columns() {
                match column.as_string_opt::<i32>() {
                    Some(texts) => texts.iter().flatten().for_each(|t| text.push_str(&format!("{t}\n"))),
                    None => text.push_str(&format!("{column:?}\n")),
                }
            }
        }
    }
    text.to_lowercase()
}

/// Every format at once.
fn everything(study: &Study, who: Who, out: &Path) -> (BTreeMap<PathBuf, Vec<u8>>, Vec<String>) {
    std::fs::create_dir(out).unwrap();
    let all = Ask { series: true, parquet: true, ..ask(who) };
    let quiet = &mut || ();
    export::package(study, &all, &out.join("package"), quiet).unwrap();
    export::folder(study, &all, Format::Csv, &out.join("csv"), quiet).unwrap();
    export::folder(study, &all, Format::Parquet, &out.join("parquet"), quiet).unwrap();
    export::recordings(study, &all, &out.join("c3d"), quiet).unwrap();
    export::json(study, &all, &out.join("study.json")).unwrap();
    let files = files(out);
    let texts = files.iter().map(|(name, bytes)| readable(name, bytes)).collect();
    (files, texts)
}

#[test]
fn without_identity_no_written_word_goes_out() {
    let folder = tempfile::tempdir().unwrap();
    let (study, words) = marked(folder.path());
    assert!(words.len() > 40, "{}", words.len());
    let (bare, texts) = everything(&study, Who::Nobody, &folder.path().join("bare"));
    assert!(bare.len() > 30, "{}", bare.len());
    // The hash of an original names it to whoever has it.
    let hashes: Vec<String> = study.wanted(None).unwrap().into_iter().map(|w| w.hash).collect();
    let days = ["2026-05", "2031-05"].map(String::from);
    for (name, text) in bare.keys().zip(&texts) {
        for word in words.iter().chain(&hashes).chain(&days) {
            assert!(!text.contains(&word.to_lowercase()), "{} holds {word}", name.display());
        }
    }
    let players = table(&bare[Path::new("csv/players.csv")]);
    let columns: Vec<&str> = players[0].keys().map(String::as_str).collect();
    assert_eq!(columns, ["hand", "handicap", "player", "sex"]);
    assert_eq!((players[0]["handicap"].as_str(), players[0]["sex"].as_str()), ("12.0", ""));
    // What is left can be worked with.
    let sessions = table(&bare[Path::new("csv/sessions.csv")]);
    let told = |k: usize| (sessions[k]["player"].as_str(), sessions[k]["day"].as_str());
    assert_eq!((told(0), told(1)), (("player-01", "0"), ("player-01", "7")));
    assert_eq!((sessions[0]["rig"].as_str(), sessions[1]["rig"].as_str()), ("rig-01", ""));
    let outcomes = table(&bare[Path::new("csv/outcomes.csv")]);
    assert_eq!(outcomes.len(), 1);
    assert_eq!(outcomes[0]["outcome"], "clubhead-speed");
    assert!(bare.keys().all(|n| !n.ends_with("tags.csv") && !n.ends_with("changes.csv")));
    let refused = Ask { originals: true, ..ask(Who::Nobody) };
    assert!(export::package(&study, &refused, &folder.path().join("no"), &mut || ()).is_err());
}

/// So that the test above is known to find what it looks for.
#[test]
fn with_aliases_everything_goes_out_but_names() {
    let folder = tempfile::tempdir().unwrap();
    let (study, words) = marked(folder.path());
    let (_, full) = everything(&study, Who::Aliases, &folder.path().join("full"));
    let missing = |texts: &[String]| -> Vec<String> {
        let there = |w: &&String| !texts.iter().any(|t| t.contains(&w.to_lowercase()));
        words.iter().filter(there).cloned().collect()
    };
    // Name and contact.
    assert_eq!(missing(&full), [words[6].clone(), words[7].clone()]);
    let (_, named) = everything(&study, Who::Names, &folder.path().join("named"));
    assert!(missing(&named).is_empty());
}

/// Reading the C3D back gives the recording, our series to the precision of its floats, and the same accounts once more.
#[test]
fn c3d_holds_the_recording_and_the_series() {
    let folder = tempfile::tempdir().unwrap();
    let (study, _, session) = study(&folder.path().join("study"));
    let mut recorded = swings(1, 1, true);
    // A label that ours would have.
    let samples = recorded[0].recording.analog.len();
    recorded[0].recording.analog.channels.push(mechanics::Channel {
        label: "Turn".into(),
        unit: "V".into(),
        description: String::new(),
        samples: vec![0.25; samples],
    });
    recorded.extend(swings(1, 2, false));
    import(&study, &write(&folder.path().join("in"), &recorded, "s"), session);
    let out = folder.path().join("out");
    let told = export::recordings(&study, &ask(Who::Aliases), &out, &mut || ()).unwrap();
    assert!(told.not_written.is_empty(), "{told:?}");
    let how = swing::Settings {
        target: mechanics::Target::parse("+x", &[]),
        hand: Some(mechanics::Hand::Right),
        ..swing::Settings::UNSTATED
    };
    let read = |path: &Path| formats::read("s.c3d", &std::fs::read(path).unwrap(), None).unwrap().value;
    let analysed = |read: &formats::Read| swing::analyse(&read.recording, &read.rig, &how).unwrap().value;
    for (number, name) in [(1, "s-01.c3d"), (2, "s-02.c3d")] {
        let before = read(&folder.path().join("in").join(name));
        let after = read(&out.join(format!("swing-{number:06}.c3d")));
        let there = before.recording.analog.channels.len();
        assert_eq!(after.recording.analog.channels[..there], before.recording.analog.channels[..]);
        let (truth, again) = (analysed(&before), analysed(&after));
        assert_eq!(truth.ledger.turn_nm.len(), again.ledger.turn_nm.len());
        let of = |label: &str| {
            let found = after.recording.analog.channels.iter().find(|c| c.label == label);
            found.unwrap_or_else(|| panic!("{label} in {name}"))
        };
        let turn = of(if number == 1 { "UF_TURN" } else { "TURN" });
        assert_eq!(turn.unit, "Nm");
        // A float has 24 bits.
        let near = |a: f64, b: f64| a.is_nan() && b.is_nan() || (a - b).abs() <= 1e-6 * a.abs().max(1e-3);
        assert!(turn.samples.iter().zip(&truth.ledger.turn_nm).all(|(a, b)| near(*a, *b)));
        assert!(of("NET_UP").samples.iter().zip(&truth.ledger.net.up_n).all(|(a, b)| near(*a, *b)));
        assert!(again.ledger.turn_nm.iter().zip(&truth.ledger.turn_nm).all(|(a, b)| near(*a, *b)));
        let feet = after.recording.analog.channels.iter().filter(|c| c.label.starts_with("LEAD")).count();
        assert_eq!(feet, if number == 1 { 4 } else { 0 });
        let cop = after.recording.markers.iter().find(|m| m.label == "NET_COP").unwrap();
        let each = samples_in_a_frame(&after.recording);
        for (frame, place) in cop.path_m.iter().enumerate() {
            let there = truth.series.net.contact[frame * each].cop_m;
            let there = truth.frame.axes * there + truth.frame.origin_m;
            assert_eq!(place[0].is_nan(), there.x.is_nan());
            assert!(there.x.is_nan() || (f64::from(place[0]) - there.x).abs() < 1e-6);
            assert!(there.y.is_nan() || (f64::from(place[1]) - there.y).abs() < 1e-6);
        }
    }
}

/// Without identity the accounts are the same for every kind of plate, and nothing else is there.
#[test]
fn c3d_without_identity_holds_the_plates_alone() {
    use simulate::{Noise, PlateType, PlayerSpec, RigSpec, Style};
    for kind in [PlateType::One, PlateType::Two, PlateType::Three, PlateType::Four] {
        let folder = tempfile::tempdir().unwrap();
        let (study, _, session) = study(&folder.path().join("study"));
        let player = PlayerSpec::right(Style::early());
        let rig = RigSpec::two_plates(kind);
        let mut recorded = simulate::session(&player, 1, 1, &rig, &Noise::USUAL).unwrap();
        // Other channels lie before and between those of the plates.
        let recording = &mut recorded[0].recording;
        let other = mechanics::Channel {
            label: "OTHER".into(),
            samples: vec![0.5; recording.analog.len()],
            ..mechanics::Channel::default()
        };
        for place in [0, 5] {
            recording.analog.channels.insert(place, other.clone());
        }
        for plate in &mut recording.plates {
            archive::export::c3d::renumber(plate, |old| if old < 4 { old + 1 } else { old + 2 });
        }
        let files = write(&folder.path().join("in"), &recorded, "s");
        import(&study, &files, session);
        let out = folder.path().join("out");
        export::recordings(&study, &ask(Who::Nobody), &out, &mut || ()).unwrap();
        let how = swing::Settings {
            target: mechanics::Target::parse("+x", &[]),
            hand: Some(mechanics::Hand::Right),
            ..swing::Settings::UNSTATED
        };
        let read = |path: &Path| formats::read("s.c3d", &std::fs::read(path).unwrap(), None).unwrap().value;
        let analysed = |read: &formats::Read| swing::analyse(&read.recording, &read.rig, &how).unwrap().value;
        let bare = read(&out.join("swing-000001.c3d"));
        let (truth, again) = (analysed(&read(&files[0])), analysed(&bare));
        assert_eq!(again.split.lead, truth.split.lead);
        let most = truth.ledger.net.up_n.iter().copied().fold(0.0, f64::max);
        assert!(most > 1000.0, "{most}");
        let columns = |s: &swing::Swing| [s.ledger.turn_nm.clone(), s.ledger.net.up_n.clone()].concat();
        let apart = |(a, b): (&f64, &f64)| if a.is_nan() { 0.0 } else { (a - b).abs() };
        let worst = columns(&truth).iter().zip(&columns(&again)).map(apart).fold(0.0, f64::max);
        assert!(worst < 1e-3, "{kind:?}: {worst}");
        let own = |l: &str| ["PLATE_", "LEAD_", "TRAIL_", "NET_", "TURN"].iter().any(|p| l.starts_with(p));
        assert!(bare.recording.analog.channels.iter().all(|c| own(&c.label)));
        assert!(bare.recording.markers.iter().all(|m| m.label.ends_with("_COP")));
    }
}

fn samples_in_a_frame(recording: &mechanics::Recording) -> usize {
    recording.analog.len() / recording.markers[0].path_m.len()
}

#[test]
fn what_another_program_changes_meanwhile_is_in_it_whole_or_not_at_all() {
    use std::sync::atomic::{AtomicBool, Ordering};
    let folder = tempfile::tempdir().unwrap();
    let study = small(folder.path());
    study.add_tag(&[1], "odd").unwrap();
    let (other, stop) = (study.again().unwrap(), AtomicBool::new(false));
    let odd = Selection { tags: vec!["odd".into()], ..Selection::default() };
    let odd = Ask { selection: odd, ..ask(Who::Aliases) };
    std::thread::scope(|scope| {
        let go_on = || !stop.load(Ordering::Relaxed);
        scope.spawn(move || {
            while go_on() {
                other.add_tag(&[2, 3], "odd").unwrap();
                other.remove_tag(&[2, 3], "odd").unwrap();
            }
        });
        let differing = (0..300).find(|k| {
            let out = folder.path().join(format!("tags-{k}.csv"));
            let told = export::table(&study, &odd, "tags", Format::Csv, &out, &mut || ()).unwrap();
            told.rows != told.swings as u64
        });
        stop.store(true, Ordering::Relaxed);
        assert_eq!(differing, None, "every swing that was chosen by its tag has it");
    });
}
