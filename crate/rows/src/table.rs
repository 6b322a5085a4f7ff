//! Rows whose cells were found: columns of them, read from top to bottom.

use std::ops::Range;

use crate::number::plain;

/// How lines end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Line {
    Feed,
    Return,
    ReturnFeed,
}

/// Rows of a text.
pub(crate) struct Table<'t> {
    bytes: &'t [u8],
    /// The byte before the first row, then the end of each cell, row by row; so that a cell
    /// stands between two that follow each other.
    ends: &'t [u32],
    separator: u8,
    cells: usize,
    rows: usize,
    line: Line,
}

impl<'t> Table<'t> {
    /// At most `most` rows of at least two `cells`; `None` where there is none.
    pub(crate) fn new(bytes: &'t [u8], ends: &'t [u32], separator: u8, cells: usize, most: usize) -> Option<Self> {
        let last = *ends.get(cells)? as usize;
        let line = match (bytes.get(last), bytes.get(last + 1)) {
            (None | Some(b'\n'), _) => Line::Feed,
            (Some(b'\r'), Some(b'\n')) => Line::ReturnFeed,
            (Some(b'\r'), _) => Line::Return,
            _ => return None,
        };
        let mut table = Self { bytes, ends, separator, cells, rows: 0, line };
        table.rows = ((ends.len() - 1) / table.stride()).min(most);
        table.rows = table.lines();
        (table.rows > 0).then_some(table)
    }

    /// How many ends a row has.
    pub(crate) fn stride(&self) -> usize {
        self.cells + usize::from(self.line == Line::ReturnFeed)
    }

    pub(crate) fn rows(&self) -> usize {
        self.rows
    }

    /// The byte after so many rows.
    pub(crate) fn after(&self, rows: usize) -> usize {
        let before = self.ends.get(rows * self.stride()).map_or(0, |end| end.wrapping_add(1) as usize);
        before.min(self.bytes.len())
    }

    /// Where a cell stands.
    pub(crate) fn cell(&self, column: usize, row: usize) -> Option<Range<usize>> {
        self.column(column).nth(row)
    }

    /// Where the cells of a column stand, blanks before them left out.
    #[inline(always)]
    fn column(&self, column: usize) -> impl Iterator<Item = Range<usize>> {
        let ends = self.ends.get(column..).unwrap_or_default();
        ends.chunks(self.stride()).map_while(|pair| {
            let [before, end, ..] = *pair else { return None };
            Some(past_blanks(self.bytes, before.wrapping_add(1) as usize)..end as usize)
        })
    }

    /// Rows from the first on that end as lines do and are no comments.
    fn lines(&self) -> usize {
        let is_line = |&at: &usize| match self.line {
            Line::Feed => matches!(self.bytes.get(at), None | Some(b'\n')),
            Line::Return => self.bytes.get(at) == Some(&b'\r') && self.bytes.get(at + 1) != Some(&b'\n'),
            Line::ReturnFeed => self.bytes.get(at..at + 2) == Some(b"\r\n"),
        };
        let lines = self.column(self.cells - 1).take(self.rows).take_while(|cell| is_line(&cell.end)).count();
        self.column(0).take(lines).take_while(|cell| self.bytes.get(cell.start) != Some(&b'#')).count()
    }

    /// Whether a cell ends as one of its column does; the last one's end is a line's.
    #[inline(always)]
    fn is_parted(&self, column: usize, cell: &Range<usize>) -> bool {
        column + 1 == self.cells || self.bytes.get(cell.end) == Some(&self.separator)
    }

    /// Of the first `rows` those from the first on of which this cell does not begin with a
    /// quotation mark.
    pub(crate) fn unquoted(&self, column: usize, rows: usize) -> usize {
        let is_one = |cell: &Range<usize>| self.is_parted(column, cell) && self.bytes.get(cell.start) != Some(&b'"');
        self.column(column).take(rows).take_while(is_one).count()
    }

    /// Of the first `rows` those from the first on of which this cell holds what the first
    /// one's does.
    pub(crate) fn alike(&self, column: usize, rows: usize) -> usize {
        let text = |cell: &Range<usize>| self.bytes.get(cell.clone());
        let Some(first) = self.column(column).next().and_then(|cell| text(&cell)) else { return 0 };
        let is_one = |cell: &Range<usize>| {
            // Byte by byte: names are short, and to call for a comparison costs more.
            let same = cell.len() == first.len() && (0..first.len()).all(|i| self.bytes[cell.start + i] == first[i]);
            same && self.is_parted(column, cell)
        };
        self.column(column).take(rows).take_while(is_one).count()
    }

    /// Reads the numbers of a column into `into`; of the first `rows` those from the first
    /// on that hold a plain one of at most this magnitude.
    #[inline(always)]
    pub(crate) fn numbers(
        &self,
        column: usize,
        rows: usize,
        mark: u8,
        most: f64,
        to_si: impl Fn(f64) -> f64,
        into: &mut [f64],
    ) -> usize {
        let mut read = 0;
        for (cell, place) in self.column(column).zip(into.iter_mut().take(rows)) {
            if !self.is_parted(column, &cell) {
                break;
            }
            let Some(value) = number(self.bytes, cell.start, cell.end, mark).map(&to_si) else { break };
            if value.abs() > most {
                break;
            }
            *place = value;
            read += 1;
        }
        read
    }
}

/// The number between two places, blanks behind it left out.
#[inline(always)]
fn number(bytes: &[u8], start: usize, end: usize, mark: u8) -> Option<f64> {
    plain(bytes, start, end, mark).or_else(|| trimmed(bytes, start, end, mark))
}

#[cold]
#[inline(never)]
fn trimmed(bytes: &[u8], start: usize, end: usize, mark: u8) -> Option<f64> {
    let cell = bytes.get(start..end)?.trim_ascii_end();
    (cell.len() < end - start).then(|| plain(bytes, start, start + cell.len(), mark)).flatten()
}

/// The first place from `at` on that is no blank.
#[inline(always)]
fn past_blanks(bytes: &[u8], mut at: usize) -> usize {
    while bytes.get(at) == Some(&b' ') {
        at += 1;
    }
    at
}
