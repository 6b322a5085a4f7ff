//! From the paths on the command line to tubes.

use std::collections::HashSet;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};

use rayon::iter::{IndexedParallelIterator, IntoParallelIterator, ParallelIterator};
use sweepbook_core::intake::{self, LARGEST_FILE, Part, Reading, Unread};
use sweepbook_core::sweep::Tube;
use walkdir::{DirEntry, WalkDir};

/// Endings of the files that a folder stands for.
const TABLES: [&str; 7] = ["csv", "tsv", "txt", "xlsx", "ods", "xls", "zip"];

/// A file to read, or why it was not found.
pub(crate) type Found = Result<PathBuf, Unread>;

/// The files that the paths stand for, in the order given, those of a folder
/// sorted by name. A file that is named twice is read once.
pub(crate) fn gather(paths: &[PathBuf], recursive: bool) -> Vec<Found> {
    let mut seen = HashSet::new();
    let mut found: Vec<Found> = Vec::new();
    for path in paths {
        if path.is_dir() {
            found.extend(folder(path, recursive));
        } else {
            found.push(Ok(path.clone()));
        }
    }
    // A path that cannot be resolved is kept, for reading it to tell why.
    found.retain(|f| f.as_ref().ok().and_then(|p| p.canonicalize().ok()).is_none_or(|p| seen.insert(p)));
    found
}

fn folder(path: &Path, recursive: bool) -> Vec<Found> {
    let depth = if recursive { usize::MAX } else { 1 };
    let found: Vec<Found> = WalkDir::new(path)
        .max_depth(depth)
        .sort_by_file_name()
        .into_iter()
        .filter_map(|entry| match entry {
            Ok(entry) => is_table(&entry).then(|| Ok(entry.into_path())),
            Err(error) => {
                let at = error.path().unwrap_or(path).to_string_lossy().into_owned();
                Some(Err(Unread::unopened(&at, &reason(error.io_error().map(|e| e.kind()), &error))))
            }
        })
        .collect();
    if !found.is_empty() {
        return found;
    }
    vec![Err(Unread {
        source: path.to_string_lossy().into_owned(),
        line: None,
        column: None,
        what: "the folder holds no .csv, .tsv or .txt file, no spreadsheet and no archive".into(),
        mend: if recursive {
            "Check the folder's name.".into()
        } else {
            "Check the folder's name, or add --recursive to look into the folders within it.".into()
        },
    })]
}

fn is_table(entry: &DirEntry) -> bool {
    let ending = entry.path().extension().map(|e| e.to_string_lossy().to_lowercase());
    // A link counts where it leads to a file.
    ending.is_some_and(|e| TABLES.contains(&e.as_str())) && entry.path().is_file()
}

/// Reads all files that the paths stand for, in the order given, on all cores.
/// `joined`: pieces of one tube are put together.
pub fn read_all(paths: &[PathBuf], recursive: bool, reading: &Reading, joined: bool) -> (Vec<Tube>, Vec<Unread>) {
    let files = gather(paths, recursive);
    let read: Vec<_> = files.into_par_iter().map(|found| read_found(found, reading)).with_max_len(1).collect();
    let (mut tubes, mut unread) = (Vec::new(), Vec::new());
    for (found, failed) in read {
        tubes.extend(found);
        unread.extend(failed);
    }
    (join(tubes, joined), unread)
}

/// Reads a file that was found, or passes on why it was not.
pub(crate) fn read_found(found: Found, reading: &Reading) -> (Vec<Tube>, Vec<Unread>) {
    match found {
        Ok(path) => read(&path, reading),
        Err(unread) => (Vec::new(), vec![unread]),
    }
}

