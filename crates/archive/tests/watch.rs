//! Watching a folder: whatever a capture program does to its files, every recording becomes one swing, once it is whole.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // tests may
mod common;

use archive::watch::{Event, Summary, WatchSettings, watch};
use archive::{Study, StudyError};
use common::{study, swings};
use std::fs::File;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// A study, and a folder that is not watched yet.
struct Bay {
    folder: TempDir,
    session: i64,
}

impl Bay {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (_, _, session) = study(&folder.path().join("study"));
        std::fs::create_dir(folder.path().join("in")).unwrap();
        Self { folder, session }
    }
    fn root(&self) -> PathBuf {
        self.folder.path().join("study")
    }
    fn open(&self) -> Study {
        Study::open(&self.root()).unwrap()
    }
    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join("in").join(name)
    }
    /// So patient that a machine that is busy with other things fails no test; those about what is told are less so. After
    /// the first look at the whole folder, notices must do.
    fn settings(&self) -> WatchSettings {
        let (never, long) = (Duration::from_secs(3600), Duration::from_secs(10));
        let usual = WatchSettings::of(self.session);
        WatchSettings { quiet: long, settle_open: long, look: never, patience: never, ..usual }
    }
    fn watch(&self, change: impl FnOnce(&mut WatchSettings)) -> Watching {
        let mut settings = self.settings();
        change(&mut settings);
        let watching = Watching::begin(&self.open(), &self.at(""), settings);
        assert!(matches!(watching.next(), Event::Watching { .. }));
        watching
    }
}

/// Watching, in a thread of its own.
struct Watching {
    stop: Arc<AtomicBool>,
    events: Receiver<Event>,
    thread: Option<JoinHandle<Result<Summary, StudyError>>>,
}

impl Watching {
    fn begin(study: &Study, folder: &Path, settings: WatchSettings) -> Self {
        let (send, events) = channel();
        let stop = Arc::new(AtomicBool::new(false));
        let (study, folder, stop_there) = (study.again().unwrap(), folder.to_path_buf(), stop.clone());
        let tell = move |event| send.send(event).unwrap_or(());
        let thread = std::thread::spawn(move || watch(&study, &folder, &settings, tell, &stop_there));
        Self { stop, events, thread: Some(thread) }
    }
    fn next(&self) -> Event {
        match self.events.recv_timeout(Duration::from_secs(30)) {
            Ok(event) => event,
            Err(RecvTimeoutError::Timeout) => panic!("nothing happened"),
            Err(RecvTimeoutError::Disconnected) => panic!("watching has ended"),
        }
    }
    /// The next event, which is a swing of that file.
    fn kept(&self, name: &str) -> (i64, i64) {
        match self.next() {
            Event::Kept { file, swing, number, .. } if file.ends_with(name) => (swing, number),
            other => panic!("{other:?} instead of {name}"),
        }
    }
    fn failed(&self, name: &str) -> (String, bool) {
        match self.next() {
            Event::Failed { file, why, needs_rig } if file.ends_with(name) => (why, needs_rig),
            other => panic!("{other:?} instead of {name}"),
        }
    }
    fn nothing_for(&self, ms: u64) {
        let event = self.events.recv_timeout(Duration::from_millis(ms));
        assert!(event.is_err(), "{event:?}");
    }
    /// Ends it; nothing else must have happened.
    fn end(mut self) -> Summary {
        self.stop.store(true, Ordering::Relaxed);
        let summary = self.thread.take().unwrap().join().unwrap().unwrap();
        let rest: Vec<Event> = self.events.try_iter().collect();
        assert_eq!(rest, []);
        summary
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
    }
}

/// Bytes of C3D files, all of one length.
fn recordings(count: u32, seed: u64) -> Vec<Vec<u8>> {
    let encode =
        |s: &simulate::Simulated| formats::c3d::encode(&s.recording, &formats::c3d::Encoding::PLAIN).unwrap();
    swings(count, seed, true).iter().map(encode).collect()
}

