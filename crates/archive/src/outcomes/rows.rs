//! A table of outcomes as rows: which swing each says it is of, and its figures.
use super::Given;
use super::columns::{Columns, Said, find};
use crate::delimited::{Row, Sheet, is_nothing};
use crate::error::StudyError;
use crate::place::clock;
use crate::select::{Selection, from};
use crate::study::Study;
use serde::Serialize;

/// A row of outcomes.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct OutcomeRow {
    /// Which row it is, from 1, heads not counted.
    pub row: usize,
    /// Line in the file.
    pub line: u64,
    /// File that it is of.
    pub file: Option<String>,
    /// Number of the swing in the study.
    pub swing: Option<i64>,
    /// Number of the swing in its session.
    pub number: Option<i64>,
    /// Alias.
    pub player: Option<String>,
    /// Number of the session.
    pub session: Option<i64>,
    /// Day, ISO.
    pub date: Option<String>,
    /// Time of day, ISO.
    pub time: Option<String>,
    /// Figures.
    pub given: Vec<Given>,
}

/// A table of outcomes.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Name of the file.
    pub source: String,
    /// Its rows.
    pub rows: Vec<OutcomeRow>,
    /// Which columns were taken and which were not.
    pub columns: Columns,
    /// True where it has a column of files, swings, numbers, times.
    pub has: Has,
}

/// What a table says of its rows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Has {
    /// A column of files.
    pub file: bool,
    /// A column of swings of the study, or of numbers within the session.
    pub number: bool,
    /// A column of times.
    pub time: bool,
}

/// A swing to which a row may belong.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Candidate {
    /// Its number in the study.
    pub swing: i64,
    /// Its session.
    pub session: i64,
    /// Its number there.
    pub number: i64,
    /// The file's name when it came in, with the last folders it lay in.
    pub name: String,
    /// Alias.
    pub player: String,
    /// Day.
    pub date: Option<String>,
    /// When it was recorded, where stated.
    pub recorded_at: Option<String>,
    /// The file's own time.
    pub file_time: Option<String>,
}

const FILE: &[&str] = &["file", "filename", "recording", "path"];
const SWING: &[&str] = &["swing", "swingid"];
const NUMBER: &[&str] = &["number", "no", "nr", "shot", "shotno", "shotnumber", "swingnumber"];
const PLAYER: &[&str] = &["player", "alias"];
const SESSION: &[&str] = &["session", "sessionid"];
const DATE: &[&str] = &["date", "day"];
const TIME: &[&str] = &["time", "timestamp", "datetime", "recordedat"];
/// Columns that are words about the swing and never outcomes.
const WORDS: &[&str] = &["club", "note", "notes", "tags", "tag", "comment"];

impl Table {
    /// Reads a table; times as a format says (`%m/%d/%Y %I:%M:%S %p`), else in ISO.
    ///
    /// Errors: what [`Sheet::parse`] and [`find`] refuse; a cell that cannot be, with its place.
    pub fn parse(name: &str, bytes: &[u8], said: &[Said], times: Option<&str>) -> Result<Self, StudyError> {
        let mut sheet = Sheet::parse(name, bytes)?;
        let place = |names: &[&str]| sheet.column(names);
        let (file, swing, number, player) = (place(FILE), place(SWING), place(NUMBER), place(PLAYER));
        let (session, date, time, words) = (place(SESSION), place(DATE), place(TIME), place(WORDS));
        let keys: Vec<usize> =
            [file, swing, number, player, session, date, time, words].into_iter().flatten().collect();
        let columns = find(&mut sheet, &keys, said)?;
        if columns.outcomes.is_empty() {
            let seen: Vec<String> =
                columns.left_out.iter().map(|(head, why)| format!("\"{head}\": {why}")).collect();
            let why = format!("no column of it is an outcome with a unit ({})", seen.join("; "));
            return Err(StudyError::Sheet { file: name.into(), line: None, column: None, why });
        }
        let mut rows = Vec::with_capacity(sheet.rows.len());
        for (k, row) in sheet.rows.iter().enumerate() {
            let text = |column: Option<usize>| {
                column.map(|c| sheet.cell(row, c)).filter(|c| !is_nothing(c)).map(str::to_string)
            };
            let mut date_iso = match (date, text(date)) {
                (Some(c), Some(t)) => Some(clock::day(&t, None).map_err(|why| sheet.fault(row, c, why))?),
                _ => None,
            };
            let mut time_iso = None;
            if let (Some(c), Some(t)) = (time, text(time)) {
                let (day, at) = clock::moment(&t, times).map_err(|why| sheet.fault(row, c, why))?;
                date_iso = date_iso.or(day);
                time_iso = at;
            }
            rows.push(OutcomeRow {
                row: k + 1,
                line: row.line,
                file: text(file),
                swing: integer(&sheet, row, swing)?,
                number: integer(&sheet, row, number)?,
                player: text(player),
                session: integer(&sheet, row, session)?,
                date: date_iso,
                time: time_iso,
                given: columns.of(&sheet, row)?,
            });
        }
        let has = Has { file: file.is_some(), number: swing.or(number).is_some(), time: time.is_some() };
        Ok(Self { source: name.to_string(), rows, columns, has })
    }
}

/// A whole number in a cell.
pub(crate) fn integer(sheet: &Sheet, row: &Row, column: Option<usize>) -> Result<Option<i64>, StudyError> {
    let Some(column) = column else { return Ok(None) };
    let cell = sheet.cell(row, column);
    if is_nothing(cell) {
        return Ok(None);
    }
    match cell.parse::<i64>() {
        Ok(n) if n > 0 => Ok(Some(n)),
        _ => Err(sheet.fault(row, column, format!("\"{cell}\" is no whole number from 1"))),
    }
}

impl Study {
    /// The swings of a selection, as rows of outcomes may name them; by player, day, session and number.
    pub fn candidates(&self, selection: &Selection) -> Result<Vec<Candidate>, StudyError> {
        let (basis, _) = self.usual_basis()?;
        let condition = selection.condition(self, basis)?;
        let ask = format!(
            "SELECT w.id, w.session, w.number, ltrim(w.folders || '/' || w.name, '/'), p.alias, s.date, w.recorded_at, w.file_time {} WHERE {}
             ORDER BY p.alias_key, s.date, s.id, w.number",
            from(basis),
            condition.text
        );
        let mut ask = self.db.prepare(&ask)?;
        let rows = ask.query_map(rusqlite::params_from_iter(condition.values.iter()), |r| {
            Ok(Candidate {
                swing: r.get(0)?,
                session: r.get(1)?,
                number: r.get(2)?,
                name: r.get(3)?,
                player: r.get(4)?,
                date: r.get(5)?,
                recorded_at: r.get(6)?,
                file_time: r.get(7)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}
