//! Whether a study is whole: its catalogue, its recordings, and what was made of them.
//!
//! A fault is something that is not as it was kept; a note is something to know. Nothing is changed. Other programs may write
//! meanwhile: rows are read as of one instant, and what a file shows counts only where the catalogue still speaks of it.
use crate::error::StudyError;
use crate::study::{CATALOGUE, EMPTY, SETTINGS, Study, read_settings};
use crate::{keep, schema};
use rayon::prelude::*;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, Row};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// What is at fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// `study.toml`.
    Settings,
    /// A page of the catalogue.
    Page,
    /// Rows that do not fit together.
    Rows,
    /// A recording.
    Original,
    /// A file of series.
    Series,
    /// What was measured.
    Measurement,
}

/// Something that is not as it was kept.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fault {
    /// Which part.
    pub part: Part,
    /// What is wrong.
    pub what: String,
    /// Where: a table, a file, a swing.
    pub place: String,
    /// What to do.
    pub remedy: String,
    /// True where `rebuild` makes it whole again.
    pub heals: bool,
}

/// Something to know.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Note {
    /// What.
    pub what: String,
    /// How many.
    pub count: usize,
    /// The first few of them.
    pub places: Vec<String>,
    /// What to do about it, if anything.
    pub remedy: String,
}

/// How a study stands.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Verdict {
    /// Swings in the catalogue.
    pub swings: usize,
    /// Recordings whose content was compared with their hash.
    pub originals: usize,
    /// Files of series that were compared.
    pub series: usize,
    /// Figures that were counted.
    pub figures: u64,
    /// What is not as it was kept.
    pub faults: Vec<Fault>,
    /// What is to be known.
    pub notes: Vec<Note>,
}

impl Verdict {
    /// True where everything is as it was kept.
    pub fn clean(&self) -> bool {
        self.faults.is_empty()
    }

    fn fault(
        &mut self,
        part: Part,
        what: impl Into<String>,
        place: impl Into<String>,
        remedy: &str,
        heals: bool,
    ) {
        let (what, place, remedy) = (what.into(), place.into(), remedy.to_string());
        self.faults.push(Fault { part, what, place, remedy, heals });
    }

    fn note(&mut self, what: &str, places: &[String], remedy: &str) {
        const NAMED: usize = 5;
        if !places.is_empty() {
            let named = places.iter().take(NAMED).cloned().collect();
            let (what, remedy) = (what.to_string(), remedy.to_string());
            self.notes.push(Note { what, count: places.len(), places: named, remedy });
        }
    }
}

/// How far a long work is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// With what: "pages", "recordings"…
    pub doing: &'static str,
    /// How many are done.
    pub done: usize,
    /// Of how many.
    pub of: usize,
}

/// Tables of what can be made again from the recordings.
pub(crate) const DERIVED: [&str; 8] =
    ["measurement", "event", "finding", "figure", "phrase", "metric", "recipe", "maker"];

const REBUILD: &str = "run `underfoot study rebuild`";
const SALVAGE: &str =
    "run `underfoot study rebuild`: it saves every row that can still be read, and says which were lost";
const BACK: &str = "put catalogue.sqlite back from a copy of the study; without one, make a new study and import the recordings under \
                    originals/ into it";
const COPY: &str = "put the recording back from a copy: `underfoot import` of the same file does it";

/// Looks at a study that may be too damaged to be opened.
///
/// Errors: no study there, one of a newer program, one that another program keeps busy.
pub fn verify(root: &Path, tell: &(dyn Fn(Progress) + Sync)) -> Result<Verdict, StudyError> {
    let mut verdict = Verdict::default();
    match Study::look_at(root) {
        Ok(study) => return study.verify(tell),
        Err(StudyError::NoStudy(_)) if root.join(CATALOGUE).is_file() => {
            let remedy = "write one with the line: name = \"…\"";
            verdict.fault(Part::Settings, "the settings are gone", SETTINGS, remedy, false);
        }
        Err(error @ StudyError::Settings { .. }) => {
            verdict.fault(Part::Settings, error.to_string(), SETTINGS, "mend the line", false);
        }
        Err(StudyError::Refused(why)) if read_settings(root).is_err() => {
            verdict.fault(Part::Settings, why, SETTINGS, "mend the line", false);
        }
        Err(StudyError::Damaged(why)) => {
            let remedy = if why == EMPTY { BACK } else { SALVAGE };
            let what = format!("the catalogue cannot be opened: {why}");
            verdict.fault(Part::Page, what, CATALOGUE, remedy, false);
        }
        Err(other) => return Err(other),
    }
    Ok(verdict)
}

