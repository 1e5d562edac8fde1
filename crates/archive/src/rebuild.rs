//! Making again from the recordings what was made of them; and, where the catalogue's file is damaged, a new catalogue from
//! every row that can still be read.
use crate::again::Again;
use crate::carry::carry;
use crate::error::{StudyError, WAIT};
use crate::keep::{self, DAMAGED};
use crate::log::{About, note};
use crate::recipe::Basis;
use crate::salvage::{Lost, clear_nobodys, salvage};
use crate::schema;
use crate::study::{CATALOGUE, Study, alone, begun, connect, not_empty, read_settings, unfinished_names};
use crate::verify::{DERIVED, Damage, Progress, broken, damages};
use crate::wanted::Wanted;
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior, params};
use serde::Serialize;
use std::collections::BTreeSet;
use std::path::Path;

/// What is made again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// Everything.
    All,
    /// What is out of date.
    Changed,
}

/// What a rebuild has done.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Rebuilt {
    /// Measurements that were made again, on any basis.
    pub measured: usize,
    /// What came out on the usual basis, swing by swing; empty where what was there before could not be read.
    pub again: Vec<Again>,
    /// Swings whose originals could not be read, with the reason; what was there before stays.
    pub failed: Vec<(i64, String)>,
    /// What was done about a damaged catalogue.
    pub mended: Option<Mended>,
}

/// A catalogue that was damaged and is whole again.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Mended {
    /// Tables that were damaged.
    pub tables: Vec<String>,
    /// The damaged file, kept beside.
    pub kept: String,
    /// What a person had entered and could not be read any more.
    pub lost: Vec<Lost>,
    /// Recordings that no swing speaks of any more; they are kept.
    pub strays: Vec<String>,
}

impl Mended {
    /// Tables and how much of each is lost, for the log. Keys are a person's words: they are told once and not kept, since a
    /// player who is deleted later could not be taken out.
    fn counted(&self) -> String {
        let of = |lost: &Lost| {
            let (partly, rows, unreadable) = (lost.partly.len(), lost.rows.len(), lost.unreadable.len());
            serde_json::json!({ "table": lost.table, "partly": partly, "rows": rows, "unreadable": unreadable })
        };
        let lost: Vec<_> = self.lost.iter().map(of).collect();
        serde_json::json!({ "tables": self.tables, "kept": self.kept, "lost": lost, "strays": self.strays.len() })
            .to_string()
    }
}

/// Makes everything again, or what is out of date. A damaged catalogue is mended first.
///
/// Errors: [`StudyError::InUse`] where a damaged catalogue is to be exchanged and another program has the study open;
/// [`StudyError::Damaged`] where nothing of it can be read.
pub fn rebuild(root: &Path, which: Which, tell: &mut dyn FnMut(Progress)) -> Result<Rebuilt, StudyError> {
    read_settings(root)?;
    let damaged = match Study::open(root) {
        Err(StudyError::Damaged(why)) => vec![Damage { table: String::new(), seen: vec![why] }],
        Err(other) => return Err(other),
        Ok(study) => {
            drop(study.write()?);
            tell(Progress { doing: "pages", done: 0, of: 1 });
            let damaged = damages(&study.db)?;
            tell(Progress { doing: "pages", done: 1, of: 1 });
            // Rows that speak of nothing are no damage to a page; what was entered is put right in the same way.
            let entered = |table: &String| !DERIVED.contains(&table.as_str());
            if damaged.is_empty() && !broken(&study.db).keys().any(|(table, _)| entered(table)) {
                return study.rebuild(which, tell);
            }
            damaged
        }
    };
    mend(root, which, &damaged, tell)
}

impl Study {
    /// Makes again, in place, everything or what is out of date.
    pub fn rebuild(&self, which: Which, tell: &mut dyn FnMut(Progress)) -> Result<Rebuilt, StudyError> {
        let mut out = Rebuilt::default();
        if which == Which::All {
            self.clear_odds()?;
        }
        let (usual, _) = self.usual_basis()?;
        // In other ways than the usual, what is out of date is measured again when it is asked for.
        let mut bases = self.bases()?;
        bases.retain(|(id, _)| which == Which::All || *id == usual);
        for (id, basis) in bases {
            let mut due = match which {
                Which::All => self.wanted(None)?,
                Which::Changed => self.stale(id, false)?,
            };
            if id != usual {
                let there = self.measured_on(id)?;
                due.retain(|w| there.contains(&w.swing));
            }
            self.make_again((id, &basis), &due, id == usual, &mut out, tell)?;
        }
        if which == Which::All {
            let change = self.write()?;
            change.execute("DELETE FROM recipe WHERE id NOT IN (SELECT recipe FROM measurement)", [])?;
            note(&change, "study rebuilt", About::default(), None, None)?;
            change.commit()?;
        }
        Ok(out)
    }

