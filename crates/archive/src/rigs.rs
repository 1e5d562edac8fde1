//! Rigs: rig files as they were given, version by version, and which of them a session is read by.
use crate::again::behind;
use crate::error::StudyError;
use crate::keep;
use crate::log::{About, note, now};
use crate::people::{key, near};
use crate::study::Study;
use formats::rigfile::{self, RigFile};
use rusqlite::{Connection, OptionalExtension as _, params};
use serde::Serialize;

/// A version of a rig.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RigVersion {
    /// Number in the study.
    pub id: i64,
    /// The rig.
    pub rig: i64,
    /// Its name.
    pub name: String,
    /// Version, from 1.
    pub version: i64,
    /// First day it holds; empty: since ever.
    pub from_date: String,
    /// The rig file.
    #[serde(skip)]
    pub text: String,
    /// SHA-256 of the text.
    pub hash: String,
    /// When it was added.
    pub added_at: String,
}

impl RigVersion {
    /// The rig file, read.
    pub fn file(&self) -> Result<RigFile, StudyError> {
        let name = format!("{} (version {})", self.name, self.version);
        rigfile::parse(&name, &self.text).map_err(|e| StudyError::Refused(e.to_string()))
    }
}

/// What a new version of a rig is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Since {
    /// The first version of a new rig.
    New,
    /// The bay as it stands from a day on: sessions before it keep the version they have.
    From(String),
    /// The same bay described better: takes the place of the newest version, for every session that had it.
    Corrects,
}

const COLUMNS: &str = "v.id, v.rig, r.name, v.version, v.from_date, v.text, v.hash, v.added_at";

fn version(row: &rusqlite::Row<'_>) -> rusqlite::Result<RigVersion> {
    Ok(RigVersion {
        id: row.get(0)?,
        rig: row.get(1)?,
        name: row.get(2)?,
        version: row.get(3)?,
        from_date: row.get(4)?,
        // Bytes that are no text any more are for its hash to find.
        text: String::from_utf8_lossy(row.get_ref(5)?.as_bytes().unwrap_or_default()).into_owned(),
        hash: row.get(6)?,
        added_at: row.get(7)?,
    })
}

/// Of versions in the order of their numbers, the one that holds on a day: among those that hold, the latest beginning,
/// and of equal beginnings the newest. A session without a day takes the newest beginning of all.
pub fn holding<'a>(versions: &'a [RigVersion], date: Option<&str>) -> Option<&'a RigVersion> {
    let holds = |v: &&RigVersion| date.is_none_or(|d| v.from_date.as_str() <= d);
    versions.iter().filter(holds).max_by(|a, b| (&a.from_date, a.version).cmp(&(&b.from_date, b.version)))
}

impl Study {
    /// Adds a rig, or a version of one; gives the version. Sessions it touches are due to be measured again.
    pub fn add_rig(&self, name: &str, text: &str, since: &Since) -> Result<RigVersion, StudyError> {
        rigfile::parse(name, text).map_err(|e| StudyError::Refused(e.to_string()))?;
        if name.trim().is_empty() {
            return Err(StudyError::Refused("a rig needs a name".into()));
        }
        let change = self.write()?;
        if *since == Since::Corrects
            && let Some(version) = put_back(&change, name, text)?
        {
            change.commit()?;
            return Ok(version);
        }
        let found: Option<i64> = change
            .query_row("SELECT id FROM rig WHERE name_key = ?1", [key(name)], |r| r.get(0))
            .optional()?;
        let (rig, number, from_date) = match (found, since) {
            (Some(_), Since::New) => return Err(StudyError::Exists { kind: "rig", name: name.to_string() }),
            (None, Since::New) => {
                change.execute(
                    "INSERT INTO rig (name, name_key) VALUES (?1, ?2)",
                    params![name.trim(), key(name)],
                )?;
                (change.last_insert_rowid(), 1, String::new())
            }
            (None, _) => return Err(StudyError::unknown("rig", name)),
            (Some(rig), since) => {
                let (number, from_date): (i64, String) = change.query_row(
                    "SELECT version, from_date FROM rig_version WHERE rig = ?1 ORDER BY version DESC LIMIT 1",
                    [rig],
                    |r| Ok((r.get(0)?, r.get(1)?)),
                )?;
                match since {
                    Since::From(day) => (rig, number + 1, crate::date::day(day)?),
                    _ => (rig, number + 1, from_date),
                }
            }
        };
        change.execute(
            "INSERT INTO rig_version (rig, version, from_date, text, hash, added_at) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![rig, number, from_date, text, keep::hash(text.as_bytes()), now()],
        )?;
        let id = change.last_insert_rowid();
        let after = format!("{} version {number}", name.trim());
        note(&change, "rig added", About::default(), None, Some(&after))?;
        if number > 1 {
            behind(&change)?;
        }
        change.commit()?;
        let ask = format!("SELECT {COLUMNS} FROM rig_version v JOIN rig r ON r.id = v.rig WHERE v.id = ?1");
        Ok(self.db.query_row(&ask, [id], version)?)
    }