/// Rows as far as they can be read; whether that was all.
fn rows<T>(
    db: &Connection,
    ask: &str,
    mut row: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
) -> (Vec<T>, bool) {
    let mut found = Vec::new();
    let mut read = || -> rusqlite::Result<()> {
        let mut ask = db.prepare(ask)?;
        let mut all = ask.query([])?;
        while let Some(next) = all.next()? {
            found.push(row(next)?);
        }
        Ok(())
    };
    let whole = read().is_ok();
    (found, whole)
}

/// A recording or a file of series as the catalogue knows it.
struct Known {
    part: Part,
    swing: i64,
    place: String,
    hash: String,
    /// Its length, where that is kept.
    bytes: Option<i64>,
}

impl Known {
    /// What is wrong with it, if anything.
    fn look(&self, root: &Path) -> Option<String> {
        let length = || std::fs::metadata(root.join(&self.place)).map_or(0, |m| m.len());
        match look(root, &self.place, &self.hash) {
            None if self.bytes.is_some_and(|b| u64::try_from(b) != Ok(length())) => {
                Some("has another length than the catalogue says".into())
            }
            found => found,
        }
    }
}

fn recordings(db: &Connection) -> Vec<Known> {
    let row = |r: &Row<'_>| {
        let (swing, hash, ending): (i64, String, String) = (r.get(0)?, r.get(1)?, r.get(2)?);
        let place = keep::original(&hash, &ending);
        Ok(Known { part: Part::Original, swing, place, hash, bytes: r.get(3)? })
    };
    rows(db, "SELECT id, hash, ending, bytes FROM swing ORDER BY id", row).0
}

fn series(db: &Connection) -> Vec<Known> {
    let row = |r: &Row<'_>| {
        let (swing, name, hash): (i64, String, Option<String>) = (r.get(0)?, r.get(1)?, r.get(2)?);
        let (place, hash) = (keep::derived(&name), hash.unwrap_or_default());
        Ok(Known { part: Part::Series, swing, place, hash, bytes: None })
    };
    let ask =
        "SELECT swing, series, series_hash FROM measurement WHERE series IS NOT NULL ORDER BY basis, swing";
    rows(db, ask, row).0
}

/// What is wrong with a file, if anything.
fn look(root: &Path, place: &str, hash: &str) -> Option<String> {
    let path = root.join(place);
    if !path.is_file() {
        return Some("is gone".into());
    }
    match keep::hash_file(&path) {
        Ok(found) if found == hash => None,
        Ok(_) => Some("is damaged: its content is not what it was".into()),
        Err(why) => Some(format!("cannot be read: {why}")),
    }
}

impl Study {
    /// Compares everything with what was kept of it.
    ///
    /// Errors: another program that keeps the study busy. Whatever is damaged is a fault, not an error.
    pub fn verify(&self, tell: &(dyn Fn(Progress) + Sync)) -> Result<Verdict, StudyError> {
        let mut verdict = Verdict::default();
        tell(Progress { doing: "pages", done: 0, of: 1 });
        for damage in damages(&self.db)? {
            let (what, heals) = (damage.told(), damage.heals());
            verdict.fault(Part::Page, what, damage.place(), if heals { REBUILD } else { SALVAGE }, heals);
        }
        tell(Progress { doing: "pages", done: 1, of: 1 });
        let version = schema::version(&self.db)?;
        if version < schema::VERSION {
            let remedy = "the next command that opens the study brings it up to this program's";
            let place = format!("version {version} of {}", schema::VERSION);
            verdict.note("the catalogue is an older program's", &[place], remedy);
        }
        let (recordings, series) = {
            let look = self.read()?;
            references(&look, &mut verdict);
            tell(Progress { doing: "figures", done: 0, of: 1 });
            counts(&look, &mut verdict);
            words(&look, &mut verdict);
            tell(Progress { doing: "figures", done: 1, of: 1 });
            (recordings(&look), series(&look))
        };
        (verdict.swings, verdict.originals, verdict.series) =
            (recordings.len(), recordings.len(), series.len());
        self.files(&recordings, "recordings", &mut verdict, tell)?;
        self.files(&series, "series", &mut verdict, tell)?;
        for place in self.foreign_removals().unwrap_or_default() {
            let what = format!(
                "a row asks for the removal of \"{place}\", which is not the study's; it is left alone"
            );
            verdict.fault(Part::Rows, what, format!("{CATALOGUE}, table removal"), REBUILD, true);
        }
        self.notes(&mut verdict);
        Ok(verdict)
    }