    /// Swings that have been measured on a basis.
    pub(crate) fn measured_on(&self, basis: i64) -> Result<BTreeSet<i64>, StudyError> {
        let mut ask = self.db.prepare("SELECT swing FROM measurement WHERE basis = ?1")?;
        Ok(ask.query_map([basis], |r| r.get(0))?.collect::<Result<_, _>>()?)
    }

    fn make_again(
        &self,
        (id, basis): (i64, &Basis),
        due: &[Wanted],
        usual: bool,
        out: &mut Rebuilt,
        tell: &mut dyn FnMut(Progress),
    ) -> Result<(), StudyError> {
        let mut done = 0;
        self.measure_again(id, basis, due, |again| {
            done += 1;
            tell(Progress { doing: "swings", done, of: due.len() });
            match &again.failed {
                // A recording that cannot be measured has a measurement that says so; one that cannot be read has none.
                Some(why) if again.unread => out.failed.push((again.swing, why.clone())),
                _ => out.measured += 1,
            }
            if usual {
                out.again.push(again);
            }
        })
    }

    /// Takes out what a sound catalogue never has: figures without a measurement, recipes that are not what they were, removals
    /// of what is not the study's.
    fn clear_odds(&self) -> Result<(), StudyError> {
        let change = self.write()?;
        change.execute("DELETE FROM measurement WHERE swing NOT IN (SELECT id FROM swing)", [])?;
        clear_nobodys(&change)?;
        change.execute("DELETE FROM figure WHERE metric NOT IN (SELECT id FROM metric)", [])?;
        for place in self.foreign_removals()? {
            change.execute("DELETE FROM removal WHERE path = ?1", [place])?;
        }
        let mut ask = change.prepare("SELECT id, hash, text FROM recipe")?;
        let all: Vec<(i64, String, String)> =
            ask.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)))?.collect::<Result<_, _>>()?;
        for (id, hash, text) in all {
            if keep::hash(text.as_bytes()) != hash {
                change.execute(
                    "UPDATE recipe SET hash = ?2 WHERE id = ?1",
                    params![id, format!("altered {id}")],
                )?;
            }
        }
        drop(ask);
        Ok(change.commit()?)
    }
}

/// A new catalogue beside the damaged one, exchanged for it by renaming: killed at any instant, the study has the one or
/// the other.
fn mend(
    root: &Path,
    which: Which,
    damaged: &[Damage],
    tell: &mut dyn FnMut(Progress),
) -> Result<Rebuilt, StudyError> {
    let settings = read_settings(root)?;
    let held = alone(root)?;
    let old = root.join(CATALOGUE);
    not_empty(&old)?;
    let version = quieten(&old)?;
    for name in unfinished_names() {
        keep::remove(root, &name)?;
    }
    let [name, ..] = unfinished_names();
    let path = root.join(&name);
    let mut db = connect(&path, false, WAIT)?;
    schema::migrate_to(&mut db, version)?;
    let tables: BTreeSet<String> =
        damaged.iter().map(|d| d.table.clone()).filter(|t| !t.is_empty()).collect();
    let derived = !DERIVED.iter().any(|t| tables.contains(*t)) && !tables.contains("swing");
    let (lost, others) = copy(&db, root, &old, &tables, derived)?;
    schema::migrate(&mut db)?;

    let study = Study::beside(root, settings, db);
    let mut out = Rebuilt::default();
    let (usual, _) = study.usual_basis()?;
    let mut bases = study.bases()?;
    bases.retain(|(id, _)| which == Which::All || !derived || *id == usual);
    for (id, basis) in bases {
        let mut due = match which == Which::All || !derived {
            true => study.wanted(None)?,
            false => study.stale(id, false)?,
        };
        if id != usual {
            let there: BTreeSet<i64> = others.iter().filter(|o| o.0 == id).map(|o| o.1).collect();
            due.retain(|w| there.contains(&w.swing));
        }
        let failed = out.failed.len();
        study.make_again((id, &basis), &due, id == usual && derived, &mut out, tell)?;
        if !derived {
            // What cannot be measured again keeps what was measured of it, where that can be read.
            let before = Connection::open_with_flags(&old, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
            before.pragma_update(None, "cell_size_check", "on")?;
            for (swing, why) in out.failed.iter_mut().skip(failed) {
                if !carry(&before, &study.db, id, *swing)? {
                    why.push_str("; what was measured of it before could not be read either");
                }
            }
        }
    }
    let strays = study.strays()?;
    let tables: Vec<String> = tables.into_iter().collect();
    let mended = Mended { tables, kept: free_name(root)?, lost, strays };
    let change = study.write()?;
    note(&change, "catalogue mended", About::default(), None, Some(&mended.counted()))?;
    change.commit()?;
    if let Some(still) = damages(&study.db)?.first() {
        return Err(StudyError::Bug(format!("the new catalogue is not whole: {still:?}")));
    }
    study.db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))?;
    drop(study);
    exchange(root, &path, &mended.kept)?;
    drop(held);
    out.mended = Some(mended);
    // Series of measurements that are no more are nobody's; what else is left is finished by the next opening.
    drop(Study::open(root)?);
    Ok(out)
}

