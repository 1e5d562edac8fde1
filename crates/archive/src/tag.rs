//! Words that people put on swings, and what they write beside swings and sessions.
use crate::error::StudyError;
use crate::log::{About, note};
use crate::people::key;
use crate::study::Study;
use rusqlite::{OptionalExtension as _, Transaction, params};
use serde::Serialize;

/// A tag with the number of swings that have it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Tag {
    /// As it was first written.
    pub word: String,
    /// Swings.
    pub swings: i64,
}

impl Study {
    /// Puts a tag on swings, all in one change; gives how many had it not. One that differs from a tag of the study in its
    /// case alone is that tag.
    pub fn add_tag(&self, swings: &[i64], word: &str) -> Result<usize, StudyError> {
        let word = word.trim();
        if word.is_empty() || word.contains(',') || word.chars().any(char::is_control) {
            return Err(StudyError::Refused(
                "a tag is a word or a few, without commas and line breaks".into(),
            ));
        }
        let change = self.write()?;
        let spelled = self.spelled(word)?.unwrap_or_else(|| word.to_string());
        let mut new = 0;
        for swing in swings {
            let about = about(&change, *swing)?;
            let mut put = change.prepare_cached("INSERT OR IGNORE INTO tag VALUES (?1, ?2)")?;
            if put.execute(params![swing, spelled])? > 0 {
                note(&change, "tag added", about, None, Some(&spelled))?;
                new += 1;
            }
        }
        change.commit()?;
        Ok(new)
    }

    /// Takes a tag off swings, all in one change; gives how many had it.
    ///
    /// Errors: a tag that no swing of the study has, with the nearest.
    pub fn remove_tag(&self, swings: &[i64], word: &str) -> Result<usize, StudyError> {
        let change = self.write()?;
        let Some(spelled) = self.spelled(word)? else {
            let all = self.tags()?;
            return Err(crate::people::near("tag", word, all.iter().map(|t| t.word.as_str())));
        };
        let mut gone = 0;
        for swing in swings {
            let about = about(&change, *swing)?;
            let mut take = change.prepare_cached("DELETE FROM tag WHERE swing = ?1 AND word = ?2")?;
            if take.execute(params![swing, spelled])? > 0 {
                note(&change, "tag removed", about, Some(&spelled), None)?;
                gone += 1;
            }
        }
        change.commit()?;
        Ok(gone)
    }

    /// Every tag, in order.
    pub fn tags(&self) -> Result<Vec<Tag>, StudyError> {
        let mut ask = self.db.prepare_cached("SELECT word, count(*) FROM tag GROUP BY word ORDER BY word")?;
        let rows = ask.query_map([], |r| Ok(Tag { word: r.get(0)?, swings: r.get(1)? }))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// A tag of the study as it is written there.
    fn spelled(&self, word: &str) -> Result<Option<String>, StudyError> {
        Ok(self.words_of("tag")?.into_iter().find(|w| key(w) == key(word)))
    }

    /// What is written beside a swing.
    pub fn swing_note(&self, swing: i64) -> Result<String, StudyError> {
        let mut ask = self.db.prepare_cached("SELECT note FROM swing WHERE id = ?1")?;
        let found = ask.query_row([swing], |r| r.get(0)).optional()?;
        found.ok_or_else(|| StudyError::unknown("swing", swing.to_string()))
    }

    /// Writes beside a swing, instead of what was there; an empty text takes it away.
    pub fn set_swing_note(&self, swing: i64, text: &str) -> Result<(), StudyError> {
        let change = self.write()?;
        let about = about(&change, swing)?;
        let before = self.swing_note(swing)?;
        change.execute("UPDATE swing SET note = ?2 WHERE id = ?1", params![swing, text.trim()])?;
        note(&change, "note written", about, Some(&before), Some(text.trim()))?;
        Ok(change.commit()?)
    }

    /// Writes beside a session, instead of what was there; an empty text takes it away.
    pub fn set_session_note(&self, session: i64, text: &str) -> Result<(), StudyError> {
        let change = self.write()?;
        let there = self.session(session)?;
        change.execute("UPDATE session SET note = ?2 WHERE id = ?1", params![session, text.trim()])?;
        let about = About { player: Some(there.player), session: Some(session), swing: None };
        note(&change, "note written", about, Some(&there.note), Some(text.trim()))?;
        Ok(change.commit()?)
    }
}

/// A swing with its session and player.
fn about(change: &Transaction<'_>, swing: i64) -> Result<About, StudyError> {
    let mut ask = change.prepare_cached(
        "SELECT s.player, s.id FROM swing w JOIN session s ON s.id = w.session WHERE w.id = ?1",
    )?;
    let found = ask.query_row([swing], |r| Ok((r.get(0)?, r.get(1)?))).optional()?;
    let (player, session) = found.ok_or_else(|| StudyError::unknown("swing", swing.to_string()))?;
    Ok(About { player: Some(player), session: Some(session), swing: Some(swing) })
}
