//! Which files of a folder may be recordings, and what they look like from outside.
use super::pending::Seen;
use crate::error::StudyError;
use crate::study::Study;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// Endings of recordings. Files under another name are not looked at: programs write under such names first.
const ENDINGS: [&str; 4] = ["c3d", "csv", "tsv", "txt"];

/// The folder's path from the top, so that the same folder is the same however it was named.
pub fn whole_path(folder: &Path) -> Result<PathBuf, StudyError> {
    let whole = folder.canonicalize().map_err(StudyError::io("watch", folder))?;
    if !whole.is_dir() {
        let error = std::io::Error::from(std::io::ErrorKind::NotADirectory);
        return Err(StudyError::io("watch", folder)(error));
    }
    Ok(whole)
}

/// Whether a file may be a recording, by its name.
pub fn is_candidate(path: &Path) -> bool {
    let name = path.file_name().map(|n| n.to_string_lossy()).unwrap_or_default();
    let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase()).unwrap_or_default();
    // Hidden files, editors' safety copies, and the truth that is written beside an invented recording.
    let other = name.starts_with(['.', '~', '#']) || name.ends_with(".truth.csv");
    ENDINGS.contains(&ending.as_str()) && !other
}

/// Whether what lies in a folder inside is looked at: hidden ones and studies are not.
pub fn is_open(folder: &Path) -> bool {
    let hidden = folder.file_name().is_some_and(|n| n.to_string_lossy().starts_with('.'));
    !hidden && Study::around(folder).is_none()
}

/// Whether every folder between the top and a file is looked at.
pub fn is_inside(top: &Path, file: &Path, recursive: bool) -> bool {
    let Some(parent) = file.parent() else { return false };
    match recursive {
        false => parent == top,
        true => parent.starts_with(top) && parent.ancestors().take_while(|f| *f != top).all(is_open),
    }
}

/// What a file looks like; `None` for one that is gone and for what is no file (a folder, a pipe).
pub fn seen(path: &Path) -> std::io::Result<Option<Seen>> {
    match std::fs::metadata(path) {
        Ok(about) if about.is_file() => {
            let modified = about.modified().unwrap_or(SystemTime::UNIX_EPOCH);
            Ok(Some(Seen { bytes: about.len(), modified }))
        }
        Ok(_) => Ok(None),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(e) => Err(e),
    }
}

/// Every candidate with what it looks like; folders inside only where asked for. What goes meanwhile is left out.
pub fn candidates(folder: &Path, recursive: bool) -> std::io::Result<Vec<(PathBuf, Seen)>> {
    let mut found = Vec::new();
    let mut folders = vec![(folder.to_path_buf(), true)];
    while let Some((folder, top)) = folders.pop() {
        let entries = match std::fs::read_dir(&folder) {
            Err(e) if top => return Err(e),
            Err(_) => continue,
            Ok(entries) => entries,
        };
        for entry in entries {
            let Ok(entry) = entry else { continue };
            let path = entry.path();
            // Of a link to a folder this is not true: loops of links are not gone into.
            if entry.file_type().is_ok_and(|t| t.is_dir()) {
                if recursive && is_open(&path) {
                    folders.push((path, false));
                }
            } else if is_candidate(&path)
                && let Ok(Some(seen)) = seen(&path)
            {
                found.push((path, seen));
            }
        }
    }
    found.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_under_which_nobody_keeps_a_recording() {
        let names = |candidate: bool| {
            [
                "a.c3d",
                "B.C3D",
                "a b.csv",
                "a.txt",
                ".a.c3d",
                "~a.c3d",
                "#a.csv",
                "a.c3d.tmp",
                "a.part",
                "a",
                "a.truth.csv",
            ]
            .into_iter()
            .filter(move |n| is_candidate(Path::new(n)) == candidate)
            .collect::<Vec<_>>()
        };
        assert_eq!(names(true), ["a.c3d", "B.C3D", "a b.csv", "a.txt"]);
        assert_eq!(names(false).len(), 7);
    }

    #[test]
    fn a_file_in_a_hidden_folder_or_a_study_is_not_inside() {
        let top = Path::new("top");
        let inside = |file: &str, recursive| is_inside(top, Path::new(file), recursive);
        assert!(inside("top/a.c3d", false) && inside("top/a.c3d", true));
        assert!(!inside("top/b/a.c3d", false) && inside("top/b/a.c3d", true));
        assert!(!inside("top/.b/a.c3d", true) && !inside("elsewhere/a.c3d", true));
    }
}