/// What the study has is what the files are, byte for byte and in order.
fn assert_holds(bay: &Bay, files: &[&[u8]]) {
    let wanted = bay.open().wanted(None).unwrap();
    let original = |w: &archive::wanted::Wanted| std::fs::read(w.path(&bay.root())).unwrap();
    let kept: Vec<Vec<u8>> = wanted.iter().map(original).collect();
    assert_eq!(
        kept.iter().map(Vec::len).collect::<Vec<_>>(),
        files.iter().map(|f| f.len()).collect::<Vec<_>>()
    );
    assert!(kept.iter().zip(files).all(|(a, b)| a == b));
}

/// How often the whole folder is looked at where a test is about that.
const LOOK: Duration = Duration::from_millis(200);

/// How long nothing must happen to a file that is cut where a test is about that being told.
const QUIET: Duration = Duration::from_millis(300);

fn sleep(ms: u64) {
    std::thread::sleep(Duration::from_millis(ms));
}

#[test]
fn a_file_that_comes_in_pieces_is_one_swing() {
    let bay = Bay::new();
    let files = recordings(2, 1);
    let watching = bay.watch(|_| ());
    // Held open all the time; every pause is longer than a file is let settle.
    let mut open = File::create(bay.at("held.c3d")).unwrap();
    for piece in files[0].chunks(files[0].len() / 4 + 1) {
        open.write_all(piece).unwrap();
        sleep(120);
    }
    assert_eq!(watching.kept("held.c3d"), (1, 1));
    drop(open);
    watching.nothing_for(300);
    // Opened and closed for every piece.
    for piece in files[1].chunks(files[1].len() / 4 + 1) {
        let open = File::options().create(true).append(true).open(bay.at("appended.c3d"));
        open.unwrap().write_all(piece).unwrap();
        sleep(120);
    }
    assert_eq!(watching.kept("appended.c3d"), (2, 2));
    assert_eq!(watching.end(), Summary { kept: 2, ..Summary::default() });
    assert_holds(&bay, &[&files[0], &files[1]]);
}

#[test]
fn a_file_that_was_closed_or_renamed_is_not_let_settle() {
    let bay = Bay::new();
    let files = recordings(2, 18);
    let watching = bay.watch(|how| how.settle = Duration::from_secs(3600));
    std::fs::write(bay.at("a.c3d"), &files[0]).unwrap();
    watching.kept("a.c3d");
    std::fs::write(bay.at("b"), &files[1]).unwrap();
    std::fs::rename(bay.at("b"), bay.at("b.c3d")).unwrap();
    watching.kept("b.c3d");
    watching.end();
}

#[test]
fn a_file_whose_room_is_set_aside_first_is_not_taken_for_whole() {
    let bay = Bay::new();
    let bytes = recordings(1, 2).remove(0);
    let watching = bay.watch(|_| ());
    let mut open = File::create(bay.at("a.c3d")).unwrap();
    open.set_len(bytes.len() as u64).unwrap();
    sleep(150);
    let half = bytes.len() / 2;
    open.write_all(&bytes[..half]).unwrap();
    sleep(300);
    open.write_all(&bytes[half..]).unwrap();
    drop(open);
    watching.kept("a.c3d");
    watching.end();
    assert_holds(&bay, &[&bytes]);
}

#[test]
fn half_a_file_is_told_once_and_remembered_until_it_changes() {
    let bay = Bay::new();
    let bytes = recordings(1, 3).remove(0);
    let half = bytes.len() / 2;
    let watching = bay.watch(|how| how.quiet = QUIET);
    std::fs::write(bay.at("a.c3d"), &bytes[..half]).unwrap();
    let (why, needs_rig) = watching.failed("a.c3d");
    assert!(why.contains("cut short") && !needs_rig, "{why}");
    watching.nothing_for(1000);
    watching.end();
    // Others hear of it through the log.
    let log = bay.open().changes_since(0, 100).unwrap();
    let told: Vec<_> = log.iter().filter(|c| c.what == "recording not taken in").collect();
    assert!(told.len() == 1 && told[0].after.as_deref().unwrap().contains("cut short"), "{told:?}");

    let how = WatchSettings { quiet: QUIET, ..bay.settings() };
    let watching = Watching::begin(&bay.open(), &bay.at(""), how);
    assert!(matches!(watching.next(), Event::Watching { known: 1, waiting: 0, .. }));
    watching.nothing_for(1000);
    File::options().append(true).open(bay.at("a.c3d")).unwrap().write_all(&bytes[half..]).unwrap();
    watching.kept("a.c3d");
    watching.end();
    assert_holds(&bay, &[&bytes]);
}

