//! A study's folder: made, opened, locked.
use crate::error::{StudyError, WAIT_S};
use crate::{keep, schema};
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};
use serde::{Deserialize, Serialize};
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
    /// Makes a study in a folder that is not there yet, or empty.
    pub fn create(root: &Path, settings: &StudySettings) -> Result<Self, StudyError> {
        settings.point()?;
        if root.read_dir().is_ok_and(|mut entries| entries.next().is_some()) {
            return Err(StudyError::Occupied(root.to_path_buf()));
        }
        for folder in [root.to_path_buf(), root.join(keep::ORIGINALS), root.join(keep::DERIVED)] {
            std::fs::create_dir_all(&folder).map_err(StudyError::io("make", &folder))?;
        }
        let mut db = connect(&root.join(CATALOGUE), false)?;
        schema::migrate(&mut db)?;
        // Last, since it is what makes the folder a study.
        let text = toml::to_string(settings).map_err(|e| StudyError::Bug(e.to_string()))?;
        keep::put(root, SETTINGS, format!("{HEAD}{text}").as_bytes(), false)?;
        keep::settle(root, &[SETTINGS.to_string()])?;
        Ok(Self { root: root.to_path_buf(), settings: settings.clone(), db, read_only: false })
    }

    /// Opens a study, taking it to this program's version, and finishes what a crash has left half done. One in a
    /// folder that cannot be written is opened for reading.
    pub fn open(root: &Path) -> Result<Self, StudyError> {
        let settings = read_settings(root)?;
        let catalogue = root.join(CATALOGUE);
        if !catalogue.is_file() {
            let gone = std::io::Error::from(std::io::ErrorKind::NotFound);
            return Err(StudyError::io("find", &catalogue)(gone));
        }
        if !may_write(root) {
            let db = connect(&catalogue, true)?;
            let found = schema::version(&db)?;
            if found != schema::VERSION {
                return Err(match found > schema::VERSION {
                    true => StudyError::Newer { found, known: schema::VERSION },
                    false => StudyError::ReadOnly(root.to_path_buf()),
                });
            }
            return Ok(Self { root: root.to_path_buf(), settings, db, read_only: true });
        }
        let mut db = connect(&catalogue, false)?;
        if schema::migrate(&mut db)? == 0 {
            return Err(StudyError::Damaged(format!("{CATALOGUE} is empty")));
        }
        let study = Self { root: root.to_path_buf(), settings, db, read_only: false };
        study.finish_removals()?;
        Ok(study)
    }

    /// The study a folder lies in: itself, or the nearest above it.
    pub fn around(folder: &Path) -> Option<PathBuf> {
        folder.ancestors().find(|f| f.join(SETTINGS).is_file()).map(Path::to_path_buf)
    }

    /// A second handle, for another thread.
    pub fn again(&self) -> Result<Self, StudyError> {
        let db = connect(&self.root.join(CATALOGUE), self.read_only)?;
        Ok(Self { root: self.root.clone(), settings: self.settings.clone(), db, read_only: self.read_only })
    }

    /// True where nothing can be changed.
    pub fn read_only(&self) -> bool {
        self.read_only
    }

    /// One change: everything in it happens, or nothing. Waits for another writer, then says that it is busy.
    pub(crate) fn write(&self) -> Result<Transaction<'_>, StudyError> {
        if self.read_only {
            return Err(StudyError::ReadOnly(self.root.clone()));
        }
        Ok(Transaction::new_unchecked(&self.db, TransactionBehavior::Immediate)?)
    }

    /// One look: everything read while it is held is of one instant. Within another look or a change, it is part of that.
    pub(crate) fn read(&self) -> Result<Look<'_>, StudyError> {
        let alone = self.db.is_autocommit();
        let begin = || Transaction::new_unchecked(&self.db, TransactionBehavior::Deferred);
        Ok(Look { db: &self.db, _whole: alone.then(begin).transpose()? })
    }

    /// Held while files are placed: sweeping waits.
    pub(crate) fn placing(&self) -> Result<File, StudyError> {
        let (file, path) = self.lock_file()?;
        file.lock_shared().map_err(StudyError::io("lock", &path))?;
        Ok(file)
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

    /// Removes the files that a committed change has let go of. What cannot be removed now is left for the next time.
    pub(crate) fn finish_removals(&self) -> Result<(), StudyError> {
        let mut ask = self.db.prepare("SELECT path FROM removal ORDER BY path")?;
        let places: Vec<String> = ask.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
        drop(ask);
        if places.is_empty() {
            return Ok(());
        }
        // While another program places files, one of these may be on its way back.
        let Some(_alone) = self.sweeping()? else { return Ok(()) };
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

fn read_settings(root: &Path) -> Result<StudySettings, StudyError> {
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

/// Whether a file can be made in the folder, tried on the lock's own file.
fn may_write(root: &Path) -> bool {
    let lock = root.join(LOCK);
    File::options().create(true).truncate(false).write(true).open(lock).is_ok()
}

/// Opens a catalogue with everything the study relies on switched on.
pub(crate) fn connect(path: &Path, read_only: bool) -> Result<Connection, StudyError> {
    let db = if read_only {
        // A log beside the catalogue cannot be read without writing; without one, the file is all there is.
        let log = path.with_file_name(format!("{CATALOGUE}-wal"));
        let quiet = std::fs::metadata(&log).map_or(true, |m| m.len() == 0);
        let mut address = String::from("file:");
        for byte in path.to_string_lossy().bytes() {
            match byte {
                b'/' | b'.' | b'-' | b'_' | b'0'..=b'9' | b'a'..=b'z' | b'A'..=b'Z' => {
                    address.push(char::from(byte));
                }
                other => address.push_str(&format!("%{other:02X}")),
            }
        }
        if quiet {
            address.push_str("?immutable=1");
        }
        Connection::open_with_flags(
            address,
            OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI | OpenFlags::SQLITE_OPEN_NO_MUTEX,
        )?
    } else {
        let db = Connection::open(path)?;
        db.busy_timeout(Duration::from_secs(WAIT_S))?;
        // WAL: readers and a writer side by side. FULL: what is committed survives the power failing.
        db.pragma_update(None, "journal_mode", "wal")?;
        db.pragma_update(None, "synchronous", "full")?;
        // What is deleted is written over with zeros.
        db.pragma_update(None, "secure_delete", "on")?;
        db
    };
    db.busy_timeout(Duration::from_secs(WAIT_S))?;
    db.pragma_update(None, "foreign_keys", "on")?;
    db.pragma_update(None, "cache_size", -64 * 1024)?;
    db.pragma_update(None, "temp_store", "memory")?;
    db.set_prepared_statement_cache_capacity(64);
    Ok(db)
}
