//! What watching does with what it notices: looks, waits, takes in, tells.
use super::desk::Desk;
use super::memory::{self, Memory, Outcome};
use super::pending::{Pending, Seen, Sign};
use super::whole::{self, Look};
use super::{Event, Notice, Summary, Took, WatchSettings, folder, told};
use crate::error::StudyError;
use crate::import::{Arrived, Incoming, Told, handfuls, too_large, work_on_arrived};
use crate::keep;
use crate::log::{About, note};
use crate::study::Study;
use formats::rigfile::RigFile;
use rayon::prelude::*;
use rusqlite::{Connection, OptionalExtension as _};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Everything that watching holds between two steps.
pub struct Work<'a, F> {
    study: &'a Study,
    /// The folder, from the top.
    pub folder: PathBuf,
    how: &'a WatchSettings,
    on: F,
    desk: Desk,
    memory: Memory,
    pending: BTreeMap<PathBuf, Pending>,
    summary: Summary,
    next_scan: Instant,
    /// The folder could not be read the last time.
    away: bool,
    /// Notices of it may have ended.
    deaf: bool,
}

/// A file of which everything is known to take it in.
struct Ready {
    path: PathBuf,
    pending: Pending,
    arrived: Arrived,
    /// The swing that is its beginning.
    continues: Option<i64>,
}

/// What came of reading a file.
enum Reading {
    Gone,
    Changed(Seen),
    Locked(String),
    Read(Vec<u8>, Look),
}

impl<'a, F: FnMut(Event)> Work<'a, F> {
    /// Before the first look.
    pub fn begin(
        study: &'a Study,
        folder: PathBuf,
        how: &'a WatchSettings,
        on: F,
    ) -> Result<Self, StudyError> {
        let desk = Desk::of(study, how.session)?;
        let memory = Memory::of(study, &folder)?;
        let mut work = Self {
            study,
            folder,
            how,
            on,
            desk,
            memory,
            pending: BTreeMap::new(),
            summary: Summary::default(),
            next_scan: Instant::now(),
            away: false,
            deaf: false,
        };
        // With another rig or another edition, what could not be taken in may be.
        work.memory.forget_failures(how.session, &work.desk.tried);
        Ok(work)
    }

    /// Looks at the whole folder. True where the system's notices have to be asked for anew.
    pub fn scan(&mut self, first: bool) -> Result<bool, StudyError> {
        let now = Instant::now();
        self.refresh()?;
        let found = folder::candidates(&self.folder, self.how.recursive);
        let found = match found {
            Ok(found) => found,
            Err(error) => {
                if !std::mem::replace(&mut self.away, true) {
                    (self.on)(Event::Away { why: error.to_string() });
                }
                self.next_scan = now + self.how.look;
                return Ok(false);
            }
        };
        let back = std::mem::take(&mut self.away);
        if back {
            (self.on)(Event::Back);
        }
        let gone = |path: &PathBuf| found.binary_search_by(|(p, _)| p.cmp(path)).is_err();
        self.pending.retain(|path, _| !gone(path));
        let (mut known, mut left) = (0, 0);
        for (path, seen) in found {
            if self.memory.knows(&path, seen) {
                known += 1;
            } else if first && self.is_older(seen) && !self.memory.0.contains_key(&path) {
                left += 1;
                self.memory.0.insert(path, (seen, Outcome::Left));
            } else {
                self.touch(path, seen, Sign::Found);
            }
        }
        if first {
            let (folder, session) = (told(&self.folder), self.how.session);
            (self.on)(Event::Watching { folder, session, known, waiting: self.pending.len(), left });
        }
        self.tell_waiting(self.how.patience);
        // A twentieth of the time, at most, is spent looking.
        self.next_scan = Instant::now() + self.how.look.max(20 * now.elapsed());
        Ok(std::mem::take(&mut self.deaf) || back)
    }

    /// Looks up again what recordings are measured with; what failed for lack of it is looked at again.
    fn refresh(&mut self) -> Result<(), StudyError> {
        if self.desk.refresh(self.study)? {
            self.memory.forget_failures(self.how.session, &self.desk.tried);
            self.next_scan = Instant::now();
        }
        Ok(())
    }

    fn is_older(&self, seen: Seen) -> bool {
        self.how.since.is_some_and(|since| seen.modified < since)
    }