#[test]
fn a_growing_file_is_told_to_take_its_time_and_never_to_have_failed() {
    let bay = Bay::new();
    let bytes = recordings(1, 4).remove(0);
    let watching = bay.watch(|how| (how.patience, how.look) = (LOOK, LOOK));
    let mut open = File::create(bay.at("a.c3d")).unwrap();
    let last = bytes.len() - 4000;
    // Every pause is longer than a file is let settle; how long it must be quiet before it fails is tested in `pending`.
    for piece in bytes[..last].chunks(last / 8 + 1) {
        open.write_all(piece).unwrap();
        sleep(80);
    }
    match watching.next() {
        Event::Waiting { file, .. } => assert!(file.ends_with("a.c3d")),
        other => panic!("{other:?}"),
    }
    // Looked at again and again, it is not told a second time.
    sleep(500);
    open.write_all(&bytes[last..]).unwrap();
    watching.kept("a.c3d");
    watching.end();
    assert_holds(&bay, &[&bytes]);
}

#[test]
fn a_file_written_under_another_name_counts_from_its_renaming() {
    let bay = Bay::new();
    let files = recordings(3, 5);
    let watching = bay.watch(|_| ());
    for name in ["a.c3d.tmp", ".a.c3d", "~a.c3d", "a.part"] {
        std::fs::write(bay.at(name), &files[0]).unwrap();
    }
    watching.nothing_for(600);
    std::fs::rename(bay.at("a.c3d.tmp"), bay.at("a.c3d")).unwrap();
    watching.kept("a.c3d");
    // From outside the folder.
    std::fs::write(bay.folder.path().join("b"), &files[1]).unwrap();
    std::fs::rename(bay.folder.path().join("b"), bay.at("b.c3d")).unwrap();
    watching.kept("b.c3d");
    // In the place of another file: other bytes are another swing.
    std::fs::write(bay.at("c.tmp"), &files[2]).unwrap();
    std::fs::rename(bay.at("c.tmp"), bay.at("b.c3d")).unwrap();
    assert_eq!(watching.kept("b.c3d"), (3, 3));
    watching.end();
    assert_holds(&bay, &[&files[0], &files[1], &files[2]]);
}

#[test]
fn other_bytes_in_a_file_are_another_swing_and_the_same_bytes_are_none() {
    let bay = Bay::new();
    let files = recordings(2, 6);
    let watching = bay.watch(|_| ());
    std::fs::write(bay.at("last.c3d"), &files[0]).unwrap();
    assert_eq!(watching.kept("last.c3d"), (1, 1));
    std::fs::write(bay.at("last.c3d"), &files[1]).unwrap();
    assert_eq!(watching.kept("last.c3d"), (2, 2));
    std::fs::write(bay.at("copy.c3d"), &files[0]).unwrap();
    assert!(matches!(watching.next(), Event::There { swing: 1, .. }));
    assert_eq!(watching.end(), Summary { kept: 2, there: 1, ..Summary::default() });
    assert_holds(&bay, &[&files[0], &files[1]]);
}

#[test]
fn a_restart_picks_up_what_was_missed_and_reads_nothing_twice() {
    let bay = Bay::new();
    let files = recordings(3, 7);
    std::fs::write(bay.at("a.c3d"), &files[0]).unwrap();
    let watching = bay.watch(|_| ());
    watching.kept("a.c3d");
    watching.end();
    std::fs::write(bay.at("c.c3d"), &files[1]).unwrap();
    sleep(20);
    // Recorded later, under an earlier name: numbers follow the recording.
    std::fs::write(bay.at("b.c3d"), &files[2]).unwrap();
    let watching = Watching::begin(&bay.open(), &bay.at(""), bay.settings());
    assert!(matches!(watching.next(), Event::Watching { known: 1, waiting: 2, left: 0, .. }));
    assert_eq!(watching.kept("c.c3d"), (2, 2));
    assert_eq!(watching.kept("b.c3d"), (3, 3));
    watching.end();
    let watching = Watching::begin(&bay.open(), &bay.at(""), bay.settings());
    assert!(matches!(watching.next(), Event::Watching { known: 3, waiting: 0, left: 0, .. }));
    watching.end();
}

