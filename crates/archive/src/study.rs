//! A study's folder: made, opened, locked.
use crate::error::{StudyError, WAIT};
use crate::{keep, schema};
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};
use serde::{Deserialize, Serialize};
use std::cell::Cell;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::time::Duration;
use swing::About;

/// The catalogue's file.
pub const CATALOGUE: &str = "catalogue.sqlite";
/// The file of settings; a folder with it is a study.
pub const SETTINGS: &str = "study.toml";
/// Held while files are on their way into the study (shared), or swept (alone).
const LOCK: &str = ".lock";
/// Held by every program that has the study open (shared), or while its catalogue is exchanged for a mended one (alone).
const OPEN: &str = ".open";

/// What a person decides for the whole study: `study.toml`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StudySettings {
    /// Name for people.
    pub name: String,
    /// Reference point of turn, as `--about` takes it.
    #[serde(default = "net_cop")]
    pub about: String,
    /// Whether an estimated top or impact may stand in; figures that rest on one say so.
    #[serde(default)]
    pub estimates: bool,
    /// Whether series are written to `derived/` when a swing is measured.
    #[serde(default = "yes")]
    pub series: bool,
}

fn net_cop() -> String {
    About::NetCop.to_string()
}

fn yes() -> bool {
    true
}

impl StudySettings {
    /// The usual, with a name.
    pub fn named(name: &str) -> Self {
        Self { name: name.to_string(), about: net_cop(), estimates: false, series: true }
    }
    /// The reference point.
    pub fn point(&self) -> Result<About, StudyError> {
        self.about.parse().map_err(|why| StudyError::Refused(format!("about = \"{}\": {why}", self.about)))
    }
}

/// An open study.
#[derive(Debug)]
pub struct Study {
    /// Its folder.
    pub root: PathBuf,
    /// Its settings.
    pub settings: StudySettings,
    /// Its catalogue.
    pub(crate) db: Connection,
    read_only: bool,
    /// True where that is since the disk is full.
    full: bool,
    /// Let go of after the catalogue, which stands before it.
    _held: Option<File>,
    /// How long a change waits for another program's.
    wait: Cell<Duration>,
}

/// A look at the catalogue as of one instant.
pub(crate) struct Look<'a> {
    db: &'a Connection,
    _whole: Option<Transaction<'a>>,
}

impl std::ops::Deref for Look<'_> {
    type Target = Connection;

    fn deref(&self) -> &Connection {
        self.db
    }
}

impl Study {
    fn with(
        root: &Path,
        settings: StudySettings,
        db: Connection,
        wait: Duration,
        held: Option<File>,
    ) -> Self {
        Self {
            root: root.to_path_buf(),
            settings,
            db,
            read_only: false,
            full: false,
            wait: Cell::new(wait),
            _held: held,
        }
    }

    /// A handle on a catalogue that is being made beside the study's own.
    pub(crate) fn beside(root: &Path, settings: StudySettings, db: Connection) -> Self {
        Self::with(root, settings, db, WAIT, None)
    }

    /// Makes a study in a folder that is not there yet, or empty.
    pub fn create(root: &Path, settings: &StudySettings) -> Result<Self, StudyError> {
        settings.point()?;
        if !may_begin(root) {
            return Err(StudyError::Occupied(root.to_path_buf()));
        }
        for folder in [root.to_path_buf(), root.join(keep::ORIGINALS), root.join(keep::DERIVED)] {
            std::fs::create_dir_all(&folder).map_err(StudyError::io("make", &folder))?;
        }
        let held = hold(root, false)?;
        let wait = WAIT;
        let mut db = connect(&root.join(CATALOGUE), false, wait)?;
        schema::migrate(&mut db)?;
        let rows = "SELECT (SELECT count(*) FROM player) + (SELECT count(*) FROM rig) + (SELECT count(*) FROM change)";
        if db.query_row(rows, [], |r| r.get::<_, i64>(0))? > 0 {
            return Err(StudyError::Occupied(root.to_path_buf()));
        }
        let study = Self::with(root, settings.clone(), db, wait, held);
        // Written now, so that looking never writes.
        study.usual_basis()?;
        // Last, since it is what makes the folder a study.
        let text = toml::to_string(&study.settings).map_err(|e| StudyError::Bug(e.to_string()))?;
        keep::put(root, SETTINGS, format!("{HEAD}{text}").as_bytes())?;
        keep::settle(root, &[SETTINGS.to_string()])?;
        Ok(study)
    }

