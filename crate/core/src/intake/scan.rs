//! Text to rows of cells, in one pass over the bytes. Its own and not a
//! library's, since every cell needs its place, and since a million rows are to
//! take no longer than the csv crate needs to take them apart.

use std::borrow::Cow;

use super::error::{Mistake, Place};
use super::limits::{LONGEST_ROW, MOST_CELLS};

/// What stands between two cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Separator {
    Comma,
    Semicolon,
    Tab,
    /// One blank or more, tabs among them.
    Blanks,
}

impl Separator {
    /// In the order in which they are tried; of equals the first wins.
    pub(super) const ALL: [Self; 4] = [Self::Comma, Self::Semicolon, Self::Tab, Self::Blanks];

    pub(super) fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
            Self::Blanks => b' ',
        }
    }

    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Comma => "comma",
            Self::Semicolon => "semicolon",
            Self::Tab => "tab",
            Self::Blanks => "blanks",
        }
    }

    /// The separator of this name.
    pub(super) fn of_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.name() == name)
    }

    fn parts(self, byte: u8) -> bool {
        match self {
            Self::Blanks => matches!(byte, b' ' | b'\t'),
            _ => byte == self.byte(),
        }
    }
}

/// A place in a text, from which rows are read.
#[derive(Debug, Clone)]
pub(super) struct Scan<'a> {
    text: &'a str,
    /// Byte at which the next row starts.
    pub(super) at: usize,
    /// Its line, counted from 1.
    pub(super) line: usize,
}

impl<'a> Scan<'a> {
    pub(super) fn new(text: &'a str, at: usize, line: usize) -> Self {
        Self { text, at, line }
    }

    /// Steps over so many lines, to byte `at`.
    pub(super) fn step(&mut self, at: usize, lines: usize) {
        self.at = at;
        self.line += lines;
    }

    /// Bytes from here to the end.
    pub(super) fn left(&self) -> usize {
        self.text.len() - self.at
    }

    /// Reads the next row that is neither blank nor a comment into `cells`,
    /// trimmed, and returns its line; `None` at the end.
    ///
    /// # Errors
    /// A row that is longer or has more cells than any table's.
    pub(super) fn row(
        &mut self,
        separator: Separator,
        cells: &mut Vec<Cow<'a, str>>,
    ) -> Result<Option<usize>, (Place, Mistake)> {
        loop {
            cells.clear();
            let line = self.line;
            let rest = &self.text.as_bytes()[self.at..];
            let Some(first) = rest.iter().position(|b| !matches!(b, b' ' | b'\t' | b'\x0c' | b'\x1a')) else {
                self.at = self.text.len();
                return Ok(None);
            };
            match rest[first] {
                b'\n' | b'\r' => self.step_over(first),
                b'#' => {
                    let end = rest[first..].iter().position(|b| matches!(b, b'\n' | b'\r'));
                    self.step_over(end.map_or(rest.len(), |end| first + end));
                }
                _ => {
                    self.cells(separator, cells)?;
                    if !cells.iter().all(|c| c.is_empty()) {
                        return Ok(Some(line));
                    }
                }
            }
        }
    }

    /// Steps to the line end that is `by` bytes on, and over it.
    fn step_over(&mut self, by: usize) {
        let bytes = self.text.as_bytes();
        self.at += by;
        if bytes.get(self.at) == Some(&b'\r') && bytes.get(self.at + 1) == Some(&b'\n') {
            self.at += 1;
        }
        if self.at < bytes.len() {
            self.at += 1;
            self.line += 1;
        }
    }

    fn cells(&mut self, separator: Separator, cells: &mut Vec<Cow<'a, str>>) -> Result<(), (Place, Mistake)> {
        let bytes = self.text.as_bytes();
        let (start, line) = (self.at, self.line);
        let bounded = |at: usize, cells: usize| match () {
            () if at - start > LONGEST_ROW => Err((Place::Line(line), Mistake::LongRow { most: LONGEST_ROW })),
            () if cells > MOST_CELLS => Err((Place::Line(line), Mistake::ManyCells { most: MOST_CELLS })),
            () => Ok(()),
        };
        loop {
            while bytes
                .get(self.at)
                .is_some_and(|b| matches!(b, b' ' | b'\t') && (separator != Separator::Tab || *b != b'\t'))
            {
                self.at += 1;
            }
            // A row that ends in blanks has no empty cell there.
            let trailing = separator == Separator::Blanks
                && !cells.is_empty()
                && bytes.get(self.at).is_none_or(|b| matches!(b, b'\n' | b'\r'));
            if !trailing {
                let cell =
                    if bytes.get(self.at) == Some(&b'"') { self.quoted(separator) } else { self.plain(separator) };
                cells.push(cell);
            }
            bounded(self.at, cells.len())?;
            match bytes.get(self.at) {
                Some(&b) if separator.parts(b) => self.at += 1,
                _ => {
                    self.step_over(0);
                    return Ok(());
                }
            }
        }
    }

