//! Swings as rows: what each is, what it supports, and its key figures.
use crate::condition::metric_called;
use crate::error::StudyError;
use crate::select::{Selection, from, from_sessions};
use crate::study::Study;
use crate::wanted::within;
use rusqlite::{Connection, Row, params_from_iter};
use std::collections::BTreeMap;
use swing::metrics::{Metric, catalogue};
use view::study::{FigureView, KEYS, Key, Stored, SwingRow, figure};

/// The order of swings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Order {
    /// By what.
    pub by: By,
    /// The other way round.
    pub reverse: bool,
}

/// By what swings are put in order; what is equal by it, newest first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum By {
    /// The latest day first, and within it the latest session and number; those without a day last.
    Newest,
    /// The player's alias.
    Player,
    /// The club.
    Club,
    /// A metric, the greatest first, swings without it last either way.
    Metric(&'static Metric),
}

impl Order {
    /// The newest first.
    pub const NEWEST: Self = Self { by: By::Newest, reverse: false };

    /// As SQL, and a join it needs.
    fn sql(self, study: &Study, basis: i64) -> Result<(String, String), StudyError> {
        let (up, down) = if self.reverse { ("DESC", "ASC") } else { ("ASC", "DESC") };
        let newest = "s.date DESC, s.id DESC, w.number DESC";
        let none = String::new();
        Ok(match self.by {
            By::Newest => (format!("s.date {down}, s.id {down}, w.number {down}"), none),
            By::Player => (format!("p.alias_key {up}, {newest}"), none),
            By::Club => (format!("w.club {up}, {newest}"), none),
            By::Metric(metric) => {
                let number = study.metric_number(&metric.id)?;
                let join = format!(
                    "LEFT JOIN figure k ON k.metric = {number} AND k.basis = {basis} AND k.swing = w.id"
                );
                (format!("k.value IS NULL, k.value {down}, {newest}"), join)
            }
        })
    }
}

impl std::str::FromStr for By {
    type Err = StudyError;

    fn from_str(word: &str) -> Result<Self, StudyError> {
        Ok(match word {
            "newest" => Self::Newest,
            "player" => Self::Player,
            "club" => Self::Club,
            metric => Self::Metric(metric_called(metric)?),
        })
    }
}

/// Some of the swings chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// Those asked for, in order.
    pub rows: Vec<SwingRow>,
    /// How many there are in all.
    pub total: usize,
    /// Numbers of those rows whose figures are out of date, or that have not been measured as the study asks for now.
    pub stale: Vec<i64>,
}

impl Study {
    /// The swings chosen, in order, from `offset` (0: the first) on, at most `limit`. Figures are read for these alone.
    pub fn list(
        &self,
        selection: &Selection,
        order: Order,
        limit: Option<usize>,
        offset: usize,
    ) -> Result<Page, StudyError> {
        let (basis, _) = self.usual_basis()?;
        let look = self.read()?;
        let condition = selection.condition(self, basis)?;
        let (by, join) = order.sql(self, basis)?;
        let newest = order.by == By::Newest && selection.by_sessions();
        let tables = if newest { from_sessions(basis) } else { from(basis) };
        let ask = format!(
            "SELECT w.id, p.alias, s.id, s.date, w.number, w.club, w.name, m.feet, m.failed, m.stops, m.doubts, w.note
             {tables} {join} WHERE {} ORDER BY {by} LIMIT {} OFFSET {offset}",
            condition.text,
            limit.map_or(-1, |n| n as i64)
        );
        let mut ask = look.prepare(&ask)?;
        let rows = ask.query_map(params_from_iter(condition.values.iter()), row)?;
        let mut rows: Vec<SwingRow> = rows.collect::<Result<_, _>>()?;
        let whole = limit.is_none_or(|n| rows.len() < n) && (offset == 0 || !rows.is_empty());
        let total = if whole { offset + rows.len() } else { self.count(&look, selection, basis)? };
        for some in rows.chunks_mut(MANY) {
            complete(&look, basis, some)?;
        }
        let shown: Vec<i64> = rows.iter().map(|r| r.swing).collect();
        let stale = self.stale_among(basis, Some(&shown), false)?;
        Ok(Page { rows, total, stale })
    }

