//! Why the page could not be built or written, and what to do.

use std::path::{Path, PathBuf};

/// Why the page could not be built or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PageError {
    /// The program was moved away from its sources.
    #[error(
        "the sources of the page are not at {}; run the program in the folder that it was built in, \
         or serve a page that was written with \"sweepbook page DIR\" before",
        looked.display()
    )]
    NoSources {
        /// Where they were looked for.
        looked: PathBuf,
    },
    /// Rust cannot build for the browser yet.
    #[error("Rust has no wasm32-unknown-unknown target here; add it with \"rustup target add wasm32-unknown-unknown\"")]
    NoTarget,
    /// Cargo or rustc could not be started.
    #[error("{program} could not be started ({source}); install Rust from https://rustup.rs, or put it on the PATH")]
    NoTool {
        /// Which.
        program: String,
        /// Why.
        source: std::io::Error,
    },
    /// The build of the program for the browser failed.
    #[error("cargo could not build the programs of the page; its message is above")]
    Build,
    /// Cargo built, but said nothing of the file.
    #[error("cargo built the page's program, but did not name the file; run \"cargo clean\" and try again")]
    NoProgram,
    /// The glue between page and program could not be made.
    #[error("the glue between page and program could not be made: {0}; run \"cargo clean\" and try again")]
    Glue(String),
    /// The folder to write to is not ours to replace.
    #[error("{} holds files that are no page of sweepbook; name an empty or a new folder", folder.display())]
    Occupied {
        /// The folder.
        folder: PathBuf,
    },
    /// The file to write is a folder.
    #[error("{} is a folder; name the file, such as {}", folder.display(), folder.join("sweepbook.html").display())]
    Folder {
        /// The folder.
        folder: PathBuf,
    },
    /// The file to write is not ours to replace.
    #[error("{} is there already and is no page of sweepbook in one file; name a new file", file.display())]
    Taken {
        /// The file.
        file: PathBuf,
    },
    /// The modules of the page have something that only a file of its own can have.
    #[error("the modules of the page do not go into one file: {0}; mend the sources of the page")]
    NotJoined(String),
    /// The sources of the page have something that only a server can answer.
    #[error("the page does not go into one file: {0}; mend the sources of the page")]
    NotOneFile(String),
    /// A file or folder could not be read or written.
    #[error("could not {doing} {}: {source}; check that the place exists, is yours, and has room", path.display())]
    File {
        /// What was tried.
        doing: &'static str,
        /// On what.
        path: PathBuf,
        /// Why not.
        source: std::io::Error,
    },
}

/// Says what was being done to which file when it failed.
pub(super) trait Doing<T> {
    /// Turns the failure into a [`PageError::File`].
    fn doing(self, doing: &'static str, path: &Path) -> Result<T, PageError>;
}

impl<T> Doing<T> for std::io::Result<T> {
    fn doing(self, doing: &'static str, path: &Path) -> Result<T, PageError> {
        self.map_err(|source| PageError::File { doing, path: path.to_owned(), source })
    }
}
