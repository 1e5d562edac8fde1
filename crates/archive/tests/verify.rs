//! What verify finds, and what rebuild makes whole again.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;
mod faults;

use archive::verify::Part;
use archive::{Study, keep};
use faults::{entered, leaves, logged, measured, raw, rebuild, same, small_study, spoil, verify};
use std::path::{Path, PathBuf};

fn originals(root: &Path) -> Vec<PathBuf> {
    keep::all(root, keep::ORIGINALS).unwrap().into_iter().map(|p| root.join(p)).collect()
}

fn series(root: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    faults::files(&root.join(keep::DERIVED))
}

#[test]
fn a_whole_study_is_clean_and_made_again_bit_by_bit() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 3);
    let root = study.root.clone();
    drop(study);
    let verdict = verify(&root);
    assert!(verdict.clean() && verdict.notes.is_empty(), "{verdict:#?}");
    assert_eq!((verdict.swings, verdict.originals, verdict.series), (6, 6, 6));
    let metrics = swing::metrics::catalogue().len() as u64;
    assert_eq!(verdict.figures, 6 * metrics);

    let before = (measured(&raw(&root)), entered(&raw(&root)), series(&root));
    assert!(before.0.lines().count() as u64 > 6 * metrics);
    for (path, _) in &before.2 {
        std::fs::remove_file(path).unwrap();
    }
    let gone = verify(&root);
    assert_eq!(gone.faults.len(), 6);
    assert!(gone.faults.iter().all(|f| f.part == Part::Series && f.heals), "{gone:#?}");
    let rebuilt = rebuild(&root).unwrap();
    assert_eq!((rebuilt.measured, rebuilt.again.len(), rebuilt.failed.len()), (6, 6, 0));
    assert!(rebuilt.again.iter().all(|a| a.changed.is_empty() && a.same > 0));
    same(&measured(&raw(&root)), &before.0);
    same(&entered(&raw(&root)), &before.1);
    assert!(series(&root) == before.2, "series differ");
    assert!(verify(&root).clean());
}

#[test]
fn a_damaged_recording_is_named_and_the_rest_works() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 2);
    let root = study.root.clone();
    let hash: String = raw(&root).query_row("SELECT hash FROM swing WHERE id = 2", [], |r| r.get(0)).unwrap();
    let path = root.join(keep::original(&hash, "c3d"));
    let sound = std::fs::read(&path).unwrap();
    let mut bytes = sound.clone();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::remove_file(&path).unwrap();
    std::fs::write(&path, &bytes).unwrap();
    let verdict = verify(&root);
    let [fault] = verdict.faults.as_slice() else { panic!("{verdict:#?}") };
    assert_eq!((fault.part, fault.heals), (Part::Original, false));
    assert!(fault.what.contains("swing 2") && fault.place.contains(&hash), "{fault:?}");
    // What was measured of it stays, and the others are measured again.
    let before = measured(&raw(&root));
    let rebuilt = rebuild(&root).unwrap();
    assert_eq!((rebuilt.measured, rebuilt.failed.len()), (3, 1));
    assert_eq!(rebuilt.failed[0].0, 2);
    same(&measured(&raw(&root)), &before);
    assert!(study.mark(1, "impact", Some((1.41, None))).is_ok());
    // The same file, imported again, puts it back.
    let copy = folder.path().join("copy.c3d");
    std::fs::write(&copy, &sound).unwrap();
    common::import(&study, &[copy], 1);
    assert_eq!(std::fs::read(&path).unwrap(), sound);
    assert!(verify(&root).clean());
    std::fs::remove_file(&path).unwrap();
    let verdict = verify(&root);
    assert!(verdict.faults[0].what.contains("is gone"), "{verdict:#?}");
}

