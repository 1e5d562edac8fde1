//! Many recordings at once: which files a person means, and one pass over them on all cores.
use crate::fail::Fail;
use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;
use std::path::{Path, PathBuf};

/// Files named by a person, folders opened (not their folders), in the order of names.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Chosen {
    /// Recordings.
    pub files: Vec<PathBuf>,
    /// What a folder held that does not look like a recording.
    pub left_out: Vec<PathBuf>,
    /// True where more than one recording may be meant: a folder, or several names.
    pub many: bool,
}

/// Endings of recordings in a folder; a file that is named is read whatever its ending.
const ENDINGS: [&str; 4] = ["c3d", "csv", "tsv", "txt"];

/// Opens folders and puts everything in order.
///
/// Errors: a folder that cannot be read, or one without a single recording.
pub fn choose(named: &[PathBuf]) -> Result<Chosen, Fail> {
    chosen(named, false)
}

/// The same with the folders in folders, and theirs; hidden ones, links to folders and studies are not entered.
pub fn choose_deep(named: &[PathBuf]) -> Result<Chosen, Fail> {
    chosen(named, true)
}

fn chosen(named: &[PathBuf], deep: bool) -> Result<Chosen, Fail> {
    let mut chosen = Chosen { many: named.len() > 1, ..Chosen::default() };
    for path in named {
        if !path.is_dir() {
            chosen.files.push(path.clone());
            continue;
        }
        chosen.many = true;
        let before = chosen.files.len();
        open_folder(path, deep, &mut chosen)?;
        if chosen.files.len() == before {
            let deeper = if deep { "" } else { "; add --recursive where folders hold folders" };
            return Err(Fail::input("the folder holds no recording").at(path.display()).fix(format!(
                "recordings end in .c3d, .csv, .tsv or .txt; name a file of another ending itself{deeper}"
            )));
        }
    }
    Ok(chosen)
}

fn open_folder(path: &Path, deep: bool, chosen: &mut Chosen) -> Result<(), Fail> {
    let cannot = |e: std::io::Error| {
        Fail::input(format!("cannot read the folder {}: {e}", path.display()))
            .fix("ask for permission to read it")
    };
    let mut inside = Vec::new();
    for entry in std::fs::read_dir(path).map_err(cannot)? {
        inside.push(entry.map_err(cannot)?.path());
    }
    inside.sort();
    for file in inside {
        if file.is_dir() {
            let is_study = file.join(archive::study::SETTINGS).is_file();
            if deep && !is_hidden(&file) && !file.is_symlink() && !is_study {
                open_folder(&file, deep, chosen)?;
            }
        } else if file.is_file() {
            let ending = file.extension().and_then(|e| e.to_str()).unwrap_or("").to_ascii_lowercase();
            if ENDINGS.contains(&ending.as_str()) && !is_hidden(&file) && !is_truth(&file) {
                chosen.files.push(file);
            } else {
                chosen.left_out.push(file);
            }
        }
    }
    Ok(())
}

fn is_hidden(path: &Path) -> bool {
    path.file_name().is_some_and(|n| n.to_string_lossy().starts_with('.'))
}

/// The truth that `underfoot simulate` writes beside an invented recording.
fn is_truth(path: &Path) -> bool {
    path.file_name().is_some_and(|n| n.to_string_lossy().ends_with(".truth.csv"))
}

/// Recordings for each core that are in hand at once: their answers are handed on before the next are begun, so that
/// memory does not grow with the folder; enough that cores seldom wait for one another.
const IN_HAND: usize = 32;

/// Does one thing to every file, on all cores, and hands the answers on in the order of the files. One that fails stops none.
///
/// A bar on standard error shows how far it is, where a person can see it and more than one file is meant.
pub fn each_in_turn<T: Send>(
    chosen: &Chosen,
    act: impl Fn(&Path) -> T + Sync,
    mut take: impl FnMut(&Path, T),
) {
    if !chosen.many || chosen.files.len() < 2 {
        return chosen.files.iter().for_each(|file| take(file, act(file)));
    }
    let bar = bar(chosen.files.len());
    for files in chosen.files.chunks(IN_HAND * rayon::current_num_threads()) {
        let done = |file: &PathBuf| {
            let answer = act(file);
            bar.inc(1);
            answer
        };
        let answers: Vec<T> = files.par_iter().with_max_len(1).map(done).collect();
        files.iter().zip(answers).for_each(|(file, answer)| take(file, answer));
    }
    bar.finish_and_clear();
}