    /// Looks at files, and once more at those that are not what they were: another program may have let go of one, or be about
    /// to put it there. While it is told that files are being placed none is removed, and one that a row speaks of is there.
    fn files(
        &self,
        files: &[Known],
        doing: &'static str,
        verdict: &mut Verdict,
        tell: &(dyn Fn(Progress) + Sync),
    ) -> Result<(), StudyError> {
        let root = self.root.as_path();
        let looked = each(files, doing, tell, |file| file.look(root));
        let suspect: Vec<&Known> =
            files.iter().zip(looked).filter_map(|(f, what)| what.and(Some(f))).collect();
        if suspect.is_empty() {
            return Ok(());
        }
        let _placing = self.placing().ok(); // where nothing can be written, nobody places any
        for file in suspect {
            let mut still = self.db.prepare_cached(match file.part {
                Part::Series => "SELECT 1 FROM measurement WHERE series_hash = ?1",
                _ => "SELECT 1 FROM swing WHERE hash = ?1",
            })?;
            // Where that cannot be read, the file is all there is to go by.
            if !still.exists([&file.hash]).unwrap_or(true) {
                continue;
            }
            let Some(what) = file.look(root) else { continue };
            let (of, remedy, heals) = match file.part {
                Part::Series => ("series", REBUILD, true),
                _ => ("recording", COPY, false),
            };
            let what = format!("the {of} of swing {} {what}", file.swing);
            verdict.fault(file.part, what, file.place.as_str(), remedy, heals);
        }
        Ok(())
    }

    /// Everything here is left out where its tables cannot be read: that is told above.
    fn notes(&self, verdict: &mut Verdict) {
        let vacuum = "`underfoot study vacuum` removes them";
        if let (Ok(mut left), Ok(due)) = (self.leftovers(), self.removals()) {
            left.retain(|place| !due.contains(place)); // told below
            verdict.note("files that were never finished, or series that nothing speaks of", &left, vacuum);
        }
        if let Ok(strays) = self.strays()
            && verdict.swings == 0
            && !strays.is_empty()
        {
            let what = format!("there are {} recordings, and the catalogue has no swing", strays.len());
            verdict.fault(Part::Rows, what, CATALOGUE, BACK, false);
        } else if let Ok(strays) = self.strays() {
            let remedy = "left by an import that was cut short, or by rows that were lost: import them, or remove them with \
                          `underfoot study vacuum --strays`";
            verdict.note("recordings that no swing speaks of", &strays, remedy);
        }
        if let Ok(damaged) = self.damaged_catalogues() {
            let remedy = "kept by a rebuild; they hold what players were in them: `underfoot study vacuum --strays` removes them";
            verdict.note("damaged catalogues", &damaged, remedy);
        }
        if let Ok(due) = self.removals() {
            verdict.note(
                "files that are yet to be removed",
                &due,
                "done when the study is next opened alone",
            );
        }
        let named = |wanted: Vec<crate::wanted::Wanted>| -> Vec<String> {
            wanted.iter().map(|w| format!("swing {}", w.swing)).collect()
        };
        if let Ok((basis, _)) = self.usual_basis()
            && let Ok(stale) = self.stale(basis, false)
        {
            let remedy = "`underfoot study rebuild --changed` measures them again";
            verdict.note("measurements that are out of date", &named(stale), remedy);
        }
        if let Ok(count @ 1..) = self.made_otherwise() {
            let places =
                vec![String::from("made by other methods"); usize::try_from(count).unwrap_or_default()];
            let remedy = "`underfoot study rebuild` makes them alike";
            verdict.note("measurements made by other methods than this program's", &places, remedy);
            if let Some(note) = verdict.notes.last_mut() {
                note.places.clear();
            }
        }
    }
}

/// Looks at files on all cores.
fn each<T: Sync>(
    files: &[T],
    doing: &'static str,
    tell: &(dyn Fn(Progress) + Sync),
    look: impl Fn(&T) -> Option<String> + Sync,
) -> Vec<Option<String>> {
    let done = std::sync::atomic::AtomicUsize::new(0);
    let of = files.len();
    let one = |file: &T| {
        let found = look(file);
        let done = done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1;
        tell(Progress { doing, done, of });
        found
    };
    files.par_iter().map(one).collect()
}

