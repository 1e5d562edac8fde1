//! What a measurement was made with says again what a person had entered: where rows of sessions, players or marks are lost, the
//! recipe of a swing knows target, mass, rig, hand and events, since it was written in one change with them.
use crate::error::StudyError;
use crate::recipe::Recipe;
use crate::salvage::Lost;
use rusqlite::{Connection, OptionalExtension as _, params};
use std::collections::BTreeSet;

/// Fills in what is lost, and takes it off the list.
pub(crate) fn recall(
    old: &Connection,
    db: &Connection,
    damaged: &BTreeSet<String>,
    lost: &mut Vec<Lost>,
) -> Result<(), StudyError> {
    for (table, columns) in
        [("session", &["target", "mass_kg", "club_marker", "rig"][..]), ("player", &["hand"])]
    {
        let Some(lost) = lost.iter_mut().find(|l| l.table == table) else { continue };
        let mut all = true;
        for key in &lost.partly {
            let Ok(id) = key.parse::<i64>() else { continue };
            let of = if table == "session" { "s.id" } else { "s.player" };
            let ask = format!(
                "SELECT w.id FROM swing w JOIN session s ON s.id = w.session WHERE {of} = ?1 ORDER BY w.id"
            );
            match recipes(old, &numbers(db, &ask, &[id])?).next() {
                Some((_, recipe)) if table == "session" => session(db, id, &recipe)?,
                Some((_, recipe)) => {
                    db.execute("UPDATE player SET hand = ?2 WHERE id = ?1", params![id, recipe.hand])?;
                }
                None => all = false,
            }
        }
        if all {
            lost.columns.retain(|c| !columns.contains(&c.as_str()));
        }
    }
    if damaged.contains("mark") {
        marks(old, db, lost)?;
    }
    lost.retain(|l| !(l.partly.is_empty() && l.rows.is_empty() && l.unreadable.is_empty()));
    Ok(())
}

fn session(db: &Connection, id: i64, recipe: &Recipe) -> Result<(), StudyError> {
    let ask = "SELECT rig FROM rig_version WHERE hash = ?1";
    let rig: Option<i64> = db.query_row(ask, [&recipe.rig], |r| r.get(0)).optional()?;
    db.execute(
        "UPDATE session SET target = ?2, mass_kg = ?3, club_marker = ?4, rig = ?5 WHERE id = ?1",
        params![id, recipe.target, recipe.mass_kg, recipe.club_marker, rig],
    )?;
    Ok(())
}

fn marks(old: &Connection, db: &Connection, lost: &mut [Lost]) -> Result<(), StudyError> {
    let swings = numbers(db, "SELECT id FROM swing ORDER BY id", &[])?;
    let mut known = BTreeSet::new();
    for (swing, recipe) in recipes(old, &swings) {
        known.insert(swing);
        for mark in recipe.marks {
            let row = params![swing, mark.event, mark.time_s, mark.u_s];
            db.execute("INSERT OR REPLACE INTO mark VALUES (?1, ?2, ?3, ?4)", row)?;
        }
    }
    if let Some(lost) = lost.iter_mut().find(|l| l.table == "mark") {
        let of = |key: &String| key.split(' ').find_map(|word| word.parse::<i64>().ok());
        lost.rows.retain(|key| of(key).is_none_or(|swing| !known.contains(&swing)));
        lost.unreadable.retain(|key| of(key).is_none_or(|swing| !known.contains(&swing)));
    }
    Ok(())
}

fn numbers(db: &Connection, ask: &str, values: &[i64]) -> Result<Vec<i64>, StudyError> {
    let mut ask = db.prepare_cached(ask)?;
    Ok(ask.query_map(rusqlite::params_from_iter(values), |r| r.get(0))?.collect::<Result<_, _>>()?)
}

/// Swings with the recipe of a measurement of theirs, as far as those can be read.
fn recipes<'a>(old: &'a Connection, swings: &'a [i64]) -> impl Iterator<Item = (i64, Recipe)> + 'a {
    swings.iter().filter_map(|swing| {
        let ask = "SELECT r.text FROM measurement m JOIN recipe r ON r.id = m.recipe WHERE m.swing = ?1 ORDER BY m.basis";
        let text: String = old.prepare_cached(ask).ok()?.query_row([swing], |r| r.get(0)).ok()?;
        Some((*swing, serde_json::from_str(&text).ok()?))
    })
}
