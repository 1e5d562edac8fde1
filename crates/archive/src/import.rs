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
pub(crate) const IN_HAND: usize = 16;

/// A file after its work, before its change.
pub(crate) enum Worked {
    Ready { bytes: Vec<u8>, file_time: Option<String>, kept: Box<Kept> },
    There(i64, i64),
    Refused { why: String, needs_rig: bool },
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
        let placing = self.placing()?;
        let recipes = Recipes::of(self, incoming)?;
        let hands: Vec<&[Incoming]> = incoming.chunks(IN_HAND * rayon::current_num_threads()).collect();
        let looking = self.again()?;
        std::thread::scope(|scope| {
            let (send, receive) = sync_channel(1);
            let (hands_of_worker, recipes, basis, go_on) = (&hands, &recipes, &basis, &go_on);
            scope.spawn(move || work(looking, hands_of_worker, recipes, basis, send, go_on));
            for hand in &hands {
                let Ok(worked) = receive.recv() else { break };
                self.take_in(basis_id, hand, worked?, |_, _| Ok(()), &mut tell)?;
            }
            Ok::<(), StudyError>(())
        })?;
        drop(placing);
        self.finish_removals()
    }

    /// One handful: its files are placed, then one change; `beside` may write in it. The study is held for [`Study::placing`].
    pub(crate) fn take_in(
        &self,
        basis: i64,
        hand: &[Incoming],
        worked: Vec<Worked>,
        beside: impl FnOnce(&Connection, &[Told]) -> Result<(), StudyError>,
        tell: &mut impl FnMut(&Incoming, Told),
    ) -> Result<(), StudyError> {
        place(&self.root, &worked)?;
        let change = self.write()?;
        let mut told = Vec::with_capacity(hand.len());
        let mut kept = Vec::with_capacity(hand.len());
        for (incoming, worked) in hand.iter().zip(worked) {
            let (bytes, file_time, mut ready) = match worked {
                Worked::There(swing, session) => {
                    told.push(Told::There { swing, session });
                    continue;
                }
                Worked::Refused { why, needs_rig } => {
                    told.push(Told::Refused { why, needs_rig });
                    continue;
                }
                Worked::Ready { bytes, file_time, kept } => (bytes, file_time, *kept),
            };
            let hash = ready.wanted.hash.as_str();
            // Another program, or another name in this handful, may have brought the same bytes.
            let ask = "SELECT id, session FROM swing WHERE hash = ?1";
            let twin: Option<(i64, i64)> =
                change.prepare_cached(ask)?.query_row([hash], |r| Ok((r.get(0)?, r.get(1)?))).optional()?;
            if let Some((swing, session)) = twin {
                let_go(&change, &ready, Some(swing))?;
                told.push(Told::There { swing, session });
                continue;
            }
            let session = incoming.session;
            // Another program may have deleted the player meanwhile.
            let ask = "SELECT player FROM session WHERE id = ?1";
            let player: Option<i64> =
                change.prepare_cached(ask)?.query_row([session], |r| r.get(0)).optional()?;
            let Some(player) = player else {
                let_go(&change, &ready, None)?;
                let why = format!("session {session} was deleted meanwhile");
                told.push(Told::Refused { why, needs_rig: false });
                continue;
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
                    bytes.len() as i64,
                    ready.wanted.name,
                    file_time,
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
    pub(crate) of_session: std::collections::BTreeMap<i64, (Recipe, Option<crate::wanted::Rig>)>,
    series: bool,
}

impl Recipes {
    pub(crate) fn of(study: &Study, incoming: &[Incoming]) -> Result<Self, StudyError> {
        let rigs = Rigs::of(study)?;
        let mut of_session = std::collections::BTreeMap::new();
        for one in incoming {
            if of_session.contains_key(&one.session) {
                continue;
            }
            let session = study.session(one.session)?;
            let player = study.player(session.player)?;
            let rig = rigs.on(session.rig, session.date.as_deref());
            let recipe = Recipe {
                rig: rig.as_ref().map(|r| r.hash.clone()),
                target: session.target,
                hand: player.hand,
                mass_kg: session.mass_kg,
                club_marker: session.club_marker,
                estimates: study.settings.estimates,
                marks: Vec::new(),
            };
            of_session.insert(one.session, (recipe, rig));
        }
        Ok(Self { of_session, series: study.settings.series })
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
    let bytes = std::fs::read(path).map_err(cannot)?;
    Ok(Arrived::of(bytes, std::fs::metadata(path).and_then(|m| m.modified()).ok()))
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
    let mut twins: Vec<Option<(i64, i64, String)>> = Vec::with_capacity(hand.len());
    for one in &arrived {
        let ask = "SELECT id, session, ending FROM swing WHERE hash = ?1";
        let hash = one.as_ref().map_or("", |a| a.hash.as_str());
        let mut ask = study.db.prepare_cached(ask)?;
        twins.push(ask.query_row([hash], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?))).optional()?);
    }
    let root = study.root.as_path();
    let all: Vec<_> = hand.iter().zip(arrived).zip(twins).collect();
    all.into_par_iter()
        .with_max_len(1)
        .map(|((incoming, arrived), twin)| match (arrived, twin) {
            (Ok(arrived), Some((swing, session, ending))) => {
                let place = keep::original(&arrived.hash, &ending);
                if keep::mend(root, &place, &arrived.bytes, &arrived.hash)? {
                    keep::settle(root, &[place])?;
                }
                Ok(Worked::There(swing, session))
            }
            (Err(why), _) => Ok(Worked::Refused { why, needs_rig: false }),
            (Ok(arrived), None) => one(incoming, arrived, recipes, basis),
        })
        .collect()
}

/// Puts the files of a handful in their places.
fn place(root: &Path, worked: &[Worked]) -> Result<(), StudyError> {
    let mut ready = Vec::with_capacity(worked.len());
    for one in worked {
        if let Worked::Ready { bytes, kept, .. } = one {
            ready.push((bytes, kept, series_of(kept)?));
        }
    }
    let mut files = Vec::with_capacity(2 * ready.len());
    for (bytes, kept, series) in &ready {
        files.push(Placing::Original(bytes, &kept.wanted.hash, &kept.wanted.ending));
        if let (Some(bytes), Some(name)) = (&kept.made.series, series) {
            files.push(Placing::Series(bytes, name));
        }
    }
    keep::put_all(root, &files)
}

/// Reads and measures one recording.
fn one(
    incoming: &Incoming,
    arrived: Arrived,
    recipes: &Recipes,
    basis: &Basis,
) -> Result<Worked, StudyError> {
    let Arrived { bytes, hash, file_time } = arrived;
    let refused = |why: String, needs_rig| Ok(Worked::Refused { why, needs_rig });
    let Some((recipe, rig)) = recipes.of_session.get(&incoming.session) else {
        return Err(StudyError::unknown("session", incoming.session.to_string()));
    };
    let name = incoming.path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let wanted = Wanted {
        swing: 0,
        session: incoming.session,
        hash,
        ending: keep::ending(&incoming.path),
        name,
        recipe: recipe.clone(),
        rig: rig.clone(),
    };
    let made = match wanted.measure_bytes(&bytes, basis, recipes.series) {
        Err(why) => return refused(why, false),
        Ok(made) if made.needs_rig => {
            return refused("its plates are not known: the session needs a rig".into(), true);
        }
        Ok(made) => made,
    };
    Ok(Worked::Ready { bytes, file_time, kept: Box::new(Kept { wanted, basis: basis.clone(), made }) })
}