/// Reads one file, with what was decided about it: the tubes in it, and what of it
/// could not be opened, not be understood, or leaves open what was not decided.
fn read(path: &Path, reading: &Reading) -> (Vec<Tube>, Vec<Unread>) {
    let name = path.to_string_lossy();
    let bytes = match bytes(path, &name) {
        Ok(bytes) => bytes,
        Err(unread) => return (Vec::new(), vec![unread]),
    };
    let (mut tubes, mut unread) = (Vec::new(), Vec::new());
    let mut take = |result: Result<intake::Found, intake::Refusal>| match result {
        Ok(found) => tubes.extend(found.tubes),
        Err(refusal) => unread.push(Unread::from(refusal)),
    };
    if intake::packed(&bytes).is_none() {
        take(intake::read_as(&name, &bytes, reading));
        return (tubes, unread);
    }
    let (parts, failed) = sweepbook_sheets::tables(&name, &bytes);
    let parts: Vec<Part> =
        parts.iter().map(|p| Part { name: &p.name, sheet: p.sheet.as_deref(), bytes: &p.bytes }).collect();
    intake::read_parts(&parts, reading).into_iter().for_each(&mut take);
    unread.extend(failed);
    (tubes, unread)
}

fn bytes(path: &Path, name: &str) -> Result<Vec<u8>, Unread> {
    let unopened = |e: std::io::Error| Unread::unopened(name, &reason(Some(e.kind()), &e));
    let file = File::open(path).map_err(unopened)?;
    let length = file.metadata().map_err(unopened)?.len();
    if length > LARGEST_FILE as u64 {
        return Err(Unread::too_large(name, length));
    }
    // A device or a pipe tells no length: intake refuses what is beyond the limit.
    let mut bytes = Vec::new();
    file.take(LARGEST_FILE as u64 + 1).read_to_end(&mut bytes).map_err(unopened)?;
    Ok(bytes)
}

/// Says which tubes are in pieces over several files, and joins them if that is asked for.
fn join(tubes: Vec<Tube>, asked: bool) -> Vec<Tube> {
    let groups = intake::joinable(&tubes);
    for group in &groups {
        let (name, pieces) = intake::told(&tubes, group);
        let says = if asked { "is put together of" } else { "may be one tube, with --join, of" };
        crate::screen::say(&format!("sweepbook: {name} {says} {pieces}."));
    }
    if asked { intake::join(tubes, &groups) } else { tubes }
}

/// Why a file could not be opened, in plain words where there are some.
pub(crate) fn reason(kind: Option<ErrorKind>, error: &dyn std::fmt::Display) -> String {
    match kind {
        Some(ErrorKind::NotFound) => "there is no such file".into(),
        Some(ErrorKind::PermissionDenied) => "you may not read it".into(),
        Some(ErrorKind::IsADirectory) => "it is a folder".into(),
        _ => error.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(found: &[Found]) -> Vec<String> {
        let name = |f: &Found| f.as_ref().unwrap().file_name().unwrap().to_string_lossy().into_owned();
        found.iter().map(name).collect()
    }

    #[test]
    fn a_folder_stands_for_its_tables_sorted_and_each_once() {
        let dir = tempfile::tempdir().unwrap();
        std::fs::create_dir(dir.path().join("deeper")).unwrap();
        for name in ["b.csv", "a.TSV", "c.txt", "d.png", "deeper/e.csv"] {
            std::fs::write(dir.path().join(name), "x").unwrap();
        }
        let twice = [dir.path().join("b.csv"), dir.path().to_owned(), dir.path().join("deeper/../c.txt")];
        assert_eq!(names(&gather(&twice, false)), ["b.csv", "a.TSV", "c.txt"]);
        assert_eq!(names(&gather(&twice[1..2], true)), ["a.TSV", "b.csv", "c.txt", "e.csv"]);
    }

    #[test]
    fn a_folder_without_tables_is_told() {
        let dir = tempfile::tempdir().unwrap();
        let found = gather(&[dir.path().to_owned()], false);
        assert!(found[0].as_ref().unwrap_err().what.contains("no .csv"));
    }

    #[test]
    fn a_missing_file_is_told_in_plain_words() {
        let unread = read(Path::new("no/such/file.csv"), &Reading::default()).1.remove(0);
        assert_eq!(unread.what, "the file could not be opened: there is no such file");
    }
}
