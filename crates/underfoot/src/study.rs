//! Which study a command works on, and what to do where it cannot.
use crate::fail::{Exit, Fail};
use archive::{Study, StudyError};
use std::path::{Path, PathBuf};

/// The option that names a study.
#[derive(clap::Args, Clone, Debug, Default)]
pub struct InStudy {
    /// Folder of the study; otherwise the one you are in, or what UNDERFOOT_STUDY names
    #[arg(long, short = 'S', value_name = "STUDY", env = "UNDERFOOT_STUDY")]
    pub study: Option<PathBuf>,
}

impl InStudy {
    /// Its folder.
    pub fn folder(&self) -> Result<PathBuf, Fail> {
        if let Some(folder) = &self.study {
            return Ok(folder.clone());
        }
        let here = std::env::current_dir().ok().and_then(|here| Study::around(&here));
        here.ok_or_else(|| {
            Fail::usage("this folder is in no study")
                .fix("name one with --study FOLDER, or make one with `underfoot study new FOLDER`")
        })
    }

    /// Opens it.
    pub fn open(&self) -> Result<Study, Fail> {
        let folder = self.folder()?;
        let study = Study::open(&folder).map_err(|e| fail(e, &folder))?;
        if study.is_behind().unwrap_or(false) {
            eprintln!(
                "swings are out of date, since a rig, a player or a session has changed: `underfoot study rebuild --changed`"
            );
        }
        Ok(study)
    }
}

/// A study's error as the face tells it.
pub fn fail(error: StudyError, folder: &Path) -> Fail {
    let what = error.to_string();
    let (exit, fix) = match &error {
        StudyError::NoStudy(_) => (
            Exit::Input,
            "name a folder made by `underfoot study new`; `underfoot study new FOLDER` makes one",
        ),
        StudyError::Occupied(_) => (Exit::Usage, "choose a folder that is not there yet, or an empty one"),
        StudyError::Newer { .. } => {
            (Exit::Input, "use the newer program; this one changes nothing in a study that it does not know")
        }
        StudyError::Busy { .. } => (
            Exit::Input,
            "wait for the import or rebuild that is running, then try again; nothing was changed",
        ),
        StudyError::InUse(_) => (
            Exit::Input,
            "end the programs that use the study (watch, workbench), then try again; nothing was changed",
        ),
        StudyError::ReadOnly(_) => {
            (Exit::Input, "ask for permission to write there, or copy the study; nothing was changed")
        }
        StudyError::Full => {
            (Exit::Input, "make room on the disk and run the command again; what was taken in before is safe")
        }
        StudyError::Damaged(_) => (
            Exit::Input,
            "run `underfoot study verify` to see what is damaged, then `underfoot study rebuild`",
        ),
        StudyError::Io { .. } => (Exit::Input, "check that the folder is there and that you may use it"),
        StudyError::Settings { .. } => {
            (Exit::Input, "mend the line in study.toml; `underfoot study --help` has its keys")
        }
        StudyError::Unknown { kind: "player", .. } => {
            (Exit::Usage, "`underfoot player list` shows those there are; `underfoot player add` adds one")
        }
        StudyError::Unknown { kind: "rig", .. } => {
            (Exit::Usage, "`underfoot rig list` shows those there are; `underfoot rig add` adds one")
        }
        StudyError::Unknown { kind: "session", .. } => {
            (Exit::Usage, "`underfoot session list` shows those there are; `underfoot session add` adds one")
        }
        StudyError::Unknown { kind: "metric", .. } => {
            (Exit::Usage, "`underfoot metrics` shows those there are")
        }
        StudyError::Unknown { kind: "finding", .. } => {
            (Exit::Usage, "`underfoot explain` lists the findings there are")
        }
        StudyError::Unknown { .. } => (Exit::Usage, "`underfoot list` shows what there is"),
        StudyError::Exists { kind: "rig", .. } => (
            Exit::Usage,
            "say --from DAY where the bay was rebuilt on a day, or --corrects where it was described wrongly",
        ),
        StudyError::Exists { .. } => (Exit::Usage, "choose another name, or edit the one that is there"),
        StudyError::Refused(_) => (Exit::Usage, ""),
        StudyError::Sheet { .. } => {
            (Exit::Input, "mend the table there and run the command again; nothing was changed")
        }
        StudyError::Database(_) | StudyError::Bug(_) => {
            (Exit::Bug, "this is our bug: please report it; nothing was changed")
        }
    };
    Fail { exit, ..Fail::input(what).at(folder.display()).fix(fix) }
}
