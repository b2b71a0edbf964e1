//! The machine types of a booth: the shipped ones and its own files; where a file is broken, the edition of it that was
//! read last stands in, so that a slip of the pen stops no show.

use crate::{
    desk::{LARGEST_TYPE_FILE_BYTES, read_text},
    failure::Failure,
    print,
};
use machine::{BrokenType, Library, MachineType, Report};
use std::{
    fs,
    path::{Path, PathBuf},
};

/// Beside a booth's own type files: each as it was when it was read whole.
const LAST_GOOD: &str = "last-good";

/// Returns the machine types: the shipped ones, and those in the data folder's `types/`, which come first.
///
/// A file that cannot be read is said on the error stream and kept in [`Library::broken`].
pub fn library(data: &Path) -> Library {
    let mut library = machine::shipped();
    let folder = data.join("types");
    for path in own_files(&folder) {
        match read(&path) {
            Ok((kind, text)) => {
                library.add(kind);
                keep(&path, &text);
            }
            Err(broken) => stand_in(&path, &broken, &mut library),
        }
    }
    library
}

fn own_files(folder: &Path) -> Vec<PathBuf> {
    let Ok(files) = fs::read_dir(folder) else { return Vec::new() };
    let mut paths: Vec<PathBuf> = files.filter_map(|file| Some(file.ok()?.path())).collect();
    paths.retain(|path| path.extension().is_some_and(|ending| ending == "toml"));
    paths.sort();
    paths
}

/// Why a file is no machine type.
enum NotRead {
    /// It is no text, too large, or not to be had.
    NoText(Failure),
    /// It has faults.
    Faulty(Report),
}

impl NotRead {
    fn line(&self) -> Option<usize> {
        match self {
            Self::NoText(_) => None,
            Self::Faulty(report) => Some(report.findings.first()?.line),
        }
    }

    /// What is wrong first, and what would be right.
    fn what(&self) -> String {
        match self {
            Self::NoText(failure) => failure.what.clone(),
            Self::Faulty(report) => match report.findings.first() {
                Some(first) if first.would_be_right.is_empty() => first.what.clone(),
                Some(first) => format!("{}; {}", first.what, first.would_be_right),
                None => report.to_string(),
            },
        }
    }
}

fn read(path: &Path) -> Result<(MachineType, String), NotRead> {
    let text = read_text(path, LARGEST_TYPE_FILE_BYTES).map_err(NotRead::NoText)?;
    match machine::read(&path.display().to_string(), &text) {
        Ok(kind) => Ok((kind, text)),
        Err(report) => Err(NotRead::Faulty(report)),
    }
}

fn last_good(path: &Path) -> Option<PathBuf> {
    Some(path.parent()?.join(LAST_GOOD).join(path.file_name()?))
}

/// Keeps a file that could be read. A folder that may not be written has no such copy, which only matters once the file
/// is broken.
fn keep(path: &Path, text: &str) {
    let Some(copy) = last_good(path) else { return };
    let is_kept = fs::read_to_string(&copy).is_ok_and(|kept| kept == text);
    if let (false, Some(folder)) = (is_kept, copy.parent()) {
        let _ = fs::create_dir_all(folder).and_then(|()| fs::write(&copy, text));
    }
}

fn stand_in(path: &Path, broken: &NotRead, library: &mut Library) {
    let kept = last_good(path).and_then(|copy| read(&copy).ok());
    let stands_in = kept.map(|(kind, _)| (kind.id.clone(), kind.edition, library.add(kind)));
    let file = path.display().to_string();
    let broken = BrokenType {
        line: broken.line(),
        what: broken.what(),
        stands_in: stands_in.map(|(id, edition, _)| (id, edition)),
        file,
    };
    print::aside(&format!("boothwright: {broken}"));
    print::aside(&format!("  `boothwright types check {}` has all that is wrong in it", broken.file));
    library.note_broken(broken);
}
