//! Killed at any instant, a study is as it was before or as it is after: kill −9 at random instants of an import, an event being
//! moved, an edit, a migration, a deletion and a rebuild.
//!
//! The one who is killed is this program again, told by the environment what to do. Small counts here; a thousand by
//! `cargo test --release -p archive --test crash -- --ignored --nocapture` (see checks/README.md).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)] // tests may
mod common;
mod faults;

use archive::import::Incoming;
use archive::rebuild::{Which, rebuild};
use archive::schema::STEPS;
use archive::{Session, Study};
use faults::{entered, files, light, measured, raw, same, small_study, verify};
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const WHAT: &str = "UNDERFOOT_TEST_DO";
const WHERE: &str = "UNDERFOOT_TEST_IN";

/// Instants of impact that the event is moved to, one after the other.
const MOVES: [f64; 4] = [1.31, 1.32, 1.33, 1.34];

/// Not a test: what the one who is killed does.
#[test]
fn victim() {
    let (Ok(what), Ok(folder)) = (std::env::var(WHAT), std::env::var(WHERE)) else { return };
    let folder = PathBuf::from(folder);
    let root = folder.join("study");
    println!("ready");
    match what.as_str() {
        "import" => {
            let study = Study::open(&root).unwrap();
            let incoming: Vec<Incoming> =
                listed(&folder.join("more")).iter().map(|f| Incoming::new(f, 1)).collect();
            study.import(&incoming, |_, _| {}, || true).unwrap();
        }
        "mark" => {
            let study = Study::open(&root).unwrap();
            for time_s in MOVES {
                study.mark(1, "impact", Some((time_s, None))).unwrap();
            }
        }
        "edit" => {
            let study = Study::open(&root).unwrap();
            let session = study.session(1).unwrap();
            study.edit_session(&session, &Session { mass_kg: Some(70.5), ..session.clone() }).unwrap();
            study.catch_up(false).unwrap();
        }
        "migrate" => drop(Study::open(&root).unwrap()),
        "delete" => {
            let study = Study::open(&root).unwrap();
            let player = study.player_called("Zebedee-77").unwrap().id;
            study.delete_player(player).unwrap();
        }
        "rebuild" => drop(rebuild(&root, Which::All, &mut |_| {}).unwrap()),
        other => panic!("{other}"),
    }
    println!("done");
}

fn listed(folder: &Path) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    files.sort();
    files
}

/// Numbers of chance from a stated seed (SplitMix64).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// Lets the victim work for a while; true where it came to its end before.
fn work(what: &str, folder: &Path, kill_after: Option<Duration>) -> (bool, Duration) {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["victim", "--exact", "--nocapture", "--test-threads=1"])
        .env(WHAT, what)
        .env(WHERE, folder)
        .env("RAYON_NUM_THREADS", "1")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    lines.find(|l| l.as_ref().unwrap().ends_with("ready")).expect("the victim begins").unwrap();
    let begin = Instant::now();
    if let Some(wait) = kill_after {
        std::thread::sleep(wait);
        child.kill().unwrap(); // SIGKILL: no handler, no destructor, no flush
    }
    let done = lines.map_while(Result::ok).any(|l| l.ends_with("done"));
    let took = begin.elapsed();
    let ended = child.wait_with_output().unwrap();
    assert!(done || kill_after.is_some(), "{}", String::from_utf8_lossy(&ended.stderr));
    // One that failed by itself is no crash.
    let said = String::from_utf8_lossy(&ended.stderr).into_owned();
    assert!(!said.contains("panicked"), "{said}");
    (done, took)
}

/// What came out of many kills.
#[derive(Default, Debug)]
struct Tally {
    before: usize,
    between: usize,
    after: usize,
}

impl Tally {
    /// Not worth its name where kills never fell before, or never after.
    fn fell(&self) -> bool {
        self.before + self.between > 0 && self.between + self.after > 0
    }
}

/// Kills from one seed after the other until some fell within what is done. On a busy machine a few kills may all come too
/// early, or too late.
fn fell(kills: &dyn Fn(u64) -> Tally) {
    let mut all = Tally::default();
    for seed in 1..=8 {
        let one = kills(seed);
        all.before += one.before;
        all.between += one.between;
        all.after += one.after;
        if all.fell() {
            return;
        }
    }
    panic!("every kill fell before, or every one after: {all:?}");
}