#[test]
fn files_that_are_older_than_the_session_are_left_until_they_change() {
    let bay = Bay::new();
    let files = recordings(2, 8);
    std::fs::write(bay.at("old.c3d"), &files[0]).unwrap();
    let long_ago = std::time::SystemTime::now() - Duration::from_secs(86_400);
    File::options().write(true).open(bay.at("old.c3d")).unwrap().set_modified(long_ago).unwrap();
    let made = bay.open().session_made(bay.session).unwrap();
    let settings = WatchSettings { since: made, ..bay.settings() };
    let watching = Watching::begin(&bay.open(), &bay.at(""), settings);
    assert!(matches!(watching.next(), Event::Watching { known: 0, waiting: 0, left: 1, .. }));
    // One that comes while the folder is watched counts, whatever the clock of the capture computer says.
    std::fs::write(bay.at("tmp"), &files[1]).unwrap();
    File::options().write(true).open(bay.at("tmp")).unwrap().set_modified(long_ago).unwrap();
    std::fs::rename(bay.at("tmp"), bay.at("new.c3d")).unwrap();
    watching.kept("new.c3d");
    watching.nothing_for(500);
    std::fs::write(bay.at("old.c3d"), &files[0]).unwrap();
    watching.kept("old.c3d");
    watching.end();
}

#[test]
fn a_file_that_goes_before_it_is_whole_leaves_nothing() {
    let bay = Bay::new();
    let files = recordings(2, 9);
    let watching = bay.watch(|_| ());
    std::fs::write(bay.at("a.c3d"), &files[0][..2000]).unwrap();
    sleep(100);
    std::fs::remove_file(bay.at("a.c3d")).unwrap();
    std::fs::write(bay.at("b.c3d"), &files[1]).unwrap();
    watching.kept("b.c3d");
    assert_eq!(watching.end(), Summary { kept: 1, ..Summary::default() }, "it is not waited for any more");
    assert_holds(&bay, &[&files[1]]);
}

#[test]
fn what_is_no_recording_is_told_once_and_stops_nothing() {
    let bay = Bay::new();
    let bytes = recordings(1, 10).remove(0);
    std::fs::create_dir(bay.at("folder.c3d")).unwrap();
    std::fs::write(bay.at("empty.c3d"), "").unwrap();
    std::fs::write(bay.at("readme.md"), "not looked at").unwrap();
    let watching = bay.watch(|how| how.quiet = QUIET);
    std::fs::write(bay.at("notes.txt"), "driver, three balls\n").unwrap();
    let (why, _) = watching.failed("notes.txt");
    assert!(why.contains("no row of numbers"), "{why}");
    std::fs::write(bay.at("a.c3d"), &bytes).unwrap();
    watching.kept("a.c3d");
    watching.nothing_for(800);
    assert_eq!(watching.end(), Summary { kept: 1, failed: 1, ..Summary::default() });
}

/// A table, and the rig file that says what its columns are.
fn table() -> (Vec<u8>, String) {
    let swing = swings(1, 11, true).remove(0);
    let rig = mechanics::Rig::of_recording(&swing.recording);
    let bytes = formats::table::encode(&swing.recording, &formats::table::Writing::TSV);
    (bytes, common::rig_text(&rig, &swing))
}

#[test]
fn a_table_waits_for_its_rig_and_is_taken_in_as_soon_as_the_session_has_it() {
    let bay = Bay::new();
    let (bytes, rig) = table();
    let watching = bay.watch(|how| how.look = LOOK);
    std::fs::write(bay.at("a.csv"), &bytes).unwrap();
    let (why, needs_rig) = watching.failed("a.csv");
    assert!(needs_rig, "{why}");
    let other = bay.open();
    let rig = other.add_rig("bay", &rig, &archive::rigs::Since::New).unwrap();
    let session = other.session(bay.session).unwrap();
    let in_bay = archive::Session { rig: Some(rig.rig), ..session.clone() };
    other.edit_session(&session, &in_bay).unwrap();
    assert_eq!(watching.kept("a.csv"), (1, 1));
    watching.end();
    let (basis, _) = other.usual_basis().unwrap();
    assert!(other.stale(basis, true).unwrap().is_empty());
}

