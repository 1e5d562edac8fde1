//! Deleting a player, and leaving nothing behind: rows, files, free pages and the log.
use crate::error::StudyError;
use crate::keep;
use crate::log::{About, note};
use crate::people::Player;
use crate::store::take_out;
use crate::study::{CATALOGUE, Study};
use rusqlite::{Connection, params};
use serde::Serialize;
use std::time::Duration;

/// What goes with a player.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Going {
    /// The player.
    pub player: Player,
    /// True where a name or a contact is written down.
    pub named: bool,
    /// Sessions.
    pub sessions: usize,
    /// Swings.
    pub swings: usize,
    /// Recordings and series.
    pub files: usize,
    /// Bytes of the recordings.
    pub bytes: u64,
    /// Damaged catalogues that a rebuild has kept: they hold the player too, and go as well.
    pub damaged: Vec<String>,
    /// Recordings that no swing speaks of. They stay: whose they are cannot be known.
    pub strays: Vec<String>,
}

/// What a deletion or a clean-up has left.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Left {
    /// Files that could not be removed yet.
    pub files: usize,
    /// Why pages of the catalogue could not be written anew yet; `None`: they were.
    pub pages: Option<String>,
}

impl Left {
    /// True where nothing is left to do.
    pub fn nothing(&self) -> bool {
        self.files == 0 && self.pages.is_none()
    }
}

/// What was swept.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Swept {
    /// Files that were removed, relative to the study.
    pub removed: Vec<String>,
    /// Recordings that no swing speaks of, and damaged catalogues kept by a rebuild: kept unless asked for.
    pub kept: Vec<String>,
    /// Measurements in other ways than the usual that were out of date; they are made again when they are asked for.
    pub stale: usize,
    /// True where another program was placing files, so that none was swept.
    pub busy: bool,
    /// Bytes of the catalogue before.
    pub before: u64,
    /// Bytes of the catalogue after.
    pub after: u64,
    /// What could not be done now.
    pub left: Left,
}

/// How long the writing anew of the catalogue waits for others that read, at most.
const SCRUB: Duration = Duration::from_secs(2);

/// A player's numbers and files.
struct Theirs {
    sessions: Vec<i64>,
    swings: Vec<i64>,
    originals: Vec<String>,
    series: Vec<String>,
    bytes: i64,
}

fn theirs(db: &Connection, player: i64) -> Result<Theirs, StudyError> {
    let numbers = |ask: &str| -> Result<Vec<i64>, StudyError> {
        Ok(db.prepare(ask)?.query_map([player], |r| r.get(0))?.collect::<Result<_, _>>()?)
    };
    let sessions = numbers("SELECT id FROM session WHERE player = ?1 ORDER BY id")?;
    let of = "FROM swing w JOIN session s ON s.id = w.session WHERE s.player = ?1";
    let swings = numbers(&format!("SELECT w.id {of} ORDER BY w.id"))?;
    let mut ask = db.prepare(&format!("SELECT w.hash, w.ending {of} ORDER BY w.id"))?;
    let place = |r: &rusqlite::Row<'_>| {
        let (hash, ending): (String, String) = (r.get(0)?, r.get(1)?);
        Ok(keep::original(&hash, &ending))
    };
    let originals = ask.query_map([player], place)?.collect::<Result<_, _>>()?;
    let mut ask = db.prepare(
        "SELECT DISTINCT m.series FROM measurement m JOIN swing w ON w.id = m.swing JOIN session s ON s.id = w.session
         WHERE s.player = ?1 AND m.series IS NOT NULL ORDER BY m.series",
    )?;
    let place = |r: &rusqlite::Row<'_>| Ok(keep::derived(&r.get::<_, String>(0)?));
    let series = ask.query_map([player], place)?.collect::<Result<_, _>>()?;
    let bytes = db.query_row(&format!("SELECT coalesce(sum(w.bytes), 0) {of}"), [player], |r| r.get(0))?;
    Ok(Theirs { sessions, swings, originals, series, bytes })
}

impl Study {
    /// What would go with a player. Says it before it is done.
    pub fn going(&self, player: i64) -> Result<Going, StudyError> {
        let who = self.player(player)?;
        let theirs = theirs(&self.db, player)?;
        Ok(Going {
            named: self.identity(player)?.is_some(),
            player: who,
            sessions: theirs.sessions.len(),
            swings: theirs.swings.len(),
            files: theirs.originals.len() + theirs.series.len(),
            bytes: theirs.bytes.max(0) as u64,
            damaged: self.damaged_catalogues()?,
            strays: self.strays()?,
        })
    }

