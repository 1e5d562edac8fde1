//! Where an export goes: a file or a folder that is whole or not there.
use crate::error::StudyError;
use crate::keep;
use std::fs::File;
use std::io::Write as _;
use std::path::{Path, PathBuf};

/// How an export begins that is not whole yet.
const UNFINISHED: &str = ".unfinished-export-";
/// Held by the program that makes it.
const LOCK: &str = ".lock";

/// Where an export is made: a folder beside its place, which is gone when this is. One whose program was killed is removed by the
/// next export to the same place.
struct Work {
    /// Let go of before the folder, which stands after it.
    _held: File,
    folder: tempfile::TempDir,
}

impl Work {
    fn beside(out: &Path) -> Result<Self, StudyError> {
        let beside = parent(out);
        let name = keep::hash(out.file_name().unwrap_or_default().as_encoded_bytes());
        let prefix = format!("{UNFINISHED}{}-", name.get(..8).unwrap_or_default());
        sweep(&beside, &prefix);
        let cannot = || StudyError::io("write in", &beside);
        let folder = tempfile::Builder::new().prefix(&prefix).tempdir_in(&beside).map_err(cannot())?;
        let new = folder.path().join("lock");
        let held = File::create(&new).map_err(cannot())?;
        // The lock's name comes once it is held: one without a lock is never swept, as on a disk that knows none.
        if held.try_lock().is_ok() {
            std::fs::rename(&new, folder.path().join(LOCK)).map_err(cannot())?;
        }
        Ok(Self { _held: held, folder })
    }

    /// What is being made.
    fn whole(&self) -> PathBuf {
        self.folder.path().join("whole")
    }
}

/// Removes what killed programs have left of exports; one whose lock is held is being made, and what cannot be removed stays.
fn sweep(beside: &Path, prefix: &str) {
    for entry in beside.read_dir().into_iter().flatten().flatten() {
        if !entry.file_name().to_string_lossy().starts_with(prefix) {
            continue;
        }
        let lock = File::options().write(true).open(entry.path().join(LOCK));
        if lock.is_ok_and(|lock| lock.try_lock().is_ok()) {
            let _ = std::fs::remove_dir_all(entry.path());
        }
    }
}

/// Fills a new folder, then puts it in its place. One that is there and holds something is left alone.
pub fn whole_folder<T>(
    out: &Path,
    fill: impl FnOnce(&Path) -> Result<T, StudyError>,
) -> Result<T, StudyError> {
    let occupied =
        |out: &Path| out.is_file() || out.read_dir().is_ok_and(|mut entries| entries.next().is_some());
    if occupied(out) {
        return Err(StudyError::Occupied(out.to_path_buf()));
    }
    let work = Work::beside(out)?;
    let whole = work.whole();
    std::fs::create_dir(&whole).map_err(StudyError::io("make", &whole))?;
    let told = fill(&whole)?;
    readable(&whole, 0o755);
    // Another program may have put something there meanwhile: an empty folder goes, anything else stays.
    if out.is_dir() && std::fs::remove_dir(out).is_err() {
        return Err(StudyError::Occupied(out.to_path_buf()));
    }
    std::fs::rename(&whole, out).map_err(StudyError::io("write", out))?;
    Ok(told)
}

/// Fills a new file, then puts it in its place; instead of one that is there only where that is asked for.
pub fn whole_file<T>(
    out: &Path,
    overwrite: bool,
    fill: impl FnOnce(&Path) -> Result<T, StudyError>,
) -> Result<T, StudyError> {
    let there = || StudyError::Exists { kind: "file", name: out.display().to_string() };
    if !overwrite && out.symlink_metadata().is_ok() {
        return Err(there());
    }
    let work = Work::beside(out)?;
    let told = fill(&work.whole())?;
    readable(&work.whole(), 0o644);
    let whole = tempfile::TempPath::try_from_path(work.whole()).map_err(StudyError::io("write", out))?;
    let placed = if overwrite { whole.persist(out) } else { whole.persist_noclobber(out) };
    placed.map_err(|e| match e.error.kind() {
        std::io::ErrorKind::AlreadyExists => there(),
        _ => StudyError::io("write", out)(e.error),
    })?;
    Ok(told)
}

/// Writes a file inside a folder that is being filled.
pub fn put(path: &Path, bytes: &[u8]) -> Result<(), StudyError> {
    let cannot = || StudyError::io("write", path);
    let mut file = File::create(path).map_err(cannot())?;
    file.write_all(bytes).and_then(|()| file.sync_all()).map_err(cannot())
}

/// Whether a path that need not be there is a folder, or lies in it.
pub fn lies_in(path: &Path, folder: &Path) -> bool {
    let (Ok(beside), Ok(folder)) = (parent(path).canonicalize(), folder.canonicalize()) else { return false };
    let whole = path.file_name().map_or_else(|| beside.clone(), |name| beside.join(name));
    whole.starts_with(folder)
}

fn parent(path: &Path) -> PathBuf {
    match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p.to_path_buf(),
        _ => PathBuf::from("."),
    }
}

/// What is made in passing is private; a result is an ordinary file.
fn readable(path: &Path, mode: u32) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // Failing only leaves it more private than it need be.
        let _ = std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode));
    }
    #[cfg(not(unix))]
    let _ = (path, mode);
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    #[test]
    fn what_a_killed_export_has_left_goes_with_the_next() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        let names = || std::fs::read_dir(folder.path()).unwrap().count();
        // Killed: its lock is let go of, and nobody has cleaned up.
        for made in ["out", "other"] {
            let Work { _held: held, folder } = Work::beside(&folder.path().join(made)).unwrap();
            std::fs::write(folder.keep().join("whole"), b"half").unwrap();
            drop(held);
        }
        let alive = Work::beside(&out).unwrap();
        assert_eq!(names(), 2, "that of another place, and the new one");
        whole_file(&out, false, |path| put(path, b"whole")).unwrap();
        assert!(alive.folder.path().is_dir(), "one that is being made stays");
        drop(alive);
        assert_eq!(names(), 2, "that of another place, and what was made");
    }
}