#[test]
fn a_table_that_grows_is_waited_for_and_one_that_grows_on_is_told_to_continue() {
    let bay = Bay::new();
    let (bytes, rig) = table();
    let study = bay.open();
    let rig = study.add_rig("bay", &rig, &archive::rigs::Since::New).unwrap();
    let session = study.session(bay.session).unwrap();
    let in_bay = archive::Session { rig: Some(rig.rig), ..session.clone() };
    study.edit_session(&session, &in_bay).unwrap();
    let watching = bay.watch(|_| ());
    // Whole lines, and every pause is longer than a file that says where it ends is let settle.
    let lines: Vec<&[u8]> = bytes.split_inclusive(|b| *b == b'\n').collect();
    let half = lines.len() / 2;
    let mut open = File::create(bay.at("a.csv")).unwrap();
    for piece in lines[..half].chunks(half / 3 + 1) {
        open.write_all(&piece.concat()).unwrap();
        sleep(300);
    }
    // Cut within a line.
    let (head, tail) = lines[half].split_at(lines[half].len() / 2);
    open.write_all(head).unwrap();
    drop(open);
    sleep(500);
    watching.nothing_for(10);
    let mut open = File::options().append(true).open(bay.at("a.csv")).unwrap();
    open.write_all(tail).unwrap();
    drop(open);
    assert_eq!(watching.kept("a.csv"), (1, 1));
    let mut open = File::options().append(true).open(bay.at("a.csv")).unwrap();
    open.write_all(&lines[half + 1..].concat()).unwrap();
    drop(open);
    match watching.next() {
        Event::Kept { swing: 2, continues, .. } => assert_eq!(continues, Some(1)),
        other => panic!("{other:?}"),
    }
    watching.end();
}

#[test]
fn folders_inside_are_watched_where_asked_for_and_a_study_never() {
    let bay = Bay::new();
    let files = recordings(3, 12);
    let watching = bay.watch(|how| (how.recursive, how.look) = (true, LOOK));
    for (k, bytes) in files.iter().enumerate() {
        let inside = bay.at(&format!("day {k}/P01"));
        std::fs::create_dir_all(&inside).unwrap();
        std::fs::write(inside.join("a.c3d"), bytes).unwrap();
        watching.kept(&format!("day {k}/P01/a.c3d"));
    }
    std::fs::create_dir(bay.at(".hidden")).unwrap();
    std::fs::write(bay.at(".hidden/a.c3d"), &files[0]).unwrap();
    let inner = Study::create(&bay.at("inner"), &archive::StudySettings::named("inner")).unwrap();
    std::fs::create_dir_all(inner.root.join("originals/aa")).unwrap();
    std::fs::write(inner.root.join("originals/aa/a.c3d"), &files[1]).unwrap();
    watching.nothing_for(600);
    watching.end();

    let watching = Watching::begin(&bay.open(), &bay.at(""), bay.settings());
    assert!(
        matches!(watching.next(), Event::Watching { waiting: 0, .. }),
        "folders inside are not asked for"
    );
    watching.end();
    let inside = bay.root().join("originals");
    let error = watch(&bay.open(), &inside, &bay.settings(), |_| (), &AtomicBool::new(false)).unwrap_err();
    assert!(error.to_string().contains("inside a study"), "{error}");
}

#[test]
fn a_folder_that_goes_away_is_told_and_found_again() {
    let bay = Bay::new();
    let files = recordings(2, 13);
    let watching = bay.watch(|how| how.look = LOOK);
    let elsewhere = bay.folder.path().join("elsewhere");
    std::fs::rename(bay.at(""), &elsewhere).unwrap();
    assert!(matches!(watching.next(), Event::Away { .. }));
    std::fs::write(elsewhere.join("a.c3d"), &files[0]).unwrap();
    std::fs::rename(&elsewhere, bay.at("")).unwrap();
    assert!(matches!(watching.next(), Event::Back));
    watching.kept("a.c3d");
    sleep(300);
    std::fs::write(bay.at("b.c3d"), &files[1]).unwrap();
    watching.kept("b.c3d");
    watching.end();
}

