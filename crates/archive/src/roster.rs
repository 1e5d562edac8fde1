//! A table of players: a row a player, many added in one change.
use crate::delimited::{Row, Sheet, is_nothing, word};
use crate::error::StudyError;
use crate::people::{Player, handicap, insert, key, refuse};
use crate::study::Study;
use std::collections::BTreeMap;

/// A table of players, read.
#[derive(Clone, Debug, PartialEq)]
pub struct Roster {
    /// Name of the file.
    pub source: String,
    /// Line in the file, and the player.
    pub players: Vec<(u64, Player)>,
    /// Heads of columns that say nothing of a player that is kept, and why.
    pub left_out: Vec<(String, &'static str)>,
    /// Head of the column of aliases.
    alias: String,
}

/// What a column states.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Field {
    Alias,
    Hand,
    Sex,
    Handicap,
    Born,
    Note,
    ConsentOn,
    ConsentTo,
    KeepUntil,
}

const FIELDS: &[(Field, &[&str])] = &[
    (Field::Alias, &["alias", "player"]),
    (Field::Hand, &["hand", "handed", "plays"]),
    (Field::Sex, &["sex"]),
    (Field::Handicap, &["handicap", "handicapindex", "hcp"]),
    (Field::Born, &["born", "yearofbirth"]),
    (Field::Note, &["note", "notes"]),
    (Field::ConsentOn, &["consenton", "consent"]),
    (Field::ConsentTo, &["consentto"]),
    (Field::KeepUntil, &["keepuntil"]),
];

/// Columns that are kept apart from everything else, and so are not taken from a table.
const NAMES: &[&str] = &["name", "firstname", "lastname", "surname", "contact", "email", "phone"];

impl Roster {
    /// Reads a table of players.
    ///
    /// Errors: no column of aliases; two columns of the same; a row without an alias or with that of another row; a cell
    /// that cannot be, with its line and column.
    pub fn parse(name: &str, bytes: &[u8]) -> Result<Self, StudyError> {
        let sheet = Sheet::parse(name, bytes)?;
        let mut fields: Vec<(usize, Field)> = Vec::new();
        let mut left_out = Vec::new();
        for (k, head) in sheet.head.iter().enumerate() {
            let plain = word(head);
            match FIELDS.iter().find(|(_, names)| names.contains(&plain.as_str())) {
                Some((field, _)) if fields.iter().any(|(_, f)| f == field) => {
                    return Err(sheet.fault_of(k, "a second column of the same"));
                }
                Some((field, _)) => fields.push((k, *field)),
                None if NAMES.contains(&plain.as_str()) => {
                    left_out
                        .push((head.clone(), "names are written down one by one: `underfoot player name`"));
                }
                None => left_out.push((head.clone(), "nothing of that kind is kept of a player")),
            }
        }
        let Some(alias) = fields.iter().find(|(_, f)| *f == Field::Alias).map(|(k, _)| *k) else {
            let why = format!("no column is called alias; its columns are {}", sheet.head.join(", "));
            return Err(StudyError::Sheet { file: name.into(), line: None, column: None, why });
        };
        let mut players: Vec<(u64, Player)> = Vec::with_capacity(sheet.rows.len());
        let mut seen: BTreeMap<String, u64> = BTreeMap::new();
        for row in &sheet.rows {
            let player = of_row(&sheet, row, alias, &fields)?;
            if let Some(line) = seen.insert(key(&player.alias), row.line) {
                let why = format!("{} stands in line {line} already", player.alias);
                return Err(sheet.fault(row, alias, why));
            }
            players.push((row.line, player));
        }
        let alias = sheet.head.get(alias).cloned().unwrap_or_default();
        Ok(Self { source: name.to_string(), players, left_out, alias })
    }
}

/// The player of a row.
fn of_row(sheet: &Sheet, row: &Row, alias: usize, fields: &[(usize, Field)]) -> Result<Player, StudyError> {
    if is_nothing(sheet.cell(row, alias)) {
        return Err(sheet.fault(row, alias, "the row has no alias"));
    }
    let called = sheet.cell(row, alias);
    // A club's list of players holds names; an export of ours holds aliases under the same head.
    if word(sheet.head.get(alias).map_or("", String::as_str)) == "player"
        && called.contains(char::is_whitespace)
    {
        let why = "a column called player may hold names of people, and an alias is seen everywhere: call the column alias \
                   if these are aliases";
        return Err(sheet.fault(row, alias, why));
    }
    let mut player = Player::called(called);
    for (k, field) in fields {
        let cell = sheet.cell(row, *k);
        if is_nothing(cell) {
            continue;
        }
        let here = |why: String| sheet.fault(row, *k, why);
        let day = || crate::date::day(cell).map_err(|e| here(e.to_string()));
        match field {
            Field::Alias => {}
            Field::Hand => player.hand = Some(hand(cell).ok_or_else(|| here(no_hand(cell)))?),
            Field::Sex => player.sex = Some(cell.to_string()),
            Field::Handicap => player.handicap = Some(handicap(cell).map_err(here)?),
            Field::Born => {
                let year = cell.parse().map_err(|_| here(format!("\"{cell}\" is no year")))?;
                player.born = Some(year);
            }
            Field::Note => player.note = cell.to_string(),
            Field::ConsentOn => player.consent_on = Some(day()?),
            Field::ConsentTo => player.consent_to = cell.to_string(),
            Field::KeepUntil => player.keep_until = Some(day()?),
        }
        // Field after field, so that what is refused is in this column.
        refuse(&player).map_err(|e| here(e.to_string()))?;
    }
    Ok(player)
}