#[test]
fn figures_that_are_missing_or_nobodys_are_counted() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 2);
    let root = study.root.clone();
    drop(study);
    let before = measured(&raw(&root));
    let db = raw(&root);
    db.execute_batch(
        "DELETE FROM figure WHERE swing = 1 AND metric = 7;
         INSERT INTO figure (metric, basis, swing, value) VALUES (1, 1, 999, 1.0);
         DELETE FROM finding WHERE swing = 3 AND number = (SELECT min(number) FROM finding WHERE swing = 3);
         DELETE FROM measurement WHERE swing = 4;
         UPDATE recipe SET text = replace(text, 'right', 'left') WHERE id = (SELECT recipe FROM measurement WHERE swing = 2);",
    )
    .unwrap();
    drop(db);
    let verdict = verify(&root);
    let of = |swing: i64| verdict.faults.iter().filter(|f| f.place == format!("swing {swing}")).count();
    assert_eq!((of(1), of(999), of(3), of(4)), (1, 1, 1, 2), "{verdict:#?}");
    assert!(verdict.faults.iter().any(|f| f.place.contains("recipe")), "{verdict:#?}");
    assert!(verdict.faults.iter().all(|f| f.heals && !f.remedy.is_empty()));
    rebuild(&root).unwrap();
    assert!(verify(&root).clean(), "{:#?}", verify(&root));
    same(&measured(&raw(&root)), &before);
}

/// A number that is altered on the disk, in a page that is otherwise sound, is seen by its measurement's seal.
#[test]
fn an_altered_number_is_seen() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 1);
    let root = study.root.clone();
    drop(study);
    for alter in [
        "UPDATE figure SET value = value * (1 + 1e-14) WHERE swing = 2 AND metric = 1 AND basis = 1",
        "UPDATE event SET time_s = time_s + 0.001 WHERE swing = 2 AND event = 'top'",
        "UPDATE measurement SET body_weight_n = body_weight_n + 1 WHERE swing = 2",
        "UPDATE finding SET seen = seen || '.' WHERE swing = 2",
    ] {
        let changed = raw(&root).execute(alter, []).unwrap();
        let verdict = verify(&root);
        if changed == 0 {
            assert!(alter.contains("finding") && verdict.clean(), "{alter}");
            continue;
        }
        let [fault] = verdict.faults.as_slice() else { panic!("{alter}: {verdict:#?}") };
        assert_eq!((fault.place.as_str(), fault.heals), ("swing 2", true));
        rebuild(&root).unwrap();
        assert!(verify(&root).clean(), "{alter}");
    }
}

/// A catalogue that was cut short is not begun again: that would make an empty study of a full one.
#[test]
fn an_empty_catalogue_is_damage_and_not_an_empty_study() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 1);
    let root = study.root.clone();
    drop(study);
    let path = root.join("catalogue.sqlite");
    let empty = folder.path().join("no-table.sqlite");
    rusqlite::Connection::open(&empty).unwrap().execute_batch("PRAGMA journal_mode = wal; VACUUM").unwrap();
    let no_table = std::fs::read(&empty).unwrap();
    for (image, salvaged) in
        [(Vec::new(), false), (no_table, false), (b"no database at all".repeat(999), true)]
    {
        for end in ["", "-wal", "-shm"] {
            let _ = std::fs::remove_file(root.join(format!("catalogue.sqlite{end}")));
        }
        std::fs::write(&path, &image).unwrap();
        for _ in 0..2 {
            assert!(matches!(Study::open(&root), Err(archive::StudyError::Damaged(_))));
        }
        let verdict = verify(&root);
        let [fault] = verdict.faults.as_slice() else { panic!("{verdict:#?}") };
        assert_eq!((fault.part, fault.heals), (Part::Page, false));
        assert_eq!(fault.remedy.contains("from a copy"), !salvaged, "{fault:?}");
        assert!(matches!(rebuild(&root), Err(archive::StudyError::Damaged(_))));
        assert!(matches!(Study::open(&root), Err(archive::StudyError::Damaged(_))));
    }
    // Nor is one without a swing beside recordings.
    std::fs::remove_file(&path).unwrap();
    let other = folder.path().join("other");
    drop(faults::empty(&other));
    std::fs::copy(other.join("catalogue.sqlite"), &path).unwrap();
    let verdict = verify(&root);
    let [fault] = verdict.faults.as_slice() else { panic!("{verdict:#?}") };
    assert!(fault.what.contains("2 recordings") && fault.remedy.contains("from a copy"), "{fault:?}");
}

