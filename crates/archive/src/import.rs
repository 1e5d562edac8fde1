//! Recordings into the study: hashed, read, measured and placed on all cores, a handful at a time; put into the catalogue by
//! one writer, a handful in one change. What is not in a change that was finished is not in the study.
use crate::error::StudyError;
use crate::keep::{self, Placing};
use crate::log::{About, note, now};
use crate::recipe::{Basis, Recipe};
use crate::store::{Kept, put_in, series_of};
use crate::study::Study;
use crate::wanted::{Rigs, Wanted};
use rayon::prelude::*;
use rusqlite::{Connection, OptionalExtension as _, params};
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{SyncSender, sync_channel};
use std::time::SystemTime;

/// A recording on its way in: where it is, and where it belongs.
#[derive(Clone, Debug, PartialEq)]
pub struct Incoming {
    /// The file.
    pub path: PathBuf,
    /// The session's number.
    pub session: i64,
    /// Number within the session, where stated; otherwise the next.
    pub number: Option<i64>,
    /// Club.
    pub club: String,
    /// When it was recorded, where stated, ISO 8601.
    pub recorded_at: Option<String>,
    /// Tags.
    pub tags: Vec<String>,
    /// Free text.
    pub note: String,
}

impl Incoming {
    /// A file of a session, nothing else said.
    pub fn new(path: &Path, session: i64) -> Self {
        Self {
            path: path.to_path_buf(),
            session,
            number: None,
            club: String::new(),
            recorded_at: None,
            tags: Vec::new(),
            note: String::new(),
        }
    }
}

/// How it went with one file.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "outcome", rename_all = "kebab-case")]
pub enum Told {
    /// It is in the study now.
    Kept {
        /// Its number.
        swing: i64,
        /// Its session.
        session: i64,
        /// 2: each foot has its accounts; 1: net accounts only; `None`: it could not be measured.
        feet: Option<u8>,
        /// Why it could not be measured, though it could be read.
        failed: Option<String>,
        /// Findings of severity stop.
        stops: usize,
        /// Findings of severity doubt.
        doubts: usize,
    },
    /// These bytes were in the study before.
    There {
        /// The swing they are.
        swing: i64,
        /// Its session.
        session: i64,
    },
    /// It could not be taken in; nothing of it is in the study.
    Refused {
        /// Why.
        why: String,
        /// True where its plates are not known, and a rig would help.
        needs_rig: bool,
    },
}

/// Recordings for each core that are in hand at once, so that memory does not grow with the number of files.
const IN_HAND: usize = 16;

/// Bytes of files that are in hand at once; a larger one is in hand alone.
const BYTES_IN_HAND: u64 = 128 << 20;

/// A file that is larger is no recording of a swing, and is not read: 2 GiB.
const LARGEST: u64 = 2 << 30;

/// What comes in, in order, in handfuls.
pub(crate) fn handfuls<T>(all: &[T], bytes: impl Fn(&T) -> u64) -> Vec<&[T]> {
    let most = IN_HAND * rayon::current_num_threads();
    let (mut hands, mut from, mut sum) = (Vec::new(), 0, 0_u64);
    for (k, one) in all.iter().enumerate() {
        let size = bytes(one);
        if k > from && (k - from == most || sum.saturating_add(size) > BYTES_IN_HAND) {
            hands.extend(all.get(from..k));
            (from, sum) = (k, 0);
        }
        sum = sum.saturating_add(size);
    }
    hands.extend(all.get(from..).filter(|rest| !rest.is_empty()));
    hands
}

/// Why a file is not even read, where it is too large.
pub(crate) fn too_large(bytes: u64) -> Option<String> {
    let gib = |bytes: u64| bytes as f64 / f64::from(1_u32 << 30);
    (bytes > LARGEST).then(|| {
        format!("it has {:.1} GiB; a recording of more than {:.0} GiB is not read", gib(bytes), gib(LARGEST))
    })
}

/// A file after its work, before its change. Where nothing was made of it, its bytes were found in the study.
pub(crate) enum Worked {
    Ready { arrived: Arrived, kept: Option<Box<Kept>> },
    Refused(Refusal),
}