fn no_hand(cell: &str) -> String {
    format!("\"{cell}\" is no hand; write right or left")
}

/// "right", "Left-handed", "r".
fn hand(cell: &str) -> Option<String> {
    let kept = match word(cell).as_str() {
        "right" | "r" | "righthanded" | "righthand" => "right",
        "left" | "l" | "lefthanded" | "lefthand" => "left",
        _ => return None,
    };
    Some(kept.to_string())
}

impl Study {
    /// Adds all players of a table, in one change; gives how many.
    ///
    /// Errors: a player who is in the study already, with the line. Nobody is added then.
    pub fn add_players(&self, roster: &Roster) -> Result<usize, StudyError> {
        let change = self.write()?;
        for (line, player) in &roster.players {
            insert(&change, player, None).map_err(|error| match error {
                StudyError::Exists { .. } => StudyError::Sheet {
                    file: roster.source.clone(),
                    line: Some(*line),
                    column: Some(roster.alias.clone()),
                    why: format!("{} is in the study already; take the row out of the table", player.alias),
                },
                other => other,
            })?;
        }
        change.commit()?;
        Ok(roster.players.len())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    fn read(text: &str) -> Result<Roster, StudyError> {
        Roster::parse("p.csv", text.as_bytes())
    }

    #[test]
    fn tables_as_people_write_them() {
        let text = "\u{feff}Player;Hand;Sex;HCP;Born;Shoe;Name\nP01;Right-handed;female;12,4;1990;42;A. N.\nP02;L;;+2,1;;;\n\nP03;;;;;;\n";
        let roster = read(text).unwrap();
        let of = |k: usize| &roster.players[k].1;
        assert_eq!((of(0).hand.as_deref(), of(0).sex.as_deref()), (Some("right"), Some("female")));
        assert_eq!((of(0).handicap, of(0).born), (Some(12.4), Some(1990)));
        // Better than scratch has a plus, and is kept negative.
        assert_eq!((of(1).hand.as_deref(), of(1).handicap), (Some("left"), Some(-2.1)));
        assert_eq!(of(2), &Player::called("P03"));
        assert_eq!(roster.players[2].0, 5, "its line");
        let out: Vec<&str> = roster.left_out.iter().map(|(head, _)| head.as_str()).collect();
        assert_eq!(out, ["Shoe", "Name"]);
    }

    #[test]
    fn what_cannot_be_has_its_line_and_column() {
        let why = |text: &str| read(text).unwrap_err().to_string();
        assert_eq!(why("hand,sex\nright,f\n"), "p.csv: no column is called alias; its columns are hand, sex");
        assert_eq!(
            why("alias,hand\na,right\nb,both\n"),
            "p.csv, line 3, column \"hand\": \"both\" is no hand; write right or left"
        );
        let far = why("alias,handicap\na,99\n");
        assert!(
            far.starts_with("p.csv, line 2, column \"handicap\": a handicap index lies between"),
            "{far}"
        );
        assert!(
            why("alias,handicap\na,good\n").contains("column \"handicap\": a handicap index, for example")
        );
        assert_eq!(
            why("alias,born\na,99\n"),
            "p.csv, line 2, column \"born\": a year of birth has four digits"
        );
        assert_eq!(why("alias,born\na,old\n"), "p.csv, line 2, column \"born\": \"old\" is no year");
        assert!(why("alias,keep until\na,soon\n").contains("column \"keep until\": \"soon\" is no day"));
        assert_eq!(why("alias,sex\n,f\n"), "p.csv, line 2, column \"alias\": the row has no alias");
        assert_eq!(why("alias\na\nA\n"), "p.csv, line 3, column \"alias\": A stands in line 2 already");
        assert_eq!(why("alias,player\na,b\n"), "p.csv, column \"player\": a second column of the same");
    }
}
