//! Several programs use one study at once: nothing is lost, nothing is half, and who cannot write waits or says so.
//! The programs are real: this test runs itself again, and each run is told its part by a variable of its environment.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use archive::import::{Incoming, Told};
use archive::watch::{Event, WatchSettings, watch};
use archive::{Session, Study, StudyError, keep};
use common::{import, study, swings, write};
use rusqlite::Connection;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::AtomicBool;
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};

/// The part of a run, and what it is about: the study, a folder or file, a session.
const PART: &str = "UNDERFOOT_TEST_PART";

/// Starts a program that plays a part.
fn start(part: &str, root: &Path, place: &Path, session: i64) -> Child {
    let text = format!("{part}\n{}\n{}\n{session}", root.display(), place.display());
    Command::new(std::env::current_exe().unwrap())
        .args(["plays_a_part", "--exact", "--nocapture"])
        .env(PART, text)
        .stdout(Stdio::null())
        .spawn()
        .unwrap()
}

/// Not a test by itself: what the programs do that the tests start.
#[test]
fn plays_a_part() {
    let Ok(text) = std::env::var(PART) else { return };
    let words: Vec<&str> = text.split('\n').collect();
    let (root, place, session) = (Path::new(words[1]), Path::new(words[2]), words[3].parse().unwrap());
    match words[0] {
        "import" => import_all(root, place, session),
        "mark" => mark_again_and_again(root, place),
        "read" => read_again_and_again(root, place),
        "watch" => watch_until(root, place, session),
        "hold" => hold(root, place),
        other => panic!("{other}"),
    }
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    files.retain(|f| f.extension().is_some_and(|e| e == "c3d"));
    files.sort();
    files
}

