//! Disks that are full, folders that cannot be written, clocks that are wrong, names that are long or alike.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)] // tests may
mod common;
mod faults;

use archive::import::{Incoming, Told};
use archive::rebuild::Which;
use archive::{Player, Selection, Session, Study, StudyError};
use faults::{entered, light, measured, raw, same, small_study, verify};
use std::path::{Path, PathBuf};
use std::process::Command;

/// Set by `scripts/test` where small disks can be made: then no test may do without.
const DISKS: &str = "UNDERFOOT_TEST_DISKS";

/// A small disk of its own, let go of when dropped; `None`, with a printed line, where this user may not make one.
struct Disk(PathBuf);

impl Disk {
    fn new(at: &Path, size: &str) -> Option<Self> {
        std::fs::create_dir_all(at).unwrap();
        let mounted = cfg!(target_os = "linux")
            && Command::new("mount")
                .args(["-t", "tmpfs", "-o", &format!("size={size}"), "tmpfs"])
                .arg(at)
                .output()
                .is_ok_and(|o| o.status.success());
        if !mounted {
            assert!(std::env::var_os(DISKS).is_none(), "a small disk could be made, and cannot now");
            println!("skipped: this user may not mount a small disk");
        }
        mounted.then(|| Self(at.to_path_buf()))
    }
    fn again(&self, how: &str) {
        let done =
            Command::new("mount").args(["-o", &format!("remount,{how}")]).arg(&self.0).status().unwrap();
        assert!(done.success());
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(&self.0).status();
    }
}

/// Fills a disk to the last byte.
fn fill(disk: &Path) -> PathBuf {
    use std::io::Write as _;
    let path = disk.join("filler");
    let mut file = std::fs::File::create(&path).unwrap();
    for size in [1 << 16, 1 << 12, 1] {
        let piece = vec![1_u8; size];
        while file.write_all(&piece).is_ok() {}
    }
    path
}

#[test]
fn a_full_disk_is_said_and_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let Some(disk) = Disk::new(&folder.path().join("disk"), "24m") else { return };
    let study = small_study(folder.path(), 1);
    drop(study);
    let root = disk.0.join("study");
    faults::copy(&folder.path().join("study"), &root);
    let files = common::write(&folder.path().join("more"), &light(40, 5, true), "more");
    let incoming: Vec<Incoming> = files.iter().map(|f| Incoming::new(f, 1)).collect();

    // Full half way through an import: some handfuls are in, the rest is not, and it is said.
    let study = Study::open(&root).unwrap();
    let ballast = vec![1_u8; 20 << 20];
    std::fs::write(disk.0.join("ballast"), ballast).unwrap();
    let mut told = 0;
    let error = study.import(&incoming, |_, _| told += 1, || true).unwrap_err();
    assert!(matches!(error, StudyError::Full), "{error:?}");
    let swings = |root: &Path| {
        raw(root).query_row("SELECT count(*) FROM swing", [], |r| r.get::<_, i64>(0)).unwrap() as usize
    };
    assert_eq!(swings(&root), 2 + told, "what was told is in, nothing else");
    drop(study);
    let filler = fill(&disk.0);

    // Not a byte is left: it opens, what is there can be read, and an event cannot be moved.
    let study = Study::open(&root).unwrap();
    assert_eq!(study.chosen(&Selection::default()).unwrap().len(), 2 + told);
    // Looked at elsewhere: even to look, SQLite wants room for an index.
    let look = |name: &str| {
        faults::copy(&root, &folder.path().join(name));
        measured(&raw(&folder.path().join(name)))
    };
    let before = look("before");
    let error = study.mark(1, "impact", Some((1.33, None))).unwrap_err();
    assert!(matches!(error, StudyError::Full), "{error:?}");
    let error = study.add_player(&Player::called("late"), None).map(|_| ());
    assert!(matches!(error, Ok(()) | Err(StudyError::Full)), "{error:?}");
    same(&look("after"), &before);
    let verdict = verify(&root);
    assert!(verdict.clean(), "{verdict:#?}");
    drop(study);

    // Room again: everything comes in.
    std::fs::remove_file(filler).unwrap();
    std::fs::remove_file(disk.0.join("ballast")).unwrap();
    disk.again("size=64m");
    let study = Study::open(&root).unwrap();
    let told = common::import(&study, &files, 1);
    assert!(told.iter().all(|t| matches!(t, Told::Kept { .. } | Told::There { .. })), "{told:?}");
    assert_eq!(swings(&root), 42);
    assert!(study.mark(1, "impact", Some((1.33, None))).is_ok());
    study.vacuum(false).unwrap();
    let verdict = verify(&root);
    assert!(verdict.clean() && verdict.notes.is_empty(), "{verdict:#?}");
}

