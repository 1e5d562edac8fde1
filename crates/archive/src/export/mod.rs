//! Out of the study, for programs that know nothing of it: tables as CSV or Parquet, one document as JSON, a folder that
//! describes itself (Data Package 2.0), and recordings with our series as C3D. Read [`tables::TABLES`] first: every format is
//! made from it.
//!
//! **Invariant:** whole or not there: everything is written beside its place and renamed.
//! **Invariant:** of one instant: everything is read in one transaction.
//! **Invariant:** an unchanged study gives the same bytes: rows are in order, and no clock is looked at.
//! **Invariant:** without identity, a text goes out only as far as every word of it is known ([`bare`]).
pub mod analysed;
pub mod bare;
pub mod c3d;
pub mod document;
pub mod field;
pub mod look;
pub mod package;
pub mod place;
pub mod rows;
pub mod series;
pub mod tables;
pub mod words;

pub use look::{Look, Who};
pub use rows::Format;

use crate::error::StudyError;
use crate::keep;
use crate::select::Selection;
use crate::study::Study;
use field::Field;
use serde::Serialize;
use std::path::Path;
use tables::Table;

/// What is asked for.
#[derive(Clone, Debug)]
pub struct Ask {
    /// Which swings.
    pub selection: Selection,
    /// Who may be known.
    pub who: Who,
    /// Series as well.
    pub series: bool,
    /// The recordings as they came as well.
    pub originals: bool,
    /// In a package: every table as Parquet as well.
    pub parquet: bool,
    /// Instead of a file that is there; a folder that holds something is never written over.
    pub overwrite: bool,
}

/// Hears of every swing that has been worked on.
pub type Tell<'a> = dyn FnMut() + 'a;

/// What an export came to.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Told {
    /// Swings chosen.
    pub swings: usize,
    /// Of them, measured with something else than the study states now.
    pub stale: usize,
    /// Files written.
    pub files: usize,
    /// Rows of all tables.
    pub rows: u64,
    /// Swings that are not in it as asked, and why.
    pub not_written: Vec<NotWritten>,
}

/// A swing that is not in an export as asked.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct NotWritten {
    /// Its number.
    pub swing: i64,
    /// Why.
    pub why: String,
}

/// A file of an export.
#[derive(Clone, Debug)]
pub struct Written {
    /// Name of the table, or of the swing.
    pub name: String,
    /// Relative to the folder.
    pub path: String,
    /// "csv", "parquet", "c3d"…
    pub format: String,
    /// For people.
    pub title: String,
    /// What one row is.
    pub what: String,
    /// Its columns; empty for what is no table.
    pub fields: Vec<Field>,
    /// Rows.
    pub rows: u64,
    /// The table it is, where it is one of [`tables::TABLES`].
    pub table: Option<&'static Table>,
}

/// Every table as a file of its own in a new folder.
pub fn folder(
    study: &Study,
    ask: &Ask,
    format: Format,
    out: &Path,
    tell: &mut Tell<'_>,
) -> Result<Told, StudyError> {
    refuse(study, ask, out)?;
    let look = Look::of(study, &ask.selection, ask.who)?;
    place::whole_folder(out, |folder| {
        let (mut files, missing) = all_tables(&look, ask, format, folder, tell)?;
        files.extend(originals(&look, ask, folder, tell)?);
        Ok(told(&look, &files, missing))
    })
}

/// A folder that describes itself: Data Package 2.0.
pub fn package(study: &Study, ask: &Ask, out: &Path, tell: &mut Tell<'_>) -> Result<Told, StudyError> {
    refuse(study, ask, out)?;
    let look = Look::of(study, &ask.selection, ask.who)?;
    place::whole_folder(out, |folder| {
        let plain = Ask { series: false, ..ask.clone() };
        let (mut files, _) = all_tables(&look, &plain, Format::Csv, folder, tell)?;
        if ask.parquet {
            files.extend(all_tables(&look, &plain, Format::Parquet, folder, tell)?.0);
        }
        // Series are many: Parquet alone.
        let (more, missing) = long_series(&look, ask, Format::Parquet, folder, tell)?;
        files.extend(more);
        files.extend(originals(&look, ask, folder, tell)?);
        package::describe(&look, &files, folder)?;
        Ok(told(&look, &files, missing))
    })
}

/// One table as one file.
pub fn table(
    study: &Study,
    ask: &Ask,
    name: &str,
    format: Format,
    out: &Path,
    tell: &mut Tell<'_>,
) -> Result<Told, StudyError> {
    refuse(study, ask, out)?;
    let known = || tables::TABLES.iter().map(|t| t.name).chain([series::NAME]);
    let found = tables::table(name);
    if found.is_none() && name != series::NAME {
        return Err(crate::people::near("table", name, known()));
    }
    let look = Look::of(study, &ask.selection, ask.who)?;
    if let Some(table) = found.filter(|t| !look.gives(t)) {
        let why = match table.given {
            tables::Given::Asked => "names are part of an export only where they are asked for",
            _ => "people write what they like there: it is no part of an export without identity",
        };
        return Err(StudyError::Refused(format!("{name}: {why}")));
    }
    place::whole_file(out, ask.overwrite, |path| match found {
        Some(table) => {
            let rows = one_table(&look, table, format, path)?;
            Ok(Told { rows, ..told(&look, &[], Vec::new()) })
        }
        None => {
            let (_, rows, missing) = series::write(&look, path, format, tell)?;
            if rows == 0 {
                return Err(StudyError::Refused("none of the swings chosen has series".into()));
            }
            Ok(Told { rows, ..told(&look, &[], missing) })
        }
    })
    .map(|t| Told { files: 1, ..t })
}

