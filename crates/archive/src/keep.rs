//! Files of a study: written whole or not at all, named by what they hold.
use crate::error::StudyError;
use sha2::{Digest as _, Sha256};
use std::fs::File;
use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};

/// Folder of the recordings as they came.
pub const ORIGINALS: &str = "originals";
/// Folder of what can be made again.
pub const DERIVED: &str = "derived";
/// How a file begins that is not whole yet.
pub const UNFINISHED: &str = ".unfinished-";

/// SHA-256 of bytes, in hexadecimal.
pub fn hash(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// SHA-256 of a file, read piece by piece.
pub fn hash_file(path: &Path) -> Result<String, StudyError> {
    let mut file = File::open(path).map_err(StudyError::io("read", path))?;
    let (mut sum, mut piece) = (Sha256::new(), vec![0_u8; 1 << 16]);
    loop {
        match file.read(&mut piece).map_err(StudyError::io("read", path))? {
            0 => return Ok(hex(&sum.finalize())),
            n => sum.update(piece.get(..n).unwrap_or_default()),
        }
    }
}

/// Bytes in hexadecimal.
pub(crate) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut text, byte| {
        let _ = write!(text, "{byte:02x}"); // writing to memory does not fail
        text
    })
}

/// Where an original lies, relative to the study.
pub fn original(hash: &str, ending: &str) -> String {
    let dot = if ending.is_empty() { "" } else { "." };
    format!("{ORIGINALS}/{}/{hash}{dot}{ending}", hash.get(..2).unwrap_or("__"))
}

/// Where a derived series lies, relative to the study.
pub fn derived(name: &str) -> String {
    format!("{DERIVED}/{}/{name}.parquet", name.get(..2).unwrap_or("__"))
}

/// The ending of a file in lower case; only letters and digits are kept, so that no name leads anywhere else.
pub fn ending(path: &Path) -> String {
    let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase()).unwrap_or_default();
    ending.chars().filter(char::is_ascii_alphanumeric).take(8).collect()
}

/// A file on its way to its place.
#[derive(Clone, Copy, Debug)]
pub enum Placing<'a> {
    /// A recording: its hash and its ending. Flushed to the disk, and its folder too; nobody writes to it again.
    Original(&'a [u8], &'a str, &'a str),
    /// A series: its name. Not flushed: it can be made again, and a power cut that spoils it is seen by its hash.
    Series(&'a [u8], &'a str),
}

impl Placing<'_> {
    /// Where it goes, relative to the study.
    pub fn place(&self) -> String {
        match self {
            Self::Original(_, hash, ending) => original(hash, ending),
            Self::Series(_, name) => derived(name),
        }
    }

    fn put(&self, root: &Path) -> Result<(), StudyError> {
        let path = root.join(self.place());
        match self {
            Self::Original(bytes, hash, _) => mend(root, &self.place(), bytes, hash).map(|_| ()),
            Self::Series(bytes, _) => write(root, &path, bytes, false, false),
        }
    }
}

/// Files that are placed at once: a flush is waited for, so that several are under way.
const AT_ONCE: usize = 8;

/// Puts files in their places, each written beside its place and renamed, and flushes what is not to be lost. Where one fails, others may
/// be in their places: they are leftovers until a change speaks of them.
pub fn put_all(root: &Path, files: &[Placing<'_>]) -> Result<(), StudyError> {
    let originals: Vec<String> =
        files.iter().filter(|f| matches!(f, Placing::Original(..))).map(Placing::place).collect();
    each(files, |file| file.put(root))?;
    settle(root, &originals)
}

/// Does something to every item on a few threads; the first error in the order of the items, if any.
fn each<T: Sync>(items: &[T], act: impl Fn(&T) -> Result<(), StudyError> + Sync) -> Result<(), StudyError> {
    let part = items.len().div_ceil(AT_ONCE).max(1);
    let one_by_one = |items: &[T]| items.iter().try_for_each(&act);
    if items.len() < 2 {
        return one_by_one(items);
    }
    std::thread::scope(|scope| {
        let threads: Vec<_> =
            items.chunks(part).map(|items| scope.spawn(move || one_by_one(items))).collect();
        threads.into_iter().try_for_each(|thread| {
            thread
                .join()
                .unwrap_or_else(|_| Err(StudyError::Bug("a thread that places files gave up".into())))
        })
    })
}

/// Puts a small file of the study's own in its place: written beside it, flushed, renamed.
pub fn put(root: &Path, place: &str, bytes: &[u8]) -> Result<(), StudyError> {
    write(root, &root.join(place), bytes, false, true)
}

/// Puts an original where it is not, or is damaged; gives whether it did.
pub fn mend(root: &Path, place: &str, bytes: &[u8], hash: &str) -> Result<bool, StudyError> {
    let path = root.join(place);
    if hash_file(&path).is_ok_and(|found| found == hash) {
        return Ok(false);
    }
    write(root, &path, bytes, true, true)?;
    Ok(true)
}

fn write(root: &Path, path: &Path, bytes: &[u8], immutable: bool, flush: bool) -> Result<(), StudyError> {
    let folder = path.parent().unwrap_or(root);
    std::fs::create_dir_all(folder).map_err(StudyError::io("make", folder))?;
    let mut file = tempfile::Builder::new()
        .prefix(UNFINISHED)
        .tempfile_in(folder)
        .map_err(StudyError::io("write in", folder))?;
    let cannot = || StudyError::io("write", path);
    file.write_all(bytes).map_err(cannot())?;
    protect(file.path(), immutable);
    if flush {
        file.as_file().sync_data().map_err(cannot())?;
    }
    file.persist(path).map_err(|e| cannot()(e.error))?;
    Ok(())
}

/// Ordinary files are for everybody to read; an original is for nobody to write.
fn protect(path: &Path, immutable: bool) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let mode = if immutable { 0o444 } else { 0o644 };
        // Failing leaves the file readable by its owner alone, which is no loss.
        let _ = std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode));
    }
    #[cfg(not(unix))]
    let _ = (path, immutable);
}

