//! Players: an alias for every day, a name only where somebody wrote one down, in a table of its own.
use crate::again::behind;
use crate::error::StudyError;
use crate::log::{About, note, now};
use crate::study::Study;
use formats::rigfile;
use rusqlite::{Connection, OptionalExtension as _, Row, params};
use serde::{Deserialize, Serialize};
use unicode_normalization::UnicodeNormalization as _;

/// What is kept of a player. No name: [`Identity`] has it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Player {
    /// Number in the study; 0 for one that is not in it yet.
    pub id: i64,
    /// What the player is called everywhere.
    pub alias: String,
    /// "right" or "left", where known.
    pub hand: Option<String>,
    /// In the practice's words.
    pub sex: Option<String>,
    /// Handicap index.
    pub handicap: Option<f64>,
    /// Year of birth.
    pub born: Option<i64>,
    /// Free text.
    pub note: String,
    /// Day on which the player agreed to be measured and kept.
    pub consent_on: Option<String>,
    /// To what, in the practice's words.
    pub consent_to: String,
    /// Last day on which the recordings are to be kept.
    pub keep_until: Option<String>,
}

impl Player {
    /// An alias and nothing else.
    pub fn called(alias: &str) -> Self {
        Self {
            id: 0,
            alias: alias.trim().to_string(),
            hand: None,
            sex: None,
            handicap: None,
            born: None,
            note: String::new(),
            consent_on: None,
            consent_to: String::new(),
            keep_until: None,
        }
    }
}

/// Who a player is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Identity {
    /// Name.
    pub name: String,
    /// How to reach them.
    pub contact: String,
}

/// What names are compared by: lower case, and letters with accents written in one way (Unicode NFC), since file systems
/// differ in how they write them.
pub(crate) fn key(name: &str) -> String {
    name.trim().nfc().collect::<String>().to_lowercase()
}

const COLUMNS: &str = "id, alias, hand, sex, handicap, born, note, consent_on, consent_to, keep_until";

fn player(row: &Row<'_>) -> rusqlite::Result<Player> {
    Ok(Player {
        id: row.get(0)?,
        alias: row.get(1)?,
        hand: row.get(2)?,
        sex: row.get(3)?,
        handicap: row.get(4)?,
        born: row.get(5)?,
        note: row.get(6)?,
        consent_on: row.get(7)?,
        consent_to: row.get(8)?,
        keep_until: row.get(9)?,
    })
}

fn as_text(player: &Player) -> Result<String, StudyError> {
    serde_json::to_string(player).map_err(|e| StudyError::Bug(e.to_string()))
}

/// Adds a player as part of a change; gives the number.
///
/// Errors: an alias that is taken, whatever its case; what [`refuse`] refuses.
pub(crate) fn insert(
    change: &Connection,
    player: &Player,
    identity: Option<&Identity>,
) -> Result<i64, StudyError> {
    refuse(player)?;
    let taken: Option<i64> = change
        .query_row("SELECT id FROM player WHERE alias_key = ?1", [key(&player.alias)], |r| r.get(0))
        .optional()?;
    if taken.is_some() {
        return Err(StudyError::Exists { kind: "player", name: player.alias.clone() });
    }
    change.execute(
        "INSERT INTO player (alias, alias_key, hand, sex, handicap, born, note, consent_on, consent_to, keep_until,
         added_at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
        params![
            player.alias.trim(),
            key(&player.alias),
            player.hand,
            player.sex,
            player.handicap,
            player.born,
            player.note,
            player.consent_on,
            player.consent_to,
            player.keep_until,
            now()
        ],
    )?;
    let id = change.last_insert_rowid();
    if let Some(who) = identity {
        change.execute("INSERT INTO identity VALUES (?1, ?2, ?3)", params![id, who.name, who.contact])?;
    }
    note(change, "player added", About { player: Some(id), ..About::default() }, None, None)?;
    Ok(id)
}