/// Everything as one nested document.
pub fn json(study: &Study, ask: &Ask, out: &Path) -> Result<Told, StudyError> {
    refuse(study, ask, out)?;
    let look = Look::of(study, &ask.selection, ask.who)?;
    place::whole_file(out, ask.overwrite, |path| {
        let rows = document::write(&look, path)?;
        Ok(Told { rows, files: 1, ..told(&look, &[], Vec::new()) })
    })
}

/// Every swing as a C3D file with our series, with the table of swings beside them.
pub fn recordings(study: &Study, ask: &Ask, out: &Path, tell: &mut Tell<'_>) -> Result<Told, StudyError> {
    refuse(study, ask, out)?;
    let look = Look::of(study, &ask.selection, ask.who)?;
    place::whole_folder(out, |folder| {
        let mut files = Vec::new();
        for table in look.tables().filter(|t| ["swings", "sessions", "players"].contains(&t.name)) {
            files.push(written(&look, table, Format::Csv, folder)?);
        }
        let (more, missing) = c3d::write(&look, folder, tell)?;
        files.extend(more);
        Ok(told(&look, &files, missing))
    })
}

fn refuse(study: &Study, ask: &Ask, out: &Path) -> Result<(), StudyError> {
    if ask.originals && ask.who == Who::Nobody {
        return Err(StudyError::Refused(
            "a recording as it came may hold names, labels and free text: originals are never exported without identity; \
             C3D files are written anew without them"
                .into(),
        ));
    }
    if place::lies_in(out, &study.root) {
        return Err(StudyError::Refused(format!(
            "{} lies in the study's own folder: choose a place outside it",
            out.display()
        )));
    }
    Ok(())
}

fn told(look: &Look, files: &[Written], not_written: Vec<NotWritten>) -> Told {
    let rows = files.iter().map(|f| f.rows).sum();
    Told { swings: look.swings.len(), stale: look.stale, files: files.len(), rows, not_written }
}

fn one_table(look: &Look, table: &Table, format: Format, path: &Path) -> Result<u64, StudyError> {
    let mut rows =
        rows::Rows::new(path, format, &table.fields(look.bare()), &words::about_file(&look.manner))?;
    let count = look.each_row(table, None, |_, cells| rows.put(cells))?;
    rows.finish()?;
    Ok(count)
}

fn written(look: &Look, table: &'static Table, format: Format, folder: &Path) -> Result<Written, StudyError> {
    let path = format!("{}.{}", table.name, format.ending());
    let rows = one_table(look, table, format, &folder.join(&path))?;
    Ok(Written {
        name: table.name.into(),
        path,
        format: format.ending().into(),
        title: table.title.into(),
        what: table.what.into(),
        fields: table.fields(look.bare()),
        rows,
        table: Some(table),
    })
}

type Files = (Vec<Written>, Vec<NotWritten>);

fn all_tables(
    look: &Look,
    ask: &Ask,
    format: Format,
    folder: &Path,
    tell: &mut Tell<'_>,
) -> Result<Files, StudyError> {
    let files = look.tables().map(|t| written(look, t, format, folder));
    let mut files: Vec<Written> = files.collect::<Result<_, _>>()?;
    let (more, missing) = long_series(look, ask, format, folder, tell)?;
    files.extend(more);
    Ok((files, missing))
}

fn long_series(
    look: &Look,
    ask: &Ask,
    format: Format,
    folder: &Path,
    tell: &mut Tell<'_>,
) -> Result<Files, StudyError> {
    if !ask.series {
        return Ok((Vec::new(), Vec::new()));
    }
    let path = format!("{}.{}", series::NAME, format.ending());
    let (fields, rows, missing) = series::write(look, &folder.join(&path), format, tell)?;
    if rows == 0 {
        return Ok((Vec::new(), missing));
    }
    let file = Written {
        name: series::NAME.into(),
        path,
        format: format.ending().into(),
        title: series::TITLE.into(),
        what: series::WHAT.into(),
        fields,
        rows,
        table: None,
    };
    Ok((vec![file], missing))
}

/// Recordings as they came, by the numbers of their swings.
fn originals(look: &Look, ask: &Ask, folder: &Path, tell: &mut Tell<'_>) -> Result<Vec<Written>, StudyError> {
    if !ask.originals {
        return Ok(Vec::new());
    }
    let below = folder.join(keep::ORIGINALS);
    std::fs::create_dir_all(&below).map_err(StudyError::io("make", &below))?;
    let mut files = Vec::with_capacity(look.swings.len());
    for wanted in &look.swings {
        tell();
        let bytes = analysed::original(&look.study.root, wanted)
            .map_err(|why| StudyError::Refused(format!("swing {}: {why}", wanted.swing)))?;
        let ending = keep::plain(&wanted.ending);
        let dot = if ending.is_empty() { "" } else { "." };
        let path = format!("{}/{}{dot}{ending}", keep::ORIGINALS, swing_name(wanted.swing));
        place::put(&folder.join(&path), &bytes)?;
        files.push(Written {
            name: format!("original-{}", swing_name(wanted.swing)),
            path,
            format: ending,
            title: format!("Recording of swing {}", wanted.swing),
            what: "The recording as it came.".into(),
            fields: Vec::new(),
            rows: 0,
            table: None,
        });
    }
    Ok(files)
}

/// How files of a swing are called: in the order of their numbers.
fn swing_name(swing: i64) -> String {
    format!("swing-{swing:06}")
}