#[test]
fn looking_finds_everything_where_no_notices_come() {
    let bay = Bay::new();
    let files = recordings(2, 14);
    let watching = bay.watch(|how| (how.listen, how.look) = (false, LOOK));
    let half = files[0].len() / 2;
    std::fs::write(bay.at("a.c3d"), &files[0][..half]).unwrap();
    sleep(400);
    File::options().append(true).open(bay.at("a.c3d")).unwrap().write_all(&files[0][half..]).unwrap();
    watching.kept("a.c3d");
    std::fs::write(bay.at("a.c3d"), &files[1]).unwrap();
    watching.kept("a.c3d");
    watching.end();
    assert_holds(&bay, &[&files[0], &files[1]]);
}

#[test]
fn once_takes_in_what_is_there_and_ends() {
    let bay = Bay::new();
    let files = recordings(3, 15);
    std::fs::write(bay.at("a.c3d"), &files[0]).unwrap();
    std::fs::write(bay.at("b.c3d"), &files[1]).unwrap();
    std::fs::write(bay.at("cut.c3d"), &files[2][..3000]).unwrap();
    let how = WatchSettings { once: true, look: LOOK, quiet: QUIET, ..bay.settings() };
    let mut told = Vec::new();
    let stop = AtomicBool::new(false);
    let summary = watch(&bay.open(), &bay.at(""), &how, |e| told.push(e), &stop).unwrap();
    assert_eq!(summary, Summary { kept: 2, failed: 1, ..Summary::default() }, "{told:?}");
    // Nothing is read, so nothing is waited for.
    let mut told = Vec::new();
    let again = watch(&bay.open(), &bay.at(""), &how, |e| told.push(e), &stop).unwrap();
    assert_eq!(again, Summary::default());
    assert!(matches!(told[..], [Event::Watching { known: 3, waiting: 0, .. }]), "{told:?}");
    // A file that never stops growing is left for the next time.
    let how = WatchSettings { quiet: Duration::from_secs(5), ..how };
    let growing = Arc::new(AtomicBool::new(true));
    let (path, go_on) = (bay.at("growing.c3d"), growing.clone());
    let writer = std::thread::spawn(move || {
        let mut open = File::create(path).unwrap();
        while go_on.load(Ordering::Relaxed) {
            open.write_all(&[1]).unwrap();
            std::thread::sleep(Duration::from_millis(5));
        }
    });
    sleep(50);
    let third = watch(&bay.open(), &bay.at(""), &how, |_| (), &stop).unwrap();
    growing.store(false, Ordering::Relaxed);
    writer.join().unwrap();
    assert_eq!(third, Summary { waiting: 1, ..Summary::default() });
}

/// What a run of this test by itself is to watch: study, folder, session, the file its events go to, and how many seconds it
/// leaves a file that it cannot open.
const PART: &str = "UNDERFOOT_TEST_WATCH";

/// Not a test by itself: the program that the tests below start.
#[test]
fn watches_as_a_program() {
    let Ok(text) = std::env::var(PART) else { return };
    let words: Vec<&str> = text.split('\n').collect();
    let study = Study::open(Path::new(words[0])).unwrap();
    let mut out = File::create(words[3]).unwrap();
    let tell = |event: Event| writeln!(out, "{}", serde_json::to_string(&event).unwrap()).unwrap();
    let usual = WatchSettings::of(words[2].parse().unwrap());
    let settings = WatchSettings { pause: Duration::from_secs(words[4].parse().unwrap()), ..usual };
    watch(&study, Path::new(words[1]), &settings, tell, &AtomicBool::new(false)).unwrap();
}

/// Watching in a program of its own.
struct Program {
    child: std::process::Child,
    out: PathBuf,
}