    /// How many swings are chosen.
    fn count(&self, look: &Connection, selection: &Selection, basis: i64) -> Result<usize, StudyError> {
        if *selection == Selection::default() {
            return Ok(look.query_row("SELECT count(*) FROM swing", [], |r| r.get::<_, i64>(0))? as usize);
        }
        let condition = selection.condition(self, basis)?;
        let ask = format!("SELECT count(*) {} WHERE {}", from(basis), condition.text);
        let count: i64 = look.query_row(&ask, params_from_iter(condition.values.iter()), |r| r.get(0))?;
        Ok(count as usize)
    }
}

/// Rows that are completed with one query.
const MANY: usize = 5000;

fn row(r: &Row<'_>) -> rusqlite::Result<SwingRow> {
    Ok(SwingRow {
        swing: r.get(0)?,
        player: r.get(1)?,
        session: r.get(2)?,
        date: r.get(3)?,
        number: r.get(4)?,
        club: r.get(5)?,
        file: r.get(6)?,
        feet: r.get(7)?,
        failed: r.get(8)?,
        stops: r.get::<_, Option<i64>>(9)?.unwrap_or(0),
        doubts: r.get::<_, Option<i64>>(10)?.unwrap_or(0),
        note: r.get(11)?,
        tags: Vec::new(),
        marks: Vec::new(),
        figures: Vec::new(),
    })
}

/// Tags, events placed by hand and key figures of rows.
fn complete(look: &Connection, basis: i64, rows: &mut [SwingRow]) -> Result<(), StudyError> {
    let ids: Vec<i64> = rows.iter().map(|r| r.swing).collect();
    let these = |column: &str| within(column, Some(&ids));
    let tags = words(look, &format!("SELECT swing, word FROM tag {} ORDER BY swing, word", these("swing")))?;
    let marks = words(
        look,
        &format!("SELECT swing, event FROM mark {} ORDER BY swing, time_s, event", these("swing")),
    )?;
    let known = |key: &Key| catalogue().iter().find(|m| m.id == key.metric);
    let keys: Vec<&Metric> = KEYS.iter().filter_map(known).collect();
    let mut figures: BTreeMap<(i64, usize), FigureView> = BTreeMap::new();
    for (k, metric) in keys.iter().enumerate() {
        let mut ask = look.prepare(&format!(
            "SELECT f.swing, {STORED} FROM figure f JOIN metric n ON n.id = f.metric
             {} AND n.name = '{}' AND f.basis = {basis}",
            these("f.swing"),
            metric.id
        ))?;
        let found = ask.query_map([], |r| Ok((r.get(0)?, stored(r, 1)?)))?;
        for one in found {
            let (swing, stored): (i64, Stored) = one?;
            figures.insert((swing, k), figure(metric, stored));
        }
    }
    for row in rows {
        row.tags = tags.get(&row.swing).cloned().unwrap_or_default();
        row.marks = marks.get(&row.swing).cloned().unwrap_or_default();
        let of = |(k, metric): (usize, &&'static Metric)| {
            figures.remove(&(row.swing, k)).unwrap_or_else(|| figure(metric, Stored::default()))
        };
        row.figures = keys.iter().enumerate().map(of).collect();
    }
    Ok(())
}

/// What a figure is read with, beside [`stored`].
pub(crate) const STORED: &str = "f.value, f.u, f.by_weight, f.by_weight_u, f.at_s, f.estimated,
     (SELECT text FROM phrase WHERE id = f.touched), (SELECT text FROM phrase WHERE id = f.absent)";

/// A figure, from the column `k` on.
pub(crate) fn stored(r: &Row<'_>, k: usize) -> rusqlite::Result<Stored> {
    let by_weight: Option<f64> = r.get(k + 2)?;
    Ok(Stored {
        value: r.get(k)?,
        u: r.get(k + 1)?,
        by_weight: by_weight.zip(r.get(k + 3)?),
        at_s: r.get(k + 4)?,
        estimated: r.get::<_, Option<i64>>(k + 5)?.is_some(),
        touched_by: r.get::<_, Option<String>>(k + 6)?.unwrap_or_default(),
        absent: r.get(k + 7)?,
    })
}

fn words(look: &Connection, ask: &str) -> Result<BTreeMap<i64, Vec<String>>, StudyError> {
    let mut ask = look.prepare(ask)?;
    let mut all: BTreeMap<i64, Vec<String>> = BTreeMap::new();
    for row in ask.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))? {
        let (swing, word) = row?;
        all.entry(swing).or_default().push(word);
    }
    Ok(all)
}
