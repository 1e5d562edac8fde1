//! Lesson mode: a folder into which a capture program writes, and a study that has every swing as soon as its file is whole.
//!
//! The system's notices say where to look, and a look at the whole folder every second finds what they missed: on network
//! folders they may never come. When a file is worth reading is `pending`'s rule, whether it is whole `whole`'s, how it
//! gets into the study `desk`'s, and what is known from before `memory`'s.
mod desk;
mod eyes;
mod folder;
mod follow;
mod memory;
mod pending;
mod today;
mod whole;
mod work;

use crate::error::StudyError;
use crate::study::Study;
use serde::Serialize;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant, SystemTime};

/// What a person decides about watching, and how patient it is.
#[derive(Clone, Debug, PartialEq)]
pub struct WatchSettings {
    /// The session that swings come into.
    pub session: i64,
    /// Club of the swings.
    pub club: String,
    /// Whether folders inside are watched too, those made later included.
    pub recursive: bool,
    /// Take in what is there, then end.
    pub once: bool,
    /// Whether the system's notices are listened to; without them everything is found by looking.
    pub listen: bool,
    /// Files that were there at the beginning and were last changed before this are left; `None`: none are.
    pub since: Option<SystemTime>,
    /// How long a file that says where it ends must be unchanged before it is read, unless it was seen to be closed.
    pub settle: Duration,
    /// The same for a file that does not say where it ends (a table).
    pub settle_open: Duration,
    /// The same for such a file that was seen to be closed: programs that write piece by piece close it every time.
    pub settle_closed: Duration,
    /// How long a file that cannot be read whole must be unchanged before that is told.
    pub quiet: Duration,
    /// How long a file is waited for before that is told.
    pub patience: Duration,
    /// How often the whole folder is looked at; more seldom where that takes long.
    pub look: Duration,
    /// How long a file that could not be opened, or not be put into a busy study, is left before the next try; doubled with
    /// every try, to 64 times as long at most.
    pub pause: Duration,
}

impl WatchSettings {
    /// The usual, for a session.
    pub fn of(session: i64) -> Self {
        Self {
            session,
            club: String::new(),
            recursive: false,
            once: false,
            listen: true,
            since: None,
            settle: Duration::from_millis(40),
            settle_open: Duration::from_secs(1),
            settle_closed: Duration::from_millis(150),
            quiet: Duration::from_secs(3),
            patience: Duration::from_secs(1),
            look: Duration::from_secs(1),
            pause: Duration::from_millis(50),
        }
    }
}

/// What happened, as it happens.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "event", rename_all = "kebab-case")]
pub enum Event {
    /// Watching has begun.
    Watching {
        /// The folder.
        folder: String,
        /// The session.
        session: i64,
        /// Files that are known from before and unchanged.
        known: usize,
        /// Files about to be looked at.
        waiting: usize,
        /// Files that are older than the session, and left.
        left: usize,
    },
    /// A swing is in the study.
    Kept {
        /// The file.
        file: String,
        /// The swing.
        swing: i64,
        /// Its session.
        session: i64,
        /// Its number there.
        number: i64,
        /// 2: each foot has its accounts; 1: net accounts only; `None`: it could not be measured.
        feet: Option<u8>,
        /// Why it could not be measured, though it could be read.
        failed: Option<String>,
        /// Findings of severity stop.
        stops: usize,
        /// Findings of severity doubt.
        doubts: usize,
        /// A swing that is the beginning of this one: this file was written on after it had been taken in.
        continues: Option<i64>,
        /// Where the time went.
        took: Took,
    },
    /// These bytes were in the study before.
    There {
        /// The file.
        file: String,
        /// The swing they are.
        swing: i64,
        /// Its session.
        session: i64,
    },
    /// A file takes its time; told once.
    Waiting {
        /// The file.
        file: String,
        /// Why.
        why: String,
    },
    /// A file cannot be taken in as it is; told once. It is looked at again when it changes.
    Failed {
        /// The file.
        file: String,
        /// Why.
        why: String,
        /// True where its plates are not known, and a rig would help.
        needs_rig: bool,
    },
    /// The folder cannot be read; told once. It is looked for all the time.
    Away {
        /// Why.
        why: String,
    },
    /// The folder can be read again.
    Back,
}

/// Where the time of a swing went, s. What passed before its last change was noticed is not known here.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Took {
    /// From its last change to the reading.
    pub settling_s: f64,
    /// Reading it and seeing that it is whole.
    pub reading_s: f64,
    /// Measuring it, and placing its files.
    pub measuring_s: f64,
    /// Putting it into the catalogue.
    pub storing_s: f64,
}

/// What came of it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Summary {
    /// Swings taken in.
    pub kept: usize,
    /// Files whose bytes were there before, those known from an earlier time not counted.
    pub there: usize,
    /// Files that could not be taken in.
    pub failed: usize,
    /// Files that were not whole yet at the end.
    pub waiting: usize,
    /// Swings with a finding of severity stop.
    pub stops: usize,
}

/// How long it sleeps at most before it looks whether it is to stop.
const NAP: Duration = Duration::from_millis(100);

/// Takes in what a folder holds, and what comes into it, until `stop` is set. `on` hears of everything once it is in the study for good.
///
/// Killed at any instant it loses nothing: what was not taken in is found at the next start.
///
/// Errors: what stops all of it: a study that cannot be written, a full disk, a session that is not there, a folder that is
/// none at the start.
pub fn watch(
    study: &Study,
    folder: &Path,
    settings: &WatchSettings,
    on: impl FnMut(Event),
    stop: &AtomicBool,
) -> Result<Summary, StudyError> {
    if study.read_only() {
        return Err(StudyError::ReadOnly(study.root.clone()));
    }
    let folder = folder::whole_path(folder)?;
    if Study::around(&folder).is_some() {
        let why = format!(
            "{} lies inside a study; watch the folder that recordings are written to",
            folder.display()
        );
        return Err(StudyError::Refused(why));
    }
    let mut work = work::Work::begin(study, folder, settings, on)?;
    let begun = Instant::now();
    // Opened before the first scan, so that nothing falls between the two.
    let open = |folder: &Path| match settings.listen {
        true => eyes::Eyes::open(folder, settings.recursive),
        false => eyes::Eyes::closed(folder),
    };
    let mut eyes = open(&work.folder);
    work.scan(true)?;
    while !stop.load(Ordering::Relaxed) {
        work.look()?;
        let long = begun.elapsed() > settings.quiet + settings.look;
        if settings.once && (work.idle() || (long && work.only_open())) {
            work.tell_waiting(Duration::ZERO);
            break;
        }
        for notice in eyes.wait(work.sleep().min(NAP)) {
            work.notice(notice)?;
        }
        if work.scan_is_due() && work.scan(false)? {
            eyes = open(&work.folder);
        }
    }
    Ok(work.end())
}

/// A path as it is told.
fn told(path: &Path) -> String {
    path.display().to_string()
}

/// A file and what the system said of it, or that anything may have happened.
enum Notice {
    /// Look at this one.
    File(PathBuf, pending::Sign),
    /// Look everywhere.
    Everything,
    /// The folder itself went or came: notices may have ended.
    Folder,
}