/// Kills `count` times at random instants of what takes a known time; `check` looks at each study and says how far it came: 0 is
/// before, 1 is after.
fn kill(what: &str, base: &Path, count: usize, seed: u64, check: &mut dyn FnMut(&Path) -> f64) -> Tally {
    let here = tempfile::tempdir().unwrap();
    let fresh = |name: &str| {
        let folder = here.path().join(name);
        faults::copy(base, &folder);
        folder
    };
    let mut took = Duration::ZERO;
    for k in 0..2 {
        let folder = fresh(&format!("whole-{k}"));
        let (done, time) = work(what, &folder, None);
        assert!(done);
        took = took.max(time);
        assert!((check(&folder) - 1.0).abs() < 1e-9, "{what}: a whole run is not the state after");
    }
    let mut chance = Chance(seed);
    let mut tally = Tally::default();
    for k in 0..count {
        let folder = fresh("killed");
        // Every other one in the third where the changes are made: the first of a deletion and a migration, else the last.
        let early = ["delete", "migrate"].contains(&what);
        let (from, to) = if k % 2 == 0 {
            (0.0, 1.05)
        } else if early {
            (0.0, 0.33)
        } else {
            (0.67, 1.05)
        };
        let wait = took.mul_f64(from + (to - from) * chance.next());
        let (done, _) = work(what, &folder, Some(wait));
        let came = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| check(&folder)));
        let came = came.unwrap_or_else(|_| {
            let kept = std::env::temp_dir().join(format!("underfoot-killed-{what}-{k}"));
            std::fs::rename(&folder, &kept).unwrap();
            panic!("{what}: kill {k} of seed {seed} after {wait:?}; the study is kept in {}", kept.display())
        });
        assert!(!done || came == 1.0, "{what}: it said that it was done, and is not");
        match came {
            0.0 => tally.before += 1,
            1.0 => tally.after += 1,
            _ => tally.between += 1,
        }
        std::fs::remove_dir_all(&folder).unwrap();
    }
    println!("{what}: killed {count} times within {took:.0?}: {tally:?}");
    tally
}

/// It opens, and verify has nothing to say but of what was left lying.
fn whole(root: &Path) -> Study {
    let study = Study::open(root).unwrap();
    let verdict = verify(root);
    assert!(verdict.clean(), "{verdict:#?}");
    for note in &verdict.notes {
        let lying = ["never finished", "no swing speaks of", "damaged catalogues"];
        assert!(lying.iter().any(|l| note.what.contains(l)), "{verdict:#?}");
    }
    study
}

fn originals(root: &Path) -> Vec<String> {
    archive::keep::all(root, archive::keep::ORIGINALS).unwrap()
}

fn kill_imports(count: usize, seed: u64, recordings: u32) -> Tally {
    let base = tempfile::tempdir().unwrap();
    drop(small_study(base.path(), 1));
    common::write(&base.path().join("more"), &light(recordings, 5, true), "more");
    let there = originals(&base.path().join("study"));
    let swings =
        |root: &Path| raw(root).query_row("SELECT count(*) FROM swing", [], |r| r.get::<_, i64>(0)).unwrap();
    let mut expected = None;
    kill("import", base.path(), count, seed, &mut |folder| {
        let root = folder.join("study");
        let study = whole(&root);
        let came = swings(&root) - 2;
        // Handfuls of sixteen come in whole.
        assert!(came % 16 == 0 || came == i64::from(recordings), "{came} came in");
        let now = originals(&root);
        assert!(there.iter().all(|p| now.contains(p)), "a recording is lost");
        // The same again takes in what is missing, nothing twice.
        let told = common::import(&study, &listed(&folder.join("more")), 1);
        assert_eq!(
            told.iter().filter(|t| matches!(t, archive::import::Told::There { .. })).count() as i64,
            came
        );
        assert_eq!(swings(&root), 2 + i64::from(recordings));
        let now = measured(&raw(&root));
        same(&now, expected.get_or_insert_with(|| now.clone()));
        assert!(study.vacuum(false).unwrap().kept.is_empty());
        assert!(verify(&root).notes.is_empty());
        came as f64 / f64::from(recordings)
    })
}