/// What works on a study that can be read and not changed.
fn reads_only(root: &Path, more: &Path, swings: usize) {
    let before = faults::files(root);
    let study = Study::open(root).unwrap();
    assert!(study.read_only());
    assert_eq!(study.chosen(&Selection::default()).unwrap().len(), swings);
    assert_eq!(study.info().unwrap().swings, swings as i64);
    assert_eq!(study.players().unwrap().len(), 2);
    let verdict = verify(root);
    assert!(verdict.clean(), "{verdict:#?}");
    let read_only = |result: Result<(), StudyError>| {
        assert!(matches!(result, Err(StudyError::ReadOnly(_))), "{result:?}");
    };
    read_only(study.mark(1, "impact", Some((1.33, None))).map(|_| ()));
    read_only(study.add_player(&Player::called("late"), None).map(|_| ()));
    read_only(study.import(&[Incoming::new(more, 1)], |_, _| {}, || true));
    read_only(study.rebuild(Which::All, &mut |_| {}).map(|_| ()));
    read_only(faults::rebuild(root).map(|_| ()));
    read_only(study.vacuum(true).map(|_| ()));
    read_only(study.delete_player(1).map(|_| ()));
    drop(study);
    assert!(faults::files(root) == before, "something was written");
}

#[test]
fn a_folder_that_cannot_be_written_is_read() {
    let folder = tempfile::tempdir().unwrap();
    drop(small_study(folder.path(), 1));
    let more = common::write(&folder.path().join("more"), &light(1, 5, true), "more").remove(0);
    if let Some(disk) = Disk::new(&folder.path().join("disk"), "24m") {
        let root = disk.0.join("study");
        faults::copy(&folder.path().join("study"), &root);
        disk.again("ro");
        reads_only(&root, &more, 2);
        // Another point of reference than anything was measured about: nothing to show, and no error.
        disk.again("rw");
        let settings = std::fs::read_to_string(root.join("study.toml")).unwrap();
        std::fs::write(root.join("study.toml"), settings.replace("net-cop", "rig-centre")).unwrap();
        disk.again("ro");
        assert_eq!(Study::open(&root).unwrap().info().unwrap().stale, 2);
        // A log that a crash has left is read as well.
        disk.again("rw");
        let db = raw(&root);
        db.pragma_update(None, "wal_autocheckpoint", 0).unwrap();
        db.execute("UPDATE player SET note = 'in the log'", []).unwrap();
        let crashed = disk.0.join("crashed");
        faults::copy(&root, &crashed);
        drop(db);
        assert!(std::fs::metadata(crashed.join("catalogue.sqlite-wal")).unwrap().len() > 0);
        disk.again("ro");
        let study = Study::open(&crashed).unwrap();
        assert_eq!(study.players().unwrap()[0].note, "in the log");
        drop(study);
        drop(disk);
    } else {
        // Not root: permissions say it.
        let root = folder.path().join("study");
        let every = |mode: &str| Command::new("chmod").args(["-R", mode]).arg(&root).status().unwrap();
        every("a-w");
        reads_only(&root, &more, 2);
        every("u+w");
    }
}