/// Flushes the folders of places and those above them, so that what was renamed into them is found again after the power fails.
pub fn settle(root: &Path, places: &[String]) -> Result<(), StudyError> {
    let above = |p: &String| Path::new(p).ancestors().skip(1).map(|f| root.join(f)).collect::<Vec<_>>();
    let mut folders: Vec<PathBuf> = places.iter().flat_map(above).collect();
    folders.sort();
    folders.dedup();
    #[cfg(unix)]
    each(&folders, |folder| {
        let open = File::open(folder).and_then(|f| f.sync_all());
        open.map_err(StudyError::io("flush", folder))
    })?;
    Ok(())
}

/// Removes a file; one that is not there is removed already.
pub fn remove(root: &Path, place: &str) -> Result<(), StudyError> {
    let path = root.join(place);
    match std::fs::remove_file(&path) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(StudyError::io("remove", &path)(e)),
        _ => Ok(()),
    }
}

/// Every file under `originals/` or `derived/`, relative to the study, in order.
pub fn all(root: &Path, folder: &str) -> Result<Vec<String>, StudyError> {
    let mut found = Vec::new();
    let top = root.join(folder);
    let entries = |path: &Path| -> Result<Vec<PathBuf>, StudyError> {
        let read = std::fs::read_dir(path).map_err(StudyError::io("read", path))?;
        read.map(|e| e.map(|e| e.path()).map_err(StudyError::io("read", path))).collect()
    };
    if !top.is_dir() {
        return Ok(found);
    }
    for below in entries(&top)? {
        let files = if below.is_dir() { entries(&below)? } else { vec![below] };
        for file in files {
            if let Ok(place) = file.strip_prefix(root) {
                let parts: Vec<_> = place.iter().map(|p| p.to_string_lossy()).collect();
                found.push(parts.join("/"));
            }
        }
    }
    found.sort();
    Ok(found)
}

/// Files that lie in the study's own folder, in order.
pub fn top(root: &Path) -> Result<Vec<String>, StudyError> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(root).map_err(StudyError::io("read", root))? {
        let entry = entry.map_err(StudyError::io("read", root))?;
        if entry.file_type().is_ok_and(|t| t.is_file()) {
            found.push(entry.file_name().to_string_lossy().into_owned());
        }
    }
    found.sort();
    Ok(found)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    /// NIST FIPS 180-4 example: SHA-256 of "abc".
    #[test]
    fn the_name_is_the_published_hash() {
        let published = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(hash(b"abc"), published);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("abc");
        std::fs::write(&path, b"abc").unwrap();
        assert_eq!(hash_file(&path).unwrap(), published);
    }

    #[test]
    fn a_file_is_put_once_and_cannot_be_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let (root, hash) = (folder.path(), hash(b"abc"));
        let place = original(&hash, "c3d");
        let files = [Placing::Original(b"abc", &hash, "c3d"), Placing::Series(b"series", "0123")];
        put_all(root, &files).unwrap();
        assert!(!mend(root, &place, b"abc", &hash).unwrap(), "it is there");
        assert_eq!(all(root, ORIGINALS).unwrap(), std::slice::from_ref(&place));
        assert_eq!(all(root, DERIVED).unwrap(), [derived("0123")]);
        assert!(std::fs::metadata(root.join(&place)).unwrap().permissions().readonly());
        // One that was spoiled is mended by the next import of the same bytes.
        remove(root, &place).unwrap();
        std::fs::write(root.join(&place), b"abd").unwrap();
        put_all(root, &files).unwrap();
        assert_eq!(std::fs::read(root.join(&place)).unwrap(), b"abc");
        // Where a file cannot be put, it is said whatever the others do.
        std::fs::write(root.join(DERIVED).join("ff"), b"no folder").unwrap();
        let many: Vec<String> = (0..20).map(|k| format!("{k:02}45")).chain(["ff00".into()]).collect();
        let files: Vec<Placing<'_>> = many.iter().map(|n| Placing::Series(b"s", n)).collect();
        assert!(put_all(root, &files).is_err());
    }

    #[test]
    fn endings_lead_nowhere() {
        assert_eq!(ending(Path::new("a/Swing.C3D")), "c3d");
        assert_eq!(ending(Path::new("swing.../..%2f")), "2f");
        assert_eq!(ending(Path::new("swing")), "");
    }
}
