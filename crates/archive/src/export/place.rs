//! Where an export goes: a file or a folder that is whole or not there.
use crate::error::StudyError;
use std::fs::File;
use std::io::Write as _;
use std::path::{Path, PathBuf};

/// How an export begins that is not whole yet.
const UNFINISHED: &str = ".unfinished-export-";

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
    let beside = parent(out);
    let work = tempfile::Builder::new()
        .prefix(UNFINISHED)
        .tempdir_in(&beside)
        .map_err(StudyError::io("write in", &beside))?;
    let told = fill(work.path())?;
    readable(work.path(), 0o755);
    // Another program may have put something there meanwhile: an empty folder goes, anything else stays.
    if out.is_dir() && std::fs::remove_dir(out).is_err() {
        return Err(StudyError::Occupied(out.to_path_buf()));
    }
    std::fs::rename(work.path(), out).map_err(StudyError::io("write", out))?;
    // It is somewhere else now; there is nothing to clean up.
    let _ = work.keep();
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
    let beside = parent(out);
    let work = tempfile::Builder::new()
        .prefix(UNFINISHED)
        .tempfile_in(&beside)
        .map_err(StudyError::io("write in", &beside))?
        .into_temp_path();
    let told = fill(&work)?;
    readable(&work, 0o644);
    let placed = if overwrite { work.persist(out) } else { work.persist_noclobber(out) };
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