    /// Opens a study, taking it to this program's version, and finishes what a crash has left half done. One in a
    /// folder that cannot be written is opened for reading.
    pub fn open(root: &Path) -> Result<Self, StudyError> {
        Self::open_waiting(root, WAIT)
    }

    /// The same, with how long a change waits for another program that is writing.
    pub fn open_waiting(root: &Path, wait: Duration) -> Result<Self, StudyError> {
        let settings = read_settings(root)?;
        let catalogue = root.join(CATALOGUE);
        if !catalogue.is_file() {
            let gone = std::io::Error::from(std::io::ErrorKind::NotFound);
            return Err(StudyError::io("find", &catalogue)(gone));
        }
        if !may_write(root) {
            return Self::open_to_read(root, settings, false);
        }
        let held = hold(root, false)?;
        // Nobody mends it while it is held: what lies there unfinished was given up.
        for name in unfinished_names() {
            keep::remove(root, &name)?;
        }
        let opened =
            not_empty(&catalogue).and_then(|()| connect(&catalogue, false, wait)).and_then(|mut db| {
                begun(&db)?;
                schema::migrate(&mut db)?;
                Ok(db)
            });
        let db = match opened {
            // Not even room for the index of the log.
            Err(StudyError::Full) => return Self::open_to_read(root, settings, true),
            opened => opened?,
        };
        let study = Self::with(root, settings, db, wait, held);
        // What cannot be finished now (a full disk, a damaged page, a busy study) is left for the next time.
        let _ = study.finish(false);
        let _ = study.finish_little();
        Ok(study)
    }

    /// Opens a study to look at it as it stands: not brought to this program's version, nothing finished, nothing to be
    /// changed by this handle.
    pub(crate) fn look_at(root: &Path) -> Result<Self, StudyError> {
        let settings = read_settings(root)?;
        let catalogue = root.join(CATALOGUE);
        if std::fs::metadata(&catalogue).map_err(StudyError::io("find", &catalogue))?.len() == 0 {
            return Err(StudyError::Damaged(format!("{CATALOGUE} is empty")));
        }
        if !may_write(root) {
            return Self::open_to_read(root, settings, false);
        }
        let held = hold(root, false)?;
        let db = match connect(&catalogue, false, WAIT) {
            Err(StudyError::Full) => return Self::open_to_read(root, settings, true),
            opened => opened?,
        };
        match schema::version(&db)? {
            0 => return Err(StudyError::Damaged(format!("{CATALOGUE} is empty"))),
            found if found > schema::VERSION => {
                return Err(StudyError::Newer { found, known: schema::VERSION });
            }
            _ => db.pragma_update(None, "query_only", "on")?,
        }
        Ok(Self { read_only: true, ..Self::with(root, settings, db, WAIT, held) })
    }

    /// Opens a study of which nothing can be changed. `full`: since there is no room on the disk.
    fn open_to_read(root: &Path, settings: StudySettings, full: bool) -> Result<Self, StudyError> {
        let held = hold(root, true)?;
        let db = connect(&root.join(CATALOGUE), true, WAIT)?;
        begun(&db)?;
        let found = schema::version(&db)?;
        match found.cmp(&schema::VERSION) {
            std::cmp::Ordering::Greater => Err(StudyError::Newer { found, known: schema::VERSION }),
            std::cmp::Ordering::Less if full => Err(StudyError::Full),
            std::cmp::Ordering::Less => Err(StudyError::ReadOnly(root.to_path_buf())),
            std::cmp::Ordering::Equal => {
                Ok(Self { read_only: true, full, ..Self::with(root, settings, db, WAIT, held) })
            }
        }
    }

    /// The study a folder lies in: itself, or the nearest above it.
    pub fn around(folder: &Path) -> Option<PathBuf> {
        folder.ancestors().find(|f| f.join(SETTINGS).is_file()).map(Path::to_path_buf)
    }

    /// A second handle, for another thread.
    pub fn again(&self) -> Result<Self, StudyError> {
        let (read_only, wait) = (self.read_only, self.wait.get());
        let held = hold(&self.root, read_only)?;
        let db = connect(&self.root.join(CATALOGUE), read_only, wait)?;
        let whole = Self::with(&self.root, self.settings.clone(), db, wait, held);
        Ok(Self { read_only, full: self.full, ..whole })
    }

    /// True where nothing can be changed.
    pub fn read_only(&self) -> bool {
        self.read_only
    }

