//! What is known of files from before: table `watched`. A file that is unchanged is not read again, whatever came of it.
use super::pending::Seen;
use crate::error::StudyError;
use crate::study::Study;
use rusqlite::{Connection, params};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// What came of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// It is this swing.
    Swing(i64),
    /// It could not be taken in: by which session it was tried, and with what.
    Failed { why: String, session: i64, tried: String },
    /// It is older than the session. Not written down.
    Left,
}

/// Files as they were, by path.
#[derive(Debug, Default)]
pub struct Memory(pub BTreeMap<PathBuf, (Seen, Outcome)>);

impl Memory {
    /// What is known of a folder's files.
    pub fn of(study: &Study, folder: &Path) -> Result<Self, StudyError> {
        let first = format!("{}{}", folder.display(), std::path::MAIN_SEPARATOR);
        let last = format!("{first}{}", char::MAX);
        let mut ask = study.db.prepare_cached(
            "SELECT path, bytes, modified, state, swing, session, tried FROM watched WHERE path >= ?1 AND path < ?2",
        )?;
        let mut rows = ask.query(params![first, last])?;
        let mut known = BTreeMap::new();
        while let Some(r) = rows.next()? {
            let (path, bytes, modified): (String, i64, String) = (r.get(0)?, r.get(1)?, r.get(2)?);
            let Some(modified) = instant(&modified) else { continue };
            let seen = Seen { bytes: u64::try_from(bytes).unwrap_or(0), modified };
            let outcome = match r.get(4)? {
                Some(swing) => Outcome::Swing(swing),
                None => Outcome::Failed {
                    why: r.get(3)?,
                    session: r.get::<_, Option<i64>>(5)?.unwrap_or(0),
                    tried: r.get::<_, Option<String>>(6)?.unwrap_or_default(),
                },
            };
            known.insert(PathBuf::from(path), (seen, outcome));
        }
        Ok(Self(known))
    }

    /// Whether a file is as it was.
    pub fn knows(&self, path: &Path, seen: Seen) -> bool {
        self.0.get(path).is_some_and(|(then, _)| *then == seen)
    }

    /// The swing that a file was.
    pub fn swing(&self, path: &Path) -> Option<i64> {
        match self.0.get(path) {
            Some((_, Outcome::Swing(swing))) => Some(*swing),
            _ => None,
        }
    }

    /// Forgets the failures of a session that were tried with something else.
    pub fn forget_failures(&mut self, of: i64, now: &str) {
        self.0.retain(|_, (_, outcome)| match outcome {
            Outcome::Failed { session, tried, .. } => *session != of || tried == now,
            _ => true,
        });
    }
}

/// An instant as it is kept.
pub fn instant(text: &str) -> Option<SystemTime> {
    SystemTime::try_from(text.parse::<jiff::Timestamp>().ok()?).ok()
}

/// Writes down what came of a file.
pub fn write(db: &Connection, path: &Path, seen: Seen, outcome: &Outcome) -> Result<(), StudyError> {
    let (state, swing, session, tried) = match outcome {
        Outcome::Swing(swing) => ("kept", Some(*swing), None, None),
        Outcome::Failed { why, session, tried } => (why.as_str(), None, Some(*session), Some(tried.as_str())),
        Outcome::Left => return Ok(()),
    };
    let modified = jiff::Timestamp::try_from(seen.modified).map(|t| t.to_string()).unwrap_or_default();
    let path = path.display().to_string();
    db.prepare_cached("INSERT OR REPLACE INTO watched VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)")?
        .execute(params![path, seen.bytes as i64, modified, state, swing, session, tried])?;
    Ok(())
}