/// Waits until a file is there.
fn wait_for(file: &Path) {
    let end = Instant::now() + Duration::from_secs(60);
    while !file.exists() {
        assert!(Instant::now() < end, "{} never came", file.display());
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// Where a program says that it has opened the study.
fn ready(root: &Path, program: u32) -> PathBuf {
    root.with_file_name(format!("ready-{program}"))
}

/// Opens the study with the patience that a machine needs which is busy with other things.
fn open(root: &Path) -> Study {
    Study::open_waiting(root, Duration::from_secs(60)).unwrap()
}

fn import_all(root: &Path, folder: &Path, session: i64) {
    let study = open(root);
    std::fs::write(ready(root, std::process::id()), "").unwrap();
    wait_for(&root.with_file_name("go"));
    // In two calls, so that there are several changes.
    for some in files(folder).chunks(3) {
        let incoming: Vec<Incoming> = some.iter().map(|f| Incoming::new(f, session)).collect();
        study
            .import(&incoming, |_, told| assert!(!matches!(told, Told::Refused { .. }), "{told:?}"), || true)
            .unwrap();
    }
}

/// Places impact on whatever swing there is, until the stop file is there; writes how often.
fn mark_again_and_again(root: &Path, stop: &Path) {
    let study = open(root);
    let (mut done, mut turn) = (0, 0_i64);
    while !stop.exists() {
        let swings = study.chosen(&archive::Selection::default()).unwrap();
        if let Some(swing) = swings.get(turn as usize % swings.len().max(1)) {
            match study.mark(*swing, "impact", Some((1.5 + 0.001 * (turn % 100) as f64, None))) {
                Ok(_) => done += 1,
                Err(error) => panic!("{error}"),
            }
        }
        turn += 1;
        std::thread::sleep(Duration::from_millis(5));
    }
    std::fs::write(root.with_file_name("marked"), done.to_string()).unwrap();
}

/// Whatever it sees is whole: a swing is never without its measurement, and the log never shorter than it was.
fn read_again_and_again(root: &Path, stop: &Path) {
    let study = Study::open(root).unwrap();
    let (basis, _) = study.usual_basis().unwrap();
    let mut last = 0;
    while !stop.exists() {
        let info = study.info().unwrap();
        assert_eq!(info.two_feet + info.one_plate + info.failed, info.swings);
        assert!(study.stale(basis, true).unwrap().is_empty());
        let log = study.changes_since(last, 10_000).unwrap();
        assert!(log.iter().map(|c| c.id).eq(last + 1..=last + log.len() as i64), "no change is missed");
        last += log.len() as i64;
        std::thread::sleep(Duration::from_millis(5));
    }
}

fn watch_until(root: &Path, folder: &Path, session: i64) {
    let study = Study::open(root).unwrap();
    let stop = AtomicBool::new(false);
    let mut kept = 0;
    let wanted = files(folder).len();
    let on = |event: Event| {
        kept += usize::from(matches!(event, Event::Kept { .. }));
        stop.store(kept == wanted, std::sync::atomic::Ordering::Relaxed);
    };
    watch(&study, folder, &WatchSettings::of(session), on, &stop).unwrap();
}

/// Holds the study's one place for a writer until the file is there.
fn hold(root: &Path, until: &Path) {
    let db = Connection::open(root.join("catalogue.sqlite")).unwrap();
    db.execute_batch("BEGIN IMMEDIATE").unwrap();
    std::fs::write(root.with_file_name("held"), "").unwrap();
    wait_for(until);
    db.execute_batch("ROLLBACK").unwrap();
}

/// Every swing is whole, and nothing else is there.
fn assert_whole(root: &Path, swings: i64) {
    let study = Study::open(root).unwrap();
    let (basis, _) = study.usual_basis().unwrap();
    assert!(study.stale(basis, true).unwrap().is_empty());
    let db = Connection::open(root.join("catalogue.sqlite")).unwrap();
    let one = |ask: &str| db.query_row(ask, [], |r| r.get::<_, i64>(0)).unwrap();
    let words = db.query_row("PRAGMA integrity_check", [], |r| r.get::<_, String>(0)).unwrap();
    assert_eq!(words, "ok");
    assert_eq!(one("SELECT count(*) FROM pragma_foreign_key_check"), 0);
    assert_eq!(one("SELECT count(*) FROM swing"), swings);
    assert_eq!(one("SELECT count(*) FROM change WHERE what = 'swing imported'"), swings);
    // Numbers go from 1 on, each once, in every session.
    assert_eq!(
        one("SELECT count(*) FROM (SELECT 1 FROM swing GROUP BY session HAVING max(number) <> count(*))"),
        0
    );
    let mut ask = db
        .prepare(
            "SELECT w.hash, w.ending, m.series, m.series_hash, m.figures,
             (SELECT count(*) FROM figure f WHERE f.basis = m.basis AND f.swing = w.id)
             FROM swing w JOIN measurement m ON m.swing = w.id",
        )
        .unwrap();
    let mut rows = ask.query([]).unwrap();
    let (mut originals, mut series, mut figures) = (BTreeSet::new(), BTreeSet::new(), 0);
    while let Some(r) = rows.next().unwrap() {
        let (hash, ending): (String, String) = (r.get(0).unwrap(), r.get(1).unwrap());
        let place = keep::original(&hash, &ending);
        assert_eq!(keep::hash_file(&root.join(&place)).unwrap(), hash);
        originals.insert(place);
        let place = keep::derived(&r.get::<_, String>(2).unwrap());
        assert_eq!(keep::hash_file(&root.join(&place)).unwrap(), r.get::<_, String>(3).unwrap());
        series.insert(place);
        let (said, there): (i64, i64) = (r.get(4).unwrap(), r.get(5).unwrap());
        assert!(said > 0 && said == there, "{said} {there}");
        figures += there;
    }
    assert_eq!((originals.len() as i64, series.len() as i64), (swings, swings));
    assert_eq!(one("SELECT count(*) FROM figure"), figures, "no figures without a measurement");
    // No file that nothing speaks of, none unfinished.
    assert_eq!(keep::all(root, keep::ORIGINALS).unwrap(), originals.into_iter().collect::<Vec<_>>());
    assert_eq!(keep::all(root, keep::DERIVED).unwrap(), series.into_iter().collect::<Vec<_>>());
}

fn ended_well(mut child: Child) {
    assert!(child.wait().unwrap().success());
}

#[test]
fn importers_a_watcher_an_editor_and_readers_at_once_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("study");
    let (study, player, session) = study(&root);
    let other = study.add_session(&Session { target: Some("+x".into()), ..Session::of(player) }).unwrap();
    drop(study);
    for (name, seed) in [("a", 1), ("b", 2), ("c", 3)] {
        write(&folder.path().join(name), &swings(5, seed, true), name);
    }
    let stop = folder.path().join("stop");
    let others =
        [start("mark", &root, &stop, 0), start("read", &root, &stop, 0), start("read", &root, &stop, 0)];
    // Two into one session, one into another.
    let busy = [
        start("import", &root, &folder.path().join("a"), session),
        start("import", &root, &folder.path().join("b"), session),
        start("watch", &root, &folder.path().join("c"), other),
    ];
    std::fs::write(folder.path().join("go"), "").unwrap();
    busy.into_iter().for_each(ended_well);
    std::fs::write(&stop, "").unwrap();
    others.into_iter().for_each(ended_well);
    assert_whole(&root, 15);
    let study = Study::open(&root).unwrap();
    let marked: usize = std::fs::read_to_string(folder.path().join("marked")).unwrap().parse().unwrap();
    let log = study.changes_since(0, 100_000).unwrap();
    assert!(marked > 0);
    assert_eq!(log.iter().filter(|c| c.what == "event set").count(), marked);
}

#[test]
fn the_same_files_from_two_programs_are_one_swing_each() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("study");
    let (study, player, session) = study(&root);
    // In the other session they would be measured otherwise: what the slower one has placed must not stay.
    let other = study.add_session(&Session { target: Some("+y".into()), ..Session::of(player) }).unwrap();
    drop(study);
    let made = swings(6, 4, true);
    write(&folder.path().join("a"), &made, "a");
    write(&folder.path().join("b"), &made, "b");
    let programs = [
        start("import", &root, &folder.path().join("a"), session),
        start("import", &root, &folder.path().join("b"), other),
        start("import", &root, &folder.path().join("b"), other),
    ];
    programs.iter().for_each(|p| wait_for(&ready(&root, p.id())));
    std::fs::write(folder.path().join("go"), "").unwrap();
    programs.into_iter().for_each(ended_well);
    Study::open(&root).unwrap();
    assert_whole(&root, 6);
}