    /// Versions of a rig in the order of their numbers; the error names the nearest rig there is.
    pub fn rig_called(&self, name: &str) -> Result<Vec<RigVersion>, StudyError> {
        let all = self.rigs()?;
        let wanted = key(name);
        let found: Vec<RigVersion> = all.iter().filter(|v| key(&v.name) == wanted).cloned().collect();
        if found.is_empty() {
            return Err(near("rig", name, all.iter().map(|v| v.name.as_str())));
        }
        Ok(found)
    }

    /// Every version of every rig, by rig and version.
    pub fn rigs(&self) -> Result<Vec<RigVersion>, StudyError> {
        let ask = format!(
            "SELECT {COLUMNS} FROM rig_version v JOIN rig r ON r.id = v.rig ORDER BY r.name_key, v.version"
        );
        let mut ask = self.db.prepare_cached(&ask)?;
        let rows = ask.query_map([], version)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

/// Puts the text of a version back that was altered or lost, where this is the very text: no new version, nothing to measure
/// again.
fn put_back(change: &Connection, name: &str, text: &str) -> Result<Option<RigVersion>, StudyError> {
    let ask = format!(
        "SELECT {COLUMNS} FROM rig_version v JOIN rig r ON r.id = v.rig WHERE r.name_key = ?1 AND v.hash = ?2
         ORDER BY v.version DESC LIMIT 1"
    );
    let hash = keep::hash(text.as_bytes());
    let found = change.query_row(&ask, params![key(name), hash], version).optional()?;
    let Some(altered) = found.filter(|v| keep::hash(v.text.as_bytes()) != hash) else { return Ok(None) };
    change.execute("UPDATE rig_version SET text = ?2 WHERE id = ?1", params![altered.id, text])?;
    let after = format!("{} version {}", altered.name, altered.version);
    note(change, "rig put back", About::default(), None, Some(&after))?;
    Ok(Some(RigVersion { text: text.to_string(), ..altered }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn since(version: i64, from_date: &str) -> RigVersion {
        RigVersion {
            id: version,
            rig: 1,
            name: "bay".into(),
            version,
            from_date: from_date.into(),
            text: String::new(),
            hash: String::new(),
            added_at: String::new(),
        }
    }

    #[test]
    fn a_session_is_read_by_the_version_of_its_day() {
        let versions = [since(1, ""), since(2, "2026-03-01"), since(3, "2026-03-01"), since(4, "2025-01-01")];
        let of = |day: Option<&str>| holding(&versions, day).map(|v| v.version);
        assert_eq!(of(Some("2024-12-31")), Some(1));
        assert_eq!(of(Some("2025-01-01")), Some(4));
        assert_eq!(of(Some("2026-02-28")), Some(4));
        assert_eq!(of(Some("2026-03-01")), Some(3), "a correction takes the place of what it corrects");
        assert_eq!(of(None), Some(3));
    }
}