#[test]
fn every_way_to_look_has_series_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 1);
    let root = study.root.clone();
    let clean = |when: &str| {
        let verdict = verify(&root);
        assert!(verdict.clean() && verdict.notes.is_empty(), "{when}: {verdict:#?}");
        verdict.series
    };
    let metric = swing::metrics::catalogue().iter().find(|m| m.id == "turn.asked.most").unwrap();
    let look = archive::recipe::Basis { collapse: false, about: "0,0".parse().unwrap() };
    study.values_on(&look, metric, &archive::Selection::default(), |_, _| {}).unwrap();
    assert_eq!(clean("looked at"), 4);
    drop(study);
    rebuild(&root).unwrap();
    assert_eq!(clean("rebuilt"), 4);
    // The study's own point becomes another, and is one that has been looked at.
    let settings = std::fs::read_to_string(root.join("study.toml")).unwrap();
    std::fs::write(root.join("study.toml"), settings.replace("net-cop", "0,0")).unwrap();
    assert_eq!(clean("settings"), 4);
    rebuild(&root).unwrap();
    assert_eq!(clean("rebuilt again"), 4);
    // A study of before, whose series were of no basis, keeps the file that is still spoken of.
    let db = raw(&root);
    db.execute(
        "UPDATE measurement SET (series, series_hash) = (SELECT m.series, m.series_hash FROM measurement m
         WHERE m.swing = measurement.swing AND m.basis <> measurement.basis) WHERE basis = 2 AND swing = 1",
        [],
    )
    .unwrap();
    drop(db);
    Study::open(&root).unwrap().mark(1, "impact", Some((1.41, None))).unwrap();
    assert!(verify(&root).clean(), "{:#?}", verify(&root));
    rebuild(&root).unwrap();
    assert_eq!(clean("made alike"), 4);
}

/// A study that was copied from somewhere may say anything: what it names outside itself is not touched.
#[test]
fn a_catalogue_that_names_files_of_others_touches_none() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 1);
    let root = study.root.clone();
    drop(study);
    let (mine, beside) = (folder.path().join("mine.txt"), folder.path().join("beside.parquet"));
    std::fs::write(&mine, b"mine").unwrap();
    std::fs::write(&beside, b"mine").unwrap();
    let db = raw(&root);
    let places = [mine.to_str().unwrap(), "../mine.txt", "originals/../../mine.txt", "study.toml"];
    for place in places {
        db.execute("INSERT INTO removal VALUES (?1)", [place]).unwrap();
    }
    db.execute("UPDATE measurement SET series = '../../../beside' WHERE swing = 1", []).unwrap();
    drop(db);
    let study = Study::open(&root).unwrap();
    let verdict = study.verify(&|_| {}).unwrap();
    let rows = verdict.faults.iter().filter(|f| f.part == Part::Rows && f.place.ends_with("removal")).count();
    assert_eq!((rows, verdict.faults.len()), (4, 5), "{verdict:#?}");
    // A player is deleted all the same, to the last page.
    let player = study.player_called("Zebedee-77").unwrap().id;
    assert!(study.delete_player(player).unwrap().nothing());
    let player = study.players().unwrap()[0].id;
    rebuild(&root).unwrap();
    assert!(verify(&root).clean(), "{:#?}", verify(&root));
    assert!(study.delete_player(player).unwrap().nothing());
    assert!(mine.is_file() && beside.is_file() && root.join("study.toml").is_file());
}

