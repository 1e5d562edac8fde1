//! Rows out of a damaged catalogue: whole tables where they are sound, else every row that can be reached, from either end,
//! by its number, and, where its own page is gone, from what indexes still know of it. What is lost is said row by row.
use crate::error::StudyError;
use crate::keep;
use crate::recall::{recall, rig_versions};
use crate::verify::DERIVED;
use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension as _, Row, params, params_from_iter};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// What a table has lost.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Lost {
    /// The table.
    pub table: String,
    /// Rows that were put together from indexes and files, by their keys.
    pub partly: Vec<String>,
    /// What those have lost, by column.
    pub columns: Vec<String>,
    /// Rows that are gone, by their keys: those that are known to have been there.
    pub rows: Vec<String>,
    /// Keys whose rows could not be looked for, neighbours as a range: where there were any, they are gone.
    pub unreadable: Vec<String>,
}

impl Lost {
    /// A row that stands for one that is gone: only its number is left.
    pub(crate) fn stand_in(&mut self, id: i64, columns: &str) {
        self.rows.retain(|key| *key != id.to_string());
        self.partly.push(id.to_string());
        self.columns.extend(columns.split(' ').map(str::to_string));
        self.columns.sort();
        self.columns.dedup();
    }
}

/// A table as its schema tells it.
struct Table {
    name: String,
    columns: Vec<Column>,
    /// Places of the key's columns.
    key: Vec<usize>,
    /// True where the key is the row's number.
    numbered: bool,
}

struct Column {
    name: String,
    may_be_null: bool,
    default: Option<String>,
}

/// A name as SQL takes it, whatever is in it.
pub(crate) fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

impl Table {
    fn of(db: &Connection, name: &str) -> Result<Self, StudyError> {
        let mut ask = db.prepare(&format!("PRAGMA main.table_info({})", quoted(name)))?;
        let row = |r: &Row<'_>| {
            let column =
                Column { name: r.get(1)?, may_be_null: r.get::<_, i64>(3)? == 0, default: r.get(4)? };
            Ok((column, r.get::<_, i64>(5)?))
        };
        let all: Vec<(Column, i64)> = ask.query_map([], row)?.collect::<Result<_, _>>()?;
        let mut key: Vec<(i64, usize)> =
            all.iter().enumerate().filter(|(_, (_, pk))| *pk > 0).map(|(k, (_, pk))| (*pk, k)).collect();
        key.sort_unstable();
        let ask = "SELECT wr FROM pragma_table_list WHERE schema = 'main' AND name = ?1";
        let numbered = db.query_row(ask, [name], |r| r.get::<_, i64>(0))? == 0;
        let columns = all.into_iter().map(|(c, _)| c).collect();
        Ok(Self { name: name.to_string(), columns, key: key.into_iter().map(|(_, k)| k).collect(), numbered })
    }

    fn list(&self) -> String {
        self.columns.iter().map(|c| quoted(&c.name)).collect::<Vec<_>>().join(", ")
    }

    fn key_list(&self, end: &str) -> String {
        let name = |k: &usize| self.columns.get(*k).map(|c| format!("{}{end}", quoted(&c.name)));
        self.key.iter().filter_map(name).collect::<Vec<_>>().join(", ")
    }

    fn lead(&self) -> &str {
        self.key.first().and_then(|k| self.columns.get(*k)).map_or("", |c| c.name.as_str())
    }

    fn key_of(&self, row: &[Value]) -> String {
        let part = |k: &usize| match row.get(*k) {
            Some(Value::Integer(n)) => n.to_string(),
            Some(Value::Text(text)) => text.clone(),
            _ => "?".into(),
        };
        self.key.iter().map(part).collect::<Vec<_>>().join(" ")
    }

    fn put(&self, db: &Connection, row: &[Value]) -> rusqlite::Result<usize> {
        let marks = vec!["?"; self.columns.len()].join(", ");
        db.prepare_cached(&format!("INSERT INTO main.{} VALUES ({marks})", quoted(&self.name)))?
            .execute(params_from_iter(row))
    }
}

