//! The newer spreadsheets (Office Open XML), cell by cell.

use std::io::Cursor;

use calamine::{Reader, Xlsx};

use crate::Sheet;
use crate::error::Unpackable;
use crate::limits::{MOST_SHEETS, MOST_UNPACKED};
use crate::text::{Text, shown};

/// The sheets of a file that was measured. Cells come one at a time: the reader's own
/// table would lay out every empty cell between two far corners.
pub(crate) fn sheets(bytes: &[u8]) -> Result<Vec<Sheet>, Unpackable> {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(Unpackable::sheet)?;
    let names = book.sheet_names();
    if names.len() > MOST_SHEETS {
        return Err(Unpackable::ManySheets);
    }
    let mut out = Vec::new();
    let mut all = 0;
    for name in names {
        // A sheet that is a drawing has no cells to read.
        let Ok(mut cells) = book.worksheet_cells_reader(&name) else { continue };
        let mut text = Text::default();
        while let Some(cell) = cells.next_cell().map_err(Unpackable::sheet)? {
            let (row, column) = cell.get_position();
            if let Some(shown) = shown(cell.get_value().clone().into()) {
                text.cell(row, column, &shown)?;
            }
        }
        let text = text.end();
        all += text.len() as u64;
        if all > MOST_UNPACKED {
            return Err(Unpackable::TooLarge);
        }
        if !text.trim().is_empty() {
            out.push((name, text));
        }
    }
    if out.is_empty() { Err(Unpackable::NoTable) } else { Ok(out) }
}