/// Damage to one table, or to what belongs to none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Damage {
    /// The table; empty: the file itself.
    pub table: String,
    /// What SQLite says of it.
    pub seen: Vec<String>,
}

impl Damage {
    fn place(&self) -> String {
        match self.table.as_str() {
            "" => CATALOGUE.to_string(),
            table => format!("{CATALOGUE}, table {table}"),
        }
    }
    fn told(&self) -> String {
        let first = self.seen.first().map_or("", String::as_str);
        let more = match self.seen.len() {
            0 | 1 => String::new(),
            n => format!(" (and {} more)", n - 1),
        };
        match self.table.as_str() {
            "" => format!("the catalogue's file is damaged: {first}{more}"),
            table => format!("the table {table} is damaged: {first}{more}"),
        }
    }
    fn heals(&self) -> bool {
        self.table.is_empty() || DERIVED.contains(&self.table.as_str())
    }
}

/// What is wrong with the pages of a catalogue, table by table.
///
/// Errors: a busy study. A page that cannot be read is what is asked for.
pub(crate) fn damages(db: &Connection) -> Result<Vec<Damage>, StudyError> {
    db.pragma_update(None, "cell_size_check", "on")?;
    let mut found = Vec::new();
    let whole = integrity(db, None)?;
    if !whole.is_empty() {
        for table in tables(db)? {
            let seen = integrity(db, Some(&table))?;
            if !seen.is_empty() {
                found.push(Damage { table, seen });
            }
        }
        if found.is_empty() {
            found.push(Damage { table: String::new(), seen: whole });
        }
    }
    db.pragma_update(None, "cell_size_check", "off")?;
    Ok(found)
}

fn integrity(db: &Connection, table: Option<&str>) -> Result<Vec<String>, StudyError> {
    let check = table.map_or("PRAGMA integrity_check(20)".to_string(), |t| {
        format!("PRAGMA integrity_check({})", crate::salvage::quoted(t))
    });
    let ask = || -> rusqlite::Result<Vec<String>> {
        db.prepare(&check)?.query_map([], |r| r.get::<_, String>(0))?.collect()
    };
    match ask().map_err(StudyError::from) {
        Ok(said) if said == ["ok"] => Ok(Vec::new()),
        Ok(said) => Ok(said.iter().map(|s| s.trim().replace('\n', "; ")).collect()),
        Err(busy @ StudyError::Busy { .. }) => Err(busy),
        Err(why) => Ok(vec![why.to_string()]),
    }
}

/// Tables of a catalogue in the order in which the schema makes them.
pub(crate) fn tables(db: &Connection) -> Result<Vec<String>, StudyError> {
    let ask =
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY rowid";
    Ok(db.prepare(ask)?.query_map([], |r| r.get(0))?.collect::<Result<_, _>>()?)
}

/// How many rows of which table speak of rows of which other that are not there.
pub(crate) fn broken(db: &Connection) -> BTreeMap<(String, String), usize> {
    let row = |r: &Row<'_>| Ok((r.get::<_, String>(0)?, r.get::<_, String>(2)?));
    let mut count = BTreeMap::new();
    for link in rows(db, "PRAGMA foreign_key_check", row).0 {
        *count.entry(link).or_default() += 1;
    }
    count
}

fn references(db: &Connection, verdict: &mut Verdict) {
    for ((table, parent), n) in broken(db) {
        let heals = DERIVED.contains(&table.as_str());
        let what = format!("{n} rows of {table} speak of rows of {parent} that are not there");
        let place = format!("{CATALOGUE}, table {table}");
        verdict.fault(Part::Rows, what, place, if heals { REBUILD } else { SALVAGE }, heals);
    }
}

/// What a measurement says that it has.
#[derive(Default, PartialEq)]
struct Counted {
    stops: i64,
    doubts: i64,
    notes: i64,
    figures: i64,
}