#[test]
fn a_writer_waits_and_says_so_when_it_takes_too_long() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("study");
    let (study, player, session) = study(&root);
    let captures = folder.path().join("captures");
    let until = folder.path().join("until");
    let holder = start("hold", &root, &until, 0);
    wait_for(&folder.path().join("held"));

    let begin = Instant::now();
    let hasty = Study::open_waiting(&root, Duration::from_secs(1)).unwrap();
    let error = hasty.add_session(&Session::of(player)).unwrap_err();
    assert!(matches!(error, StudyError::Busy { waited_s: 1 }), "{error}");
    assert!(begin.elapsed() >= Duration::from_millis(900));
    // Reading is not held up.
    assert_eq!(hasty.sessions(None).unwrap().len(), 1);

    // A watcher goes on trying; a patient writer just waits.
    write(&captures, &swings(1, 5, true), "a");
    let (send, events) = channel();
    let (there, watched) = (Study::open_waiting(&root, Duration::from_millis(200)).unwrap(), captures);
    let watching = std::thread::spawn(move || {
        let stop = AtomicBool::new(false);
        let on = |event: Event| {
            stop.store(matches!(event, Event::Kept { .. }), std::sync::atomic::Ordering::Relaxed);
            send.send(event).unwrap();
        };
        // It says nothing but that the study is busy.
        let never = Duration::from_secs(3600);
        let how = WatchSettings { patience: never, ..WatchSettings::of(session) };
        watch(&there, &watched, &how, on, &stop).unwrap()
    });
    let next = || events.recv_timeout(Duration::from_secs(30)).unwrap();
    assert!(matches!(next(), Event::Watching { .. }));
    let Event::Waiting { why, .. } = next() else { panic!("it says that it waits") };
    assert!(why.contains("another program is writing"), "{why}");
    let patient = std::thread::spawn(move || study.add_session(&Session::of(player)));
    std::thread::sleep(Duration::from_millis(300));
    std::fs::write(&until, "").unwrap();
    assert_eq!(patient.join().unwrap().unwrap(), 2);
    assert!(matches!(next(), Event::Kept { swing: 1, .. }));
    watching.join().unwrap();
    ended_well(holder);
    assert_whole(&root, 1);
}