    /// Takes in a notice.
    pub fn notice(&mut self, notice: Notice) -> Result<(), StudyError> {
        let (path, sign) = match notice {
            Notice::File(path, sign) if !self.away => (path, sign),
            // Notices follow a folder that was moved, under the name that it had.
            Notice::File(..) | Notice::Everything => {
                self.next_scan = Instant::now();
                return Ok(());
            }
            Notice::Folder => {
                (self.deaf, self.next_scan) = (true, Instant::now());
                return Ok(());
            }
        };
        if !folder::is_candidate(&path) {
            // A folder that is new may hold files of which nobody was told.
            if self.how.recursive && matches!(sign, Sign::Written | Sign::Moved) && path.is_dir() {
                self.next_scan = Instant::now();
            }
            return Ok(());
        }
        if !folder::is_inside(&self.folder, &path, self.how.recursive) {
            return Ok(());
        }
        match folder::seen(&path) {
            Ok(None) => {
                self.pending.remove(&path);
            }
            // A file that was put in the place of another may look the same; one that was written to does not.
            Ok(Some(seen)) if sign == Sign::Moved || !self.memory.knows(&path, seen) => {
                self.touch(path, seen, sign);
            }
            // What cannot even be looked at is found by the next scan.
            Ok(Some(_)) | Err(_) => {}
        }
        Ok(())
    }

    /// Something was noticed of a file that is there.
    fn touch(&mut self, path: PathBuf, seen: Seen, sign: Sign) {
        // Nothing is in it yet: there is nothing to wait for, nor to tell.
        if seen.bytes == 0 {
            self.pending.remove(&path);
            return;
        }
        let (now, ends) = (Instant::now(), ends(&path));
        match self.pending.get_mut(&path) {
            Some(pending) => pending.notice(seen, sign, now, ends, self.how),
            None => {
                self.pending.insert(path, Pending::new(seen, sign, now, ends, self.how));
            }
        }
    }

    /// True where nothing is waited for.
    pub fn idle(&self) -> bool {
        self.pending.is_empty()
    }

    /// True where nothing but files that are still written to, or that cannot be opened, is waited for.
    pub fn only_open(&self) -> bool {
        self.pending.values().all(Pending::is_open)
    }

    /// How long nothing is due.
    pub fn sleep(&self) -> Duration {
        let next = self.pending.values().map(|p| p.look_at).min();
        let next = next.map_or(self.next_scan, |at| at.min(self.next_scan));
        next.saturating_duration_since(Instant::now())
    }

    /// Whether the whole folder is to be looked at.
    pub fn scan_is_due(&self) -> bool {
        Instant::now() >= self.next_scan
    }

    /// Tells of files that have been waited for this long.
    pub fn tell_waiting(&mut self, long: Duration) {
        for (path, pending) in &mut self.pending {
            if !pending.told && pending.noticed.elapsed() >= long {
                pending.told = true;
                let why = match pending.why.as_str() {
                    "" => "it is still being written".to_string(),
                    why => why.to_string(),
                };
                (self.on)(Event::Waiting { file: told(path), why });
            }
        }
    }

    /// What came of it all.
    pub fn end(self) -> Summary {
        Summary { waiting: self.pending.len(), ..self.summary }
    }

    /// Reads the files that are due, and takes in those that are whole, in the order in which they were recorded.
    pub fn look(&mut self) -> Result<(), StudyError> {
        let now = Instant::now();
        let due = self.pending.iter().filter(|(_, p)| p.look_at <= now);
        let mut due: Vec<(PathBuf, Seen)> = due.map(|(path, p)| (path.clone(), p.seen)).collect();
        if due.is_empty() {
            return Ok(());
        }
        self.refresh()?;
        due.sort_by(|a, b| (a.1.modified, &a.0).cmp(&(b.1.modified, &b.0)));
        for hand in handfuls(&due, |(_, seen)| seen.bytes) {
            match self.hand(hand) {
                // Whoever is writing gets the time that is needed.
                Err(error @ StudyError::Busy { .. }) => self.put_off(hand, &error),
                done => done?,
            }
        }
        Ok(())
    }

    fn put_off(&mut self, hand: &[(PathBuf, Seen)], error: &StudyError) {
        let now = Instant::now();
        for (path, _) in hand {
            if let Some(pending) = self.pending.get_mut(path) {
                pending.again_later(error.to_string(), now);
            }
        }
        self.tell_waiting(Duration::ZERO);
    }