/// Rows until the first that cannot be read.
fn until(db: &Connection, ask: &str, values: &[i64], columns: usize) -> (Vec<Vec<Value>>, bool) {
    let mut found = Vec::new();
    let mut read = || -> rusqlite::Result<()> {
        let mut ask = db.prepare_cached(ask)?;
        let mut rows = ask.query(params_from_iter(values))?;
        while let Some(row) = rows.next()? {
            found.push((0..columns).map(|k| row.get(k)).collect::<Result<_, _>>()?);
        }
        Ok(())
    };
    let whole = read().is_ok();
    (found, whole)
}

/// Copies every table of `old` into `db`, which has the same schema and no rows. Tables of what is measured are copied only
/// where `derived` says so. Two connections: one that has met a damaged page writes no more.
pub(crate) fn salvage(
    old: &Connection,
    db: &Connection,
    root: &Path,
    damaged: &BTreeSet<String>,
    derived: bool,
) -> Result<Vec<Lost>, StudyError> {
    let mut lost = Vec::new();
    for name in crate::verify::tables(db)? {
        if DERIVED.contains(&name.as_str()) && !derived {
            continue;
        }
        let table = Table::of(db, &name)?;
        if !damaged.contains(&name) {
            copy_whole(old, db, &table)?;
        } else {
            lost.extend(reach(old, db, root, &table, damaged)?);
        }
    }
    // Numbers that were given once are not given again.
    let (counters, _) = until(old, "SELECT name, seq FROM sqlite_sequence", &[], 2);
    for counter in counters {
        if let [Value::Text(name), Value::Integer(seq)] = counter.as_slice()
            && given(*seq)
        {
            let known = "UPDATE main.sqlite_sequence SET seq = max(seq, ?2) WHERE name = ?1";
            if db.execute(known, params![name, seq])? == 0 {
                db.execute(
                    "INSERT INTO main.sqlite_sequence (name, seq) VALUES (?1, ?2)",
                    params![name, seq],
                )?;
            }
        }
    }
    rig_versions(old, db, damaged, &mut lost)?;
    join(db, &mut lost)?;
    recall(old, db, damaged, &mut lost)?;
    Ok(lost)
}

/// A sound table, row by row.
fn copy_whole(old: &Connection, db: &Connection, table: &Table) -> Result<(), StudyError> {
    let mut ask = old.prepare(&format!("SELECT {} FROM {}", table.list(), quoted(&table.name)))?;
    let mut rows = ask.query([])?;
    while let Some(row) = rows.next()? {
        let row: Vec<Value> = (0..table.columns.len()).map(|k| row.get(k)).collect::<Result<_, _>>()?;
        table.put(db, &row)?;
    }
    Ok(())
}

