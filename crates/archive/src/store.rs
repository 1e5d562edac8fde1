//! Rows of what was made, into the catalogue and out of it. Many swings in one change, sorted so that rows that lie together
//! are written together.
use crate::error::StudyError;
use crate::keep::{self, Placing};
use crate::log::{About, PROGRAM, note, now};
use crate::make::Made;
use crate::recipe::Basis;
use crate::seal;
use crate::study::Study;
use crate::wanted::{Wanted, edition};
use rusqlite::{Connection, OptionalExtension as _, ToSql, params};
use std::collections::BTreeMap;
use std::path::Path;
use swing::metrics::catalogue;

/// A swing with what was made of it.
#[derive(Debug)]
pub struct Kept {
    /// What was asked for.
    pub wanted: Wanted,
    /// How it was looked at.
    pub basis: Basis,
    /// What came out.
    pub made: Made,
}

/// Numbers of words that many rows share, looked up once a change.
struct Shared<'a> {
    db: &'a Connection,
    phrases: BTreeMap<String, i64>,
    metrics: Vec<i64>,
    maker: i64,
}

impl<'a> Shared<'a> {
    fn new(db: &'a Connection) -> Result<Self, StudyError> {
        let maker = id_of(
            db,
            ("SELECT id FROM maker WHERE program = ?1 AND methods = ?2", &[&PROGRAM, &edition()]),
            ("INSERT INTO maker (program, methods) VALUES (?1, ?2)", &[&PROGRAM, &edition()]),
        )?;
        let mut metrics = Vec::with_capacity(catalogue().len());
        for m in catalogue() {
            let (id, label, unit) = (m.id.as_str(), m.label.as_str(), m.unit.symbol());
            let insert = "INSERT INTO metric (name, label, unit) VALUES (?1, ?2, ?3)";
            let select = ("SELECT id FROM metric WHERE name = ?1", &[&id as &dyn ToSql] as Values<'_>);
            metrics.push(id_of(db, select, (insert, &[&id, &label, &unit]))?);
        }
        Ok(Self { db, phrases: BTreeMap::new(), metrics, maker })
    }

    fn phrase(&mut self, text: &str) -> Result<i64, StudyError> {
        if let Some(id) = self.phrases.get(text) {
            return Ok(*id);
        }
        let id = id_of(
            self.db,
            ("SELECT id FROM phrase WHERE text = ?1", &[&text]),
            ("INSERT INTO phrase (text) VALUES (?1)", &[&text]),
        )?;
        self.phrases.insert(text.to_string(), id);
        Ok(id)
    }
}

type Values<'a> = &'a [&'a dyn ToSql];

/// The number of a row, made where it is new.
fn id_of(
    db: &Connection,
    (select, keys): (&str, Values<'_>),
    (insert, values): (&str, Values<'_>),
) -> Result<i64, StudyError> {
    let found = db.prepare_cached(select)?.query_row(keys, |r| r.get(0)).optional()?;
    if let Some(id) = found {
        return Ok(id);
    }
    db.prepare_cached(insert)?.execute(values)?;
    Ok(db.last_insert_rowid())
}

/// The name of the file of series that a result wants.
///
/// Errors: series that were asked for and could not be written as a file.
pub fn series_of(result: &Kept) -> Result<Option<String>, StudyError> {
    let wanted = &result.wanted;
    if let Some(why) = &result.made.no_series {
        return Err(StudyError::Bug(format!("the series of {} are no file: {why}", wanted.name)));
    }
    let name = || wanted.recipe.series_name(&wanted.hash, edition(), &result.basis);
    result.made.series.is_some().then(name).transpose()
}

/// Puts the series of results in their places.
pub fn place_series(root: &Path, results: &[Kept]) -> Result<(), StudyError> {
    let mut names = Vec::with_capacity(results.len());
    for result in results {
        names.push(series_of(result)?);
    }
    let files = results.iter().zip(&names);
    let files =
        files.filter_map(|(r, name)| Some(Placing::Series(r.made.series.as_deref()?, name.as_deref()?)));
    keep::put_all(root, &files.collect::<Vec<_>>())
}

/// Takes out everything that was made of swings on a basis. The files of their series are put down for removal, but for
/// those that are about to be written again, or that the swing has on another basis.
pub fn take_out(db: &Connection, basis: i64, swings: &[i64], staying: &[String]) -> Result<(), StudyError> {
    let mut there = Vec::with_capacity(swings.len());
    for swing in swings {
        let mut ask = db.prepare_cached("SELECT series FROM measurement WHERE basis = ?1 AND swing = ?2")?;
        let found: Option<Option<String>> = ask.query_row(params![basis, swing], |r| r.get(0)).optional()?;
        let Some(series) = found else { continue };
        there.push(*swing);
        db.prepare_cached("DELETE FROM measurement WHERE basis = ?1 AND swing = ?2")?
            .execute(params![basis, swing])?;
        if let Some(name) = series.filter(|n| !staying.contains(n)) {
            // A name rests on the recording: no other swing has it.
            db.prepare_cached(
                "INSERT OR IGNORE INTO removal
                 SELECT ?1 WHERE NOT EXISTS (SELECT 1 FROM measurement WHERE swing = ?2 AND series = ?3)",
            )?
            .execute(params![keep::derived(&name), swing, name])?;
        }
    }
    if there.is_empty() {
        return Ok(());
    }
    there.sort_unstable();
    let mut metrics = db.prepare_cached("SELECT id FROM metric ORDER BY id")?;
    let metrics: Vec<i64> = metrics.query_map([], |r| r.get(0))?.collect::<Result<_, _>>()?;
    let mut delete =
        db.prepare_cached("DELETE FROM figure WHERE metric = ?1 AND basis = ?2 AND swing = ?3")?;
    for metric in &metrics {
        for swing in &there {
            delete.execute(params![metric, basis, swing])?;
        }
    }
    Ok(())
}

/// Puts in what was made of swings, instead of what was there. Series files must be in their places already.
pub fn put_in(db: &Connection, basis: i64, results: &[Kept]) -> Result<(), StudyError> {
    let mut names = Vec::with_capacity(results.len());
    for result in results {
        names.push(series_of(result)?);
    }
    let staying: Vec<String> = names.iter().flatten().cloned().collect();
    let swings: Vec<i64> = results.iter().map(|r| r.wanted.swing).collect();
    take_out(db, basis, &swings, &staying)?;
    let mut shared = Shared::new(db)?;
    for (result, name) in results.iter().zip(&names) {
        measurement(&shared, basis, result, name.as_deref())?;
    }
    figures(&mut shared, basis, results)?;
    results.iter().try_for_each(|result| seal::put(db, basis, result.wanted.swing))
}

fn measurement(
    shared: &Shared<'_>,
    basis: i64,
    result: &Kept,
    series: Option<&str>,
) -> Result<(), StudyError> {
    let (db, wanted, made) = (shared.db, &result.wanted, &result.made);
    if let Some(name) = series {
        // It may have been put down for removal by an earlier change.
        db.prepare_cached("DELETE FROM removal WHERE path = ?1")?.execute([keep::derived(name)])?;
    }
    let text = wanted.recipe.text()?;
    let hash = keep::hash(text.as_bytes());
    let recipe = id_of(
        db,
        ("SELECT id FROM recipe WHERE hash = ?1", &[&hash]),
        ("INSERT INTO recipe (hash, text) VALUES (?1, ?2)", &[&hash, &text]),
    )?;
    let count = |severity: &str| made.findings.iter().filter(|f| f.severity == severity).count() as i64;
    let facts = made.facts.as_ref();
    db.prepare_cached(
        "INSERT INTO measurement (basis, swing, recipe, rig_version, maker, measured_at, failed, feet, plates, hand,
         body_weight_n, body_weight_from, rate_hz, samples, start_s, conditioning, stops, doubts, notes, figures, series,
         series_hash)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21, ?22)",
    )?
    .execute(params![
        basis,
        wanted.swing,
        recipe,
        wanted.rig.as_ref().map(|r| r.version),
        shared.maker,
        now(),
        made.failed,
        facts.map(|f| if f.two_feet { 2 } else { 1 }),
        facts.map(|f| f.plates as i64),
        facts.map(|f| f.hand),
        facts.and_then(|f| f.body_weight_n),
        facts.and_then(|f| f.body_weight_from),
        facts.map(|f| f.rate_hz),
        facts.map(|f| f.samples as i64),
        facts.map(|f| f.start_s),
        facts.map(|f| f.conditioning.as_str()),
        count("stop"),
        count("doubt"),
        count("note"),
        made.figures.len() as i64,
        series,
        made.series_hash,
    ])?;
    let mut put = db.prepare_cached("INSERT INTO event VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)")?;
    for e in &made.events {
        put.execute(params![basis, wanted.swing, e.event, e.time_s, e.u_s, e.source, e.method, e.seen])?;
    }
    let mut put =
        db.prepare_cached("INSERT INTO finding VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)")?;
    for (number, f) in made.findings.iter().enumerate() {
        put.execute(params![
            basis,
            wanted.swing,
            number as i64,
            f.code,
            f.severity,
            f.plate.map(|p| p as i64),
            f.span_s.map(|s| s.0),
            f.span_s.map(|s| s.1),
            f.seen,
            f.remedy
        ])?;
    }
    Ok(())
}

/// Metric by metric, and within it swing by swing: the order in which the table lies.
fn figures(shared: &mut Shared<'_>, basis: i64, results: &[Kept]) -> Result<(), StudyError> {
    let db = shared.db;
    let mut put = db.prepare_cached(
        "INSERT INTO figure (metric, basis, swing, value, u, by_weight, by_weight_u, at_s, led_by, led_share, estimated,
         touched, absent) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
    )?;
    let mut order: Vec<&Kept> = results.iter().collect();
    order.sort_by_key(|r| r.wanted.swing);
    for k in 0..shared.metrics.len() {
        let Some(metric) = shared.metrics.get(k).copied() else { continue };
        for result in &order {
            let Some(f) = result.made.figures.get(k) else { continue };
            let led = f.led_by.map(|(words, _)| shared.phrase(words)).transpose()?;
            let touched = if f.touched.is_empty() { None } else { Some(shared.phrase(&f.touched)?) };
            let absent = f.absent.as_deref().map(|why| shared.phrase(why)).transpose()?;
            put.execute(params![
                metric,
                basis,
                result.wanted.swing,
                f.value,
                f.u,
                f.by_weight.map(|b| b.0),
                f.by_weight.map(|b| b.1),
                f.at_s,
                led,
                f.led_by.map(|(_, share)| share),
                f.estimated.then_some(1),
                touched,
                absent
            ])?;
        }
    }
    Ok(())
}

impl Study {
    /// Places the series of results and puts the results in: one change. For swings that are in the study already; gives the
    /// numbers of those that were put in. One that was deleted meanwhile is not brought back, and one that is to be measured
    /// with something else by now is left to whoever changed that.
    pub fn keep_results(&self, basis: i64, results: Vec<Kept>) -> Result<Vec<i64>, StudyError> {
        let placing = self.placing()?;
        place_series(&self.root, &results)?;
        let change = self.write()?;
        let numbers: Vec<i64> = results.iter().map(|r| r.wanted.swing).collect();
        let now: BTreeMap<i64, Wanted> =
            self.wanted(Some(&numbers))?.into_iter().map(|w| (w.swing, w)).collect();
        let (kept, late): (Vec<Kept>, Vec<Kept>) =
            results.into_iter().partition(|r| now.get(&r.wanted.swing).is_some_and(|w| w.same(&r.wanted)));
        for result in &late {
            let Some(name) = series_of(result)? else { continue };
            let mut spoken =
                change.prepare_cached("SELECT 1 FROM measurement WHERE swing = ?1 AND series = ?2")?;
            if !spoken.exists(params![result.wanted.swing, name])? {
                change.execute("INSERT OR IGNORE INTO removal VALUES (?1)", [keep::derived(&name)])?;
            }
        }
        if !kept.is_empty() {
            put_in(&change, basis, &kept)?;
            note_again(&change, &kept)?;
        }
        change.commit()?;
        drop(placing);
        self.finish_removals()?;
        Ok(kept.iter().map(|r| r.wanted.swing).collect())
    }
}

/// A row of the log for every session of which swings were measured again.
fn note_again(change: &Connection, kept: &[Kept]) -> Result<(), StudyError> {
    let mut of_session: BTreeMap<i64, Vec<i64>> = BTreeMap::new();
    for result in kept {
        of_session.entry(result.wanted.session).or_default().push(result.wanted.swing);
    }
    for (session, swings) in of_session {
        let mut ask = change.prepare_cached("SELECT player FROM session WHERE id = ?1")?;
        let player = ask.query_row([session], |r| r.get(0))?;
        let about = About { player: Some(player), session: Some(session), swing: None };
        let swings = serde_json::to_string(&swings).map_err(|e| StudyError::Bug(e.to_string()))?;
        note(change, "swings measured again", about, None, Some(&swings))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::recipe::Recipe;

    #[test]
    fn series_that_are_no_file_are_an_error_with_the_reason() {
        let recipe = Recipe {
            rig: None,
            target: None,
            hand: None,
            mass_kg: None,
            club_marker: None,
            estimates: false,
            marks: Vec::new(),
        };
        let (name, ending) = ("a.c3d".to_string(), "c3d".to_string());
        let wanted = Wanted { swing: 1, session: 1, hash: String::new(), ending, name, recipe, rig: None };
        let made = Made { no_series: Some("columns differ in length".into()), ..Made::default() };
        let told =
            series_of(&Kept { wanted, basis: Basis { collapse: false, about: swing::About::NetCop }, made })
                .map_err(|e| e.to_string());
        assert!(told.is_err_and(|why| why.contains("a.c3d") && why.contains("columns differ in length")));
    }
}