    fn hand(&mut self, hand: &[(PathBuf, Seen)]) -> Result<(), StudyError> {
        let begun = Instant::now();
        let rig = self.desk.rig();
        let read: Vec<Reading> =
            hand.par_iter().with_max_len(1).map(|(path, seen)| read(path, *seen, rig)).collect();
        let mut ready = Vec::new();
        for ((path, _), reading) in hand.iter().zip(read) {
            let Some(pending) = self.pending.get_mut(path) else { continue };
            let (bytes, look) = match reading {
                Reading::Gone => {
                    self.pending.remove(path);
                    continue;
                }
                Reading::Changed(seen) => {
                    pending.notice(seen, Sign::Found, begun, ends(path), self.how);
                    continue;
                }
                Reading::Locked(why) => {
                    pending.again_later(why, begun);
                    continue;
                }
                Reading::Read(bytes, look) => (bytes, look),
            };
            match look {
                Look::NotYet(why) => {
                    if pending.not_whole(why.clone(), begun, self.how) {
                        let seen = pending.seen;
                        self.fail(path, seen, why)?;
                    }
                    continue;
                }
                Look::MayGoOn if begun < pending.changed + pending.settling(false, self.how) => {
                    pending.look_at = pending.changed + pending.settling(false, self.how);
                    continue;
                }
                Look::MayGoOn | Look::Whole => {}
            }
            let (path, pending) = (path.clone(), pending.clone());
            let continues = self.continues(&path, &bytes)?;
            let arrived = Arrived::of(bytes, Some(pending.seen.modified));
            ready.push(Ready { path, pending, arrived, continues });
        }
        if ready.is_empty() { Ok(()) } else { self.take_in(ready, begun) }
    }

    /// The swing that a file was before, where its bytes are the beginning of what it is now.
    fn continues(&self, path: &Path, bytes: &[u8]) -> Result<Option<i64>, StudyError> {
        let Some(swing) = self.memory.swing(path) else { return Ok(None) };
        let ask = "SELECT bytes, hash FROM swing WHERE id = ?1";
        let before: Option<(i64, String)> = self
            .study
            .db
            .prepare_cached(ask)?
            .query_row([swing], |r| Ok((r.get(0)?, r.get(1)?)))
            .optional()?;
        let Some((length, hash)) = before else { return Ok(None) };
        let head =
            usize::try_from(length).ok().and_then(|n| bytes.get(..n)).filter(|h| h.len() < bytes.len());
        Ok(head.is_some_and(|head| keep::hash(head) == hash).then_some(swing))
    }

    /// Measures files and puts them into the study, with what is known of them now, in one change.
    fn take_in(&mut self, ready: Vec<Ready>, begun: Instant) -> Result<(), StudyError> {
        let read = Instant::now();
        let study = self.study;
        let placing = study.placing()?;
        let (mut incoming, mut arrived, mut files) = (Vec::new(), Vec::new(), Vec::new());
        for one in ready {
            let club = self.how.club.clone();
            incoming.push(Incoming { club, ..Incoming::new(&one.path, self.how.session) });
            arrived.push(Ok(one.arrived));
            files.push((one.path, one.pending, one.continues));
        }
        let worked = work_on_arrived(study, &incoming, arrived, &self.desk.recipes, &self.desk.basis)?;
        let measured = Instant::now();
        let outcome = |told: &Told| match told {
            Told::Kept { swing, .. } | Told::There { swing, .. } => Outcome::Swing(*swing),
            Told::Refused { why, .. } => self.failed(why),
        };
        let beside = |db: &Connection, all: &[Told]| {
            for ((path, pending, _), told) in files.iter().zip(all) {
                write_down(db, path, pending.seen, &outcome(told))?;
            }
            Ok(())
        };
        let mut all = Vec::with_capacity(files.len());
        let basis = (self.desk.basis_id, &self.desk.basis);
        study.take_in(basis, &incoming, worked, beside, &mut |_, told| all.push(told))?;
        drop(placing);
        study.finish_removals()?;
        let stored = Instant::now();
        for ((path, pending, continues), told) in files.into_iter().zip(all) {
            let outcome = match &told {
                Told::Kept { swing, .. } | Told::There { swing, .. } => Outcome::Swing(*swing),
                Told::Refused { why, .. } => self.failed(why),
            };
            self.pending.remove(&path);
            self.memory.0.insert(path.clone(), (pending.seen, outcome));
            let took = Took {
                settling_s: begun.saturating_duration_since(pending.changed).as_secs_f64(),
                reading_s: (read - begun).as_secs_f64(),
                measuring_s: (measured - read).as_secs_f64(),
                storing_s: (stored - measured).as_secs_f64(),
            };
            self.tell(&path, told, continues, took)?;
        }
        Ok(())
    }