    /// Deletes a player: one change takes out every row and puts the files down for removal; then the files go, and then
    /// the catalogue is written anew, so that no free page and no log remembers. Killed in between, the next opening
    /// finishes.
    ///
    /// The log says that a player was deleted, not who.
    pub fn delete_player(&self, player: i64) -> Result<Left, StudyError> {
        self.player(player)?;
        let damaged = self.damaged_catalogues()?;
        let change = self.write()?;
        take_away(&change, player)?;
        for place in damaged {
            change.execute("INSERT OR IGNORE INTO removal VALUES (?1)", [place])?;
        }
        note(&change, "player deleted", About::default(), None, None)?;
        change.execute("INSERT OR IGNORE INTO pending VALUES ('vacuum')", [])?;
        change.commit()?;
        self.finish(true)
    }

    /// Finishes what was put down to be done: files to be removed, pages to be written anew. `patient`: waits for others.
    pub(crate) fn finish(&self, patient: bool) -> Result<Left, StudyError> {
        match patient {
            true => self.finish_now(),
            false => self.waiting(Duration::from_millis(50), || self.finish_now()),
        }
    }

    fn finish_now(&self) -> Result<Left, StudyError> {
        self.finish_removals()?;
        let mut left = Left { files: self.removals()?.len(), pages: None };
        let due = self.db.prepare_cached("SELECT 1 FROM pending WHERE what = 'vacuum'")?.exists([])?;
        if !due {
            return Ok(left);
        }
        // A path names its recording's content: pages are clean only once none is put down any more.
        if left.files > 0 {
            left.pages = Some("another program is placing files".into());
            return Ok(left);
        }
        left.pages = match self.waiting(SCRUB, || self.vacuumed()) {
            Err(why) => Some(why.to_string()),
            Ok(false) => Some("another program is reading the study".into()),
            Ok(true) => {
                self.db.execute("DELETE FROM pending WHERE what = 'vacuum'", [])?;
                None
            }
        };
        Ok(left)
    }

    /// Writes the catalogue anew and empties its log. False where another program is reading, so that the log must stay.
    fn vacuumed(&self) -> Result<bool, StudyError> {
        // A reader would make the work vain: its log must stay, and it is a copy of the whole catalogue to make.
        if !self.empty_log()? {
            return Ok(false);
        }
        // The copy it makes on the way is as large as the catalogue: in memory only where that is no matter.
        const IN_MEMORY: u64 = 256 << 20;
        let large = self.catalogue_bytes() > IN_MEMORY;
        self.db.pragma_update(None, "temp_store", if large { "file" } else { "memory" })?;
        let done = self.db.execute_batch("VACUUM");
        self.db.pragma_update(None, "temp_store", "memory")?;
        done?;
        self.empty_log()
    }

