//! Rows of plain numbers, straight from bytes to columns, many rows a call.
//!
//! A crate of its own since it is compiled for speed also where the rest is compiled for
//! size, as in the page (the workspace's `Cargo.toml`). It knows no headings and no
//! mistakes: a row that is not plain ends a [`Run`], and who called reads that row the
//! careful way.

mod ends;
mod number;
mod table;
mod tally;

use std::ops::Range;

use ends::Ends;
pub use number::plain;
pub use tally::{Tally, is_odd, tally};

/// Most rows of one [`Run`]: five columns of them and where their cells end fit a
/// processor's first cache (by construction, no source).
pub const MOST: usize = 512;

/// What a cell is for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cell {
    /// A number, of which the magnitude is at most so much once it is scaled.
    Number(Scale, f64),
    /// The tube's name.
    Tube,
    /// The section's name.
    Section,
    /// Nothing that is read.
    Skip,
}

/// How a number becomes one in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scale {
    /// It is.
    Same,
    /// Divided by this.
    Divide(f64),
    /// Multiplied by this.
    Multiply(f64),
}

/// What a row calls its tube and section; an empty cell is no name.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Names<'a> {
    /// The tube's.
    pub tube: Option<&'a str>,
    /// The section's.
    pub section: Option<&'a str>,
}

/// Rows one after the other that are plain and of one tube and section.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run<'a> {
    /// How many, each a line; at most [`MOST`].
    pub rows: usize,
    /// The byte after the last.
    pub end: usize,
    /// What they are called.
    pub names: Names<'a>,
}

/// Reads rows of which each cell is a plain number or a plain name: where cells end is
/// found for many rows at a time, then each column is read from top to bottom.
#[derive(Debug)]
pub struct Rows<'a> {
    text: &'a str,
    cells: Vec<Cell>,
    mark: u8,
    ends: Ends<'a>,
    /// [`MOST`] places a cell.
    values: Vec<f64>,
}

impl<'a> Rows<'a> {
    /// Of rows with such cells; a `separator` that is a blank may stand several times.
    pub fn new(text: &'a str, cells: Vec<Cell>, separator: u8, mark: u8) -> Self {
        let values = vec![f64::NAN; MOST * cells.len()];
        Self { text, cells, mark, ends: Ends::new(text.as_bytes(), separator), values }
    }

    /// Reads from the row that starts at byte `at`.
    // Where this crate's own optimisation begins.
    #[inline(never)]
    pub fn run(&mut self, at: usize) -> Run<'a> {
        let none = Run { rows: 0, end: at, names: Names::default() };
        let text = self.text;
        let Some(table) = self.ends.table(at, self.cells.len(), MOST) else { return none };
        let (mut rows, mut names) = (table.rows(), Names::default());
        // Names first: where another begins, no number behind it is read for nothing.
        for (i, cell) in self.cells.iter().enumerate() {
            let place = match cell {
                Cell::Number(..) => continue,
                Cell::Skip => {
                    rows = table.unquoted(i, rows);
                    continue;
                }
                Cell::Tube => &mut names.tube,
                Cell::Section => &mut names.section,
            };
            rows = table.alike(i, rows);
            match table.cell(i, 0).and_then(|at| name_in(text, at)) {
                Some(found) => *place = found,
                None => return none,
            }
        }
        for ((i, cell), column) in self.cells.iter().enumerate().zip(self.values.chunks_exact_mut(MOST)) {
            if let Cell::Number(scale, most) = *cell {
                rows = match scale {
                    Scale::Same => table.numbers(i, rows, self.mark, most, |v| v, column),
                    Scale::Divide(by) => table.numbers(i, rows, self.mark, most, |v| v / by, column),
                    Scale::Multiply(by) => table.numbers(i, rows, self.mark, most, |v| v * by, column),
                };
            }
        }
        let end = table.after(rows);
        self.ends.pass(rows);
        Run { rows, end, names }
    }

    /// What the last run read of a cell, SI; NaN for one that is no number.
    pub fn column(&self, cell: usize, rows: usize) -> &[f64] {
        self.values.get(MOST * cell..).and_then(|column| column.get(..rows)).unwrap_or_default()
    }
}

