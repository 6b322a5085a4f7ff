//! Files and folders.

use std::path::{Path, PathBuf};

use super::PageError;
use super::error::Doing;

/// Every file below a folder, in order of name, but none whose path `skip` refuses.
pub(super) fn walk(folder: &Path, skip: &dyn Fn(&Path) -> bool) -> Result<Vec<PathBuf>, PageError> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).doing("read", &folder)? {
            let path = entry.doing("read", &folder)?.path();
            let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
            if hidden || skip(&path) {
                continue;
            }
            if path.is_dir() {
                folders.push(path);
            } else {
                found.push(path);
            }
        }
    }
    found.sort();
    Ok(found)
}

/// The name of a file that one of that name calls `relative`.
pub(super) fn beside(name: &str, relative: &str) -> String {
    let mut folders: Vec<&str> = name.split('/').collect();
    folders.pop();
    for step in relative.split('/') {
        match step {
            "." => {}
            ".." => {
                folders.pop();
            }
            step => folders.push(step),
        }
    }
    folders.join("/")
}

/// A path below a root with forward slashes, as addresses have them.
pub(super) fn below(root: &Path, path: &Path) -> String {
    let parts = path.strip_prefix(root).unwrap_or(path).components();
    parts.map(|c| c.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/")
}

/// Reads a file.
pub(super) fn read(path: &Path) -> Result<Vec<u8>, PageError> {
    std::fs::read(path).doing("read", path)
}

/// Writes a file, with the folders above it.
pub(super) fn write(path: &Path, content: impl AsRef<[u8]>) -> Result<(), PageError> {
    if let Some(parent) = path.parent() {
        std::fs::create_dir_all(parent).doing("make", parent)?;
    }
    std::fs::write(path, content).doing("write", path)
}

/// Copies every file below a folder into another.
pub(super) fn copy_tree(from: &Path, to: &Path) -> Result<(), PageError> {
    for path in walk(from, &|_| false)? {
        write(&to.join(below(from, &path)), read(&path)?)?;
    }
    Ok(())
}

/// A folder that is filled beside its place and put there only when it is
/// complete; dropped before that, it vanishes.
pub(super) struct Scratch(PathBuf);

impl Scratch {
    /// A new folder beside `place`.
    pub(super) fn beside(place: &Path) -> Result<Self, PageError> {
        let path = Self::name(place, "new");
        if path.exists() {
            std::fs::remove_dir_all(&path).doing("remove", &path)?;
        }
        std::fs::create_dir_all(&path).doing("make", &path)?;
        Ok(Self(path))
    }

    fn name(place: &Path, what: &str) -> PathBuf {
        let name = place.file_name().unwrap_or_default().to_string_lossy().into_owned();
        place.with_file_name(format!(".{name}-{what}-{}", std::process::id()))
    }

    pub(super) fn path(&self) -> &Path {
        &self.0
    }

    /// Takes the place of what is there.
    pub(super) fn become_folder(self, place: &Path) -> Result<(), PageError> {
        let old = Self::name(place, "old");
        if place.exists() {
            std::fs::rename(place, &old).doing("move away", place)?;
        }
        std::fs::rename(&self.0, place).doing("write", place)?;
        if old.exists() {
            std::fs::remove_dir_all(&old).doing("remove", &old)?;
        }
        Ok(())
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        // Gone already where it took its place; and nothing can be done where it can't be removed.
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_replaced_whole_or_not_at_all() {
        let dir = tempfile::tempdir().unwrap();
        let place = dir.path().join("dist");
        write(&place.join("old.txt"), "old").unwrap();
        let given_up = Scratch::beside(&place).unwrap();
        write(&given_up.path().join("half.txt"), "half").unwrap();
        drop(given_up);
        assert!(place.join("old.txt").exists());

        let complete = Scratch::beside(&place).unwrap();
        write(&complete.path().join("a/new.txt"), "new").unwrap();
        complete.become_folder(&place).unwrap();
        let names: Vec<String> = walk(dir.path(), &|_| false).unwrap().iter().map(|p| below(dir.path(), p)).collect();
        assert_eq!(names, ["dist/a/new.txt"]);
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1, "nothing is left beside it");
    }
}