impl Program {
    fn start(bay: &Bay, change: impl FnOnce(&mut std::process::Command)) -> Self {
        let out = bay.folder.path().join("events");
        let _ = std::fs::remove_file(&out);
        let (study, folder) = (bay.root(), bay.at(""));
        let pause_s = 3600;
        let text = format!(
            "{}\n{}\n{}\n{}\n{pause_s}",
            study.display(),
            folder.display(),
            bay.session,
            out.display()
        );
        // Where it can be run by whoever the test asks for.
        let copy = bay.folder.path().join("program");
        std::fs::copy(std::env::current_exe().unwrap(), &copy).unwrap();
        let mut command = std::process::Command::new(copy);
        command.args(["watches_as_a_program", "--exact"]).env(PART, text).stdout(std::process::Stdio::null());
        change(&mut command);
        Self { child: command.spawn().unwrap(), out }
    }
    /// Waits for an event, in words that it holds.
    fn event(&self, words: &[&str]) -> String {
        let end = Instant::now() + Duration::from_secs(30);
        loop {
            let text = std::fs::read_to_string(&self.out).unwrap_or_default();
            if let Some(line) = text.lines().find(|l| words.iter().all(|w| l.contains(w))) {
                return line.to_string();
            }
            assert!(Instant::now() < end, "no {words:?} in:\n{text}");
            sleep(10);
        }
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Nothing forbids root to read, so where the test is root, it watches as somebody else.
#[cfg(target_os = "linux")]
#[test]
fn a_file_that_may_not_be_read_is_told_once_and_taken_in_when_it_may() {
    use std::os::unix::fs::{MetadataExt as _, PermissionsExt, chown};
    use std::os::unix::process::CommandExt as _;
    const NOBODY: u32 = 65_534;
    let bay = Bay::new();
    let bytes = recordings(1, 16).remove(0);
    let root = std::fs::metadata(bay.folder.path()).unwrap().uid() == 0;
    let allow = |path: &Path, mode| std::fs::set_permissions(path, PermissionsExt::from_mode(mode)).unwrap();
    if root {
        allow(bay.folder.path(), 0o777);
        let mut folders = vec![bay.root(), bay.at("")];
        while let Some(folder) = folders.pop() {
            chown(&folder, Some(NOBODY), Some(NOBODY)).unwrap();
            for entry in folder.read_dir().unwrap().map(|e| e.unwrap().path()) {
                chown(&entry, Some(NOBODY), Some(NOBODY)).unwrap();
                folders.extend(entry.is_dir().then_some(entry));
            }
        }
    }
    let program = Program::start(&bay, |command| {
        if root {
            command.uid(NOBODY).gid(NOBODY);
        }
    });
    program.event(&["\"watching\""]);
    std::fs::write(bay.at("a.tmp"), &bytes).unwrap();
    allow(&bay.at("a.tmp"), 0);
    std::fs::rename(bay.at("a.tmp"), bay.at("a.c3d")).unwrap();
    let told = program.event(&["\"waiting\"", "a.c3d"]);
    assert!(told.contains("ermission denied"), "{told}");
    // The next try of its own would come an hour later.
    allow(&bay.at("a.c3d"), 0o644);
    program.event(&["\"kept\"", "a.c3d"]);
    let all = std::fs::read_to_string(&program.out).unwrap();
    assert_eq!(all.lines().count(), 3, "{all}");
}

#[test]
fn killed_at_any_instant_it_loses_nothing() {
    let bay = Bay::new();
    let mut files = recordings(6, 17);
    // Times of its killing, after the first piece of a file: while it is noticed, measured, stored, told.
    for (k, ms) in [5, 40, 90, 140, 200, 300].into_iter().enumerate() {
        let mut program = Program::start(&bay, |_| ());
        program.event(&["\"watching\""]);
        std::fs::write(bay.at(&format!("{k}.c3d")), &files[k]).unwrap();
        sleep(ms);
        program.child.kill().unwrap();
    }
    let how = WatchSettings { once: true, look: LOOK, ..bay.settings() };
    watch(&bay.open(), &bay.at(""), &how, |_| (), &AtomicBool::new(false)).unwrap();
    // In whatever order: one that comes while a missed one is let settle is taken in before it.
    let study = bay.open();
    let wanted = study.wanted(None).unwrap();
    let mut kept: Vec<Vec<u8>> = wanted.iter().map(|w| std::fs::read(w.path(&bay.root())).unwrap()).collect();
    kept.sort();
    files.sort();
    assert!(kept == files);
    let (basis, _) = study.usual_basis().unwrap();
    assert!(study.stale(basis, true).unwrap().is_empty());
    // And nothing is read again.
    let mut told = Vec::new();
    watch(&study, &bay.at(""), &how, |e| told.push(e), &AtomicBool::new(false)).unwrap();
    assert!(matches!(told[..], [Event::Watching { known: 6, waiting: 0, .. }]), "{told:?}");
}