/// What of a damaged table can be reached.
fn reach(
    old: &Connection,
    db: &Connection,
    root: &Path,
    table: &Table,
    damaged: &BTreeSet<String>,
) -> Result<Option<Lost>, StudyError> {
    let (name, list) = (quoted(&table.name), table.list());
    let width = table.columns.len();
    let mut gone: BTreeSet<String> = BTreeSet::new();
    let mut rows: BTreeMap<String, Vec<Value>> = BTreeMap::new();
    let mut take = |found: Vec<Vec<Value>>| {
        for row in found {
            rows.entry(table.key_of(&row)).or_insert(row);
        }
    };
    let ask = format!("SELECT {list} FROM {name} NOT INDEXED ORDER BY {}", table.key_list(""));
    let (mut first, whole) = until(old, &ask, &[], width);
    let mut sane = |row: &Vec<Value>| {
        let is = !table.numbered || number(table.key.first().and_then(|k| row.get(*k))).is_some_and(given);
        if !is {
            gone.insert(table.key_of(row));
        }
        is
    };
    first.retain(&mut sane);
    let integer = |row: Option<&Vec<Value>>| match row.and_then(|r| r.get(*table.key.first()?)) {
        Some(Value::Integer(n)) => Some(*n),
        _ => None,
    };
    let from = integer(first.last()).unwrap_or(0).saturating_add(1);
    take(first);
    let mut missed = Spans::default();
    // True where every key that there may have been is looked for, or known to an index.
    let mut all_tried = true;
    let indexed = Indexed::of(old, table)?;
    if !whole {
        let ask = format!("SELECT {list} FROM {name} NOT INDEXED ORDER BY {}", table.key_list(" DESC"));
        let (mut last, _) = until(old, &ask, &[], width);
        last.retain(&mut sane);
        let to = integer(last.last());
        take(last);
        // Key by key in between.
        let parent = parent_of(db, table)?;
        let most = to.map(|t| t.saturating_sub(1)).or_else(|| sequence(old, &table.name));
        let candidates: Vec<i64> = match (&parent, most) {
            (None, _) if !table.numbered => Vec::new(),
            (Some(parent), None) => {
                all_tried = !damaged.contains(parent);
                let ask = format!("SELECT id FROM main.{} ORDER BY id", quoted(parent));
                until(db, &ask, &[], 1).0.iter().filter_map(|r| number(r.first())).collect()
            }
            (_, most) => {
                let last = most.or(indexed.most).unwrap_or(from.saturating_sub(1));
                all_tried = most.is_some() && last <= from.saturating_add(MOST);
                (from..=last.min(from.saturating_add(MOST))).collect()
            }
        };
        all_tried = indexed.complete || (all_tried && (table.numbered || parent.is_some()));
        let ask = format!("SELECT {list} FROM {name} WHERE {} = ?1", quoted(table.lead()));
        for id in candidates {
            let (found, whole) = until(old, &ask, &[id], width);
            take(found);
            if !whole {
                missed.add(id);
            }
        }
    }
    for row in indexed.whole.into_iter().filter(|row| sane(row)) {
        rows.entry(table.key_of(&row)).or_insert(row);
    }
    for (key, row) in &rows {
        if table.put(db, row).is_err() {
            gone.insert(key.clone()); // not what the schema allows: it was written over
        }
    }
    let mut partly = BTreeMap::new();
    for (key, known) in indexed.partly {
        if rows.contains_key(&key) && !gone.contains(&key) {
            continue;
        }
        let row = (table.numbered && key.parse().is_ok_and(given))
            .then(|| put_together(table, &known, root))
            .flatten();
        match row {
            Some((row, missing)) if table.put(db, &row).is_ok() => {
                gone.remove(&key);
                partly.insert(key, missing);
            }
            _ => drop(gone.insert(key)),
        }
    }
    let mut unreadable = Spans::default();
    // Where an index knows every row, a key that it does not know never was.
    for id in missed.numbers().filter(|_| !indexed.complete) {
        let key = id.to_string();
        if !partly.contains_key(&key) && !gone.contains(&key) {
            unreadable.add(id);
        }
    }
    let mut unreadable = unreadable.words(table.lead());
    if !all_tried {
        unreadable.push(NUMBER_UNKNOWN.to_string());
    }
    if partly.is_empty() && gone.is_empty() && unreadable.is_empty() {
        return Ok(None);
    }
    let columns: BTreeSet<String> = partly.values().flatten().cloned().collect();
    let columns = columns.into_iter().collect();
    let (partly, rows) = (by_number(partly.into_keys()), by_number(gone.into_iter()));
    Ok(Some(Lost { table: table.name.clone(), partly, columns, rows, unreadable }))
}

/// Said where some of a table could not be read and nothing tells how many rows that was.
const NUMBER_UNKNOWN: &str = "some rows, their number is unknown";

/// Whole numbers, neighbours as one stretch.
#[derive(Default)]
pub(crate) struct Spans(Vec<(i64, i64)>);

impl Spans {
    /// Adds a number; in rising order they make stretches.
    pub(crate) fn add(&mut self, n: i64) {
        match self.0.last_mut() {
            Some((_, to)) if to.checked_add(1) == Some(n) => *to = n,
            _ => self.0.push((n, n)),
        }
    }