    /// One change: everything in it happens, or nothing. Waits for another writer, then says that it is busy.
    pub(crate) fn write(&self) -> Result<Transaction<'_>, StudyError> {
        match (self.read_only, self.full) {
            (true, true) => return Err(StudyError::Full),
            (true, false) => return Err(StudyError::ReadOnly(self.root.clone())),
            (false, _) => {}
        }
        let begun = Transaction::new_unchecked(&self.db, TransactionBehavior::Immediate);
        begun.map_err(|e| StudyError::from(e).after(self.wait.get()))
    }

    /// Does something that waits no longer than so for others.
    pub(crate) fn waiting<T>(
        &self,
        at_most: Duration,
        act: impl FnOnce() -> Result<T, StudyError>,
    ) -> Result<T, StudyError> {
        let usual = self.wait.get();
        let set = |wait: Duration| {
            self.wait.set(wait);
            self.db.busy_timeout(wait)
        };
        set(at_most.min(usual))?;
        let done = act();
        set(usual)?;
        done
    }

    /// One look: everything read while it is held is of one instant. Within another look or a change, it is part of that.
    pub(crate) fn read(&self) -> Result<Look<'_>, StudyError> {
        let alone = self.db.is_autocommit();
        let begin = || Transaction::new_unchecked(&self.db, TransactionBehavior::Deferred);
        Ok(Look { db: &self.db, _whole: alone.then(begin).transpose()? })
    }

    /// Held while files are placed: sweeping waits. Waits for another program that sweeps, then says that it is busy.
    pub(crate) fn placing(&self) -> Result<File, StudyError> {
        let (file, path) = self.lock_file()?;
        let wait = self.wait.get();
        match share(&file, wait) {
            Ok(true) => Ok(file),
            Ok(false) => Err(StudyError::Busy { waited_s: wait.as_secs() }),
            Err(e) => Err(StudyError::io("lock", &path)(e)),
        }
    }

    /// Held while files are swept; `None` while another program places some.
    pub(crate) fn sweeping(&self) -> Result<Option<File>, StudyError> {
        let (file, path) = self.lock_file()?;
        match file.try_lock() {
            Ok(()) => Ok(Some(file)),
            Err(std::fs::TryLockError::WouldBlock) => Ok(None),
            Err(std::fs::TryLockError::Error(e)) => Err(StudyError::io("lock", &path)(e)),
        }
    }

    fn lock_file(&self) -> Result<(File, PathBuf), StudyError> {
        let path = self.root.join(LOCK);
        let open = File::options().create(true).truncate(false).write(true).open(&path);
        open.map(|f| (f, path.clone())).map_err(StudyError::io("open", &path))
    }

    /// Files that a committed change has let go of.
    pub(crate) fn removals(&self) -> Result<Vec<String>, StudyError> {
        let mut places = self.removal_rows()?;
        places.retain(|place| keep::ours(place));
        Ok(places)
    }

    /// Rows that ask for the removal of what is not the study's: no Underfoot wrote them, and nothing is done for them.
    pub(crate) fn foreign_removals(&self) -> Result<Vec<String>, StudyError> {
        let mut places = self.removal_rows()?;
        places.retain(|place| !keep::ours(place));
        Ok(places)
    }

    fn removal_rows(&self) -> Result<Vec<String>, StudyError> {
        let mut ask = self.db.prepare_cached("SELECT path FROM removal ORDER BY path")?;
        Ok(ask.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?)
    }

    /// Removes the files that a committed change has let go of. What cannot be removed now is left for the next time.
    pub(crate) fn finish_removals(&self) -> Result<(), StudyError> {
        if self.removals()?.is_empty() {
            return Ok(());
        }
        // While another program places files, one of these may be on its way back. So the list that counts is the one
        // that is read when nobody does.
        let Some(_alone) = self.sweeping()? else { return Ok(()) };
        let places = self.removals()?;
        let mut gone = Vec::with_capacity(places.len());
        for place in places {
            if keep::remove(&self.root, &place).is_ok() {
                gone.push(place);
            }
        }
        let transaction = self.write()?;
        for place in &gone {
            transaction.prepare_cached("DELETE FROM removal WHERE path = ?1")?.execute([place])?;
        }
        Ok(transaction.commit()?)
    }
}

const HEAD: &str = "\
# A study of Underfoot. What stands here holds for all of its measurements; after a change, `underfoot study rebuild`
# measures again what depends on it.
";

pub(crate) fn read_settings(root: &Path) -> Result<StudySettings, StudyError> {
    let path = root.join(SETTINGS);
    let text = match std::fs::read_to_string(&path) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
            return Err(StudyError::NoStudy(root.to_path_buf()));
        }
        read => read.map_err(StudyError::io("read", &path))?,
    };
    let settings: StudySettings = toml::from_str(&text).map_err(|e| StudyError::Settings {
        path: path.clone(),
        why: e.to_string().trim().replace('\n', " "),
    })?;
    settings.point()?;
    Ok(settings)
}

