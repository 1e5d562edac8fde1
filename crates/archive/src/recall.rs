//! What a measurement was made with says again what a person had entered: where rows of sessions, players or marks are lost, the
//! recipe of a swing knows target, mass, rig, hand and events, since it was written in one change with them.
use crate::error::StudyError;
use crate::recipe::Recipe;
use crate::salvage::{Lost, Spans, lost_of};
use rusqlite::{Connection, OptionalExtension as _, params};
use std::collections::{BTreeMap, BTreeSet};

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

/// What measurements say of a version of a rig.
struct Used {
    hash: String,
    rig: i64,
    first: Option<String>,
}

/// Versions of rigs that are spoken of and gone, or without their text, get what their measurements know: which text it was, and
/// since when it was used. So what was measured with them stays, and nothing is measured as if there were no rig; giving the very
/// text again makes such a version whole.
pub(crate) fn rig_versions(
    old: &Connection,
    db: &Connection,
    damaged: &BTreeSet<String>,
    lost: &mut Vec<Lost>,
) -> Result<(), StudyError> {
    if !damaged.contains("rig_version") {
        return Ok(());
    }
    let mut ask =
        db.prepare("SELECT w.id, s.rig, s.date FROM main.swing w JOIN main.session s ON s.id = w.session")?;
    let mut swings = ask.query([])?;
    let mut used: BTreeMap<i64, Used> = BTreeMap::new();
    while let Some(row) = swings.next()? {
        let (swing, rig, date): (i64, Option<i64>, Option<String>) = (row.get(0)?, row.get(1)?, row.get(2)?);
        let ask = "SELECT m.rig_version, r.text FROM measurement m JOIN recipe r ON r.id = m.recipe
                   WHERE m.swing = ?1 AND m.rig_version IS NOT NULL ORDER BY m.basis LIMIT 1";
        let found = old.prepare_cached(ask).and_then(|mut ask| {
            ask.query_row([swing], |r| Ok((r.get::<_, i64>(0)?, r.get::<_, String>(1)?)))
        });
        let (Some(rig), Ok((version, text))) = (rig, found) else { continue };
        let Ok(Recipe { rig: Some(hash), .. }) = serde_json::from_str(&text) else { continue };
        let one = used.entry(version).or_insert(Used { hash, rig, first: date.clone() });
        one.first = std::mem::take(&mut one.first).into_iter().chain(date).min();
    }
    for (id, used) in used {
        let text = db
            .query_row("SELECT text FROM main.rig_version WHERE id = ?1", [id], |r| r.get::<_, String>(0))
            .optional()?;
        if text.as_ref().is_some_and(|t| !t.is_empty()) {
            continue;
        }
        let ask = "SELECT coalesce(max(version), 0) + 1 FROM main.rig_version WHERE rig = ?1 AND id <= ?2";
        let number: i64 = db.query_row(ask, params![used.rig, id], |r| r.get(0))?;
        db.execute(
            "INSERT INTO main.rig_version (id, rig, version, text, hash, added_at) VALUES (?1, ?2, ?3, '', '', '')
             ON CONFLICT DO NOTHING",
            params![id, used.rig, number],
        )?;
        // The first of a rig has been since ever; one that only sessions without a day were read by holds on no day.
        let first = used.first.as_deref().unwrap_or("9999-12-31");
        db.execute(
            "UPDATE main.rig_version SET hash = ?2, from_date = iif(version = 1, '', ?3) WHERE id = ?1",
            params![id, used.hash, first],
        )?;
        let told = lost_of(lost, "rig_version");
        if !told.partly.contains(&id.to_string()) {
            told.stand_in(id, "text version from_date added_at");
        }
    }
    // One that nothing was measured with is no use without its text.
    let mut ask = db.prepare("DELETE FROM main.rig_version WHERE text = '' AND hash = '' RETURNING id")?;
    for id in ask.query_map([], |r| r.get::<_, i64>(0))?.collect::<Result<Vec<_>, _>>()? {
        let told = lost_of(lost, "rig_version");
        told.partly.retain(|key| *key != id.to_string());
        told.rows.push(id.to_string());
    }
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
        let mut unreadable = Vec::new();
        for word in std::mem::take(&mut lost.unreadable) {
            match Spans::read(&word) {
                None => unreadable.push(word),
                Some(span) => {
                    let mut left = Spans::default();
                    span.filter(|swing| !known.contains(swing)).for_each(|swing| left.add(swing));
                    unreadable.extend(left.words("swing"));
                }
            }
        }
        lost.unreadable = unreadable;
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