impl Study {
    /// Adds a player; gives the number.
    pub fn add_player(&self, player: &Player, identity: Option<&Identity>) -> Result<i64, StudyError> {
        let change = self.write()?;
        let id = insert(&change, player, identity)?;
        change.commit()?;
        Ok(id)
    }

    /// Writes a player's row anew, which was `before` when that was decided. Where the hand changes, the player's swings are
    /// due to be measured again.
    ///
    /// Errors: another program has changed or deleted the player since.
    pub fn edit_player(&self, before: &Player, player: &Player) -> Result<(), StudyError> {
        refuse(player)?;
        let change = self.write()?;
        if self.player(before.id)? != *before || player.id != before.id {
            return Err(changed_meanwhile(&format!("player {}", before.alias)));
        }
        let twin: Option<i64> = change
            .query_row(
                "SELECT id FROM player WHERE alias_key = ?1 AND id <> ?2",
                params![key(&player.alias), player.id],
                |r| r.get(0),
            )
            .optional()?;
        if twin.is_some() {
            return Err(StudyError::Exists { kind: "player", name: player.alias.clone() });
        }
        change.execute(
            "UPDATE player SET alias = ?2, alias_key = ?3, hand = ?4, sex = ?5, handicap = ?6, born = ?7, note = ?8,
             consent_on = ?9, consent_to = ?10, keep_until = ?11 WHERE id = ?1",
            params![
                player.id,
                player.alias.trim(),
                key(&player.alias),
                player.hand,
                player.sex,
                player.handicap,
                player.born,
                player.note,
                player.consent_on,
                player.consent_to,
                player.keep_until
            ],
        )?;
        let about = About { player: Some(player.id), ..About::default() };
        note(&change, "player edited", about, Some(&as_text(before)?), Some(&as_text(player)?))?;
        if before.hand != player.hand {
            behind(&change)?;
        }
        Ok(change.commit()?)
    }

    /// Removes a player who has no session and of whom nothing was said but the alias; gives whether it did.
    pub(crate) fn remove_bare_player(&self, id: i64) -> Result<bool, StudyError> {
        let change = self.write()?;
        let ask = "DELETE FROM player WHERE id = ?1 AND NOT EXISTS (SELECT 1 FROM session WHERE player = ?1)
             AND NOT EXISTS (SELECT 1 FROM change WHERE player = ?1
             AND what NOT IN ('player added', 'session added', 'session removed'))";
        if change.execute(ask, [id])? == 0 {
            return Ok(false);
        }
        // The log says that it was done, not who, as where a player is deleted.
        note(&change, "player removed", About::default(), None, None)?;
        change.commit()?;
        Ok(true)
    }

    /// Writes down, or takes away, who a player is. The log says that it was done, never the name.
    pub fn set_identity(&self, player: i64, identity: Option<&Identity>) -> Result<(), StudyError> {
        let change = self.write()?;
        self.player(player)?;
        change.execute("DELETE FROM identity WHERE player = ?1", [player])?;
        if let Some(who) = identity {
            change.execute(
                "INSERT INTO identity VALUES (?1, ?2, ?3)",
                params![player, who.name, who.contact],
            )?;
        }
        let what = if identity.is_some() { "identity written" } else { "identity removed" };
        note(&change, what, About { player: Some(player), ..About::default() }, None, None)?;
        Ok(change.commit()?)
    }

    /// Who a player is, where somebody wrote it down.
    pub fn identity(&self, player: i64) -> Result<Option<Identity>, StudyError> {
        let ask = "SELECT name, contact FROM identity WHERE player = ?1";
        let who = self.db.query_row(ask, [player], |r| Ok(Identity { name: r.get(0)?, contact: r.get(1)? }));
        Ok(who.optional()?)
    }

    /// A player by number.
    pub fn player(&self, id: i64) -> Result<Player, StudyError> {
        let ask = format!("SELECT {COLUMNS} FROM player WHERE id = ?1");
        let found = self.db.prepare_cached(&ask)?.query_row([id], player).optional()?;
        found.ok_or_else(|| StudyError::unknown("player", id.to_string()))
    }

