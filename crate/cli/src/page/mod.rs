//! The page, built from its sources when they changed.
//!
//! `cargo build` for wasm32, then the library behind the wasm-bindgen command
//! (so that nobody has to install the command), then `wasm-opt` where there is
//! one, then every file of `web/` and the samples into `web/dist`. What belongs
//! together stands in one folder named after its content: a page never meets
//! the program of another build.

mod assemble;
mod compile;
mod error;
mod exports;
mod files;
mod joined;
mod lean;
mod order;
mod single;
mod sources;

pub use error::PageError;

use std::path::{Path, PathBuf};

/// Names the sources that a folder was built from, and marks it as a built page.
const STAMP: &str = "build.txt";

/// The workspace that this program was built from.
fn workspace() -> Result<PathBuf, PageError> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    match root.canonicalize() {
        Ok(root) if root.join("web/index.html").is_file() => Ok(root),
        _ => Err(PageError::NoSources { looked: root }),
    }
}

/// The folder with the built page; built now if its sources changed. `say` is
/// told what is going on, a line each.
///
/// # Errors
/// The sources are gone, the tools are missing, or one of them failed.
pub fn ensure_built(say: &mut dyn FnMut(&str)) -> Result<PathBuf, PageError> {
    let root = workspace()?;
    let dist = root.join("web/dist");
    let sources = sources::fingerprint(&root)?;
    if stamp(&dist).as_deref() == Some(sources.as_str()) {
        return Ok(dist);
    }
    say("Building the page; the first time takes a few minutes.");
    let fresh = files::Scratch::beside(&dist)?;
    compile::programs(&root, &fresh.path().join(assemble::PROGRAM), say)?;
    assemble::page(&root, fresh.path())?;
    files::write(&fresh.path().join(STAMP), format!("{sources}\n"))?;
    fresh.become_folder(&dist)?;
    say("The page is built.");
    Ok(dist)
}

/// Writes the page into a folder of its own, building it first if needed.
///
/// # Errors
/// As [`ensure_built`]; or the folder holds something else, or cannot be written.
pub fn write_to(dir: &Path) -> Result<(), PageError> {
    // Refused before anything is built: building takes minutes.
    let filled = std::fs::read_dir(dir).is_ok_and(|mut entries| entries.next().is_some());
    if filled && stamp(dir).is_none() {
        return Err(PageError::Occupied { folder: dir.to_owned() });
    }
    let dist = ensure_built(&mut |line| crate::screen::say(line))?;
    let fresh = files::Scratch::beside(dir)?;
    files::copy_tree(&dist, fresh.path())?;
    fresh.become_folder(dir)
}

/// Writes the page as one file, building it first if needed.
///
/// # Errors
/// As [`ensure_built`]; or a folder or something else is there, or it cannot be written.
pub fn write_single(file: &Path) -> Result<(), PageError> {
    // Refused before anything is built: building takes minutes.
    let fresh = single::Place::at(file)?;
    let dist = ensure_built(&mut |line| crate::screen::say(line))?;
    fresh.fill(&single::page(&workspace()?, &dist)?)
}

/// What a built page says it was built from.
fn stamp(dir: &Path) -> Option<String> {
    std::fs::read_to_string(dir.join(STAMP)).ok().map(|text| text.trim().to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_holds_something_else_is_left_alone() {
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join("thesis.txt"), "mine").unwrap();
        assert!(matches!(write_to(dir.path()), Err(PageError::Occupied { .. })));
        assert_eq!(std::fs::read_to_string(dir.path().join("thesis.txt")).unwrap(), "mine");
    }

    #[test]
    fn a_stamp_is_the_mark_of_a_built_page() {
        let dir = tempfile::tempdir().unwrap();
        assert_eq!(stamp(dir.path()), None);
        files::write(&dir.path().join(STAMP), "abc\n").unwrap();
        assert_eq!(stamp(dir.path()).as_deref(), Some("abc"));
    }
}
