//! What can go wrong with a study: what and where. What to do is the face's to say.
use std::path::{Path, PathBuf};

/// Why something could not be done. Nothing has been changed where it is given.
#[derive(Debug, thiserror::Error)]
pub enum StudyError {
    /// The folder holds no study.
    #[error("{} is no study: it has no study.toml", .0.display())]
    NoStudy(PathBuf),
    /// A new study would lie over something.
    #[error("{} is already there and not empty", .0.display())]
    Occupied(PathBuf),
    /// A newer program has written it.
    #[error(
        "the study was written by a newer Underfoot: its catalogue has version {found}, this program knows {known}"
    )]
    Newer {
        /// Version found.
        found: i64,
        /// Newest version known.
        known: i64,
    },
    /// Another program is writing.
    #[error("another program is writing to this study, and did not finish within {waited_s} s")]
    Busy {
        /// How long was waited, s.
        waited_s: u64,
    },
    /// Another program has it open.
    #[error("another program has the study in {} open", .0.display())]
    InUse(PathBuf),
    /// It can only be read.
    #[error("the study in {} can be read but not changed", .0.display())]
    ReadOnly(PathBuf),
    /// The disk is full.
    #[error("the disk is full")]
    Full,
    /// A page of the catalogue is damaged.
    #[error("the catalogue is damaged: {0}")]
    Damaged(String),
    /// A file or folder.
    #[error("cannot {act} {}: {error}", .path.display())]
    Io {
        /// "read", "write", "make".
        act: &'static str,
        /// Which.
        path: PathBuf,
        /// Why.
        error: std::io::Error,
    },
    /// `study.toml`.
    #[error("{}: {why}", .path.display())]
    Settings {
        /// The file.
        path: PathBuf,
        /// The reader's words.
        why: String,
    },
    /// Nothing has this name or number.
    #[error("there is no {kind} \"{name}\"{near}")]
    Unknown {
        /// "player", "rig", "session", "swing"…
        kind: &'static str,
        /// As asked.
        name: String,
        /// "; did you mean …?", or nothing.
        near: String,
    },
    /// Something has this name.
    #[error("there is already a {kind} \"{name}\"")]
    Exists {
        /// "player", "rig".
        kind: &'static str,
        /// As asked.
        name: String,
    },
    /// A value that cannot be.
    #[error("{0}")]
    Refused(String),
    /// A table that a person gave: a manifest, outcomes.
    #[error("{}: {why}", place(.file, *.line, .column.as_deref()))]
    Sheet {
        /// Name of the file.
        file: String,
        /// Line, from 1.
        line: Option<u64>,
        /// Column, by its head.
        column: Option<String>,
        /// What is wrong there.
        why: String,
    },
    /// Anything else the database says.
    #[error("the catalogue: {}", words(.0))]
    Database(rusqlite::Error),
    /// A result that cannot be written.
    #[error("{0}")]
    Bug(String),
}

impl StudyError {
    /// An error of a file.
    pub fn io(act: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.to_path_buf();
        move |error| match error.kind() {
            std::io::ErrorKind::StorageFull | std::io::ErrorKind::QuotaExceeded => Self::Full,
            std::io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly(path),
            _ => Self::Io { act, path, error },
        }
    }
    /// Nothing has this name.
    pub fn unknown(kind: &'static str, name: impl Into<String>) -> Self {
        Self::Unknown { kind, name: name.into(), near: String::new() }
    }
    /// The same; a busy study knows how long was waited.
    pub(crate) fn after(self, wait: std::time::Duration) -> Self {
        match self {
            Self::Busy { .. } => Self::Busy { waited_s: wait.as_secs() },
            other => other,
        }
    }
}

/// "outcomes.csv, line 3, column "Carry"".
fn place(file: &str, line: Option<u64>, column: Option<&str>) -> String {
    let line = line.map_or_else(String::new, |n| format!(", line {n}"));
    let column = column.map_or_else(String::new, |c| format!(", column \"{c}\""));
    format!("{file}{line}{column}")
}

/// What the database says, without the question it was asked: that may be as long as a list of all swings.
fn words(error: &rusqlite::Error) -> String {
    match error {
        rusqlite::Error::SqlInputError { msg, .. } => msg.clone(),
        other => other.to_string(),
    }
}

/// How long a program waits for another one that writes, s.
pub const WAIT_S: u64 = 10;

/// The same, as a span.
pub const WAIT: std::time::Duration = std::time::Duration::from_secs(WAIT_S);

impl From<rusqlite::Error> for StudyError {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as Code;
        match error.sqlite_error_code() {
            Some(Code::DatabaseBusy | Code::DatabaseLocked) => Self::Busy { waited_s: WAIT_S },
            Some(Code::DiskFull) => Self::Full,
            Some(Code::DatabaseCorrupt | Code::NotADatabase) => Self::Damaged(words(&error)),
            // The index of the log is a file as well, and grows when a study is opened.
            _ if extended(&error) == Some(rusqlite::ffi::SQLITE_IOERR_SHMSIZE) => Self::Full,
            Some(Code::ReadOnly) => Self::ReadOnly(PathBuf::new()),
            _ => Self::Database(error),
        }
    }
}

fn extended(error: &rusqlite::Error) -> Option<i32> {
    match error {
        rusqlite::Error::SqliteFailure(code, _) => Some(code.extended_code),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    #[test]
    fn the_question_is_not_in_the_error() {
        let db = rusqlite::Connection::open_in_memory().unwrap();
        let error = StudyError::from(db.prepare("SELECT 1 FROM nowhere WHERE long IN (1,2,3)").unwrap_err());
        assert_eq!(error.to_string(), "the catalogue: no such table: nowhere");
    }
}