/// Why a file is not taken in.
pub(crate) struct Refusal {
    why: String,
    needs_rig: bool,
}

impl From<String> for Refusal {
    fn from(why: String) -> Self {
        Self { why, needs_rig: false }
    }
}

impl Study {
    /// Takes recordings in. `tell` hears of every file, in order, once it is in the study for good. `go_on` is asked between handfuls.
    ///
    /// Errors: what stops all of it (a full disk, a busy study, a session that is not there). What was told before is in the study.
    pub fn import(
        &self,
        incoming: &[Incoming],
        mut tell: impl FnMut(&Incoming, Told),
        go_on: impl Fn() -> bool + Sync,
    ) -> Result<(), StudyError> {
        let (basis_id, basis) = self.usual_basis()?;
        let size = |one: &Incoming| std::fs::metadata(&one.path).map_or(0, |m| m.len());
        let placing = self.placing()?;
        let recipes = Recipes::of(self, incoming)?;
        let hands = handfuls(incoming, size);
        let looking = self.again()?;
        std::thread::scope(|scope| {
            let (send, receive) = sync_channel(1);
            let (hands_of_worker, recipes, basis, go_on) = (&hands, &recipes, &basis, &go_on);
            scope.spawn(move || work(looking, hands_of_worker, recipes, basis, send, go_on));
            for hand in &hands {
                let Ok(worked) = receive.recv() else { break };
                self.take_in((basis_id, basis), hand, worked?, |_, _| Ok(()), &mut tell)?;
            }
            Ok::<(), StudyError>(())
        })?;
        drop(placing);
        self.finish_removals()
    }

    /// One handful: its files are placed, then one change; `beside` may write in it. The study is held for [`Study::placing`].
    ///
    /// What another program has changed since the files were measured (the session, the player, the rig, or that the same bytes
    /// were there) is looked up in the change: what depends on it is measured again within it, so that what goes in is never
    /// out of date.
    pub(crate) fn take_in(
        &self,
        (basis, look): (i64, &Basis),
        hand: &[Incoming],
        worked: Vec<Worked>,
        beside: impl FnOnce(&Connection, &[Told]) -> Result<(), StudyError>,
        tell: &mut impl FnMut(&Incoming, Told),
    ) -> Result<(), StudyError> {
        let made = worked.iter().filter_map(|one| match one {
            Worked::Ready { arrived, kept } => Some((arrived, kept.as_deref()?)),
            Worked::Refused(_) => None,
        });
        place(&self.root, &made.collect::<Vec<_>>())?;
        let change = self.write()?;
        let mut recipes = Recipes::none(self)?;
        let mut told = Vec::with_capacity(hand.len());
        let mut kept = Vec::with_capacity(hand.len());
        for (incoming, worked) in hand.iter().zip(worked) {
            let (arrived, ready) = match worked {
                Worked::Refused(refusal) => {
                    told.push(refusal.told());
                    continue;
                }
                Worked::Ready { arrived, kept } => (arrived, kept),
            };
            let hash = arrived.hash.as_str();
            // Another program, or another name in this handful, may have brought the same bytes.
            let ask = "SELECT id, session FROM swing WHERE hash = ?1";
            let twin: Option<(i64, i64)> =
                change.prepare_cached(ask)?.query_row([hash], |r| Ok((r.get(0)?, r.get(1)?))).optional()?;
            if let Some((swing, session)) = twin {
                if let Some(ready) = ready {
                    let_go(&change, &ready, Some(swing))?;
                }
                told.push(Told::There { swing, session });
                continue;
            }
            let session = incoming.session;
            // Another program may have deleted the player meanwhile.
            let ask = "SELECT player FROM session WHERE id = ?1";
            let player: Option<i64> =
                change.prepare_cached(ask)?.query_row([session], |r| r.get(0)).optional()?;
            let Some(player) = player else {
                if let Some(ready) = ready {
                    let_go(&change, &ready, None)?;
                }
                told.push(Refusal::from(format!("session {session} was deleted meanwhile")).told());
                continue;
            };
            recipes.add(self, session)?;
            let mut ready = match ready {
                Some(ready) if recipes.same(&ready.wanted) => *ready,
                before => {
                    if let Some(before) = before {
                        let_go(&change, &before, None)?;
                    }
                    match one(incoming, &arrived, &recipes, look)? {
                        Err(refusal) => {
                            told.push(refusal.told());
                            continue;
                        }
                        Ok(ready) => {
                            place(&self.root, &[(&arrived, &ready)])?;
                            ready
                        }
                    }
                }
            };
            let number = free_number(&change, session, incoming.number)?;
            change
                .prepare_cached(
                    "INSERT INTO swing (folders, session, number, hash, ending, bytes, name, file_time, recorded_at, club, note,
                     imported_at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
                )?
                .execute(params![
                    folders(&incoming.path),
                    session,
                    number,
                    hash,
                    ready.wanted.ending,
                    arrived.bytes.len() as i64,
                    ready.wanted.name,
                    arrived.file_time,
                    incoming.recorded_at,
                    incoming.club.trim(),
                    incoming.note,
                    now()
                ])?;
            let swing = change.last_insert_rowid();
            let place = keep::original(hash, &ready.wanted.ending);
            change.prepare_cached("DELETE FROM removal WHERE path = ?1")?.execute([place])?;
            for word in &incoming.tags {
                change
                    .prepare_cached("INSERT OR IGNORE INTO tag VALUES (?1, ?2)")?
                    .execute(params![swing, word])?;
            }
            let about = About { player: Some(player), session: Some(session), swing: Some(swing) };
            note(&change, "swing imported", about, None, Some(hash))?;
            ready.wanted.swing = swing;
            told.push(kept_words(&ready, session));
            kept.push(ready);
        }
        put_in(&change, basis, &kept)?;
        beside(&change, &told)?;
        change.commit()?;
        hand.iter().zip(told).for_each(|(incoming, told)| tell(incoming, told));
        Ok(())
    }
}