    fn numbers(&self) -> impl Iterator<Item = i64> + '_ {
        self.0.iter().flat_map(|(from, to)| *from..=*to)
    }

    /// "swing 3", "swing 7–12".
    pub(crate) fn words(&self, of: &str) -> Vec<String> {
        let word = |(from, to): &(i64, i64)| {
            if from == to { format!("{of} {from}") } else { format!("{of} {from}–{to}") }
        };
        self.0.iter().map(word).collect()
    }

    /// The stretch that a word says.
    pub(crate) fn read(word: &str) -> Option<std::ops::RangeInclusive<i64>> {
        let (_, numbers) = word.rsplit_once(' ')?;
        let (from, to) = numbers.split_once('–').unwrap_or((numbers, numbers));
        Some(from.parse().ok()?..=to.parse().ok()?)
    }
}

/// The table whose numbers the first column of a key speaks of.
fn parent_of(db: &Connection, table: &Table) -> Result<Option<String>, StudyError> {
    let ask = "SELECT \"table\" FROM pragma_foreign_key_list(?1) WHERE \"from\" = ?2 AND \"table\" <> 'measurement'";
    Ok(db.query_row(ask, [table.name.as_str(), table.lead()], |r| r.get(0)).optional()?)
}

/// How many numbers in a row are looked for one by one.
const MOST: i64 = 1_000_000;

/// Whether a row can have been given a number. They are given in order from 1: far beyond, something was written over it.
fn given(number: i64) -> bool {
    (1..1 << 48).contains(&number)
}

fn number(value: Option<&Value>) -> Option<i64> {
    match value {
        Some(Value::Integer(n)) => Some(*n),
        _ => None,
    }
}

fn by_number(keys: impl Iterator<Item = String>) -> Vec<String> {
    let mut keys: Vec<String> = keys.collect();
    keys.sort_by_key(|k| {
        (k.split(' ').next().and_then(|n| n.parse::<i64>().ok()).unwrap_or(i64::MAX), k.clone())
    });
    keys
}

fn sequence(old: &Connection, name: &str) -> Option<i64> {
    old.query_row("SELECT seq FROM sqlite_sequence WHERE name = ?1", [name], |r| r.get(0))
        .ok()
        .filter(|n| given(*n))
}

/// What the indexes of a table still know.
#[derive(Default)]
struct Indexed {
    /// Rows of which an index knows every column.
    whole: Vec<Vec<Value>>,
    /// By key, the columns that are known.
    partly: BTreeMap<String, BTreeMap<usize, Value>>,
    /// The largest row number.
    most: Option<i64>,
    /// True where one of them could be read from end to end.
    complete: bool,
}

impl Indexed {
    fn of(old: &Connection, table: &Table) -> Result<Self, StudyError> {
        let mut out = Self::default();
        let ask = "SELECT name FROM pragma_index_list(?1, 'main') WHERE origin <> 'pk'";
        let names: Vec<String> =
            old.prepare(ask)?.query_map([&table.name], |r| r.get(0))?.collect::<Result<_, _>>()?;
        for index in names {
            let ask = "SELECT cid FROM pragma_index_info(?1, 'main')";
            let mut places: Vec<usize> = old
                .prepare(ask)?
                .query_map([&index], |r| r.get::<_, i64>(0))?
                .map(|cid| cid.map(|c| usize::try_from(c).unwrap_or_default()))
                .collect::<Result<_, _>>()?;
            places.extend(&table.key);
            places.sort_unstable();
            places.dedup();
            let list: Vec<String> =
                places.iter().filter_map(|p| Some(quoted(&table.columns.get(*p)?.name))).collect();
            for order in ["ASC", "DESC"] {
                let first = "SELECT name FROM pragma_index_info(?1, 'main') WHERE seqno = 0";
                let first: String = old.query_row(first, [&index], |r| r.get(0))?;
                let ask = format!(
                    "SELECT {} FROM {} INDEXED BY {} ORDER BY {} {order}",
                    list.join(", "),
                    quoted(&table.name),
                    quoted(&index),
                    quoted(&first)
                );
                let (found, whole) = until(old, &ask, &[], places.len());
                for values in found {
                    let known: BTreeMap<usize, Value> = places.iter().copied().zip(values).collect();
                    out.take(table, known);
                }
                out.complete |= whole;
                if whole {
                    break;
                }
            }
        }
        Ok(out)
    }