#[test]
fn a_session_that_goes_while_its_recordings_come_in_leaves_no_file() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("study");
    let (study, _, session) = study(&root);
    let recordings = write(&folder.path().join("in"), &swings(2, 6, true), "a");
    let incoming: Vec<Incoming> = recordings.iter().map(|f| Incoming::new(f, session)).collect();
    let mut told = Vec::new();
    // Asked between looking the session up and measuring: the player is taken out by another program just then.
    let meanwhile = || {
        let db = Connection::open(root.join("catalogue.sqlite")).unwrap();
        db.execute_batch("PRAGMA foreign_keys = on; DELETE FROM player").unwrap();
        true
    };
    study.import(&incoming, |_, t| told.push(t), meanwhile).unwrap();
    assert!(told.len() == 2 && told.iter().all(|t| matches!(t, Told::Refused { .. })), "{told:?}");
    assert_whole(&root, 0);
}

#[test]
fn a_change_is_heard_of_at_once_by_another_program() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("study");
    let (study, player, _) = study(&root);
    let last = |s: &Study| s.changes_since(0, 10_000).unwrap().last().map_or(0, |c| c.id);
    let begin = Instant::now();
    assert!(!study.wait_for_change(last(&study), Duration::from_millis(100)).unwrap());
    assert!(begin.elapsed() >= Duration::from_millis(100));
    assert!(study.wait_for_change(0, Duration::ZERO).unwrap(), "what has been is there at once");

    let writer = Study::open(&root).unwrap();
    let (send, written) = channel();
    let after = last(&study);
    let thread = std::thread::spawn(move || {
        for _ in 0..15 {
            std::thread::sleep(Duration::from_millis(40));
            writer.add_session(&Session::of(player)).unwrap();
            send.send(Instant::now()).unwrap();
        }
    });
    let mut late = Vec::new();
    for k in 0..15 {
        assert!(study.wait_for_change(after + k, Duration::from_secs(20)).unwrap());
        let heard = Instant::now();
        late.push(heard.saturating_duration_since(written.recv().unwrap()));
    }
    thread.join().unwrap();
    late.sort();
    // A quarter of the time after which it would look without a change; how soon it is on a quiet machine is the bench's.
    assert!(late[7] < Duration::from_secs(5), "{late:?}");
}

/// Two programs have looked at a player and a session; both change them: the second hears of it, and the first's change stays.
#[test]
fn a_change_decided_on_what_was_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let (one, player, session) = common::study(&folder.path().join("study"));
    let other = one.again().unwrap();
    let (player, session) = (one.player(player).unwrap(), one.session(session).unwrap());
    let noted = archive::Player { note: "seen".into(), ..player.clone() };
    one.edit_player(&player, &noted).unwrap();
    let older = archive::Player { born: Some(1980), ..player.clone() };
    let refused = other.edit_player(&player, &older).unwrap_err().to_string();
    assert_eq!(refused, "another program has just changed player P01; look again");
    assert_eq!(other.player(player.id).unwrap(), noted);
    let placed = archive::Session { place: "range".into(), ..session.clone() };
    one.edit_session(&session, &placed).unwrap();
    let heavy = archive::Session { mass_kg: Some(80.0), ..session.clone() };
    assert!(other.edit_session(&session, &heavy).unwrap_err().to_string().contains("session 1"));
    assert_eq!(other.session(session.id).unwrap(), placed);
    // And where the player is gone, that is what is said.
    one.delete_player(player.id).unwrap();
    let gone = [
        other.edit_player(&noted, &older),
        other.edit_session(&placed, &heavy),
        other.set_identity(player.id, None),
        other.add_session(&archive::Session::of(player.id)).map(drop),
    ];
    for gone in gone {
        assert!(matches!(gone, Err(archive::StudyError::Unknown { .. })), "{gone:?}");
    }
}

