//! What was measured of a swing, from a damaged catalogue into its successor: for swings whose recording cannot be read, so that
//! they cannot be measured again. All of a measurement or nothing.
use crate::error::StudyError;
use rusqlite::types::Value;
use rusqlite::{
    Connection, OptionalExtension as _, Transaction, TransactionBehavior, params, params_from_iter,
};

/// Carries a swing's measurement over; false where some of it cannot be read.
pub(crate) fn carry(old: &Connection, db: &Connection, basis: i64, swing: i64) -> Result<bool, StudyError> {
    let change = Transaction::new_unchecked(db, TransactionBehavior::Immediate)?;
    // Whatever cannot be read, or does not fit: nothing of it is taken.
    if !matches!(carried(old, &change, basis, swing), Ok(true)) {
        return Ok(false);
    }
    change.commit()?;
    Ok(true)
}

type Row = Vec<Value>;

fn rows(db: &Connection, ask: &str, values: &[i64]) -> rusqlite::Result<Vec<Row>> {
    let mut ask = db.prepare_cached(ask)?;
    let width = ask.column_count();
    let row = |r: &rusqlite::Row<'_>| (0..width).map(|k| r.get(k)).collect();
    ask.query_map(params_from_iter(values), row)?.collect()
}

fn put(db: &Connection, table: &str, row: &Row) -> rusqlite::Result<usize> {
    let marks = vec!["?"; row.len()].join(", ");
    db.prepare_cached(&format!("INSERT INTO {table} VALUES ({marks})"))?.execute(params_from_iter(row))
}

/// The number that a row of words has in the new catalogue, made where it is new; `first` of its columns say which it is.
fn shared(
    old: &Connection,
    db: &Connection,
    (table, columns, first): (&str, &[&str], usize),
    id: &Value,
) -> rusqlite::Result<Value> {
    if *id == Value::Null {
        return Ok(Value::Null);
    }
    let list = columns.join(", ");
    let words: Row = old
        .prepare_cached(&format!("SELECT {list} FROM {table} WHERE id = ?1"))?
        .query_row([id], |r| (0..columns.len()).map(|k| r.get(k)).collect())?;
    let is: Vec<String> = columns.iter().take(first).map(|c| format!("{c} = ?")).collect();
    let ask = format!("SELECT id FROM {table} WHERE {}", is.join(" AND "));
    let found: Option<i64> = db
        .prepare_cached(&ask)?
        .query_row(params_from_iter(words.iter().take(first)), |r| r.get(0))
        .optional()?;
    if let Some(id) = found {
        return Ok(Value::Integer(id));
    }
    let marks = vec!["?"; columns.len()].join(", ");
    db.prepare_cached(&format!("INSERT INTO {table} ({list}) VALUES ({marks})"))?
        .execute(params_from_iter(&words))?;
    Ok(Value::Integer(db.last_insert_rowid()))
}

fn carried(old: &Connection, db: &Connection, basis: i64, swing: i64) -> rusqlite::Result<bool> {
    let of = [basis, swing];
    let Some(mut measurement) =
        rows(old, "SELECT * FROM measurement WHERE basis = ?1 AND swing = ?2", &of)?.pop()
    else {
        return Ok(false);
    };
    // Columns as the schema has them: basis, swing, recipe, rig_version, maker…
    let [_, _, recipe, _, maker, ..] = measurement.as_mut_slice() else { return Ok(false) };
    *recipe = shared(old, db, ("recipe", &["hash", "text"], 1), recipe)?;
    *maker = shared(old, db, ("maker", &["program", "methods"], 2), maker)?;
    put(db, "measurement", &measurement)?;
    for table in ["event", "finding"] {
        for row in rows(old, &format!("SELECT * FROM {table} WHERE basis = ?1 AND swing = ?2"), &of)? {
            put(db, table, &row)?;
        }
    }
    let mut figures = 0_i64;
    for metric in rows(old, "SELECT id FROM metric ORDER BY id", &[])? {
        let [Value::Integer(id)] = metric.as_slice() else { continue };
        let ask = "SELECT * FROM figure WHERE metric = ?1 AND basis = ?2 AND swing = ?3";
        for mut row in rows(old, ask, &[*id, basis, swing])? {
            let [metric, _, _, _, _, _, _, _, led_by, _, _, touched, absent] = row.as_mut_slice() else {
                return Ok(false);
            };
            *metric = shared(old, db, ("metric", &["name", "label", "unit"], 1), metric)?;
            for words in [led_by, touched, absent] {
                *words = shared(old, db, ("phrase", &["text"], 1), words)?;
            }
            put(db, "figure", &row)?;
            figures += 1;
        }
    }
    let ask = "SELECT figures, stops + doubts + notes FROM measurement WHERE basis = ?1 AND swing = ?2";
    let said: (i64, i64) = db.query_row(ask, params![basis, swing], |r| Ok((r.get(0)?, r.get(1)?)))?;
    let ask = "SELECT count(*) FROM finding WHERE basis = ?1 AND swing = ?2";
    let findings: i64 = db.query_row(ask, params![basis, swing], |r| r.get(0))?;
    Ok(said == (figures, findings))
}