/// The name in a cell; an empty one is none. `None` where it is quoted.
fn name_in(text: &str, cell: Range<usize>) -> Option<Option<&str>> {
    let cell = text.get(cell)?.trim();
    (!cell.contains('"')).then_some((!cell.is_empty()).then_some(cell))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const MILLI: Cell = Cell::Number(Scale::Divide(1e3), 5.0);

    /// The names of a run with its rows.
    type Found<'a> = (Names<'a>, Vec<Vec<f64>>);

    /// All runs of a text from its start, with their rows, and where the last one ends.
    fn runs<'a>(text: &'a str, cells: &[Cell], separator: u8) -> (Vec<Found<'a>>, usize) {
        let mut rows = Rows::new(text, cells.to_vec(), separator, b'.');
        let (mut out, mut at) = (Vec::new(), 0);
        loop {
            let run = rows.run(at);
            if run.rows == 0 {
                return (out, at);
            }
            let row = |r: usize| (0..cells.len()).map(|c| rows.column(c, run.rows)[r]).collect();
            out.push((run.names, (0..run.rows).map(row).collect()));
            at = run.end;
        }
    }

    #[test]
    fn rows_of_one_name_are_one_run() {
        let text = "A,1,2\nA,3,4\nB,5,6\r\nB,7,x\n";
        let (found, end) = runs(text, &[Cell::Section, Cell::Number(Scale::Same, 10.0), MILLI], b',');
        let named = |n| Names { tube: None, section: Some(n) };
        assert_eq!(found.iter().map(|f| (f.0, f.1.len())).collect::<Vec<_>>(), [(named("A"), 2), (named("B"), 1)]);
        assert_eq!((found[1].1[0][1], found[1].1[0][2]), (5.0, 6e-3));
        assert_eq!(&text[end..], "B,7,x\n");
    }

    #[test]
    fn what_is_not_plain_ends_the_run_where_it_starts() {
        let two = [Cell::Number(Scale::Same, 10.0), Cell::Skip];
        for (text, left) in [
            ("1,a\n2\n", "2\n"),
            ("1,a\n2,b,c\n", "2,b,c\n"),
            ("1,a\n,b\n", ",b\n"),
            ("1,a\n11,b\n", "11,b\n"),
            ("1,a\n2,\"b\"\n", "2,\"b\"\n"),
            ("1,a\n# 2,b\n", "# 2,b\n"),
            ("1,a\n\n2,b\n", "\n2,b\n"),
            ("1,a\n2,b", ""),
        ] {
            let (found, end) = runs(text, &two, b',');
            assert_eq!(&text[end..], left);
            assert_eq!(found[0].1[0][0], 1.0);
        }
        assert_eq!(runs("\"A\"\nB\n", &[Cell::Tube], b',').1, 0);
    }

    #[test]
    fn several_blanks_part_two_cells() {
        let text = "  1   2 \n 3 4\n";
        let (found, end) = runs(text, &[Cell::Number(Scale::Same, 10.0); 2], b' ');
        assert_eq!((found[0].1.clone(), end), (vec![vec![1.0, 2.0], vec![3.0, 4.0]], text.len()));
        let (found, end) = runs("1\n 2  3\n", &[Cell::Number(Scale::Same, 10.0); 2], b' ');
        assert_eq!((found.len(), end), (0, 0));
    }

    proptest! {
        #[test]
        fn rows_are_the_lines_cell_by_cell(
            lines in proptest::collection::vec(("[AB]", "-?[0-9]{1,4}", "-?[0-9]{1,2}\\.[0-9]{0,9}"), 1..1500), end in 0_usize..3,
        ) {
            let end = ["\n", "\r\n", "\r"][end];
            let text: String = lines.iter().flat_map(|(a, b, c)| [a, ",", b, ",", c, end]).collect();
            let (found, at) = runs(&text, &[Cell::Tube, Cell::Number(Scale::Same, 1e4), MILLI], b',');
            prop_assert_eq!(at, text.len());
            let rows: Vec<_> = found.iter().flat_map(|(n, rows)| rows.iter().map(move |r| (n.tube, r[1], r[2]))).collect();
            let told: Vec<_> = lines.iter().map(|(a, b, c)| {
                let number = |text: &str| text.parse::<f64>().ok();
                (Some(a.as_str()), number(b).unwrap_or(f64::NAN), number(c).unwrap_or(f64::NAN) / 1e3)
            }).collect();
            prop_assert_eq!(rows, told);
        }

        #[test]
        fn whatever_the_text_nothing_panics(text in "[-0-9.,;\"#A µ\r\n]{0,200}", blanks in proptest::bool::ANY) {
            runs(&text, &[Cell::Tube, MILLI, Cell::Skip], if blanks { b' ' } else { b',' });
        }
    }
}
