//! What is exported, as of one instant: which swings and with them which players, sessions and rigs, laid down in tables of
//! this connection alone; and every row of a table, one after the other.
use super::bare::OUTCOMES;
use super::field::{Bare, Cell, Kind};
use super::tables::{Given, TABLES, Table};
use crate::error::StudyError;
use crate::recipe::Basis;
use crate::select::Selection;
use crate::study::{Study, StudySettings};
use crate::wanted::Wanted;
use rusqlite::types::ValueRef;
use rusqlite::{Row, params};
use std::borrow::Cow;
use std::collections::BTreeSet;
use swing::metrics::{Unit, catalogue};
use view::quantity::COVERAGE;

/// Who may be known by an export.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Who {
    /// Players by their aliases, with everything that was written about them but their names.
    Aliases,
    /// Names as well.
    Names,
    /// Nobody: aliases of the export's own, no text that a person wrote, no dates.
    Nobody,
}

/// How everything in an export is told.
#[derive(Clone, Debug)]
pub struct Manner {
    /// Who may be known.
    pub who: Who,
    /// The way the swings are looked at.
    pub basis: Basis,
    /// The study's settings.
    pub settings: StudySettings,
}

impl Manner {
    /// True where nobody is to be known.
    pub fn bare(&self) -> bool {
        self.who == Who::Nobody
    }
}

/// An export in hand.
#[derive(Debug)]
pub struct Look {
    /// A connection of its own, in one transaction that only reads.
    pub(crate) study: Study,
    /// How everything is told.
    pub manner: Manner,
    basis_id: i64,
    /// The swings, in order, with what they are to be measured with.
    pub(crate) swings: Vec<Wanted>,
    /// How many of them were measured with something else than the study states now.
    pub stale: usize,
    /// True where all of the study was chosen.
    pub all: bool,
}

impl Look {
    /// Of a study and a choice of its swings.
    pub fn of(study: &Study, selection: &Selection, who: Who) -> Result<Self, StudyError> {
        let own = study.again()?;
        // The one thing that may have to be written, and nobody changes it.
        let (basis_id, basis) = own.usual_basis()?;
        own.db.execute_batch(SCRATCH)?;
        // From here on everything is of one instant, which is that of the first question.
        own.db.execute_batch("BEGIN")?;
        let all = *selection == Selection::default();
        let chosen: BTreeSet<i64> = own.chosen(selection)?.into_iter().collect();
        let old: BTreeSet<i64> = own.stale_among(basis_id, None, false)?.into_iter().collect();
        let mut swings = own.wanted(None)?;
        swings.retain(|w| chosen.contains(&w.swing));
        {
            let mut put = own.db.prepare("INSERT INTO temp.chosen VALUES (?1, ?2)")?;
            for w in &swings {
                put.execute(params![w.swing, !old.contains(&w.swing)])?;
            }
        }
        let extent = if all && who != Who::Nobody { EVERYTHING } else { WITH_SWINGS };
        own.db.execute_batch(extent)?;
        own.db.execute(RIGS, [basis_id])?;
        if all && who != Who::Nobody {
            own.db.execute_batch("INSERT OR IGNORE INTO temp.chosen_rig SELECT id FROM rig_version")?;
        }
        words(&own)?;
        let stale = swings.iter().filter(|w| old.contains(&w.swing)).count();
        let manner = Manner { who, basis, settings: own.settings.clone() };
        Ok(Self { study: own, manner, basis_id, swings, stale, all })
    }

    /// True where nobody is to be known.
    pub fn bare(&self) -> bool {
        self.manner.bare()
    }