/// Brings the log of a catalogue home and lets go of it, so that one file is all there is; gives its version.
fn quieten(path: &Path) -> Result<i64, StudyError> {
    let db = connect(path, false, WAIT)?;
    db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))?;
    let mode: String = db.query_row("PRAGMA journal_mode = delete", [], |r| r.get(0))?;
    if mode != "delete" {
        return Err(StudyError::Busy { waited_s: crate::error::WAIT_S });
    }
    begun(&db)?;
    schema::version(&db)
}

/// Rows of the old catalogue into the new one, in one change; what was measured on other bases, by basis and swing.
type Copied = (Vec<Lost>, Vec<(i64, i64)>);

fn copy(
    db: &Connection,
    root: &Path,
    old: &Path,
    tables: &BTreeSet<String>,
    derived: bool,
) -> Result<Copied, StudyError> {
    let old = Connection::open_with_flags(old, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    old.pragma_update(None, "cell_size_check", "on")?;
    db.pragma_update(None, "foreign_keys", "off")?;
    let change = Transaction::new_unchecked(db, TransactionBehavior::Immediate)?;
    let lost = salvage(&old, &change, root, tables, derived)?;
    let mut others: BTreeSet<(i64, i64)> = BTreeSet::new();
    for order in ["ASC", "DESC"] {
        let ask = format!("SELECT basis, swing FROM measurement ORDER BY swing {order}");
        let Ok(mut ask) = old.prepare(&ask) else { continue };
        let Ok(rows) = ask.query_map([], |r| Ok((r.get(0)?, r.get(1)?))) else { continue };
        others.extend(rows.map_while(Result::ok));
    }
    change.commit()?;
    db.pragma_update(None, "foreign_keys", "on")?;
    Ok((lost, others.into_iter().collect()))
}

fn free_name(root: &Path) -> Result<String, StudyError> {
    let there = keep::top(root)?;
    let name = |n: &usize| format!("{DAMAGED}{n}.sqlite");
    let free = (1..).find(|n| !there.contains(&name(n))).unwrap_or_default();
    Ok(name(&free))
}

/// The new catalogue for the old one, which is kept beside under another name.
fn exchange(root: &Path, new: &Path, kept: &str) -> Result<(), StudyError> {
    let old = root.join(CATALOGUE);
    for end in ["-wal", "-shm"] {
        // Empty: `quieten` brought the log home. One left beside the new catalogue would be taken for its own.
        keep::remove_file(&root.join(format!("{CATALOGUE}{end}")))?;
    }
    let flushed = std::fs::File::open(new).and_then(|f| f.sync_all());
    flushed.map_err(StudyError::io("flush", new))?;
    let beside = root.join(kept);
    if std::fs::hard_link(&old, &beside).is_err() {
        // A disk without a second name for a file.
        std::fs::copy(&old, &beside).map_err(StudyError::io("write", &beside))?;
    }
    std::fs::rename(new, &old).map_err(StudyError::io("write", &old))?;
    keep::settle(root, &[CATALOGUE.to_string()])
}
