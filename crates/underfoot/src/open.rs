//! The door through which files come in: read, sniffed, decoded, joined with a rig.
use crate::fail::Fail;
use formats::ReadError;
use formats::rigfile::{self, RigFile};
use mechanics::{Checked, Finding, Recording, Rig};
use std::fs::File;
use std::path::{Path, PathBuf};

/// A recording with the rig it is to be read by.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// The file.
    pub path: PathBuf,
    /// What it holds.
    pub recording: Recording,
    /// How to read it: the rig file's, or the file's own.
    pub rig: Rig,
    /// The rig file as written, where one was given.
    pub rig_file: Option<RigFile>,
    /// What was noticed while reading.
    pub findings: Vec<Finding>,
}

/// Reads a recording, and a rig file where one is given.
///
/// Errors: [`Fail`] with the file, the place in it, and the remedy.
pub fn load(path: &Path, rig: Option<&Path>) -> Result<Loaded, Fail> {
    let rig_file = rig.map(load_rig).transpose()?;
    let mut findings = Vec::new();
    let recording = decode(path, rig_file.as_ref())?.take(&mut findings);
    let read = formats::join(recording, rig_file.as_ref(), findings)
        .map_err(|e| Fail::input(&e).at(place(rig, path)).fix("see `underfoot rig check` and docs/rig.md"))?;
    let formats::Read { recording, rig } = read.value;
    Ok(Loaded { path: path.to_path_buf(), recording, rig, rig_file, findings: read.findings })
}

fn place(rig: Option<&Path>, recording: &Path) -> String {
    match rig {
        Some(rig) => format!("{} with {}", rig.display(), recording.display()),
        None => recording.display().to_string(),
    }
}

/// Reads a rig file.
pub fn load_rig(path: &Path) -> Result<RigFile, Fail> {
    let text = std::fs::read_to_string(path).map_err(|e| cannot_read(path, &e))?;
    rigfile::parse(&name_of(path), &text)
        .map_err(|e| Fail::input(&e).at(path.display()).fix("docs/rig.md describes every line of a rig file"))
}

/// Reads a recording without a rig's plates; a rig file may still say how a table is laid out.
pub fn decode(path: &Path, rig: Option<&RigFile>) -> Result<Checked<Recording>, Fail> {
    with_bytes(path, |bytes| {
        formats::decode(&name_of(path), bytes, rig).map_err(|error| {
            let fix = remedy_of_read(&error);
            Fail::input(error).at(path.display()).fix(fix)
        })
    })
}

/// What to do about bytes that give no recording.
pub fn remedy_of_read(error: &ReadError) -> &'static str {
    match error {
        ReadError::Empty => "copy or export it again",
        ReadError::C3d(_) => "copy the file again, or export it again as C3D",
        ReadError::Table(_) => {
            "give a C3D file, or delimited text; [table] in a rig file states delimiter, header and columns"
        }
        ReadError::Rig(_) => "see `underfoot rig check` and docs/rig.md",
    }
}

/// Maps a file and hands its bytes to `read`; falls back to reading it (pipes, odd file systems).
#[allow(unsafe_code)]
fn with_bytes<T>(path: &Path, read: impl FnOnce(&[u8]) -> Result<T, Fail>) -> Result<T, Fail> {
    let file = File::open(path).map_err(|e| cannot_read(path, &e))?;
    let meta = file.metadata().map_err(|e| cannot_read(path, &e))?;
    if meta.is_dir() {
        return Err(Fail::input("this is a folder").at(path.display()).fix("name one recording in it"));
    }
    // SAFETY: the map is read-only and dropped before this function returns. Another program cutting the file short
    // meanwhile could raise a signal; recordings are written once, and the archive copies before it reads.
    let mapped =
        if meta.is_file() && meta.len() > 0 { unsafe { memmap2::Mmap::map(&file) }.ok() } else { None };
    match mapped {
        Some(bytes) => read(&bytes),
        None => read(&std::fs::read(path).map_err(|e| cannot_read(path, &e))?),
    }
}

fn cannot_read(path: &Path, error: &std::io::Error) -> Fail {
    let fix = match error.kind() {
        std::io::ErrorKind::NotFound => "check the name; paths are relative to the folder you are in",
        std::io::ErrorKind::PermissionDenied => "ask for permission to read it",
        _ => "copy the file to this computer and try again",
    };
    Fail::input(format!("cannot read {}: {error}", path.display())).fix(fix)
}

fn name_of(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned())
}
