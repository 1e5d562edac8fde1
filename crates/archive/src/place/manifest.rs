//! A manifest: a table with a row a file, which says where each belongs.
use super::{Misplaced, Stated, clock};
use crate::delimited::{Sheet, is_nothing, word};
use crate::error::StudyError;
use crate::outcomes::columns::{Columns, Said, find};
use crate::outcomes::rows::integer;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// A manifest, read.
#[derive(Clone, Debug, PartialEq)]
pub struct Manifest {
    /// Name of the file.
    pub source: String,
    /// Rows: file as written, and what is said of it.
    pub rows: Vec<(String, Stated)>,
    /// Columns that are outcomes, and columns that are nothing.
    pub columns: Columns,
    /// Places of rows by the last name of their files, in lower case, with and without the ending.
    by_name: BTreeMap<String, Vec<usize>>,
}

/// What a column states.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Field {
    File,
    Player,
    Date,
    Club,
    Number,
    Session,
    Rig,
    Time,
    Tags,
    Note,
    Mass,
    Target,
}

const FIELDS: &[(Field, &[&str])] = &[
    (Field::File, &["file", "filename", "path", "recording"]),
    (Field::Player, &["player", "alias"]),
    (Field::Date, &["date", "day"]),
    (Field::Club, &["club"]),
    (Field::Number, &["number", "no", "nr", "swingnumber"]),
    (Field::Session, &["session"]),
    (Field::Rig, &["rig"]),
    (Field::Time, &["time", "recordedat"]),
    (Field::Tags, &["tags", "tag"]),
    (Field::Note, &["note", "notes"]),
    (Field::Mass, &["masskg"]),
    (Field::Target, &["target"]),
];

impl Manifest {
    /// Reads a manifest.
    ///
    /// Errors: no column of files; a mass without its unit; a cell that cannot be, with its line and column; two rows of one file.
    pub fn parse(name: &str, bytes: &[u8], said: &[Said]) -> Result<Self, StudyError> {
        let mut sheet = Sheet::parse(name, bytes)?;
        let mut fields: Vec<(usize, Field)> = Vec::new();
        for (k, head) in sheet.head.iter().enumerate() {
            let head = word(head);
            if let Some((field, _)) = FIELDS.iter().find(|(_, names)| names.contains(&head.as_str())) {
                if fields.iter().any(|(_, f)| f == field) {
                    return Err(sheet.fault_of(k, "a second column of the same"));
                }
                fields.push((k, *field));
            } else if head == "mass" {
                return Err(sheet.fault_of(k, "no unit is stated; call the column \"mass (kg)\" or mass_kg"));
            }
        }
        if !fields.iter().any(|(_, f)| *f == Field::File) {
            let why = format!("no column is called file; its columns are {}", sheet.head.join(", "));
            return Err(StudyError::Sheet { file: name.into(), line: None, column: None, why });
        }
        let keys: Vec<usize> = fields.iter().map(|(k, _)| *k).collect();
        let columns = find(&mut sheet, &keys, said)?;
        let mut rows: Vec<(String, Stated)> = Vec::with_capacity(sheet.rows.len());
        let mut files = BTreeSet::new();
        for row in &sheet.rows {
            let mut stated = Stated::default();
            let mut file = String::new();
            for (k, field) in &fields {
                let cell = sheet.cell(row, *k);
                if is_nothing(cell) {
                    continue;
                }
                let text = || Some(cell.to_string());
                let here = |why: String| sheet.fault(row, *k, why);
                match field {
                    Field::File => file = cell.replace('\\', "/"),
                    Field::Player => stated.player = text(),
                    Field::Club => stated.club = text(),
                    Field::Rig => stated.rig = text(),
                    Field::Note => stated.note = text(),
                    Field::Target => stated.target = text(),
                    Field::Date => stated.date = Some(clock::day(cell, None).map_err(here)?),
                    Field::Time => {
                        let (day, time) = clock::moment(cell, None).map_err(here)?;
                        stated.date = stated.date.take().or(day);
                        stated.time = time;
                    }
                    Field::Number => stated.number = integer(&sheet, row, Some(*k))?,
                    Field::Session => stated.session = integer(&sheet, row, Some(*k))?,
                    Field::Mass => stated.mass_kg = sheet.number(row, *k)?,
                    Field::Tags => {
                        let words = cell.split([' ', ',', ';', '|']).filter(|w| !w.is_empty());
                        stated.tags = words.map(str::to_string).collect();
                    }
                }
            }
            let Some((file_column, _)) = fields.iter().find(|(_, f)| *f == Field::File) else { continue };
            if file.is_empty() {
                return Err(sheet.fault(row, *file_column, "the row names no file"));
            }
            if !files.insert(file.to_lowercase()) {
                return Err(sheet.fault(row, *file_column, format!("a second row of {file}")));
            }
            stated.given = columns.of(&sheet, row)?;
            rows.push((file, stated));
        }
        let mut by_name: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (k, (file, _)) in rows.iter().enumerate() {
            by_name.entry(last(file)).or_default().push(k);
        }
        Ok(Self { source: name.to_string(), rows, columns, by_name })
    }

    /// The files it names, from the folder it lies in.
    pub fn files(&self, folder: &Path) -> Vec<PathBuf> {
        self.rows.iter().map(|(file, _)| folder.join(file)).collect()
    }

