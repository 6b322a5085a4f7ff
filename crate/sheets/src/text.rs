//! The text of a sheet: a line a row, tabs between cells.

use calamine::Data;

use crate::error::Unpackable;
use crate::limits::{MOST_CELLS, MOST_COLUMNS, MOST_ROWS, MOST_UNPACKED};

/// The text of a sheet as it grows.
#[derive(Debug, Default)]
pub(crate) struct Text {
    out: String,
    row: u32,
    column: u32,
    cells: usize,
}

impl Text {
    /// Puts a cell in its place, counted from 0; places must come in reading order.
    pub(crate) fn cell(&mut self, row: u32, column: u32, text: &str) -> Result<(), Unpackable> {
        if column >= MOST_COLUMNS {
            return Err(Unpackable::ManyColumns);
        }
        if row >= MOST_ROWS {
            return Err(Unpackable::ManyRows);
        }
        if (row, column) < (self.row, self.column) {
            return Err(Unpackable::Disordered);
        }
        while self.row < row {
            self.out.push('\n');
            self.row += 1;
            self.column = 0;
        }
        while self.column < column {
            self.out.push('\t');
            self.column += 1;
        }
        self.cells += 1;
        if self.cells > MOST_CELLS {
            return Err(Unpackable::ManyCells);
        }
        if self.out.len() + text.len() > MOST_UNPACKED as usize {
            return Err(Unpackable::TooLarge);
        }
        // A quotation mark at the start would open a quoted cell.
        if text.starts_with('"') {
            self.out.push('\'');
        }
        self.out.extend(text.chars().map(|c| if c.is_control() { ' ' } else { c }));
        Ok(())
    }

    pub(crate) fn end(self) -> String {
        self.out
    }
}

/// What a cell of a spreadsheet says; `None` for an empty one.
pub(crate) fn shown(value: Data) -> Option<String> {
    Some(match value {
        Data::Empty => return None,
        Data::Int(value) => value.to_string(),
        Data::Float(value) => number(value),
        Data::String(text) => text,
        Data::Bool(value) => value.to_string(),
        // A number that the spreadsheet took for a date is none to be read.
        Data::DateTime(date) => format!("date {}", date.as_f64()),
        Data::DateTimeIso(text) | Data::DurationIso(text) => format!("date {text}"),
        Data::Error(error) => format!("error {error}"),
        // Whatever a later version adds is shown as it shows itself.
        #[allow(unreachable_patterns, reason = "the enumeration may grow")]
        other => other.to_string(),
    })
}

/// A number so that no reader takes its point for a mark between thousands: `1.234`
/// gets an exponent.
pub(crate) fn number(value: f64) -> String {
    let text = format!("{value}");
    match text.split_once('.') {
        Some((_, decimals)) if decimals.len() == 3 => text + "e0",
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_keep_their_places() {
        let mut text = Text::default();
        for (row, column, cell) in [(0, 0, "a"), (0, 2, "b\tc"), (3, 1, "\"d")] {
            text.cell(row, column, cell).unwrap();
        }
        assert_eq!(text.cell(2, 0, "x"), Err(Unpackable::Disordered));
        assert_eq!(text.cell(4, 9999, "x"), Err(Unpackable::ManyColumns));
        assert_eq!(text.cell(u32::MAX, 0, "x"), Err(Unpackable::ManyRows));
        assert_eq!(text.end(), "a\t\tb c\n\n\n\t'\"d");
    }

    #[test]
    fn three_decimals_are_no_thousands() {
        assert_eq!(number(1.234), "1.234e0");
        assert_eq!(number(-0.5), "-0.5");
        assert_eq!(number(250.0), "250");
        assert_eq!("1.234e0".parse::<f64>().unwrap(), 1.234);
    }
}
