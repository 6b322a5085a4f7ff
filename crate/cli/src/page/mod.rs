//! STUB, to be replaced when the branch that builds the page is merged: it only
//! finds a page that was built before.

use std::path::{Path, PathBuf};

/// Why the page could not be built or written.
#[derive(Debug, thiserror::Error)]
pub enum PageError {
    /// This stub cannot build.
    #[error("the page has not been built, and this version of the program cannot build it")]
    NotBuilt,
}

/// The folder that holds the built page.
///
/// # Errors
/// The page has not been built.
pub fn ensure_built(_say: &mut dyn FnMut(&str)) -> Result<PathBuf, PageError> {
    let dist = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../web/dist");
    if dist.join("index.html").is_file() { Ok(dist) } else { Err(PageError::NotBuilt) }
}

/// Writes the built page to a folder.
///
/// # Errors
/// Always: this stub cannot build.
pub fn write_to(_dir: &Path) -> Result<(), PageError> {
    Err(PageError::NotBuilt)
}