#[test]
fn leftovers_are_notes_and_vacuum_sweeps_them_but_never_a_recording() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 1);
    let root = study.root.clone();
    std::fs::write(root.join("originals/.unfinished-abc"), b"half").unwrap();
    std::fs::write(root.join("derived/00.parquet"), b"nobody's").unwrap();
    let stray = root.join("originals").join("ab");
    std::fs::create_dir_all(&stray).unwrap();
    std::fs::write(stray.join("abcdef.c3d"), b"a recording without a row").unwrap();
    let verdict = verify(&root);
    assert!(verdict.clean());
    let counts: Vec<usize> = verdict.notes.iter().map(|n| n.count).collect();
    assert_eq!(counts, [2, 1], "{verdict:#?}");
    let swept = study.vacuum(false).unwrap();
    assert_eq!((swept.removed.len(), swept.kept.len(), swept.busy), (2, 1, false), "{swept:?}");
    assert!(stray.join("abcdef.c3d").is_file() && swept.left.nothing());
    let swept = study.vacuum(true).unwrap();
    assert_eq!(swept.removed, ["originals/ab/abcdef.c3d"]);
    assert!(verify(&root).notes.is_empty());
}

#[test]
fn a_damaged_page_of_figures_is_named_and_heals_completely() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 3);
    let root = study.root.clone();
    drop(study);
    let before = (measured(&raw(&root)), entered(&raw(&root)), logged(&raw(&root), 1000), series(&root));
    let pages = leaves(&root, "figure");
    spoil(&root, pages[pages.len() / 2]);
    let verdict = verify(&root);
    let [fault] = verdict.faults.as_slice() else { panic!("{verdict:#?}") };
    assert_eq!((fault.part, fault.heals), (Part::Page, true));
    assert!(fault.place.ends_with("table figure"), "{fault:?}");
    let study = Study::open(&root).unwrap();
    assert_eq!(study.chosen(&archive::Selection::default()).unwrap().len(), 6, "the rest works");
    // Not while another program has it open.
    assert!(matches!(rebuild(&root), Err(archive::StudyError::InUse(_))));
    drop(study);
    let rebuilt = rebuild(&root).unwrap();
    let mended = rebuilt.mended.unwrap();
    assert_eq!((mended.tables.as_slice(), mended.lost.len()), (["figure".to_string()].as_slice(), 0));
    assert!(root.join(&mended.kept).is_file());
    let after = verify(&root);
    assert!(after.clean() && after.notes.len() == 1, "{after:#?}");
    same(&measured(&raw(&root)), &before.0);
    same(&entered(&raw(&root)), &before.1);
    let log = logged(&raw(&root), 1000);
    let new: Vec<&str> = log.strip_prefix(before.2.as_str()).unwrap().lines().collect();
    let said = |what: &str| new.iter().filter(|line| line.contains(what)).count();
    assert_eq!(said("catalogue mended"), 1, "{new:?}");
    assert_eq!(said("catalogue mended") + said("swings measured again"), new.len(), "{new:?}");
    assert!(series(&root) == before.3, "series differ");
}

#[test]
fn a_swing_without_its_recording_keeps_its_figures_through_a_damaged_page() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 2);
    let root = study.root.clone();
    drop(study);
    let figures = measured(&raw(&root));
    let hash: String = raw(&root).query_row("SELECT hash FROM swing WHERE id = 2", [], |r| r.get(0)).unwrap();
    std::fs::remove_file(root.join(keep::original(&hash, "c3d"))).unwrap();
    let whole = folder.path().join("whole");
    faults::copy(&root, &whole);
    for page in leaves(&root, "finding") {
        spoil(&root, page);
    }
    let lost = rebuild(&root).unwrap();
    assert!(
        lost.failed[0].1.contains("could not be read either"),
        "its findings were on that page: {lost:?}"
    );
    // With a page of something else, everything of it is carried over.
    let root = whole;
    spoil(&root, leaves(&root, "sqlite_autoindex_metric_1")[0]);
    let carried = rebuild(&root).unwrap();
    assert_eq!(carried.failed.len(), 1);
    assert!(!carried.failed[0].1.contains("either"), "{carried:?}");
    same(&measured(&raw(&root)), &figures);
    let verdict = verify(&root);
    assert!(verdict.faults.iter().all(|f| f.part == Part::Original), "{verdict:#?}");
}