#[test]
fn a_clock_set_back_orders_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let study = small_study(folder.path(), 2);
    let root = study.root.clone();
    let ids =
        |study: &Study| -> Vec<i64> { study.changes_since(0, 1000).unwrap().iter().map(|c| c.id).collect() };
    let before = (ids(&study), study.chosen(&Selection::default()).unwrap(), measured(&raw(&root)));
    // Every time that was written runs backwards, by decades.
    for (table, column, key) in [
        ("change", "at", "id"),
        ("player", "added_at", "id"),
        ("session", "added_at", "id"),
        ("swing", "imported_at", "id"),
        ("swing", "file_time", "id"),
        ("measurement", "measured_at", "swing"),
    ] {
        let back =
            format!("UPDATE {table} SET {column} = printf('%04d-01-01T00:00:00.000Z', 2020 - 3 * {key})");
        raw(&root).execute(&back, []).unwrap();
    }
    assert_eq!(ids(&study), before.0);
    assert_eq!(study.chosen(&Selection::default()).unwrap(), before.1);
    let again = study.mark(1, "impact", None).unwrap();
    assert!(again.failed.is_none());
    assert!(study.mark(1, "impact", Some((1.4, None))).is_ok());
    let last = study.changes_since(0, 1000).unwrap().pop().unwrap();
    assert_eq!((last.what.as_str(), last.swing), ("event set", Some(1)));
    assert!(study.catch_up(true).unwrap().is_empty(), "nothing is stale by the clock");
    same(&measured(&raw(&root)), &before.2);
    assert!(verify(&root).clean());
}

#[test]
fn spaces_scripts_and_two_hundred_characters() {
    let folder = tempfile::tempdir().unwrap();
    let long = "a long folder's name ".repeat(6);
    let odd =
        folder.path().join("Übungs Platz № 1 #50%?&=+").join("練習場").join(long.trim()).join(long.trim());
    assert!(odd.to_string_lossy().chars().count() > 260);
    let study = small_study(&odd, 1);
    let root = study.root.clone();
    let session = study.add_session(&Session { place: "練習場".into(), ..Session::of(1) }).unwrap();
    let name = format!("Schwung {} 七番アイアン", "x".repeat(180));
    let files = common::write(&odd.join("in dir"), &light(1, 7, false), &name);
    let told = common::import(&study, &files, session);
    assert!(matches!(told[0], Told::Kept { .. }), "{told:?}");
    drop(study);
    let before = (measured(&raw(&root)), entered(&raw(&root)));
    assert!(before.1.contains("七番アイアン"));
    let pages = faults::leaves(&root, "figure");
    faults::spoil(&root, pages[1]);
    faults::rebuild(&root).unwrap();
    same(&measured(&raw(&root)), &before.0);
    same(&entered(&raw(&root)), &before.1);
    let study = Study::open(&root).unwrap();
    study.vacuum(true).unwrap();
    let verdict = verify(&root);
    assert!(verdict.clean() && verdict.notes.is_empty(), "{verdict:#?}");
    // Read where it cannot be written, too: the address of the catalogue is not taken for a question.
    if let Some(disk) = Disk::new(&folder.path().join("a disk ?mode=rw&x#y %41"), "24m") {
        faults::copy(&root, &disk.0.join("study 練"));
        drop(study);
        disk.again("ro");
        assert_eq!(Study::open(&disk.0.join("study 練")).unwrap().info().unwrap().swings, 3);
    }
}

#[test]
fn names_that_differ_in_case_alone() {
    let folder = tempfile::tempdir().unwrap();
    let (study, _, session) = common::study(&folder.path().join("study"));
    // In folders of their own, since on some disks they would be one file.
    let swings = light(2, 3, true);
    let files = common::write(&folder.path().join("in"), &swings, "s");
    let (a, b) = (folder.path().join("a/Swing.C3D"), folder.path().join("b/swing.c3d"));
    for (from, to) in files.iter().zip([&a, &b]) {
        std::fs::create_dir_all(to.parent().unwrap()).unwrap();
        std::fs::copy(from, to).unwrap();
    }
    let told = common::import(&study, &[a, b], session);
    assert!(told.iter().all(|t| matches!(t, Told::Kept { .. })), "{told:?}");
    let places = archive::keep::all(&study.root, archive::keep::ORIGINALS).unwrap();
    let mut lower: Vec<String> = places.iter().map(|p| p.to_lowercase()).collect();
    assert_eq!(lower, places, "names in the study have one case");
    lower.dedup();
    assert_eq!(lower.len(), 2);
    let names = faults::dump(&raw(&study.root), "SELECT name FROM swing ORDER BY id");
    assert_eq!(names, "Swing.C3D|\nswing.c3d|\n");
    // Aliases that differ in case alone are one player.
    assert!(matches!(study.add_player(&Player::called("p01"), None), Err(StudyError::Exists { .. })));
    assert!(verify(&study.root).clean());
}