/// What is said of a catalogue with nothing in it. A study is made with its catalogue: such a one was cut short, and is not
/// begun again, which would make an empty study of it.
pub(crate) const EMPTY: &str = "catalogue.sqlite is empty";

/// Errors: a catalogue's file without a byte. To be asked before it is opened: that would write to it.
pub(crate) fn not_empty(catalogue: &Path) -> Result<(), StudyError> {
    match std::fs::metadata(catalogue).is_ok_and(|m| m.len() == 0) {
        true => Err(StudyError::Damaged(EMPTY.into())),
        false => Ok(()),
    }
}

/// Errors: a catalogue that has had no step of the layout.
pub(crate) fn begun(db: &Connection) -> Result<(), StudyError> {
    match schema::version(db)? {
        0 => Err(StudyError::Damaged(EMPTY.into())),
        _ => Ok(()),
    }
}

/// Names of a catalogue that is being made beside the one there is.
pub(crate) fn unfinished_names() -> [String; 4] {
    ["", "-wal", "-shm", "-journal"].map(|end| format!("{}{CATALOGUE}{end}", keep::UNFINISHED))
}

/// Whether a study can be begun in a folder: it is not there, empty, or holds no more than a beginning that was cut short.
fn may_begin(root: &Path) -> bool {
    let Ok(entries) = root.read_dir() else { return true };
    let ours = |name: &str| {
        [keep::ORIGINALS, keep::DERIVED, LOCK, OPEN].contains(&name)
            || name.starts_with(CATALOGUE)
            || name.starts_with(keep::UNFINISHED)
    };
    let empty = |folder: &str| keep::all(root, folder).is_ok_and(|files| files.is_empty());
    entries.flatten().all(|entry| ours(&entry.file_name().to_string_lossy()))
        && empty(keep::ORIGINALS)
        && empty(keep::DERIVED)
}

/// Says that the study is open. Waits while another program exchanges its catalogue.
fn hold(root: &Path, read_only: bool) -> Result<Option<File>, StudyError> {
    let path = root.join(OPEN);
    let file = match read_only {
        // Where nothing can be written, nothing is exchanged either.
        true => match File::open(&path) {
            Ok(file) => file,
            Err(_) => return Ok(None),
        },
        false => File::options()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&path)
            .map_err(StudyError::io("open", &path))?,
    };
    match share(&file, WAIT) {
        Ok(true) => Ok(Some(file)),
        Ok(false) => Err(StudyError::InUse(root.to_path_buf())),
        Err(_) if read_only => Ok(None),
        Err(e) => Err(StudyError::io("lock", &path)(e)),
    }
}

/// Locks a file together with others; false where somebody has it alone for longer than is waited.
fn share(file: &File, wait: Duration) -> std::io::Result<bool> {
    let begin = std::time::Instant::now();
    loop {
        match file.try_lock_shared() {
            Ok(()) => return Ok(true),
            Err(std::fs::TryLockError::Error(e)) => return Err(e),
            Err(std::fs::TryLockError::WouldBlock) if begin.elapsed() < wait => {
                std::thread::sleep(Duration::from_millis(20));
            }
            Err(std::fs::TryLockError::WouldBlock) => return Ok(false),
        }
    }
}

/// Held while the catalogue is exchanged.
///
/// Errors: [`StudyError::InUse`] where any program, this one too, has the study open.
pub(crate) fn alone(root: &Path) -> Result<File, StudyError> {
    let path = root.join(OPEN);
    let open = File::options().create(true).truncate(false).write(true).open(&path);
    let file = open.map_err(StudyError::io("open", &path))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(std::fs::TryLockError::WouldBlock) => Err(StudyError::InUse(root.to_path_buf())),
        Err(std::fs::TryLockError::Error(e)) => Err(StudyError::io("lock", &path)(e)),
    }
}

/// Whether a file can be made in the folder, tried on the lock's own file, and whether the catalogue may be written.
fn may_write(root: &Path) -> bool {
    let lock = root.join(LOCK);
    File::options().create(true).truncate(false).write(true).open(lock).is_ok()
        && File::options().write(true).open(root.join(CATALOGUE)).is_ok()
}