    fn take(&mut self, table: &Table, known: BTreeMap<usize, Value>) {
        let all: Vec<Value> =
            (0..table.columns.len()).map(|k| known.get(&k).cloned().unwrap_or(Value::Null)).collect();
        if table.numbered {
            let number = number(table.key.first().and_then(|k| all.get(*k)));
            self.most = self.most.max(number.filter(|n| given(*n)));
        }
        let key = table.key_of(&all);
        if known.len() == table.columns.len() {
            self.whole.push(all);
        } else {
            self.partly.entry(key).or_default().extend(known);
        }
    }
}

/// A row from what is known of it, with the columns that are lost; `None` where that makes no row.
fn put_together(
    table: &Table,
    known: &BTreeMap<usize, Value>,
    root: &Path,
) -> Option<(Vec<Value>, Vec<String>)> {
    let text = |column: &str| {
        let place = table.columns.iter().position(|c| c.name == column)?;
        match known.get(&place) {
            Some(Value::Text(text)) => Some(text.clone()),
            _ => None,
        }
    };
    let original = if table.name == "swing" { Some(found_original(root, &text("hash")?)) } else { None };
    let (mut row, mut lost) = (Vec::new(), Vec::new());
    for (k, column) in table.columns.iter().enumerate() {
        if let Some(value) = known.get(&k) {
            row.push(value.clone());
            continue;
        }
        lost.push(column.name.clone());
        let (ending, bytes) = original.as_ref().map_or(("", 0), |(e, b)| (e.as_str(), *b));
        row.push(match (table.name.as_str(), column.name.as_str()) {
            ("swing", "ending") => {
                lost.pop();
                Value::Text(ending.to_string())
            }
            ("swing", "bytes") => {
                lost.pop();
                Value::Integer(bytes)
            }
            ("swing", "name") => Value::Text(if ending.is_empty() {
                "recording".into()
            } else {
                format!("recording.{ending}")
            }),
            ("rig_version", "hash") => {
                lost.pop();
                Value::Text(String::new())
            }
            ("rig_version", "text") => Value::Text(String::new()),
            ("player", "alias") => Value::Text(text("alias_key")?),
            ("rig", "name") => Value::Text(text("name_key")?),
            (_, at) if at.ends_with("_at") && !column.may_be_null => Value::Text(String::new()),
            _ if column.may_be_null => Value::Null,
            _ if column.default.as_deref() == Some("''") => Value::Text(String::new()),
            _ => return None,
        });
    }
    Some((row, lost))
}

/// Ending and length of the recording with a hash.
fn found_original(root: &Path, hash: &str) -> (String, i64) {
    let folder = root.join(keep::original(hash, "")).parent().map(Path::to_path_buf).unwrap_or_default();
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.file_stem().is_some_and(|s| s.to_string_lossy() == hash) {
            let bytes = entry.metadata().map_or(0, |m| m.len() as i64);
            return (keep::ending(&path), bytes);
        }
    }
    (String::new(), 0)
}