fn counts(db: &Connection, verdict: &mut Verdict) {
    type Key = (i64, i64);
    let key = |r: &Row<'_>| -> rusqlite::Result<Key> { Ok((r.get(0)?, r.get(1)?)) };
    let said = |r: &Row<'_>| {
        Ok((key(r)?, Counted { stops: r.get(2)?, doubts: r.get(3)?, notes: r.get(4)?, figures: r.get(5)? }))
    };
    let ask = "SELECT basis, swing, stops, doubts, notes, figures FROM measurement";
    let (said, all_said) = rows(db, ask, said);
    let said: BTreeMap<Key, Counted> = said.into_iter().collect();
    let mut there: BTreeMap<Key, Counted> = BTreeMap::new();
    let (metrics, _) = rows(db, "SELECT id FROM metric", |r| r.get::<_, i64>(0));
    let metrics: BTreeSet<i64> = metrics.into_iter().collect();
    let (mut count, mut nameless) = (0_u64, 0_u64);
    let (_, all_figures) = rows(db, "SELECT basis, swing, metric FROM figure", |r| {
        there.entry(key(r)?).or_default().figures += 1;
        count += 1;
        nameless += u64::from(!metrics.contains(&r.get(2)?));
        Ok(())
    });
    verdict.figures = count;
    let (_, all_findings) = rows(db, "SELECT basis, swing, severity FROM finding", |r| {
        let one = there.entry(key(r)?).or_default();
        match r.get_ref(2)? {
            ValueRef::Text(b"stop") => one.stops += 1,
            ValueRef::Text(b"doubt") => one.doubts += 1,
            _ => one.notes += 1,
        }
        Ok(())
    });
    if !(all_said && all_figures && all_findings) {
        return; // pages that cannot be read are told already; what lies on them cannot be counted
    }
    let altered: BTreeSet<Key> = crate::seal::broken(db).unwrap_or_default().into_iter().collect();
    let mut fault = |what: String, swing: i64| {
        verdict.fault(Part::Measurement, what, format!("swing {swing}"), REBUILD, true);
    };
    if nameless > 0 {
        fault(format!("{nameless} figures are of no known metric"), 0);
    }
    let none = Counted::default();
    for (key, said) in &said {
        let there = there.get(key).unwrap_or(&none);
        if there.figures != said.figures {
            fault(format!("{} of its {} figures are there", there.figures, said.figures), key.1);
        } else if there != said {
            fault("its findings are not those that were counted".into(), key.1);
        } else if altered.contains(key) {
            fault("its figures, events or findings are not what was measured".into(), key.1);
        }
    }
    for (basis, swing) in there.keys().filter(|k| !said.contains_key(k)) {
        fault(format!("there are figures without a measurement (basis {basis})"), *swing);
    }
    let measured: BTreeSet<i64> = said.keys().map(|k| k.1).collect();
    let (swings, _) = rows(db, "SELECT id FROM swing ORDER BY id", |r| r.get::<_, i64>(0));
    for swing in swings.into_iter().filter(|s| !measured.contains(s)) {
        fault("it was never measured".into(), swing);
    }
}

/// Texts that are kept with their hash.
fn words(db: &Connection, verdict: &mut Verdict) {
    let row = |r: &Row<'_>| {
        // Bytes that are no text any more are altered, too.
        let text = String::from_utf8_lossy(r.get_ref(1)?.as_bytes().unwrap_or_default()).into_owned();
        Ok((r.get::<_, i64>(0)?, text, r.get::<_, String>(2)?))
    };
    let altered = |ask: &str| -> Vec<i64> {
        let all = rows(db, ask, row).0;
        all.into_iter()
            .filter(|(_, text, hash)| keep::hash(text.as_bytes()) != *hash)
            .map(|(id, ..)| id)
            .collect()
    };
    // One that a correction has taken the place of is used no more.
    let used = "SELECT id, text, hash FROM rig_version v WHERE NOT EXISTS (SELECT 1 FROM rig_version o
                WHERE o.rig = v.rig AND o.from_date = v.from_date AND o.version > v.version)";
    for id in altered(used) {
        let remedy = "give the rig file again: `underfoot rig add NAME FILE --corrects`";
        let place = format!("{CATALOGUE}, table rig_version, row {id}");
        verdict.fault(Part::Rows, "the text of a rig is not what it was", place, remedy, false);
    }
    for id in altered("SELECT id, text, hash FROM recipe") {
        let place = format!("{CATALOGUE}, table recipe, row {id}");
        verdict.fault(
            Part::Measurement,
            "what a measurement was made with is not what it was",
            place,
            REBUILD,
            true,
        );
    }
}
