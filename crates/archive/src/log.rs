//! Who changed what, when: one row beside every change, in its transaction.
use crate::error::StudyError;
use crate::study::Study;
use rusqlite::{Connection, params};
use serde::Serialize;

/// This program, as it stands beside results and changes.
pub const PROGRAM: &str = concat!("underfoot ", env!("CARGO_PKG_VERSION"));

/// The clock, as it is written: UTC, to the millisecond. Nothing is ordered by it, so that one set back does no harm.
#[allow(clippy::disallowed_methods)] // above the line: the archive may look at the clock
pub fn now() -> String {
    jiff::Timestamp::now().strftime("%Y-%m-%dT%H:%M:%S%.3fZ").to_string()
}

/// What a change is about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct About {
    /// Player.
    pub player: Option<i64>,
    /// Session.
    pub session: Option<i64>,
    /// Swing.
    pub swing: Option<i64>,
}

/// Writes the row of a change.
pub(crate) fn note(
    db: &Connection,
    what: &str,
    about: About,
    before: Option<&str>,
    after: Option<&str>,
) -> Result<i64, StudyError> {
    db.prepare_cached(
        "INSERT INTO change (at, program, what, player, session, swing, before, after)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    )?
    .execute(params![now(), PROGRAM, what, about.player, about.session, about.swing, before, after])?;
    Ok(db.last_insert_rowid())
}

/// A change that was made.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Change {
    /// In the order in which they happened.
    pub id: i64,
    /// When, by the clock of the machine.
    pub at: String,
    /// The program.
    pub program: String,
    /// What was done: "event set", "swing imported"…
    pub what: String,
    /// Player, where it is about one.
    pub player: Option<i64>,
    /// Session, where it is about one.
    pub session: Option<i64>,
    /// Swing, where it is about one.
    pub swing: Option<i64>,
    /// Before, as JSON or a word.
    pub before: Option<String>,
    /// After.
    pub after: Option<String>,
}

impl Study {
    /// Changes after one of them (0: all), at most `most`, in order. What other programs follow a study by.
    pub fn changes_since(&self, after: i64, most: usize) -> Result<Vec<Change>, StudyError> {
        let mut ask = self.db.prepare_cached(
            "SELECT id, at, program, what, player, session, swing, before, after FROM change
             WHERE id > ?1 ORDER BY id LIMIT ?2",
        )?;
        let rows = ask.query_map(params![after, most as i64], change)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Changes of one swing, in order.
    pub fn changes_of_swing(&self, swing: i64) -> Result<Vec<Change>, StudyError> {
        let mut ask = self.db.prepare_cached(
            "SELECT id, at, program, what, player, session, swing, before, after FROM change
             WHERE swing = ?1 ORDER BY id",
        )?;
        let rows = ask.query_map([swing], change)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

fn change(row: &rusqlite::Row<'_>) -> rusqlite::Result<Change> {
    Ok(Change {
        id: row.get(0)?,
        at: row.get(1)?,
        program: row.get(2)?,
        what: row.get(3)?,
        player: row.get(4)?,
        session: row.get(5)?,
        swing: row.get(6)?,
        before: row.get(7)?,
        after: row.get(8)?,
    })
}