#[test]
fn a_damaged_page_of_swings_is_named_and_its_rows_come_from_what_else_knows_them() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 6);
    // Long notes: rows on many pages without many swings.
    raw(&study.root).execute("UPDATE swing SET note = printf('%.*c', 900, 'n')", []).unwrap();
    let root = study.root.clone();
    drop(study);
    let before = raw(&root);
    let (figures, tags) = (measured(&before), faults::dump(&before, "SELECT * FROM tag"));
    let known = "SELECT id, session, number, hash, ending, bytes, club FROM swing ORDER BY id";
    let (swings, names) =
        (faults::dump(&before, known), faults::dump(&before, "SELECT id, name FROM swing ORDER BY id"));
    drop(before);
    let pages = leaves(&root, "swing");
    assert!(pages.len() > 2, "{pages:?}");
    spoil(&root, pages[1]);
    let verdict = verify(&root);
    assert!(
        verdict.faults.iter().any(|f| f.part == Part::Page && f.place.ends_with("table swing") && !f.heals)
    );
    let study = Study::open(&root).unwrap();
    assert_eq!(study.players().unwrap().len(), 2, "the rest works");
    drop(study);
    let mended = rebuild(&root).unwrap().mended.unwrap();
    let after = raw(&root);
    let [lost] = mended.lost.as_slice() else { panic!("{mended:#?}") };
    assert_eq!(lost.table, "swing");
    assert!(lost.rows.is_empty() && lost.unreadable.is_empty() && !lost.partly.is_empty(), "{lost:#?}");
    // Exactly those are named whose name is gone.
    let kept: Vec<String> =
        faults::dump(&after, "SELECT id, name FROM swing ORDER BY id").lines().map(str::to_string).collect();
    let differ: Vec<String> = names
        .lines()
        .zip(&kept)
        .filter(|(a, b)| a != b)
        .map(|(a, _)| a.split('|').next().unwrap().to_string())
        .collect();
    assert_eq!(lost.partly, differ);
    assert_eq!(faults::dump(&after, known), swings);
    assert_eq!(faults::dump(&after, "SELECT * FROM tag"), tags);
    // Series carry the recording's name; every figure is what it was.
    let but_series = |all: &str| -> String {
        let cut = |l: &str| {
            if l.matches('|').count() == 19 {
                l.rsplitn(3, '|').nth(2).unwrap().to_string()
            } else {
                l.into()
            }
        };
        all.lines().map(|l| cut(l) + "\n").collect()
    };
    same(&but_series(&measured(&after)), &but_series(&figures));
    assert!(verify(&root).clean(), "{:#?}", verify(&root));
}

#[test]
fn lost_swings_leave_their_recordings() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 6);
    // Long notes: rows on many pages without many swings.
    raw(&study.root).execute("UPDATE swing SET note = printf('%.*c', 900, 'n')", []).unwrap();
    let root = study.root.clone();
    drop(study);
    // The rows' page, and the pages of both indexes that could bring them back.
    for name in ["swing", "sqlite_autoindex_swing_1"] {
        for page in leaves(&root, name) {
            spoil(&root, page);
        }
    }
    let count = originals(&root).len();
    let mended = rebuild(&root).unwrap().mended.unwrap();
    let lost = mended.lost.iter().find(|l| l.table == "swing").unwrap();
    assert_eq!(lost.rows.len(), 12, "{lost:#?}");
    assert!(mended.lost.iter().any(|l| l.table == "tag"), "{:#?}", mended.lost);
    assert_eq!((mended.strays.len(), originals(&root).len()), (12, count));
    let verdict = verify(&root);
    let [fault] = verdict.faults.as_slice() else { panic!("{verdict:#?}") };
    assert!(fault.what.contains("12 recordings"), "{fault:?}");
}