impl Refusal {
    fn told(self) -> Told {
        Told::Refused { why: self.why, needs_rig: self.needs_rig }
    }
}

/// Puts files down for removal that were placed for a swing which does not come to be; not those of its `twin`.
fn let_go(db: &Connection, ready: &Kept, twin: Option<i64>) -> Result<(), StudyError> {
    let mut put = db.prepare_cached("INSERT OR IGNORE INTO removal VALUES (?1)")?;
    if twin.is_none() {
        put.execute([keep::original(&ready.wanted.hash, &ready.wanted.ending)])?;
    }
    if let Some(name) = series_of(ready)? {
        let mut ask = db.prepare_cached("SELECT 1 FROM measurement WHERE swing = ?1 AND series = ?2")?;
        if !ask.exists(params![twin, name])? {
            put.execute([keep::derived(&name)])?;
        }
    }
    Ok(())
}

fn kept_words(ready: &Kept, session: i64) -> Told {
    let made = &ready.made;
    let count = |severity: &str| made.findings.iter().filter(|f| f.severity == severity).count();
    Told::Kept {
        swing: ready.wanted.swing,
        session,
        feet: made.facts.as_ref().map(|f| if f.two_feet { 2 } else { 1 }),
        failed: made.failed.clone(),
        stops: count("stop"),
        doubts: count("doubt"),
    }
}

/// The last folders a file lies in, joined by slashes: enough to tell it from others of its name.
fn folders(path: &Path) -> String {
    let names = path.parent().into_iter().flat_map(Path::components).filter_map(|c| match c {
        std::path::Component::Normal(name) => Some(name.to_string_lossy().into_owned()),
        _ => None,
    });
    let names: Vec<String> = names.collect();
    names.get(names.len().saturating_sub(FOLDERS)..).unwrap_or_default().join("/")
}

/// So many folders of a file's path are kept.
const FOLDERS: usize = 3;