/// Two programs that want today's session at once get one session, and so does an import that has planned it meanwhile.
#[test]
fn a_session_of_the_day_is_made_once() {
    let folder = tempfile::tempdir().unwrap();
    let (study, player, _) = common::study(&folder.path().join("study"));
    let wanted = archive::Session { target: Some("+x".into()), ..archive::Session::of(player) };
    let begin = std::sync::Barrier::new(2);
    let both: Vec<_> = std::thread::scope(|scope| {
        let ask = |study: archive::Study| {
            let (begin, wanted) = (&begin, &wanted);
            scope.spawn(move || {
                begin.wait();
                study.session_today(wanted).unwrap()
            })
        };
        let threads = [ask(study.again().unwrap()), ask(study.again().unwrap())];
        threads.map(|t| t.join().unwrap()).into()
    });
    assert_eq!(both[0].0, both[1].0);
    assert_eq!(both.iter().filter(|(_, made)| *made).count(), 1);
    let bare = archive::Session { date: both[0].0.date.clone(), ..archive::Session::of(player) };
    assert_eq!(study.session_on(&bare).unwrap(), (both[0].0.clone(), false));
    let other = archive::Session { target: Some("-x".into()), ..bare };
    assert!(study.session_on(&other).unwrap().1, "another target is another session");
}

/// Does something in one change of another program that is begun before `work` and ends when files of `work` are in their places:
/// after the measuring, before the storing.
fn between<T: Send>(study: &Study, change: &str, work: impl FnOnce(Study) -> T + Send) -> T {
    let mut other = Connection::open(study.root.join("catalogue.sqlite")).unwrap();
    other.pragma_update(None, "foreign_keys", "on").unwrap();
    let change_begun = other.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate).unwrap();
    change_begun.execute_batch(change).unwrap();
    let all = |folder| keep::all(&study.root, folder).unwrap().len();
    let placed = || all(keep::ORIGINALS) + all(keep::DERIVED);
    let before = placed();
    let mine = study.again().unwrap();
    std::thread::scope(|scope| {
        let thread = scope.spawn(move || work(mine));
        let begun = Instant::now();
        while placed() == before && begun.elapsed() < Duration::from_secs(3) {
            std::thread::sleep(Duration::from_millis(5));
        }
        change_begun.commit().unwrap();
        thread.join().unwrap()
    })
}

#[test]
fn what_changes_while_recordings_come_in_is_what_they_are_measured_with() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("study");
    let (study, _, session) = study(&root);
    let files = write(&folder.path().join("in"), &swings(2, 6, true), "a");
    let told = between(&study, "UPDATE player SET hand = 'left'", |study| import(&study, &files, session));
    assert!(told.iter().all(|t| matches!(t, Told::Kept { .. })), "{told:?}");
    let (basis, _) = study.usual_basis().unwrap();
    assert!(study.stale(basis, true).unwrap().is_empty());
    assert_whole(&root, 2);
}

#[test]
fn bytes_that_were_there_and_go_while_they_come_in_again_come_in() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("study");
    let (study, _, session) = study(&root);
    let other = study.add_player(&archive::Player::called("P02"), None).unwrap();
    let theirs = Session { target: Some("+x".into()), ..Session::of(other) };
    let theirs = study.add_session(&theirs).unwrap();
    let files = write(&folder.path().join("in"), &swings(2, 6, true), "a");
    import(&study, &files[..1], theirs);
    let hash = keep::hash(&std::fs::read(&files[0]).unwrap());
    let place = keep::original(&hash, "c3d");
    let gone = format!(
        "INSERT INTO removal VALUES ('{place}'); DELETE FROM figure; DELETE FROM player WHERE id = {other}"
    );
    let told = between(&study, &gone, |study| import(&study, &files, session));
    assert!(told.iter().all(|t| matches!(*t, Told::Kept { session: s, .. } if s == session)), "{told:?}");
    study.vacuum(false).unwrap(); // the series of the player who was taken out by hand
    assert_whole(&root, 2);
}

