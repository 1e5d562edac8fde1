//! The session that a lesson's swings come into.
use super::memory::instant;
use crate::date;
use crate::error::StudyError;
use crate::sessions::Session;
use crate::study::Study;
use rusqlite::OptionalExtension as _;
use std::time::SystemTime;

impl Study {
    /// Today's session of a player: the newest that agrees with everything that is stated, else a new one; true where it
    /// was made. The day of `wanted` is not looked at.
    pub fn session_today(&self, wanted: &Session) -> Result<(Session, bool), StudyError> {
        let wanted = Session { date: Some(date::today()), ..wanted.clone() };
        let agrees = |s: &&Session| {
            s.date == wanted.date
                && (wanted.rig.is_none() || s.rig == wanted.rig)
                && (wanted.target.is_none() || s.target == wanted.target)
                && (wanted.mass_kg.is_none() || s.mass_kg == wanted.mass_kg)
        };
        let there = self.sessions(Some(wanted.player))?;
        if let Some(session) = there.iter().filter(agrees).max_by_key(|s| s.id) {
            return Ok((session.clone(), false));
        }
        let id = self.add_session(&wanted)?;
        Ok((self.session(id)?, true))
    }

    /// When a session was made, by the clock of the machine that made it.
    pub fn session_made(&self, session: i64) -> Result<Option<SystemTime>, StudyError> {
        let ask = "SELECT added_at FROM session WHERE id = ?1";
        let made: Option<String> = self.db.query_row(ask, [session], |r| r.get(0)).optional()?;
        let made = made.ok_or_else(|| StudyError::unknown("session", session.to_string()))?;
        Ok(instant(&made))
    }
}