fn kill_marks(count: usize, seed: u64) -> Tally {
    let base = tempfile::tempdir().unwrap();
    drop(small_study(base.path(), 1));
    let state = |root: &Path| {
        measured(&raw(root)) + &faults::dump(&raw(root), "SELECT * FROM mark ORDER BY swing, event")
    };
    let reference = tempfile::tempdir().unwrap();
    faults::copy(base.path(), reference.path());
    let root = reference.path().join("study");
    let study = Study::open(&root).unwrap();
    let mut states = vec![state(&root)];
    for time_s in MOVES {
        study.mark(1, "impact", Some((time_s, None))).unwrap();
        states.push(state(&root));
    }
    states.windows(2).for_each(|w| assert_ne!(w[0], w[1]));
    let log = "SELECT count(*) FROM change WHERE what = 'event set'";
    kill("mark", base.path(), count, seed, &mut |folder| {
        let root = folder.join("study");
        drop(whole(&root));
        let now = state(&root);
        let at = states.iter().position(|s| *s == now).expect("one of the states there are");
        let logged: usize = raw(&root).query_row(log, [], |r| r.get::<_, i64>(0)).unwrap() as usize;
        assert_eq!(logged, at + 1, "the log has a row for every move");
        at as f64 / MOVES.len() as f64
    })
}

fn kill_edits(count: usize) -> Tally {
    let base = tempfile::tempdir().unwrap();
    drop(small_study(base.path(), 1));
    let before = measured(&raw(&base.path().join("study")));
    let mut after = None;
    kill("edit", base.path(), count, 7, &mut |folder| {
        let root = folder.join("study");
        // Opening finishes what depends on the edit.
        let study = whole(&root);
        let (basis, _) = study.usual_basis().unwrap();
        assert!(study.stale(basis, false).unwrap().is_empty() && !study.is_behind().unwrap());
        let edited = study.session(1).unwrap().mass_kg == Some(70.5);
        let now = measured(&raw(&root));
        same(&now, if edited { after.get_or_insert_with(|| now.clone()) } else { &before });
        f64::from(u8::from(edited))
    })
}

/// A study whose catalogue has had the first step alone.
fn first_version(folder: &Path) {
    drop(small_study(folder, 1));
    let root = folder.join("study");
    let new = root.join("catalogue.new");
    let db = rusqlite::Connection::open(&new).unwrap();
    db.pragma_update(None, "journal_mode", "wal").unwrap();
    db.execute_batch(STEPS[0]).unwrap();
    db.pragma_update(None, "user_version", 1).unwrap();
    db.execute("ATTACH ?1 AS old", [root.join("catalogue.sqlite").to_string_lossy()]).unwrap();
    db.pragma_update(None, "foreign_keys", "off").unwrap();
    for table in faults::tables(&db) {
        db.execute(&format!("INSERT INTO main.{table} SELECT * FROM old.{table}"), []).unwrap();
    }
    drop(db);
    std::fs::rename(new, root.join("catalogue.sqlite")).unwrap();
}

fn kill_migrations(count: usize, seed: u64) -> Tally {
    let base = tempfile::tempdir().unwrap();
    first_version(base.path());
    let before = {
        let db = raw(&base.path().join("study"));
        (measured(&db), faults::tables(&db))
    };
    kill("migrate", base.path(), count, seed, &mut |folder| {
        let root = folder.join("study");
        let version: i64 = raw(&root).query_row("PRAGMA user_version", [], |r| r.get(0)).unwrap();
        let tables = faults::tables(&raw(&root));
        assert_eq!(version == 1, tables == before.1, "a version is its tables");
        drop(whole(&root));
        same(&measured(&raw(&root)), &before.0);
        assert_eq!(archive::schema::version(&raw(&root)).unwrap(), archive::schema::VERSION);
        (version - 1) as f64 / (archive::schema::VERSION - 1) as f64
    })
}

