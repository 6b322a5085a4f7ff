//! The page's modules in one file, and the styles of each document.
//!
//! What travels is compressed file by file, and in a small file little has been seen before:
//! together they weigh a quarter less.

mod modules;
mod styles;

/// The files of the page, by name.
type Parts = Vec<(String, Vec<u8>)>;

/// The same page in fewer files.
///
/// # Errors
/// A module has something that only a file of its own can have.
pub(super) fn joined(parts: Parts) -> Result<Parts, String> {
    Ok(styles::joined(modules::joined(parts)?))
}
