//! The door through which files come in: read, sniffed, decoded, joined with a rig.
use crate::fail::Fail;
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
    let mut recording = decode(path, rig_file.as_ref())?.take(&mut findings);
    let rig = match &rig_file {
        Some(file) => {
            findings.append(&mut file.apply_rate(&mut recording));
            file.resolve(&recording)
                .map_err(|e| {
                    Fail::input(&e).at(place(rig, path)).fix("see `underfoot rig check` and docs/rig.md")
                })?
                .take(&mut findings)
        }
        None => Rig::of_recording(&recording),
    };
    if rig_file.is_some() {
        // What the file could not say, the rig file has now said.
        findings.retain(|f| !settled(f, &recording, &rig));
    }
    let findings = findings.into_iter().map(|f| f.naming(&rig.plates)).collect();
    Ok(Loaded { path: path.to_path_buf(), recording, rig, rig_file, findings })
}

/// True where the rig file answers what the recording alone left open.
fn settled(finding: &Finding, recording: &Recording, rig: &Rig) -> bool {
    use mechanics::finding::{CORNERS_EXCHANGED, CORNERS_NORMAL_UP, FILE_NO_PLATES};
    if finding.kind == &FILE_NO_PLATES {
        return !rig.plates.is_empty();
    }
    let about_corners = [&CORNERS_EXCHANGED, &CORNERS_NORMAL_UP].contains(&finding.kind);
    let corners = |plates: &[mechanics::Plate]| Some(plates.get(finding.plate?)?.corners_m);
    about_corners && corners(&rig.plates) != corners(&recording.plates)
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
        let name = name_of(path);
        if bytes.is_empty() {
            return Err(Fail::input("the file is empty").at(path.display()).fix("copy or export it again"));
        }
        if is_c3d(bytes) {
            return formats::c3d::decode(&name, bytes).map_err(|e| {
                Fail::input(&e).at(path.display()).fix("copy the file again, or export it again as C3D")
            });
        }
        let layout = rig.map(RigFile::table_layout);
        let table = formats::table::decode(&name, bytes, layout.as_ref());
        table.map_err(|e| {
            Fail::input(format!("not a C3D file, and not a table either: {e}"))
                .at(path.display())
                .fix("give a C3D file, or delimited text; [table] in a rig file states delimiter, header and columns")
        })
    })
}

/// The second byte of every C3D file is 0x50. Source: C3D user guide, header.
fn is_c3d(bytes: &[u8]) -> bool {
    bytes.get(1) == Some(&0x50) && bytes.len() >= 512
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