/// Opens a catalogue for reading, and reads something of it.
fn look_at(path: &Path, how: &str, wait: Duration) -> Result<Connection, StudyError> {
    let mut address = String::from("file:");
    for byte in path.to_string_lossy().bytes() {
        match byte {
            b'/' | b'.' | b'-' | b'_' | b'0'..=b'9' | b'a'..=b'z' | b'A'..=b'Z' => {
                address.push(char::from(byte));
            }
            other => address.push_str(&format!("%{other:02X}")),
        }
    }
    let db = Connection::open_with_flags(
        format!("{address}?{how}"),
        OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI | OpenFlags::SQLITE_OPEN_NO_MUTEX,
    )?;
    db.busy_timeout(wait)?;
    schema::version(&db)?;
    Ok(db)
}

/// Opens a catalogue with everything the study relies on switched on.
pub(crate) fn connect(path: &Path, read_only: bool, wait: Duration) -> Result<Connection, StudyError> {
    let db = if read_only {
        // A log beside the catalogue cannot be read without writing; without one, the file is all there is.
        let log = path.with_file_name(format!("{CATALOGUE}-wal"));
        let quiet = std::fs::metadata(&log).map_or(true, |m| m.len() == 0);
        // Another user may write what this one cannot: the file is taken as one that stays as it is only where there is no
        // other way.
        match look_at(path, "mode=ro", wait) {
            Err(why) if quiet && !matches!(why, StudyError::Busy { .. }) => {
                look_at(path, "immutable=1", wait)?
            }
            opened => opened?,
        }
    } else {
        let db = Connection::open(path)?;
        db.busy_timeout(wait)?;
        // WAL: readers and a writer side by side. FULL: what is committed survives the power failing.
        db.pragma_update(None, "journal_mode", "wal")?;
        db.pragma_update(None, "synchronous", "full")?;
        // What is deleted is written over with zeros.
        db.pragma_update(None, "secure_delete", "on")?;
        db
    };
    db.busy_timeout(wait)?;
    db.pragma_update(None, "foreign_keys", "on")?;
    db.pragma_update(None, "cache_size", -64 * 1024)?;
    db.pragma_update(None, "temp_store", "memory")?;
    db.set_prepared_statement_cache_capacity(64);
    Ok(db)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    fn empty(root: &Path) -> Study {
        Study::create(root, &StudySettings::named("invented")).unwrap()
    }

    #[test]
    fn a_sweep_is_not_waited_for_without_end() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path().join("study");
        let sweeper = empty(&root);
        let swept = sweeper.sweeping().unwrap().unwrap();
        let other = Study::open_waiting(&root, Duration::from_millis(60)).unwrap();
        assert!(matches!(other.placing(), Err(StudyError::Busy { .. })));
        drop(swept);
        let placing = other.placing().unwrap();
        assert!(sweeper.sweeping().unwrap().is_none());
        drop((placing, other));
    }

    /// One who can only read sees what another writes meanwhile.
    #[test]
    fn reading_alone_follows_a_writer() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path().join("study");
        let writer = empty(&root);
        writer.db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
        let log = root.join(format!("{CATALOGUE}-wal"));
        assert_eq!(std::fs::metadata(log).unwrap().len(), 0, "nothing under way");
        let reader = Study::open_to_read(&root, writer.settings.clone(), false).unwrap();
        for name in ["P01", "P02"] {
            writer.add_player(&crate::Player::called(name), None).unwrap();
        }
        let told: Vec<String> = reader.players().unwrap().into_iter().map(|p| p.alias).collect();
        assert_eq!(told, ["P01", "P02"]);
    }

    #[test]
    fn opening_waits_for_nobody() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path().join("study");
        let busy = empty(&root);
        busy.db.execute("INSERT INTO removal VALUES ('derived/ab/x.parquet')", []).unwrap();
        let change = busy.write().unwrap();
        let begin = std::time::Instant::now();
        let opened = Study::open(&root).unwrap();
        assert!(begin.elapsed() < Duration::from_secs(2), "{:?}", begin.elapsed());
        assert_eq!(opened.removals().unwrap().len(), 1, "left for the next time");
        // What comes after waits as long as it did.
        let ask =
            |study: &Study| study.db.query_row("PRAGMA busy_timeout", [], |r| r.get::<_, i64>(0)).unwrap();
        assert_eq!((opened.wait.get(), ask(&opened)), (WAIT, WAIT.as_millis() as i64));
        drop(change);
        let short = Study::open_waiting(&root, Duration::from_millis(30)).unwrap();
        assert!(short.removals().unwrap().is_empty());
        short.vacuum(false).unwrap();
        assert_eq!(ask(&short), 30);
    }
}
