//! Takes spreadsheets (xlsx, ods, xls) and zip archives apart into tables as text,
//! which `sweepbook-core` then reads like any other: a sheet becomes rows of cells
//! parted by tabs, a row a line, so that places in messages are the sheet's own.
//!
//! It is a crate of its own since it weighs more than the rest of the program together:
//! the page fetches it only when a file needs it. Files are hostile until proven
//! otherwise: everything is bounded before it is unpacked ([`limits`]).

mod archive;
mod error;
pub mod limits;
mod ods;
mod text;
mod xls;
mod xlsx;

pub use error::Unpackable;

use sweepbook_core::intake::{Packed, Unread, clean, packed};

/// A table in a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// The file, with the sheet in brackets or the path within the archive behind it.
    pub name: String,
    /// The sheet's name, where it is one.
    pub sheet: Option<String>,
    /// Its bytes: text, whatever encoding an archived file has.
    pub bytes: Vec<u8>,
}

/// What came of one part.
pub type Unpacked = Result<Part, Failed>;

/// A part that could not be unpacked.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{name}: {why}")]
pub struct Failed {
    /// The part.
    pub name: String,
    /// Why.
    pub why: Unpackable,
}

impl From<Failed> for Unread {
    fn from(failed: Failed) -> Self {
        Self {
            source: clean(&failed.name),
            line: None,
            column: None,
            what: clean(&failed.why.to_string()),
            mend: failed.why.mend(),
        }
    }
}

/// The tables in a spreadsheet or an archive, and what of it could not be unpacked, as
/// the report lists it.
pub fn tables(name: &str, bytes: &[u8]) -> (Vec<Part>, Vec<Unread>) {
    let (mut parts, mut unread) = (Vec::new(), Vec::new());
    for part in unpack(name, bytes) {
        match part {
            Ok(part) => parts.push(part),
            Err(failed) => unread.push(failed.into()),
        }
    }
    (parts, unread)
}

/// The tables in a spreadsheet or an archive; a file that is neither is its own only
/// part. `name` is only used for names.
pub fn unpack(name: &str, bytes: &[u8]) -> Vec<Unpacked> {
    let whole = || Part { name: name.to_owned(), sheet: None, bytes: bytes.to_vec() };
    let unpacked = match packed(bytes) {
        None => return vec![Ok(whole())],
        Some(Packed::Compound) => held(|| xls::sheets(bytes)).map(|sheets| of_sheets(name, sheets)),
        Some(Packed::Zip) => zipped(name, bytes, true),
    };
    unpacked.unwrap_or_else(|why| vec![Err(Failed { name: name.to_owned(), why })])
}

/// A sheet's name and its text.
type Sheet = (String, String);

/// The spreadsheet reader has stopped on damaged files in places where it should have
/// said no; that must not take the rest of a lot with it. On the page nothing can be caught: there
/// the worker is replaced.
fn held(read: impl FnOnce() -> Result<Vec<Sheet>, Unpackable>) -> Result<Vec<Sheet>, Unpackable> {
    std::panic::catch_unwind(std::panic::AssertUnwindSafe(read))
        .unwrap_or_else(|_| Err(Unpackable::sheet("the reader of spreadsheets stopped on it")))
}

fn of_sheets(name: &str, sheets: Vec<Sheet>) -> Vec<Unpacked> {
    let part = |(sheet, text): Sheet| {
        Ok(Part { name: format!("{name} [{sheet}]"), sheet: Some(sheet), bytes: text.into_bytes() })
    };
    sheets.into_iter().map(part).collect()
}

/// A zip file is a spreadsheet of one of two kinds, or an archive of files.
fn zipped(name: &str, bytes: &[u8], archives: bool) -> Result<Vec<Unpacked>, Unpackable> {
    let entries = archive::measure(bytes)?;
    let has = |entry: &str| entries.iter().any(|e| e == entry);
    match () {
        () if has("xl/workbook.xml") => held(|| xlsx::sheets(bytes)).map(|sheets| of_sheets(name, sheets)),
        () if has("content.xml") => {
            ods::sheets(&archive::entry(bytes, "content.xml")?).map(|sheets| of_sheets(name, sheets))
        }
        () if !archives => Err(Unpackable::Nested),
        () => archive::files(name, bytes, &entries),
    }
}