/// The number asked for where it is free, else the next.
fn free_number(db: &Connection, session: i64, asked: Option<i64>) -> Result<i64, StudyError> {
    if let Some(number) = asked.filter(|n| *n > 0) {
        let mut ask = db.prepare_cached("SELECT 1 FROM swing WHERE session = ?1 AND number = ?2")?;
        if !ask.exists(params![session, number])? {
            return Ok(number);
        }
    }
    let ask = "SELECT coalesce(max(number), 0) + 1 FROM swing WHERE session = ?1";
    Ok(db.prepare_cached(ask)?.query_row([session], |r| r.get(0))?)
}

/// What the recordings of each session are measured with.
pub(crate) struct Recipes {
    pub(crate) of_session: BTreeMap<i64, (Recipe, Option<crate::wanted::Rig>)>,
    rigs: Rigs,
    series: bool,
}

impl Recipes {
    /// Of the sessions of recordings.
    pub(crate) fn of(study: &Study, incoming: &[Incoming]) -> Result<Self, StudyError> {
        let mut recipes = Self::none(study)?;
        incoming.iter().try_for_each(|one| recipes.add(study, one.session))?;
        Ok(recipes)
    }

    /// Of no session yet.
    fn none(study: &Study) -> Result<Self, StudyError> {
        Ok(Self { of_session: BTreeMap::new(), rigs: Rigs::of(study)?, series: study.settings.series })
    }

    fn add(&mut self, study: &Study, number: i64) -> Result<(), StudyError> {
        if self.of_session.contains_key(&number) {
            return Ok(());
        }
        let session = study.session(number)?;
        let player = study.player(session.player)?;
        let rig = self.rigs.on(session.rig, session.date.as_deref());
        let recipe = Recipe {
            rig: rig.as_ref().map(|r| r.hash.clone()),
            target: session.target,
            hand: player.hand,
            mass_kg: session.mass_kg,
            club_marker: session.club_marker,
            estimates: study.settings.estimates,
            marks: Vec::new(),
        };
        self.of_session.insert(number, (recipe, rig));
        Ok(())
    }

    /// Whether a recording was measured with these.
    fn same(&self, wanted: &Wanted) -> bool {
        let version = |rig: &Option<crate::wanted::Rig>| rig.as_ref().map(|r| r.version);
        self.of_session
            .get(&wanted.session)
            .is_some_and(|(recipe, rig)| *recipe == wanted.recipe && version(rig) == version(&wanted.rig))
    }
}

/// The workers' side: handful after handful, until the writer stops listening.
fn work(
    study: Study,
    hands: &[&[Incoming]],
    recipes: &Recipes,
    basis: &Basis,
    send: SyncSender<Result<Vec<Worked>, StudyError>>,
    go_on: &(impl Fn() -> bool + Sync),
) {
    for hand in hands {
        if !go_on() {
            break;
        }
        let worked = work_on(&study, hand, recipes, basis);
        let failed = worked.is_err();
        if send.send(worked).is_err() || failed {
            break;
        }
    }
}

/// A file, read and hashed.
pub(crate) struct Arrived {
    bytes: Vec<u8>,
    hash: String,
    file_time: Option<String>,
}

impl Arrived {
    /// Bytes of a file that was last changed then.
    pub(crate) fn of(bytes: Vec<u8>, modified: Option<SystemTime>) -> Self {
        let file_time = modified.and_then(|m| jiff::Timestamp::try_from(m).ok());
        let hash = keep::hash(&bytes);
        Self { bytes, hash, file_time: file_time.map(|t| t.strftime("%Y-%m-%dT%H:%M:%SZ").to_string()) }
    }
}

fn arrive(path: &Path) -> Result<Arrived, String> {
    let cannot = |e: std::io::Error| format!("cannot be read: {e}");
    let about = std::fs::metadata(path).map_err(cannot)?;
    if let Some(why) = too_large(about.len()) {
        return Err(why);
    }
    let bytes = std::fs::read(path).map_err(cannot)?;
    Ok(Arrived::of(bytes, about.modified().ok()))
}

fn work_on(
    study: &Study,
    hand: &[Incoming],
    recipes: &Recipes,
    basis: &Basis,
) -> Result<Vec<Worked>, StudyError> {
    let arrived = hand.par_iter().with_max_len(1).map(|i| arrive(&i.path)).collect();
    work_on_arrived(study, hand, arrived, recipes, basis)
}