    fn plain(&mut self, separator: Separator) -> Cow<'a, str> {
        let rest = &self.text.as_bytes()[self.at..];
        // Beyond the longest row there is no need to look for the end.
        let within = &rest[..rest.len().min(LONGEST_ROW + 4)];
        let end = within.iter().position(|&b| matches!(b, b'\n' | b'\r') || separator.parts(b));
        let mut end = end.unwrap_or(within.len());
        while !self.text.is_char_boundary(self.at + end) {
            end += 1;
        }
        let cell = &self.text[self.at..self.at + end];
        self.at += end;
        Cow::Borrowed(cell.trim())
    }

    /// A cell in quotation marks (RFC 4180): a doubled one stands for itself, and
    /// line ends are part of the cell. What follows the closing mark is kept.
    fn quoted(&mut self, separator: Separator) -> Cow<'a, str> {
        let bytes = self.text.as_bytes();
        let start = self.at;
        let mut text = String::new();
        self.at += 1;
        loop {
            let from = self.at;
            let rest = &bytes[from..bytes.len().min(start + LONGEST_ROW + 8).max(from)];
            let Some(mark) = rest.iter().position(|&b| b == b'"') else {
                self.at = from + rest.len();
                while !self.text.is_char_boundary(self.at) {
                    self.at += 1;
                }
                text.push_str(&self.text[from..self.at]);
                break;
            };
            text.push_str(&self.text[from..from + mark]);
            self.at = from + mark + 1;
            if bytes.get(self.at) != Some(&b'"') {
                break;
            }
            text.push('"');
            self.at += 1;
        }
        self.line += self.text[start..self.at].matches('\n').count();
        let after = self.plain(separator);
        text.push_str(&after);
        match text.trim() {
            trimmed if trimmed.len() == text.len() => Cow::Owned(text),
            trimmed => Cow::Owned(trimmed.to_owned()),
        }
    }
}

/// The cells of one line.
pub(super) fn cells(line: &str, separator: Separator) -> Vec<String> {
    let mut cells = Vec::new();
    match Scan::new(line, 0, 1).row(separator, &mut cells) {
        Ok(_) => cells.into_iter().map(Cow::into_owned).collect(),
        Err(_) => Vec::new(),
    }
}

/// The lines of a text with their numbers and first bytes, without line ends.
pub(super) fn lines(text: &str) -> impl Iterator<Item = (usize, usize, &str)> {
    let (mut at, mut number) = (0, 0);
    std::iter::from_fn(move || {
        let rest = text.get(at..).filter(|rest| !rest.is_empty())?;
        let start = at;
        let end = rest.bytes().position(|b| matches!(b, b'\n' | b'\r')).unwrap_or(rest.len());
        let ending = if rest[end..].starts_with("\r\n") { 2 } else { rest.len().min(end + 1) - end };
        at += end + ending;
        number += 1;
        Some((number, start, &rest[..end]))
    })
}

/// The number of the line that `byte` is on, counted from 1.
pub(super) fn line_of(text: &str, byte: usize) -> usize {
    let before = &text.as_bytes()[..byte.min(text.len())];
    let pairs = before.windows(2).filter(|w| *w == b"\r\n").count();
    1 + before.iter().filter(|b| matches!(b, b'\n' | b'\r')).count() - pairs
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(text: &str, separator: Separator) -> Vec<(usize, Vec<String>)> {
        let mut scan = Scan::new(text, 0, 1);
        let (mut cells, mut rows) = (Vec::new(), Vec::new());
        while let Some(line) = scan.row(separator, &mut cells).unwrap() {
            rows.push((line, cells.iter().map(|c| c.to_string()).collect()));
        }
        rows
    }

    #[test]
    fn rows_keep_their_lines_whatever_ends_them() {
        for end in ["\n", "\r\n", "\r"] {
            let rows = all(&["a,b", "", "# x", "  # y, z", "c,\" d \"", ""].join(end), Separator::Comma);
            assert_eq!(rows, [(1, vec!["a".into(), "b".into()]), (5, vec!["c".into(), "d".into()])], "{end:?}");
        }
    }

    #[test]
    fn quotation_marks_hold_separators_marks_and_line_ends() {
        let rows = all("\"a,\"\"b\"\"\",c\n\"x\ny\",z\nlast,1", Separator::Comma);
        assert_eq!(rows[0].1, ["a,\"b\"", "c"]);
        assert_eq!(rows[1].1, ["x\ny", "z"]);
        assert_eq!(rows[2].0, 4);
    }

    #[test]
    fn empty_cells_count_between_marks_and_not_between_blanks() {
        assert_eq!(all("a,,b,\n", Separator::Comma)[0].1, ["a", "", "b", ""]);
        assert_eq!(all("a\t\tb\n", Separator::Tab)[0].1, ["a", "", "b"]);
        assert_eq!(all("  a \t b  \n", Separator::Blanks)[0].1, ["a", "b"]);
    }

    #[test]
    fn what_no_table_has_is_refused() {
        let row = |text: &str| Scan::new(text, 0, 1).row(Separator::Comma, &mut Vec::new()).unwrap_err().1;
        assert!(matches!(row(&",".repeat(MOST_CELLS + 1)), Mistake::ManyCells { .. }));
        assert!(matches!(row(&"9".repeat(LONGEST_ROW + 9)), Mistake::LongRow { .. }));
        assert!(matches!(row(&format!("\"{}", "9".repeat(LONGEST_ROW + 9))), Mistake::LongRow { .. }));
    }

    #[test]
    fn lines_are_counted_alike() {
        let text = "a\r\nb\rc\nd";
        assert_eq!(lines(text).map(|l| (l.0, l.2)).collect::<Vec<_>>(), [(1, "a"), (2, "b"), (3, "c"), (4, "d")]);
        for (number, start, _) in lines(text) {
            assert_eq!(line_of(text, start), number);
        }
    }
}
