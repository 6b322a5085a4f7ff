//! From bytes to tubes. Never guesses silently: what it cannot read, it refuses
//! with the place, the reason and the mend.
//!
//! It reads the long table: a row a point, a heading with units, and lines
//! `# key: value` before it.

mod decode;
mod error;
mod headings;
mod metadata;
mod repeats;
mod rows;
mod shown;
mod table;
mod units;
mod write;

pub use error::{Mistake, Place, Unread};
pub use shown::{clean, steers};
pub use write::write;

use crate::sweep::Tube;

/// Largest file read, bytes. A sweep of a twin triode is 10 to 100 kB; beyond
/// this the file is not one (by construction of this tool, no source).
pub const LARGEST_FILE: usize = 24 * 1024 * 1024;

/// Reads one file.
///
/// `name` is only used to name the tube where the file does not, and in errors.
///
/// # Errors
/// The first thing that could not be read, with line and column counted from 1
/// and what to do about it.
pub fn read(name: &str, bytes: &[u8]) -> Result<Vec<Tube>, Unread> {
    read_inner(name, bytes).map_err(|(place, mistake)| Unread::new(name, place, mistake))
}

fn read_inner(name: &str, bytes: &[u8]) -> Result<Vec<Tube>, (Place, Mistake)> {
    if bytes.len() > LARGEST_FILE {
        let mistake = Mistake::TooLarge { bytes: bytes.len() as u64, most: LARGEST_FILE as u64 };
        return Err((Place::File, mistake));
    }
    let text = decode::text(bytes)?;
    table::read(name, &text)
}