    fn tell(
        &mut self,
        path: &Path,
        outcome: Told,
        continues: Option<i64>,
        took: Took,
    ) -> Result<(), StudyError> {
        let file = told(path);
        let event = match outcome {
            Told::Kept { swing, session, feet, failed, stops, doubts } => {
                self.summary.kept += 1;
                self.summary.stops += usize::from(stops > 0);
                let ask = "SELECT number FROM swing WHERE id = ?1";
                let number =
                    self.study.db.prepare_cached(ask)?.query_row([swing], |r| r.get(0)).optional()?;
                let number = number.unwrap_or(0);
                Event::Kept { file, swing, session, number, feet, failed, stops, doubts, continues, took }
            }
            Told::There { swing, session } => {
                self.summary.there += 1;
                Event::There { file, swing, session }
            }
            Told::Refused { why, needs_rig } => {
                self.summary.failed += 1;
                Event::Failed { file, why, needs_rig }
            }
        };
        (self.on)(event);
        Ok(())
    }

    fn failed(&self, why: &str) -> Outcome {
        Outcome::Failed { why: why.to_string(), session: self.how.session, tried: self.desk.tried.clone() }
    }

    /// Gives a file up as it is: told once, and remembered.
    fn fail(&mut self, path: &Path, seen: Seen, why: String) -> Result<(), StudyError> {
        let outcome = self.failed(&why);
        let change = self.study.write()?;
        write_down(&change, path, seen, &outcome)?;
        change.commit()?;
        self.pending.remove(path);
        self.memory.0.insert(path.to_path_buf(), (seen, outcome));
        self.summary.failed += 1;
        (self.on)(Event::Failed { file: told(path), why, needs_rig: false });
        Ok(())
    }
}

/// Whether files of its kind say where they end.
fn ends(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case("c3d"))
}

/// Reads a file that looked like this; what is read is of that one look, or it is not used.
fn read(path: &Path, seen: Seen, rig: Option<&RigFile>) -> Reading {
    let looked = |bytes: Vec<u8>| match folder::seen(path) {
        Ok(None) => Reading::Gone,
        Ok(Some(now)) if now != seen => Reading::Changed(now),
        Err(error) => Reading::Locked(error.to_string()),
        Ok(Some(_)) => {
            let name = path.file_name().map(|n| n.to_string_lossy()).unwrap_or_default();
            let look = whole::look(&name, &bytes, rig);
            Reading::Read(bytes, look)
        }
    };
    if let Some(why) = too_large(seen.bytes) {
        return Reading::Read(Vec::new(), Look::NotYet(why));
    }
    match folder::seen(path) {
        Ok(Some(now)) if now == seen => match std::fs::read(path) {
            Ok(bytes) => looked(bytes),
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => Reading::Gone,
            Err(e) => Reading::Locked(format!("it cannot be read yet: {e}")),
        },
        Ok(Some(now)) => Reading::Changed(now),
        Ok(None) => Reading::Gone,
        Err(e) => Reading::Locked(format!("it cannot be read yet: {e}")),
    }
}

/// Writes down what came of a file. A failure is a change that others may want to hear of, so it has a row in the log, which
/// goes with the player; that these bytes were there already is none. Where the session is gone there is nothing to write to.
fn write_down(db: &Connection, path: &Path, seen: Seen, outcome: &Outcome) -> Result<(), StudyError> {
    if let Outcome::Failed { why, session, .. } = outcome {
        let ask = "SELECT player FROM session WHERE id = ?1";
        let player: Option<i64> = db.prepare_cached(ask)?.query_row([session], |r| r.get(0)).optional()?;
        let Some(player) = player else { return Ok(()) };
        let about = About { player: Some(player), session: Some(*session), swing: None };
        let after = serde_json::json!({ "file": told(path), "why": why }).to_string();
        note(db, "recording not taken in", about, None, Some(&after))?;
    }
    memory::write(db, path, seen, outcome)
}