fn kill_deletions(count: usize, seed: u64) -> Tally {
    let base = tempfile::tempdir().unwrap();
    drop(small_study(base.path(), 2));
    let root = base.path().join("study");
    let before = (measured(&raw(&root)), entered(&raw(&root)), originals(&root));
    let hash: String =
        raw(&root).query_row("SELECT hash FROM swing WHERE session = 2", [], |r| r.get(0)).unwrap();
    kill("delete", base.path(), count, seed, &mut |folder| {
        let root = folder.join("study");
        let ask = "SELECT count(*) FROM player WHERE alias = 'Zebedee-77'";
        let there: i64 = raw(&root).query_row(ask, [], |r| r.get(0)).unwrap();
        drop(whole(&root));
        if there == 1 {
            same(&measured(&raw(&root)), &before.0);
            same(&entered(&raw(&root)), &before.1);
            assert_eq!(originals(&root), before.2);
            return 0.0;
        }
        assert_eq!(verify(&root).swings, 2);
        for word in ["Zebedee", "zebedee", "Marchbanks", "sore-knee", hash.as_str()] {
            for (path, bytes) in files(&root) {
                let found = bytes.windows(word.len()).any(|w| w == word.as_bytes());
                assert!(!found && !path.to_string_lossy().contains(word), "{word} is in {}", path.display());
            }
        }
        1.0
    })
}

fn kill_rebuilds(count: usize, seed: u64, damaged: bool) -> Tally {
    let base = tempfile::tempdir().unwrap();
    drop(small_study(base.path(), 2));
    let root = base.path().join("study");
    let before = (measured(&raw(&root)), entered(&raw(&root)), files(&root.join("derived")));
    if damaged {
        let pages = faults::leaves(&root, "figure");
        faults::spoil(&root, pages[pages.len() / 2]);
    }
    kill("rebuild", base.path(), count, seed, &mut |folder| {
        let root = folder.join("study");
        drop(Study::open(&root).unwrap());
        let verdict = verify(&root);
        let mended = verdict.clean();
        if !mended {
            assert!(damaged && verdict.faults.iter().all(|f| f.place.contains("figure")), "{verdict:#?}");
            rebuild(&root, Which::All, &mut |_| {}).unwrap();
        }
        drop(whole(&root));
        same(&measured(&raw(&root)), &before.0);
        same(&entered(&raw(&root)), &before.1);
        let now: Vec<Vec<u8>> = files(&root.join("derived")).into_iter().map(|f| f.1).collect();
        assert!(before.2.iter().all(|(_, bytes)| now.contains(bytes)), "series differ");
        let finished = "SELECT count(*) FROM change WHERE what IN ('study rebuilt', 'catalogue mended')";
        let finished: i64 = raw(&root).query_row(finished, [], |r| r.get(0)).unwrap();
        f64::from(u8::from(mended && finished > 0))
    })
}

#[test]
fn an_import_killed_at_any_instant() {
    fell(&|seed| kill_imports(16, seed, 3));
}

#[test]
fn an_event_moved_and_killed_at_any_instant() {
    fell(&|seed| kill_marks(15, seed));
}

#[test]
fn an_edit_killed_at_any_instant() {
    kill_edits(12);
}

#[test]
fn a_migration_killed_at_any_instant() {
    fell(&|seed| kill_migrations(15, seed));
}

#[test]
fn a_deletion_killed_at_any_instant() {
    fell(&|seed| kill_deletions(15, seed));
}

#[test]
fn a_rebuild_killed_at_any_instant() {
    fell(&|seed| kill_rebuilds(8, seed, false));
    fell(&|seed| kill_rebuilds(12, seed, true));
}

/// One command: `cargo test --release -p archive --test crash -- --ignored --nocapture`.
#[test]
#[ignore = "a thousand kills, some minutes; by hand, in release"]
fn a_thousand_kills() {
    let tallies = [
        kill_imports(200, 1, 40),
        kill_marks(200, 2),
        kill_edits(100),
        kill_migrations(200, 3),
        kill_deletions(200, 4),
        kill_rebuilds(100, 5, false),
        kill_rebuilds(100, 6, true),
    ];
    for tally in tallies {
        assert!(tally.fell(), "{tally:?}");
    }
}
