//! Sessions: one player, one day, one rig.
use crate::again::behind;
use crate::error::StudyError;
use crate::log::{About, note, now};
use crate::people::changed_meanwhile;
use crate::study::Study;
use mechanics::Target;
use rusqlite::{Connection, OptionalExtension as _, Row, params};
use serde::{Deserialize, Serialize};

/// A session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Session {
    /// Number in the study; 0 for one that is not in it yet.
    pub id: i64,
    /// The player's number.
    pub player: i64,
    /// Day, where known.
    pub date: Option<String>,
    /// The rig's number; `None`: the recordings describe their plates themselves.
    pub rig: Option<i64>,
    /// Target, as `--target` takes it; `None`: the rig's.
    pub target: Option<String>,
    /// Body mass on that day, kg.
    pub mass_kg: Option<f64>,
    /// Label of the marker on the clubhead.
    pub club_marker: Option<String>,
    /// Where.
    pub place: String,
    /// Free text.
    pub note: String,
}

impl Session {
    /// A player's session, nothing else said.
    pub fn of(player: i64) -> Self {
        Self {
            id: 0,
            player,
            date: None,
            rig: None,
            target: None,
            mass_kg: None,
            club_marker: None,
            place: String::new(),
            note: String::new(),
        }
    }
}

const COLUMNS: &str = "id, player, date, rig, target, mass_kg, club_marker, place, note";

fn session(row: &Row<'_>) -> rusqlite::Result<Session> {
    Ok(Session {
        id: row.get(0)?,
        player: row.get(1)?,
        date: row.get(2)?,
        rig: row.get(3)?,
        target: row.get(4)?,
        mass_kg: row.get(5)?,
        club_marker: row.get(6)?,
        place: row.get(7)?,
        note: row.get(8)?,
    })
}

fn as_text(session: &Session) -> Result<String, StudyError> {
    serde_json::to_string(session).map_err(|e| StudyError::Bug(e.to_string()))
}

impl Study {
    /// Adds a session; gives its number.
    pub fn add_session(&self, session: &Session) -> Result<i64, StudyError> {
        let whole = checked(session)?;
        let change = self.write()?;
        self.player(whole.player)?;
        let id = insert(&change, &whole)?;
        change.commit()?;
        Ok(id)
    }

    /// The newest session of a player and day that agrees with everything else that is stated, added where there is none:
    /// one change, so that two programs do not both add it. True where it is new.
    pub fn session_on(&self, stated: &Session) -> Result<(Session, bool), StudyError> {
        let whole = checked(stated)?;
        let change = self.write()?;
        self.player(whole.player)?;
        let agrees = |s: &Session| {
            s.date == whole.date
                && (whole.rig.is_none() || s.rig == whole.rig)
                && (whole.target.is_none() || s.target == whole.target)
                && (whole.mass_kg.is_none() || s.mass_kg == whole.mass_kg)
                && (whole.club_marker.is_none() || s.club_marker == whole.club_marker)
        };
        let there = self.sessions(Some(whole.player))?;
        if let Some(session) = there.into_iter().filter(agrees).max_by_key(|s| s.id) {
            return Ok((session, false));
        }
        let id = insert(&change, &whole)?;
        change.commit()?;
        Ok((Session { id, ..whole }, true))
    }

    /// Writes a session's row anew, which was `before` when that was decided. Where day, rig, target, mass, marker or player
    /// change, its swings are due to be measured again.
    ///
    /// Errors: another program has changed or deleted the session, or deleted the player, since.
    pub fn edit_session(&self, before: &Session, session: &Session) -> Result<(), StudyError> {
        let whole = checked(session)?;
        let change = self.write()?;
        if self.session(before.id)? != *before || whole.id != before.id {
            return Err(changed_meanwhile(&format!("session {}", before.id)));
        }
        self.player(whole.player)?;
        change.execute(
            "UPDATE session SET player = ?2, date = ?3, rig = ?4, target = ?5, mass_kg = ?6, club_marker = ?7,
             place = ?8, note = ?9 WHERE id = ?1",
            params![
                whole.id,
                whole.player,
                whole.date,
                whole.rig,
                whole.target,
                whole.mass_kg,
                whole.club_marker,
                whole.place,
                whole.note
            ],
        )?;
        let about = About { player: Some(whole.player), session: Some(whole.id), swing: None };
        note(&change, "session edited", about, Some(&as_text(before)?), Some(&as_text(&whole)?))?;
        // Place and note touch no measurement; everything else may.
        let bare = |s: &Session| Session { place: String::new(), note: String::new(), ..s.clone() };
        if bare(before) != bare(&whole) {
            behind(&change)?;
        }
        Ok(change.commit()?)
    }

    /// Removes a session that has no swing; gives whether it did. What was made for recordings that could not be taken in.
    pub fn remove_empty_session(&self, id: i64) -> Result<bool, StudyError> {
        let change = self.write()?;
        let before = self.session(id)?;
        let ask = "DELETE FROM session WHERE id = ?1 AND NOT EXISTS (SELECT 1 FROM swing WHERE session = ?1)";
        if change.execute(ask, [id])? == 0 {
            return Ok(false);
        }
        let about = About { player: Some(before.player), session: Some(id), swing: None };
        note(&change, "session removed", about, Some(&as_text(&before)?), None)?;
        change.commit()?;
        Ok(true)
    }

    /// A session by number.
    pub fn session(&self, id: i64) -> Result<Session, StudyError> {
        let ask = format!("SELECT {COLUMNS} FROM session WHERE id = ?1");
        let found = self.db.prepare_cached(&ask)?.query_row([id], session).optional()?;
        found.ok_or_else(|| StudyError::unknown("session", id.to_string()))
    }

    /// All sessions, or one player's, by day, then number; those without a day first.
    pub fn sessions(&self, player: Option<i64>) -> Result<Vec<Session>, StudyError> {
        let ask = format!("SELECT {COLUMNS} FROM session WHERE ?1 IS NULL OR player = ?1 ORDER BY date, id");
        let mut ask = self.db.prepare_cached(&ask)?;
        let rows = ask.query_map([player], session)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

/// Puts a session in, with its row of the log.
fn insert(change: &Connection, whole: &Session) -> Result<i64, StudyError> {
    change.execute(
        "INSERT INTO session (player, date, rig, target, mass_kg, club_marker, place, note, added_at)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        params![
            whole.player,
            whole.date,
            whole.rig,
            whole.target,
            whole.mass_kg,
            whole.club_marker,
            whole.place,
            whole.note,
            now()
        ],
    )?;
    let id = change.last_insert_rowid();
    let about = About { player: Some(whole.player), session: Some(id), swing: None };
    note(change, "session added", about, None, None)?;
    Ok(id)
}

/// The session as it is kept.
///
/// Errors: a day, a target or a mass that cannot be.
pub(crate) fn checked(session: &Session) -> Result<Session, StudyError> {
    let mut whole = session.clone();
    whole.date = whole.date.as_deref().map(crate::date::day).transpose()?;
    if let Some(text) = whole.target.as_deref()
        && !text.contains('>')
        && Target::parse(text, &[]).is_none()
    {
        return Err(StudyError::Refused(format!("\"{text}\" is not a target direction")));
    }
    if whole.mass_kg.is_some_and(|kg| !(kg > 0.0 && kg < 500.0)) {
        return Err(StudyError::Refused("a body mass in kilograms, for example 78.5".into()));
    }
    Ok(whole)
}