    /// A player by alias, whatever the case; the error names the nearest alias there is.
    pub fn player_called(&self, alias: &str) -> Result<Player, StudyError> {
        let ask = format!("SELECT {COLUMNS} FROM player WHERE alias_key = ?1");
        let found = self.db.prepare_cached(&ask)?.query_row([key(alias)], player).optional()?;
        match found {
            Some(player) => Ok(player),
            None => {
                let all = self.players()?;
                Err(near("player", alias, all.iter().map(|p| p.alias.as_str())))
            }
        }
    }

    /// All, by alias.
    pub fn players(&self) -> Result<Vec<Player>, StudyError> {
        let mut ask = self.db.prepare_cached(&format!("SELECT {COLUMNS} FROM player ORDER BY alias_key"))?;
        let rows = ask.query_map([], player)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// Players whose day to be kept until is past on `day`, the longest overdue first; and those of whom nobody wrote
    /// down a consent.
    pub fn due(&self, day: &str) -> Result<(Vec<Player>, Vec<Player>), StudyError> {
        let mut past: Vec<Player> = self
            .players()?
            .into_iter()
            .filter(|p| p.keep_until.as_deref().is_some_and(|k| k < day))
            .collect();
        past.sort_by(|a, b| a.keep_until.cmp(&b.keep_until));
        let without = self.players()?.into_iter().filter(|p| p.consent_on.is_none()).collect();
        Ok((past, without))
    }
}

/// A handicap index as golfers write it: +2.1 is better than scratch, and kept as −2.1.
///
/// Errors: words.
pub fn handicap(text: &str) -> Result<f64, String> {
    let (sign, size) = match text.strip_prefix('+') {
        Some(size) => (-1.0, size),
        None => (1.0, text),
    };
    match size.replace('\u{2212}', "-").replace(',', ".").parse::<f64>() {
        Ok(index) if index.is_finite() => Ok(sign * index),
        _ => Err("a handicap index, for example 12.4, or +2.1 for better than scratch".into()),
    }
}

/// What cannot be kept of a player.
pub(crate) fn refuse(player: &Player) -> Result<(), StudyError> {
    let refused = |why: &str| Err(StudyError::Refused(why.to_string()));
    if player.alias.trim().is_empty() || player.alias.chars().any(char::is_control) {
        return refused("an alias is a word or a few, without line breaks");
    }
    if player.hand.as_deref().is_some_and(|h| !["right", "left"].contains(&h)) {
        return refused("a hand is right or left");
    }
    if player.handicap.is_some_and(|h| !(-15.0..=60.0).contains(&h)) {
        return refused("a handicap index lies between −15 and 60 (better than scratch is negative)");
    }
    if player.born.is_some_and(|y| !(1900..=2100).contains(&y)) {
        return refused("a year of birth has four digits");
    }
    for day in [&player.consent_on, &player.keep_until].into_iter().flatten() {
        crate::date::day(day)?;
    }
    Ok(())
}

/// What was decided on is not what is there now.
pub(crate) fn changed_meanwhile(what: &str) -> StudyError {
    StudyError::Refused(format!("another program has just changed {what}; look again"))
}

/// Nothing is called so; what is nearly.
pub(crate) fn near<'a>(kind: &'static str, asked: &str, names: impl Iterator<Item = &'a str>) -> StudyError {
    let near =
        rigfile::nearest(asked, names).map_or_else(String::new, |n| format!("; did you mean \"{n}\"?"));
    StudyError::Unknown { kind, name: asked.to_string(), near }
}

#[cfg(test)]
mod tests {
    use super::key;

    /// Unicode Standard Annex 15, figure 3: é is one character, or e with a combining acute.
    #[test]
    fn one_name_however_it_is_written() {
        assert_eq!(key(" Ren\u{e9} "), key("RENE\u{301}"));
        assert_ne!(key("Rene"), key("Ren\u{e9}"));
    }
}