/// Measures a handful that has been read. The study is held for [`Study::placing`] until it is taken in.
pub(crate) fn work_on_arrived(
    study: &Study,
    hand: &[Incoming],
    arrived: Vec<Result<Arrived, String>>,
    recipes: &Recipes,
    basis: &Basis,
) -> Result<Vec<Worked>, StudyError> {
    let mut twins: Vec<Option<String>> = Vec::with_capacity(hand.len());
    for one in &arrived {
        let hash = one.as_ref().map_or("", |a| a.hash.as_str());
        let mut ask = study.db.prepare_cached("SELECT ending FROM swing WHERE hash = ?1")?;
        twins.push(ask.query_row([hash], |r| r.get(0)).optional()?);
    }
    let root = study.root.as_path();
    let all: Vec<_> = hand.iter().zip(arrived).zip(twins).collect();
    all.into_par_iter()
        .with_max_len(1)
        .map(|((incoming, arrived), twin)| match (arrived, twin) {
            (Ok(arrived), Some(ending)) => {
                let place = keep::original(&arrived.hash, &ending);
                if keep::mend(root, &place, &arrived.bytes, &arrived.hash)? {
                    keep::settle(root, &[place])?;
                }
                Ok(Worked::Ready { arrived, kept: None })
            }
            (Err(why), _) => Ok(Worked::Refused(why.into())),
            (Ok(arrived), None) => Ok(match one(incoming, &arrived, recipes, basis)? {
                Ok(kept) => Worked::Ready { arrived, kept: Some(Box::new(kept)) },
                Err(refusal) => Worked::Refused(refusal),
            }),
        })
        .collect()
}

/// Puts the files of recordings in their places.
fn place(root: &Path, made: &[(&Arrived, &Kept)]) -> Result<(), StudyError> {
    let names: Vec<Option<String>> =
        made.iter().map(|(_, kept)| series_of(kept)).collect::<Result<_, _>>()?;
    let mut files = Vec::with_capacity(2 * made.len());
    for ((arrived, kept), name) in made.iter().zip(&names) {
        files.push(Placing::Original(&arrived.bytes, &arrived.hash, &kept.wanted.ending));
        if let (Some(bytes), Some(name)) = (&kept.made.series, name) {
            files.push(Placing::Series(bytes, name));
        }
    }
    keep::put_all(root, &files)
}

/// Measures one recording.
fn one(
    incoming: &Incoming,
    arrived: &Arrived,
    recipes: &Recipes,
    basis: &Basis,
) -> Result<Result<Kept, Refusal>, StudyError> {
    let Some((recipe, rig)) = recipes.of_session.get(&incoming.session) else {
        return Err(StudyError::unknown("session", incoming.session.to_string()));
    };
    let name = incoming.path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let wanted = Wanted {
        swing: 0,
        session: incoming.session,
        hash: arrived.hash.clone(),
        ending: keep::ending(&incoming.path),
        name,
        recipe: recipe.clone(),
        rig: rig.clone(),
    };
    Ok(match wanted.measure_bytes(&arrived.bytes, basis, recipes.series) {
        Err(why) => Err(why.into()),
        Ok(made) if made.needs_rig => {
            Err(Refusal { why: "its plates are not known: the session needs a rig".into(), needs_rig: true })
        }
        Ok(made) => Ok(Kept { wanted, basis: basis.clone(), made }),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_handful_is_bounded_by_files_and_by_bytes() {
        let most = IN_HAND * rayon::current_num_threads();
        let sizes = |all: &[u64]| handfuls(all, |b| *b).iter().map(|h| h.len()).collect::<Vec<_>>();
        assert_eq!(sizes(&vec![1; 2 * most + 1]), [most, most, 1]);
        let half = BYTES_IN_HAND / 2;
        assert_eq!(sizes(&[half, half, half, 3 * half, 1, 1]), [2, 1, 1, 2]);
        assert!(sizes(&[]).is_empty());
    }
}
