//! Spreadsheets in OpenDocument, read here and not by calamine: its reader lays out
//! every cell that a file of a few bytes says is repeated.

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use crate::Sheet;
use crate::error::Unpackable;
use crate::limits::{MOST_ROWS, MOST_SHEETS, MOST_UNPACKED};
use crate::text::{Text, number};

/// The sheets in a `content.xml` (OASIS OpenDocument 1.3, part 3, sections 9.1 and
/// 19.385; attribute names from memory).
pub(crate) fn sheets(content: &[u8]) -> Result<Vec<Sheet>, Unpackable> {
    let content = std::str::from_utf8(content).map_err(Unpackable::sheet)?;
    let mut xml = Reader::from_str(content);
    xml.config_mut().expand_empty_elements = true;
    let mut book = Book::default();
    loop {
        match xml.read_event().map_err(Unpackable::sheet)? {
            Event::Start(start) => book.start(&start)?,
            Event::End(end) => book.end(end.name().as_ref())?,
            Event::Text(text) if book.reads() => book.cell.push_str(&text),
            Event::GeneralRef(name) if book.reads() => book.cell.push_str(entity(&name)),
            Event::Eof => break,
            _ => {}
        }
    }
    let sheets: Vec<Sheet> = book.sheets.into_iter().filter(|(_, text)| !text.trim().is_empty()).collect();
    if sheets.is_empty() { Err(Unpackable::NoTable) } else { Ok(sheets) }
}

/// Where the reader is in the document.
#[derive(Debug, Default)]
struct Book {
    sheets: Vec<Sheet>,
    name: String,
    text: Text,
    written: usize,
    row: u32,
    row_repeats: u32,
    cells: Vec<(u32, String)>,
    column: u32,
    column_repeats: u32,
    /// The value that the cell's attributes give.
    value: Option<String>,
    /// What the cell shows.
    cell: String,
    within_cell: bool,
    within_paragraph: bool,
    /// Depth in remarks attached to a cell.
    remarks: usize,
}

impl Book {
    fn reads(&self) -> bool {
        self.within_cell && self.within_paragraph && self.remarks == 0
    }

    fn start(&mut self, start: &BytesStart) -> Result<(), Unpackable> {
        match start.name().as_ref() {
            "table:table" => {
                self.name = attribute(start, "table:name").unwrap_or_default();
                self.text = Text::default();
                self.row = 0;
            }
            "table:table-row" => {
                self.row_repeats = repeats(start, "table:number-rows-repeated");
                self.cells.clear();
                self.column = 0;
            }
            "table:table-cell" | "table:covered-table-cell" => {
                self.column_repeats = repeats(start, "table:number-columns-repeated");
                self.value = value(start);
                self.cell.clear();
                self.within_cell = true;
            }
            "office:annotation" => self.remarks += 1,
            "text:p" => {
                if self.reads_next_paragraph() {
                    self.cell.push(' ');
                }
                self.within_paragraph = true;
            }
            "text:s" | "text:tab" if self.reads() => self.cell.push(' '),
            _ => {}
        }
        Ok(())
    }

    fn reads_next_paragraph(&self) -> bool {
        self.within_cell && self.remarks == 0 && !self.cell.is_empty()
    }

    fn end(&mut self, name: &str) -> Result<(), Unpackable> {
        match name {
            "table:table" => {
                if self.sheets.len() >= MOST_SHEETS {
                    return Err(Unpackable::ManySheets);
                }
                let text = std::mem::take(&mut self.text).end();
                self.written += text.len();
                if self.written > MOST_UNPACKED as usize {
                    return Err(Unpackable::TooLarge);
                }
                self.sheets.push((std::mem::take(&mut self.name), text));
            }
            "table:table-row" => {
                if !self.cells.is_empty() {
                    let cells = std::mem::take(&mut self.cells);
                    for row in 0..self.row_repeats {
                        for (column, cell) in &cells {
                            self.text.cell(self.row.saturating_add(row), *column, cell)?;
                        }
                    }
                }
                self.row = self.row.saturating_add(self.row_repeats).min(MOST_ROWS);
            }
            "table:table-cell" | "table:covered-table-cell" => {
                self.within_cell = false;
                let shown = self.value.take().unwrap_or_else(|| self.cell.trim().to_owned());
                if !shown.is_empty() {
                    // As many as a table may be wide: the text refuses the next.
                    for column in
                        (self.column..).take(self.column_repeats.min(crate::limits::MOST_COLUMNS + 1) as usize)
                    {
                        self.cells.push((column, shown.clone()));
                    }
                }
                self.column = self.column.saturating_add(self.column_repeats);
            }
            "office:annotation" => self.remarks = self.remarks.saturating_sub(1),
            "text:p" => self.within_paragraph = false,
            _ => {}
        }
        Ok(())
    }
}

fn attribute(start: &BytesStart, name: &str) -> Option<String> {
    let attribute = start.try_get_attribute(name).ok().flatten()?;
    attribute.normalized_value(quick_xml::XmlVersion::Implicit1_0).ok().map(|value| value.into_owned())
}

fn repeats(start: &BytesStart, name: &str) -> u32 {
    attribute(start, name).and_then(|n| n.parse().ok()).unwrap_or(1)
}

/// The value of a cell that is not text.
fn value(start: &BytesStart) -> Option<String> {
    match attribute(start, "office:value-type")?.as_str() {
        "float" | "percentage" | "currency" => {
            attribute(start, "office:value").and_then(|v| v.parse().ok()).map(number)
        }
        "date" => attribute(start, "office:date-value").map(|d| format!("date {d}")),
        "time" => attribute(start, "office:time-value").map(|d| format!("date {d}")),
        _ => None,
    }
}

/// The five entities that XML has without a definition.
fn entity(name: &str) -> &'static str {
    match name {
        "amp" => "&",
        "lt" => "<",
        "gt" => ">",
        "quot" => "\"",
        "apos" => "'",
        _ => "\u{fffd}",
    }
}