#[test]
fn what_was_entered_comes_back_from_what_was_measured_with_it() {
    for table in ["session", "mark", "player", "sqlite_autoindex_swing_1", "tag", "outcome", "rig"] {
        let folder = tempfile::tempdir().unwrap();
        let study = small_study(folder.path(), 2);
        let root = study.root.clone();
        drop(study);
        let (figures, whole) = (measured(&raw(&root)), entered(&raw(&root)));
        leaves(&root, table).into_iter().for_each(|page| spoil(&root, page));
        assert!(!verify(&root).clean(), "{table}");
        let mended = rebuild(&root).unwrap().mended.unwrap();
        same(&measured(&raw(&root)), &figures);
        assert!(verify(&root).clean(), "{table}: {:#?}", verify(&root));
        let told: Vec<(&str, Vec<&str>, usize, usize)> = mended
            .lost
            .iter()
            .map(|l| {
                let columns = l.columns.iter().map(String::as_str).collect();
                (l.table.as_str(), columns, l.rows.len(), l.unreadable.len())
            })
            .collect();
        match table {
            "session" => assert_eq!(told, [("session", vec!["added_at", "note", "place"], 0, 0)]),
            "player" => {
                let columns = [
                    "added_at",
                    "alias",
                    "born",
                    "consent_on",
                    "consent_to",
                    "handicap",
                    "keep_until",
                    "note",
                    "sex",
                ];
                assert_eq!(told, [("player", columns.to_vec(), 0, 0)]);
            }
            "outcome" => assert_eq!(told, [("outcome", vec![], 1, 0)]),
            _ => {
                assert_eq!(told, []);
                same(&entered(&raw(&root)), &whole);
            }
        }
    }
}

#[test]
fn numbers_at_the_end_of_all_numbers_are_no_matter() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 1);
    let root = study.root.clone();
    drop(study);
    raw(&root)
        .execute_batch(&format!(
            "INSERT INTO change (id, at, program, what, after) VALUES ({}, '', '', 'x', printf('%.*c', 5000, 'n'))",
            i64::MAX
        ))
        .unwrap();
    leaves(&root, "change").into_iter().take(1).for_each(|page| spoil(&root, page));
    let mended = rebuild(&root).unwrap().mended.unwrap();
    let lost = &mended.lost[0];
    assert_eq!(lost.table, "change", "{mended:#?}");
    assert!(lost.rows.contains(&i64::MAX.to_string()), "{mended:#?}");
    // Neighbours are said as a range, and the next number can be given.
    assert!(lost.unreadable.len() <= 2 && lost.rows.len() + lost.unreadable.len() > 1, "{mended:#?}");
    assert!(verify(&root).clean());
}

#[test]
fn rows_that_speak_of_nothing_are_named_and_put_right() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 1);
    let root = study.root.clone();
    drop(study);
    let db = raw(&root);
    db.execute_batch(
        "PRAGMA foreign_keys = off;
         INSERT INTO event SELECT basis, 99, event, time_s, u_s, source, method, seen FROM event WHERE swing = 1;
         INSERT INTO measurement SELECT basis, 98, recipe, NULL, maker, measured_at, failed, feet, plates, hand, body_weight_n,
           body_weight_from, rate_hz, samples, start_s, conditioning, 0, 0, 0, 0, NULL, NULL, NULL FROM measurement WHERE swing = 1;",
    )
    .unwrap();
    let verdict = verify(&root);
    assert!(
        verdict.faults.iter().any(|f| f.part == Part::Rows) && verdict.faults.iter().all(|f| f.heals),
        "{verdict:#?}"
    );
    assert!(rebuild(&root).unwrap().mended.is_none());
    assert!(verify(&root).clean(), "{:#?}", verify(&root));

    db.execute_batch("INSERT INTO tag VALUES (97, 'nobody'); DELETE FROM player WHERE id = 2").unwrap();
    drop(db);
    let figures = measured(&raw(&root));
    let verdict = verify(&root);
    assert!(
        verdict.faults.iter().all(|f| f.part == Part::Rows && !f.heals) && !verdict.clean(),
        "{verdict:#?}"
    );
    let mended = rebuild(&root).unwrap().mended.unwrap();
    let lost: Vec<_> =
        mended.lost.iter().map(|l| (l.table.as_str(), l.rows.join(","), l.partly.join(","))).collect();
    let said = [("player", String::new(), "2".to_string()), ("tag", "of swing 97".into(), String::new())];
    assert_eq!(lost, said);
    assert!(verify(&root).clean(), "{:#?}", verify(&root));
    // The swings of the player who is gone are kept, under a name that says so.
    let study = Study::open(&root).unwrap();
    assert_eq!(study.player(2).unwrap().alias, "recovered-2");
    same(&measured(&raw(&root)), &figures);
}

