//! The older spreadsheets (BIFF in a compound file).

use std::io::{Cursor, Read};

use calamine::{Reader, Xls};

use crate::Sheet;
use crate::error::Unpackable;
use crate::limits::{MOST_SHEETS, MOST_SPANNED};
use crate::text::{Text, shown};

pub(crate) fn sheets(bytes: &[u8]) -> Result<Vec<Sheet>, Unpackable> {
    measure(bytes)?;
    let mut book: Xls<_> = Xls::new(Cursor::new(bytes)).map_err(Unpackable::sheet)?;
    let mut out = Vec::new();
    for name in book.sheet_names() {
        let Ok(range) = book.worksheet_range(&name) else { continue };
        let Some((top, left)) = range.start() else { continue };
        let mut text = Text::default();
        for (row, column, value) in range.used_cells() {
            if let Some(shown) = shown(value.clone()) {
                text.cell(top + row as u32, left + column as u32, &shown)?;
            }
        }
        let text = text.end();
        if !text.trim().is_empty() {
            out.push((name, text));
        }
    }
    if out.is_empty() { Err(Unpackable::NoTable) } else { Ok(out) }
}

/// Numbers of the records that matter here ([MS-XLS] 2.3.2; from memory).
mod record {
    pub const END: u16 = 0x000a;
    pub const SHEET: u16 = 0x0085;
    /// Records of cells, all of which begin with row and column.
    pub const CELLS: [u16; 11] =
        [0x0006, 0x00bd, 0x00be, 0x00fd, 0x00d6, 0x0201, 0x0203, 0x0204, 0x0205, 0x027e, 0x0001];
}

/// Adds up what the sheets span, before the reader lays it out: every sheet that is
/// listed may point at the largest.
fn measure(bytes: &[u8]) -> Result<(), Unpackable> {
    let mut file = cfb::CompoundFile::open(Cursor::new(bytes)).map_err(Unpackable::sheet)?;
    let name = ["Workbook", "Book"].into_iter().find(|name| file.is_stream(name)).ok_or(Unpackable::NoTable)?;
    let mut stream = Vec::new();
    let opened = file.open_stream(name).map_err(Unpackable::sheet)?;
    // A stream whose sectors go round in circles is no longer than the file.
    opened.take(bytes.len() as u64).read_to_end(&mut stream).map_err(Unpackable::sheet)?;
    let (mut sheets, mut largest) = (0_u64, 0_u64);
    let mut span: Option<[u64; 4]> = None;
    let mut rest = stream.as_slice();
    while let [a, b, c, d, body @ ..] = rest {
        let (kind, length) = (u16::from_le_bytes([*a, *b]), usize::from(u16::from_le_bytes([*c, *d])));
        let (body, after) = body.split_at(length.min(body.len()));
        match (kind, body) {
            // Where a sheet begins; the reader trusts it.
            (record::SHEET, [p0, p1, p2, p3, ..]) => {
                let begins = u32::from_le_bytes([*p0, *p1, *p2, *p3]) as usize;
                if begins >= stream.len() {
                    return Err(Unpackable::sheet("one of its sheets lies outside the file"));
                }
                sheets += 1;
            }
            (kind, [r0, r1, c0, c1, ..]) if record::CELLS.contains(&kind) => {
                let row = u64::from(u16::from_le_bytes([*r0, *r1]));
                let column = u64::from(u16::from_le_bytes([*c0, *c1]));
                // The longest record of several cells in a row holds this many more.
                let last = column + (length / 6) as u64;
                let s = span.unwrap_or([row, row, column, last]);
                let s = [s[0].min(row), s[1].max(row), s[2].min(column), s[3].max(last)];
                largest = largest.max((s[1] - s[0] + 1) * (s[3] - s[2] + 1));
                span = Some(s);
            }
            (record::END, _) => span = None,
            _ => {}
        }
        rest = after;
    }
    match () {
        () if sheets > MOST_SHEETS as u64 => Err(Unpackable::ManySheets),
        () if largest.saturating_mul(sheets.max(1)) > MOST_SPANNED => Err(Unpackable::Spans),
        () => Ok(()),
    }
}
