//! The session that a lesson's swings come into.
use super::memory::instant;
use crate::date;
use crate::error::StudyError;
use crate::sessions::Session;
use crate::study::Study;
use rusqlite::OptionalExtension as _;
use std::time::SystemTime;

impl Study {
    /// Today's session of a player, as [`Study::session_on`] finds or makes it. The day of `wanted` is not looked at.
    pub fn session_today(&self, wanted: &Session) -> Result<(Session, bool), StudyError> {
        self.session_on(&Session { date: Some(date::today()), ..wanted.clone() })
    }

    /// When a session was made, by the clock of the machine that made it.
    pub fn session_made(&self, session: i64) -> Result<Option<SystemTime>, StudyError> {
        let ask = "SELECT added_at FROM session WHERE id = ?1";
        let made: Option<String> = self.db.query_row(ask, [session], |r| r.get(0)).optional()?;
        let made = made.ok_or_else(|| StudyError::unknown("session", session.to_string()))?;
        Ok(instant(&made))
    }
}