#[test]
fn a_session_that_goes_while_a_watched_file_comes_in_leaves_no_file() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("study");
    let (study, player, session) = study(&root);
    let watched = folder.path().join("in");
    write(&watched, &swings(1, 6, true), "a");
    let gone = format!("DELETE FROM player WHERE id = {player}");
    let ended = between(&study, &gone, |study| {
        let how = WatchSettings { once: true, ..WatchSettings::of(session) };
        watch(&study, &watched, &how, |_| (), &AtomicBool::new(false))
    });
    // It ends as soon as it looks for its session again.
    assert!(
        matches!(&ended, Ok(s) if s.failed == 1) || matches!(ended, Err(StudyError::Unknown { .. })),
        "{ended:?}"
    );
    let originals = keep::all(&root, keep::ORIGINALS).unwrap();
    assert!(originals.is_empty(), "{originals:?}");
    assert_whole(&root, 0);
}

/// A sparse file: nothing of it is on the disk.
#[test]
fn a_file_that_is_too_large_is_not_read() {
    let folder = tempfile::tempdir().unwrap();
    let (study, _, session) = study(&folder.path().join("study"));
    let path = folder.path().join("in/large.c3d");
    std::fs::create_dir(folder.path().join("in")).unwrap();
    std::fs::File::create(&path).unwrap().set_len((2 << 30) + 1).unwrap();
    let told = import(&study, &[path], session);
    let words = "it has 2.0 GiB; a recording of more than 2 GiB is not read";
    assert!(matches!(&told[0], Told::Refused { why, .. } if why == words), "{told:?}");
    let mut events = Vec::new();
    let how = WatchSettings { once: true, quiet: Duration::from_millis(50), ..WatchSettings::of(session) };
    let stop = AtomicBool::new(false);
    let summary = watch(&study, &folder.path().join("in"), &how, |e| events.push(e), &stop).unwrap();
    assert_eq!(summary.failed, 1, "{events:?}");
}

#[test]
fn what_changes_while_swings_are_measured_again_is_not_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("study");
    let (study, player, session) = study(&root);
    let files = write(&folder.path().join("in"), &swings(2, 6, true), "a");
    import(&study, &files, session);
    let player = study.player(player).unwrap();
    let left = archive::Player { hand: Some("left".into()), ..player.clone() };
    study.edit_player(&player, &left).unwrap();
    let after = study.changes_since(0, 1000).unwrap().last().unwrap().id;
    let (basis, look) = study.usual_basis().unwrap();
    let stale = study.stale(basis, false).unwrap();
    let told = between(&study, "UPDATE session SET mass_kg = 70", |study| {
        let mut told = 0;
        study.measure_again(basis, &look, &stale, |_| told += 1).unwrap();
        told
    });
    assert_eq!(told, 0, "neither of them is what is wanted now");
    assert_eq!(study.stale(basis, false).unwrap().len(), 2);
    // The whole way goes on until nothing is out of date, and others hear of it.
    between(&study, "UPDATE session SET mass_kg = 71", |study| study.catch_up(false).map(drop)).unwrap();
    assert!(study.wait_for_change(after, Duration::ZERO).unwrap());
    let heard = study.changes_since(after, 1000).unwrap();
    assert_eq!(heard.len(), 1, "{heard:?}");
    assert_eq!(heard[0].what, "swings measured again");
    assert_eq!((heard[0].player, heard[0].session), (Some(player.id), Some(session)));
    assert_eq!(heard[0].after.as_deref(), Some("[1,2]"));
    // An event is not set on accounts that are not those any more.
    let set = between(&study, "UPDATE session SET mass_kg = 72", |study| {
        study.mark(1, "impact", Some((2.5, None))).map(drop).map_err(|e| e.to_string())
    });
    assert!(set.unwrap_err().contains("has just changed what this swing is measured with"));
    assert!(study.sheet(1).unwrap().marks.is_empty());
    study.catch_up(false).unwrap();
    assert_whole(&root, 2);
}