#[test]
fn a_catalogue_that_cannot_be_opened_is_a_fault() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("study");
    drop(faults::empty(&root));
    std::fs::write(root.join("catalogue.sqlite"), vec![7_u8; 8192]).unwrap();
    let verdict = verify(&root);
    assert_eq!(verdict.faults[0].part, Part::Page, "{verdict:#?}");
    assert!(matches!(rebuild(&root), Err(archive::StudyError::Damaged(_))));
    std::fs::write(root.join("study.toml"), "name = 3").unwrap();
    assert_eq!(verify(&root).faults[0].part, Part::Settings);
    std::fs::remove_file(root.join("study.toml")).unwrap();
    assert_eq!(verify(&root).faults[0].part, Part::Settings);
}

#[test]
fn looking_finds_no_fault_in_what_others_are_about_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 2);
    let root = study.root.clone();
    let more = common::write(&folder.path().join("more"), &faults::light(12, 7, true), "more");
    let done = std::sync::atomic::AtomicBool::new(false);
    let looked = std::thread::scope(|scope| {
        scope.spawn(|| {
            for turn in 0..6 {
                let study = Study::open(&root).unwrap();
                common::import(&study, &more[2 * turn..2 * turn + 2], 1);
                for k in 0..4 {
                    study.mark(1, "impact", Some((1.4 + 0.01 * f64::from(k), None))).unwrap();
                }
                let player = faults::second_called(&study, &folder.path().join(format!("p{turn}")), "Gone");
                study.delete_player(player).unwrap();
            }
            done.store(true, std::sync::atomic::Ordering::SeqCst);
        });
        let mut looked = 0;
        while !done.load(std::sync::atomic::Ordering::SeqCst) {
            let verdict = verify(&root);
            if !verdict.clean() {
                done.store(true, std::sync::atomic::Ordering::SeqCst);
                panic!("look {looked}: {verdict:#?}");
            }
            looked += 1;
        }
        looked
    });
    println!("{looked} looks");
    assert!(looked > 3);
    drop(study);
    assert!(verify(&root).clean());
}

#[test]
fn looking_changes_no_byte() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 1);
    let root = study.root.clone();
    drop(study);
    std::fs::write(root.join("derived/let-go.parquet"), b"let go of").unwrap();
    std::fs::write(root.join(".unfinished-catalogue.sqlite"), b"half").unwrap();
    raw(&root)
        .execute_batch(
            "INSERT INTO removal VALUES ('derived/let-go.parquet'); INSERT INTO pending VALUES ('vacuum')",
        )
        .unwrap();
    let before = faults::files(&root);
    let verdict = verify(&root);
    assert!(verdict.clean() && verdict.notes.len() == 2, "{verdict:#?}");
    assert!(faults::files(&root) == before, "a file was changed");
    drop(Study::open(&root).unwrap());
    assert!(!root.join("derived/let-go.parquet").exists() && verify(&root).notes.is_empty());

    // Nor is an older catalogue brought up to date.
    let old = folder.path().join("old");
    drop(faults::empty(&old));
    std::fs::remove_file(old.join("catalogue.sqlite")).unwrap();
    std::fs::write(old.join(".lock"), b"").unwrap(); // an empty file that is held, not read
    let db = raw(&old);
    db.execute_batch(archive::schema::STEPS[0]).unwrap();
    db.pragma_update(None, "user_version", 1).unwrap();
    db.pragma_update(None, "journal_mode", "wal").unwrap();
    drop(db);
    let before = faults::files(&old);
    let verdict = verify(&old);
    assert!(verdict.clean() && verdict.notes[0].what.contains("an older program's"), "{verdict:#?}");
    assert!(faults::files(&old) == before, "a file was changed");
}