    /// The row of a file: the one whose name is the end of the path, whatever the case, with or without the ending. Where
    /// several are, the longest.
    ///
    /// Errors: two rows that fit as well as each other.
    pub fn row(&self, path: &Path) -> Result<Option<&Stated>, Misplaced> {
        let mut best: Vec<(usize, usize)> = Vec::new();
        for k in self.like(path) {
            if let Some(names) = self.rows.get(k).and_then(|(file, _)| fits(file, path)) {
                let most = best.first().map_or(0, |b| b.1);
                if names > most {
                    best.clear();
                }
                if names >= most {
                    best.push((k, names));
                }
            }
        }
        match best.as_slice() {
            [] => Ok(None),
            [(k, _)] => Ok(self.rows.get(*k).map(|(_, stated)| stated)),
            [(a, _), (b, _), ..] => {
                let file = |k: &usize| self.rows.get(*k).map_or("", |(f, _)| f.as_str()).to_string();
                Err(Misplaced::new(format!(
                    "the manifest's rows {} and {} both fit it; write the folders too",
                    file(a),
                    file(b)
                )))
            }
        }
    }

    /// Files of the manifest that are the end of none of these paths.
    pub fn not_among(&self, paths: &[PathBuf]) -> Vec<&str> {
        let mut there = vec![false; self.rows.len()];
        for path in paths {
            for k in self.like(path) {
                let fit = self.rows.get(k).is_some_and(|(file, _)| fits(file, path).is_some());
                if let Some(place) = there.get_mut(k) {
                    *place |= fit;
                }
            }
        }
        self.rows.iter().zip(there).filter(|(_, there)| !there).map(|((file, _), _)| file.as_str()).collect()
    }

    /// Places of the rows whose last name is the path's, with or without the ending.
    fn like(&self, path: &Path) -> Vec<usize> {
        let name = path.file_name().map(|n| n.to_string_lossy().to_lowercase()).unwrap_or_default();
        let stem = stem(&name).to_string();
        let of = |name: &str| self.by_name.get(name).cloned().unwrap_or_default();
        let mut all = of(&name);
        if stem != name {
            all.extend(of(&stem));
        }
        all
    }
}

/// The last name of a path as written, in lower case.
fn last(file: &str) -> String {
    file.trim_end_matches('/').rsplit('/').next().unwrap_or(file).to_lowercase()
}

fn stem(name: &str) -> &str {
    name.rsplit_once('.').map_or(name, |(stem, _)| stem)
}

/// How many names of a path the written file has in common with its end, where it is its end.
fn fits(file: &str, path: &Path) -> Option<usize> {
    let mut names = path.iter().rev().map(|n| n.to_string_lossy().to_lowercase());
    let mut count = 0;
    for (k, wanted) in file.split('/').rev().filter(|p| !p.is_empty() && *p != "." && *p != "..").enumerate()
    {
        let name = names.next()?;
        let wanted = wanted.to_lowercase();
        if name != wanted && !(k == 0 && stem(&name) == wanted) {
            return None;
        }
        count += 1;
    }
    (count > 0).then_some(count)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    fn manifest(text: &str) -> Result<Manifest, StudyError> {
        Manifest::parse("m.csv", text.as_bytes(), &[])
    }

    #[test]
    fn a_row_says_where_a_file_belongs() {
        let text = "\u{feff}File;PLAYER;Date;Club;No;Mass (kg);Tags;Time;Carry (m)\n\
                    P01/a.c3d;P01;20260512;D;3;78,5;warm up;14:03;210,5\n\
                    p02/a.c3d;P02;;;;;;2026-05-13 09:00;\n";
        let m = manifest(text).unwrap();
        let (_, first) = &m.rows[0];
        assert_eq!(
            (first.date.as_deref(), first.number, first.mass_kg),
            (Some("2026-05-12"), Some(3), Some(78.5))
        );
        assert_eq!((first.tags.len(), first.given[0].value), (2, 210.5));
        assert_eq!(m.rows[1].1.date.as_deref(), Some("2026-05-13"));
        let player = |path: &str| m.row(Path::new(path)).unwrap().and_then(|s| s.player.clone());
        assert_eq!(player("in/P01/A.C3D").as_deref(), Some("P01"));
        assert_eq!(player("in/P02/a.c3d").as_deref(), Some("P02"));
        assert_eq!(player("in/P03/a.c3d"), None);
        assert_eq!(m.not_among(&[PathBuf::from("in/P01/a.c3d")]), ["p02/a.c3d"]);
    }

    #[test]
    fn what_cannot_be_has_its_line_and_column() {
        let why = |text: &str| manifest(text).unwrap_err().to_string();
        assert_eq!(
            why("file,date\na.c3d,12.05.2026\n"),
            "m.csv, line 2, column \"date\": \"12.05.2026\" is no day; write it as 2026-05-12"
        );
        assert!(why("name,date\na,b\n").contains("no column is called file; its columns are name, date"));
        assert!(why("file,mass\na.c3d,80\n").contains("column \"mass\": no unit is stated"));
        assert!(why("file\na.c3d\nA.C3D\n").contains("line 3, column \"file\": a second row"));
        assert!(why("file,carry\na.c3d,200\n").contains("column \"carry\": no unit is stated"));
        assert!(why("file,number\na.c3d,x\n").contains("\"x\" is no whole number from 1"));
    }

    #[test]
    fn two_rows_that_fit_as_well_are_told() {
        let m = manifest("file,player\na,P01\na.c3d,P02\n").unwrap();
        assert!(m.row(Path::new("x/a.c3d")).unwrap_err().why.contains("both fit it"));
        // Of one name within another, the longer is meant, whichever comes first.
        for text in ["file,player\na.c3d,P01\nP02/a.c3d,P02\n", "file,player\nP02/a.c3d,P02\na.c3d,P01\n"] {
            let m = manifest(text).unwrap();
            let player = |path: &str| m.row(Path::new(path)).unwrap().and_then(|s| s.player.clone());
            assert_eq!(player("in/P02/a.c3d").as_deref(), Some("P02"), "{text}");
            assert_eq!(player("in/P03/a.c3d").as_deref(), Some("P01"), "{text}");
        }
    }
}