    /// Brings the log home and empties its file; false where another program is reading.
    fn empty_log(&self) -> Result<bool, StudyError> {
        let busy: i64 = self.db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |r| r.get(0))?;
        Ok(busy == 0)
    }

    fn catalogue_bytes(&self) -> u64 {
        std::fs::metadata(self.root.join(CATALOGUE)).map_or(0, |m| m.len())
    }

    /// Finishes removals, sweeps what crashes have left, and writes the catalogue anew. Files are swept only while no
    /// program places any. `strays`: also recordings that no swing speaks of, and damaged catalogues kept by a rebuild.
    pub fn vacuum(&self, strays: bool) -> Result<Swept, StudyError> {
        let before = self.catalogue_bytes();
        self.write()?.commit()?; // says at once where nothing can be written
        let stale = self.drop_stale()?;
        self.finish_removals()?;
        let mut swept = Swept { before, stale, ..Swept::default() };
        match self.sweeping()? {
            None => swept.busy = true,
            Some(_alone) => {
                let mut going = self.leftovers()?;
                let mut asked = self.strays()?;
                asked.extend(self.damaged_catalogues()?);
                if strays {
                    going.append(&mut asked);
                }
                swept.kept = asked;
                for place in going {
                    keep::remove(&self.root, &place)?;
                    swept.removed.push(place);
                }
            }
        }
        self.db.execute("INSERT OR IGNORE INTO pending VALUES ('vacuum')", [])?;
        swept.left = self.finish(true)?;
        swept.after = self.catalogue_bytes();
        Ok(swept)
    }

    /// Takes out what was measured in other ways than the usual and is out of date, and ways in which nothing is measured any
    /// more; gives how many measurements that were.
    fn drop_stale(&self) -> Result<usize, StudyError> {
        let (usual, _) = self.usual_basis()?;
        let change = self.write()?;
        let mut gone = 0;
        for (basis, _) in self.bases()?.into_iter().filter(|(id, _)| *id != usual) {
            let there = self.measured_on(basis)?;
            let mut stale = self.stale_among(basis, None, false)?;
            stale.retain(|swing| there.contains(swing));
            take_out(&change, basis, &stale, &[])?;
            gone += stale.len();
        }
        let unused = "DELETE FROM basis WHERE id <> ?1 AND id NOT IN (SELECT basis FROM measurement)";
        if change.execute(unused, [usual])? + gone > 0 {
            let told = format!("{gone} measurements");
            note(&change, "stale measurements removed", About::default(), None, Some(&told))?;
            change.commit()?;
        }
        Ok(gone)
    }

    /// Files that can go at once: not whole, or derived and spoken of by no row.
    pub(crate) fn leftovers(&self) -> Result<Vec<String>, StudyError> {
        let mut ask = self.db.prepare("SELECT DISTINCT series FROM measurement WHERE series IS NOT NULL")?;
        let place = |r: &rusqlite::Row<'_>| Ok(keep::derived(&r.get::<_, String>(0)?));
        let spoken: std::collections::BTreeSet<String> =
            ask.query_map([], place)?.collect::<Result<_, _>>()?;
        let mut found = unfinished(&keep::top(&self.root)?);
        found.extend(unfinished(&keep::all(&self.root, keep::ORIGINALS)?));
        found.extend(keep::all(&self.root, keep::DERIVED)?.into_iter().filter(|p| !spoken.contains(p)));
        Ok(found)
    }

    /// Recordings that no swing speaks of.
    pub(crate) fn strays(&self) -> Result<Vec<String>, StudyError> {
        let mut ask = self.db.prepare("SELECT hash, ending FROM swing")?;
        let place = |r: &rusqlite::Row<'_>| {
            let (hash, ending): (String, String) = (r.get(0)?, r.get(1)?);
            Ok(keep::original(&hash, &ending))
        };
        let mut spoken: std::collections::BTreeSet<String> =
            ask.query_map([], place)?.collect::<Result<_, _>>()?;
        spoken.extend(self.removals()?);
        let all = keep::all(&self.root, keep::ORIGINALS)?;
        let not_whole = unfinished(&all);
        Ok(all.into_iter().filter(|p| !spoken.contains(p) && !not_whole.contains(p)).collect())
    }

    /// Damaged catalogues that a rebuild has kept, with what lies beside them.
    pub(crate) fn damaged_catalogues(&self) -> Result<Vec<String>, StudyError> {
        Ok(keep::top(&self.root)?.into_iter().filter(|n| n.starts_with(keep::DAMAGED)).collect())
    }
}

fn unfinished(places: &[String]) -> Vec<String> {
    let name = |p: &str| p.rsplit('/').next().is_some_and(|n| n.starts_with(keep::UNFINISHED));
    places.iter().filter(|p| name(p)).cloned().collect()
}

/// Every row of a player, and those that only the player's rows used.
fn take_away(change: &Connection, player: i64) -> Result<(), StudyError> {
    let theirs = theirs(change, player)?;
    for place in theirs.originals.iter().chain(&theirs.series) {
        change.prepare_cached("INSERT OR IGNORE INTO removal VALUES (?1)")?.execute([place])?;
    }
    let mut ask = change.prepare("SELECT m.id, b.id FROM metric m, basis b ORDER BY m.id, b.id")?;
    let stretches: Vec<(i64, i64)> =
        ask.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?.collect::<Result<_, _>>()?;
    let mut figure = change.prepare("DELETE FROM figure WHERE metric = ?1 AND basis = ?2 AND swing = ?3")?;
    for (metric, basis) in stretches {
        for swing in &theirs.swings {
            figure.execute(params![metric, basis, swing])?;
        }
    }
    // A session may have been another player's once: what was noted then goes with its swings.
    for session in &theirs.sessions {
        change.execute("DELETE FROM change WHERE session = ?1", [session])?;
    }
    for swing in &theirs.swings {
        change.prepare_cached("DELETE FROM change WHERE swing = ?1")?.execute([swing])?;
    }
    // Names of files that never became a swing may be anybody's.
    change.execute("DELETE FROM watched WHERE swing IS NULL", [])?;
    // Sessions, swings, tags, marks, outcomes, measurements, events, findings, watched files and the log go with it.
    change.execute("DELETE FROM player WHERE id = ?1", [player])?;
    change.execute("DELETE FROM recipe WHERE id NOT IN (SELECT recipe FROM measurement)", [])?;
    change.execute(
        "DELETE FROM phrase WHERE id NOT IN (SELECT led_by FROM figure WHERE led_by IS NOT NULL
         UNION SELECT touched FROM figure WHERE touched IS NOT NULL
         UNION SELECT absent FROM figure WHERE absent IS NOT NULL)",
        [],
    )?;
    Ok(())
}