    /// The tables of this export.
    pub fn tables(&self) -> impl Iterator<Item = &'static Table> {
        TABLES.iter().filter(|t| self.gives(t))
    }

    /// Whether a table is part of it.
    pub fn gives(&self, table: &Table) -> bool {
        match table.given {
            Given::Always => true,
            Given::Named => !self.bare(),
            Given::Asked => self.manner.who == Who::Names,
        }
    }

    /// Hands on every row, or those within a row of another table, with its number; in order, one at a time.
    pub fn each_row(
        &self,
        table: &Table,
        within: Option<i64>,
        mut take: impl FnMut(i64, &[Cell<'_>]) -> Result<(), StudyError>,
    ) -> Result<u64, StudyError> {
        let bare = self.bare();
        let columns: Vec<_> = table.given_columns(bare).collect();
        let mut ask = format!("SELECT {}", table.id);
        for column in &columns {
            ask.push_str(", ");
            ask.push_str(match column.bare {
                Bare::Instead(sql) if bare => sql,
                _ => column.from,
            });
        }
        ask.push_str(&format!(" FROM {}", table.from));
        let mut conditions = Vec::new();
        if within.is_some() {
            conditions.push(format!("{} = ?1", table.within));
        }
        if table.name == "changes" && !self.all {
            conditions.push(CHANGES.into());
        }
        if !conditions.is_empty() {
            ask.push_str(&format!(" WHERE {}", conditions.join(" AND ")));
        }
        if !table.order.is_empty() {
            ask.push_str(&format!(" ORDER BY {}", table.order));
        }
        let usual = || OUTCOMES.iter().map(|o| format!("'{o}'")).collect::<Vec<_>>().join(",");
        let outcomes = if bare { format!("o.name IN ({})", usual()) } else { "1".into() };
        let ask = ask
            .replace("{basis}", &self.basis_id.to_string())
            .replace("{coverage}", &COVERAGE.to_string())
            .replace("{outcomes}", &outcomes);
        let mut ask = self.study.db.prepare_cached(&ask)?;
        let mut rows = match within {
            Some(id) => ask.query([id])?,
            None => ask.query([])?,
        };
        let mut count = 0;
        while let Some(row) = rows.next()? {
            let mut cells = Vec::with_capacity(columns.len());
            for (k, column) in columns.iter().enumerate() {
                let cell = cell(row, k + 1, column.kind)?;
                cells.push(match (column.bare, cell) {
                    (Bare::Through(keep), Cell::Text(text)) if bare => {
                        keep(&text).map_or(Cell::Null, |t| Cell::Text(Cow::Owned(t)))
                    }
                    (_, cell) => cell,
                });
            }
            take(row.get(0)?, &cells)?;
            count += 1;
        }
        Ok(count)
    }
}

fn cell<'a>(row: &'a Row<'_>, k: usize, kind: Kind) -> Result<Cell<'a>, StudyError> {
    Ok(match (row.get_ref(k)?, kind) {
        (ValueRef::Null, _) => Cell::Null,
        (ValueRef::Integer(n), Kind::Number) => Cell::number(n as f64),
        (ValueRef::Integer(n), Kind::Boolean) => Cell::Boolean(n != 0),
        (ValueRef::Integer(n), _) => Cell::Integer(n),
        (ValueRef::Real(v), Kind::Integer) => Cell::Integer(v as i64),
        (ValueRef::Real(v), _) => Cell::number(v),
        (ValueRef::Text(bytes) | ValueRef::Blob(bytes), _) => match String::from_utf8_lossy(bytes) {
            text if text.is_empty() => Cell::Null,
            text => Cell::Text(text),
        },
    })
}

/// Of this connection alone; they are in memory and go with it.
const SCRATCH: &str = "
CREATE TEMP TABLE chosen (swing INTEGER PRIMARY KEY, current INTEGER NOT NULL);
CREATE TEMP TABLE chosen_session (session INTEGER PRIMARY KEY);
CREATE TEMP TABLE chosen_player (player INTEGER PRIMARY KEY, first_day TEXT);
CREATE TEMP TABLE chosen_rig (version INTEGER PRIMARY KEY);
CREATE TEMP TABLE words (place INTEGER PRIMARY KEY, id INTEGER, name TEXT, label TEXT, chapter TEXT, unit TEXT,
    unit_by_weight TEXT, definition TEXT, formula TEXT, sign TEXT, needs TEXT, source TEXT);
";

/// The whole study.
const EVERYTHING: &str = "
INSERT INTO temp.chosen_session SELECT id FROM session;
INSERT INTO temp.chosen_player SELECT p.id, (SELECT min(date) FROM session WHERE player = p.id) FROM player p;
";

/// Only what has a swing among those chosen.
const WITH_SWINGS: &str = "
INSERT INTO temp.chosen_session SELECT DISTINCT w.session FROM temp.chosen c JOIN swing w ON w.id = c.swing;
INSERT INTO temp.chosen_player SELECT p.id, (SELECT min(date) FROM session WHERE player = p.id) FROM player p
    WHERE p.id IN (SELECT s.player FROM temp.chosen_session c JOIN session s ON s.id = c.session);
";

const RIGS: &str = "
INSERT INTO temp.chosen_rig SELECT DISTINCT m.rig_version FROM temp.chosen c
    JOIN measurement m ON m.basis = ?1 AND m.swing = c.swing WHERE m.rig_version IS NOT NULL";

const CHANGES: &str = "CASE WHEN h.swing IS NOT NULL THEN h.swing IN (SELECT swing FROM chosen)
    WHEN h.session IS NOT NULL THEN h.session IN (SELECT session FROM chosen_session)
    WHEN h.player IS NOT NULL THEN h.player IN (SELECT player FROM chosen_player) ELSE 0 END";

/// The catalogue of metrics, then those that only an earlier program knew.
fn words(own: &Study) -> Result<(), StudyError> {
    let mut ask = own.db.prepare("SELECT id, name, label, unit FROM metric ORDER BY name")?;
    let rows = ask.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?)))?;
    let kept: Vec<(i64, String, String, String)> = rows.collect::<Result<_, _>>()?;
    let mut put = own
        .db
        .prepare("INSERT INTO temp.words VALUES (NULL, ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)")?;
    for (metric, m) in catalogue().iter().zip(view::catalogue::rows()) {
        let id = kept.iter().find(|k| k.1 == m.id).map(|k| k.0);
        put.execute(params![
            id,
            m.id,
            m.label,
            m.group,
            m.unit,
            unit_by_weight(metric.unit),
            m.definition,
            m.formula,
            m.sign,
            m.needs.join(", "),
            m.source
        ])?;
    }
    for (id, name, label, unit) in kept.iter().filter(|k| !catalogue().iter().any(|m| m.id == k.1)) {
        put.execute(params![id, name, label, "", unit, "", "", "", "", "", ""])?;
    }
    Ok(())
}

/// A unit over newtons, where figures are related to body weight.
fn unit_by_weight(unit: Unit) -> &'static str {
    match unit {
        Unit::Newton => "1",
        Unit::NewtonSecond => "s",
        Unit::NewtonPerSecond => "1/s",
        Unit::NewtonMetre => "m",
        Unit::NewtonMetreSecond => "m·s",
        _ => "",
    }
}