/// A bar on standard error, where a person can see it.
pub fn bar(files: usize) -> ProgressBar {
    let bar = ProgressBar::new(files as u64);
    if let Ok(style) = ProgressStyle::with_template("{pos} of {len} recordings  {bar:40}  {eta} left") {
        bar.set_style(style);
    }
    bar
}

/// [`each_in_turn`] with all answers at the end.
pub fn each<T: Send>(chosen: &Chosen, act: impl Fn(&Path) -> T + Sync) -> Vec<T> {
    let mut answers = Vec::with_capacity(chosen.files.len());
    each_in_turn(chosen, act, |_, answer| answers.push(answer));
    answers
}

/// What failed among many recordings, told once for every reason.
#[derive(Debug, Default)]
pub struct Failures {
    reasons: Vec<(Fail, Vec<String>)>,
}

impl Failures {
    /// Adds one.
    pub fn add(&mut self, file: &Path, fail: Fail) {
        let name =
            file.file_name().map_or_else(|| file.display().to_string(), |n| n.to_string_lossy().into_owned());
        match self.reasons.iter_mut().find(|(f, _)| f.what == fail.what && f.remedy == fail.remedy) {
            Some((_, names)) => names.push(name),
            None => self.reasons.push((fail, vec![name])),
        }
    }
    /// How many recordings failed.
    pub fn count(&self) -> usize {
        self.reasons.iter().map(|(_, names)| names.len()).sum()
    }
}

impl std::fmt::Display for Failures {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        const NAMED: usize = 4;
        for (fail, names) in &self.reasons {
            let mut list = names.iter().take(NAMED).cloned().collect::<Vec<_>>().join(", ");
            if names.len() > NAMED {
                list.push_str(&format!(" and {} more", names.len() - NAMED));
            }
            writeln!(f, "\nerror: {}\nwhere: {list}", fail.what)?;
            if !fail.remedy.is_empty() {
                writeln!(f, "do:    {}", fail.remedy)?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // tests may
    use super::*;

    #[test]
    fn a_folder_is_its_recordings_in_order() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["b.c3d", "a.CSV", "notes.md", ".hidden.csv"] {
            std::fs::write(folder.path().join(name), "x").unwrap();
        }
        let chosen = choose(&[folder.path().to_path_buf()]).unwrap();
        let names = |paths: &[PathBuf]| -> Vec<String> {
            paths.iter().map(|p| p.file_name().unwrap().to_string_lossy().into_owned()).collect()
        };
        assert_eq!(names(&chosen.files), ["a.CSV", "b.c3d"]);
        assert_eq!(names(&chosen.left_out), [".hidden.csv", "notes.md"]);
        assert!(chosen.many);
        let answers = each(&chosen, |p| p.extension().map(|e| e.len()));
        assert_eq!(answers, [Some(3), Some(3)]);
    }

    #[test]
    fn folders_in_folders_are_opened_where_they_are_meant() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["P01/a.c3d", "P01/two/b.c3d", ".old/c.c3d", "study/study.toml", "study/originals/d.c3d"]
        {
            let file = folder.path().join(name);
            std::fs::create_dir_all(file.parent().unwrap()).unwrap();
            std::fs::write(file, "x").unwrap();
        }
        let deep = choose_deep(&[folder.path().to_path_buf()]).unwrap();
        let names: Vec<_> =
            deep.files.iter().map(|f| f.strip_prefix(folder.path()).unwrap().display().to_string()).collect();
        assert_eq!(names, ["P01/a.c3d", "P01/two/b.c3d"]);
        assert!(choose(&[folder.path().to_path_buf()]).unwrap_err().remedy.contains("--recursive"));
    }

    #[test]
    fn answers_come_in_order_however_many_there_are() {
        let files: Vec<PathBuf> = (0..1000).map(|k| PathBuf::from(k.to_string())).collect();
        let chosen = Chosen { files, left_out: Vec::new(), many: true };
        let mut told = Vec::new();
        each_in_turn(&chosen, |p| p.to_path_buf(), |file, answer| told.push((file.to_path_buf(), answer)));
        assert!(told.iter().all(|(file, answer)| file == answer));
        assert!(told.iter().map(|(file, _)| file).eq(&chosen.files));
    }

    #[test]
    fn a_named_file_is_taken_whatever_its_ending() {
        let chosen = choose(&[PathBuf::from("swing.dat")]).unwrap();
        assert_eq!((chosen.files.len(), chosen.many), (1, false));
        let folder = tempfile::tempdir().unwrap();
        assert!(choose(&[folder.path().to_path_buf()]).is_err());
    }
}
