//! The thin surface between `sweepbook-sheets` and the page's worker.
//!
//! A program of its own beside `sweepbook-page`: it is two thirds as large as that one,
//! and most files are text and do not need it. It gives the tables out; reading them is the
//! other program's.

use std::vec::IntoIter;

use sweepbook_core::intake::Unread;
use sweepbook_sheets::Part;
use wasm_bindgen::prelude::wasm_bindgen;

/// Sends the text of a panic to the console, once, at the start.
#[wasm_bindgen(start)]
pub fn start() {
    console_error_panic_hook::set_once();
}

/// Takes a spreadsheet or an archive apart.
#[wasm_bindgen]
pub fn unpack(name: &str, bytes: &[u8]) -> Unpacked {
    let (parts, failed) = sweepbook_sheets::tables(name, bytes);
    Unpacked { parts: parts.into_iter(), failed }
}

/// What came of a file; each table is handed out once, so that no two copies of a large
/// one lie here.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Unpacked {
    parts: IntoIter<Part>,
    failed: Vec<Unread>,
}

#[wasm_bindgen]
impl Unpacked {
    /// The next table, while there is one.
    pub fn take_table(&mut self) -> Option<Table> {
        self.parts.next().map(Table)
    }

    /// What could not be unpacked: JSON of a list of [`Unread`].
    pub fn failed(&self) -> String {
        serde_json::to_string(&self.failed).unwrap_or_else(|_| "[]".to_owned())
    }
}

/// A table of a file.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Table(Part);

#[wasm_bindgen]
impl Table {
    /// The file, with what tells the table from its others.
    pub fn name(&self) -> String {
        self.0.name.clone()
    }

    /// The sheet's name, where it is one.
    pub fn sheet(&self) -> Option<String> {
        self.0.sheet.clone()
    }

    /// Its bytes; the table is used up by that.
    pub fn bytes(self) -> Vec<u8> {
        self.0.bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_are_handed_out_once_and_failures_told() {
        let mut text = unpack("x.csv", b"Va,Vg,Ia\n");
        let table = text.take_table().unwrap();
        assert_eq!((table.name().as_str(), table.sheet(), table.bytes()), ("x.csv", None, b"Va,Vg,Ia\n".to_vec()));
        assert!(text.take_table().is_none());
        assert_eq!(text.failed(), "[]");
        let broken = unpack("b.zip", b"PK\x03\x04rest");
        let failed: Vec<Unread> = serde_json::from_str(&broken.failed()).unwrap();
        assert!(failed[0].what.starts_with("the archive is damaged"), "{failed:?}");
    }
}