/// Makes rows fit together again: a session or player that is spoken of and gone gets a row that says so; what speaks of a swing
/// that is gone is lost with it.
fn join(db: &Connection, lost: &mut Vec<Lost>) -> Result<(), StudyError> {
    const NOTE: &str = "put back by a rebuild: its row in the catalogue was damaged";
    let numbers = |ask: &str| -> Result<Vec<i64>, StudyError> {
        Ok(db.prepare(ask)?.query_map([], |r| r.get(0))?.collect::<Result<_, _>>()?)
    };
    let player = |id: Option<i64>, alias: &str| {
        db.execute(
            "INSERT INTO main.player (id, alias, alias_key, note, added_at) VALUES (?1, ?2, ?2, ?3, '')",
            params![id, alias, NOTE],
        )
    };
    let orphans =
        numbers("SELECT DISTINCT session FROM swing WHERE session NOT IN (SELECT id FROM session)")?;
    if !orphans.is_empty() {
        let of = match numbers("SELECT id FROM player WHERE alias_key = 'recovered'")?.first() {
            Some(id) => *id,
            None => {
                player(None, "recovered")?;
                db.last_insert_rowid()
            }
        };
        for id in orphans {
            db.execute(
                "INSERT INTO main.session (id, player, note, added_at) VALUES (?1, ?2, ?3, '')",
                params![id, of, NOTE],
            )?;
            let columns = "player date rig target mass_kg club_marker place note added_at";
            lost_of(lost, "session").stand_in(id, columns);
        }
    }
    for id in numbers("SELECT DISTINCT player FROM session WHERE player NOT IN (SELECT id FROM player)")? {
        player(Some(id), &format!("recovered-{id}"))?;
        let columns = "alias hand sex handicap born note consent_on consent_to keep_until added_at";
        lost_of(lost, "player").stand_in(id, columns);
    }
    // A session must not be read as if it had no rig.
    let rigs = "SELECT rig FROM session WHERE rig IS NOT NULL AND rig NOT IN (SELECT id FROM rig)
                UNION SELECT rig FROM rig_version WHERE rig NOT IN (SELECT id FROM rig)";
    for id in numbers(rigs)? {
        let name = format!("recovered-{id}");
        db.execute("INSERT INTO main.rig (id, name, name_key) VALUES (?1, ?2, ?2)", params![id, name])?;
        lost_of(lost, "rig").stand_in(id, "name note");
    }
    for table in crate::verify::tables(db)? {
        // What belongs to a measurement is copied with it or made again with it.
        let ask =
            "SELECT \"from\", \"table\" FROM pragma_foreign_key_list(?1) WHERE \"table\" <> 'measurement'";
        let links: Vec<(String, String)> = db
            .prepare(ask)?
            .query_map([&table], |r| Ok((r.get(0)?, r.get(1)?)))?
            .collect::<Result<_, _>>()?;
        for (key, parent) in links {
            let (of, key, there) = (quoted(&table), quoted(&key), quoted(&parent));
            let gone = format!("{key} IS NOT NULL AND {key} NOT IN (SELECT id FROM main.{there})");
            if !DERIVED.contains(&table.as_str()) {
                for id in numbers(&format!("SELECT DISTINCT {key} FROM main.{of} WHERE {gone}"))? {
                    lost_of(lost, &table).rows.push(format!("of {parent} {id}"));
                }
            }
            let taken = db.execute(&format!("DELETE FROM main.{of} WHERE {gone}"), [])?;
            if taken > 0 && table == "measurement" {
                clear_nobodys(db)?;
            }
        }
    }
    Ok(())
}

/// Takes out events, findings and figures of measurements that are no more.
pub(crate) fn clear_nobodys(db: &Connection) -> Result<(), StudyError> {
    let nobodys = "NOT EXISTS (SELECT 1 FROM measurement m WHERE m.basis = t.basis AND m.swing = t.swing)";
    for table in ["event", "finding", "figure"] {
        db.execute(&format!("DELETE FROM {table} AS t WHERE {nobodys}"), [])?;
    }
    Ok(())
}

pub(crate) fn lost_of<'a>(lost: &'a mut Vec<Lost>, table: &str) -> &'a mut Lost {
    let at = lost.iter().position(|l| l.table == table).unwrap_or_else(|| {
        let table = table.to_string();
        lost.push(Lost {
            table,
            partly: Vec::new(),
            columns: Vec::new(),
            rows: Vec::new(),
            unreadable: Vec::new(),
        });
        lost.len() - 1
    });
    &mut lost[at]
}
