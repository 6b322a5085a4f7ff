//! Tables in Markdown, columns padded so that they can be read as they stand.

use std::fmt::Write as _;

/// A table under construction.
#[derive(Debug, Clone, Default)]
pub struct Table {
    rows: Vec<Vec<String>>,
}

impl Table {
    /// A table with these headings.
    pub fn new<S: AsRef<str>>(headings: impl IntoIterator<Item = S>) -> Self {
        let mut table = Self::default();
        table.row(headings);
        table
    }

    /// Adds a row.
    pub fn row<S: AsRef<str>>(&mut self, cells: impl IntoIterator<Item = S>) {
        self.rows.push(cells.into_iter().map(|c| c.as_ref().to_owned()).collect());
    }

    /// The table as text, with an empty line after it.
    pub fn text(&self) -> String {
        let columns = self.rows.iter().map(Vec::len).max().unwrap_or(0);
        let width = |c: usize| self.rows.iter().filter_map(|r| r.get(c)).map(|s| s.chars().count()).max().unwrap_or(0);
        let widths: Vec<usize> = (0..columns).map(|c| width(c).max(3)).collect();
        let mut out = String::new();
        for (n, row) in self.rows.iter().enumerate() {
            for (c, width) in widths.iter().enumerate() {
                let cell = row.get(c).map_or("", String::as_str);
                let _ = write!(out, "| {cell}{} ", " ".repeat(width - cell.chars().count()));
            }
            out.push_str("|\n");
            if n == 0 {
                for width in &widths {
                    let _ = write!(out, "|{}", "-".repeat(width + 2));
                }
                out.push_str("|\n");
            }
        }
        out.push('\n');
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_as_wide_as_their_widest_cell() {
        let mut table = Table::new(["kind", "n"]);
        table.row(["gas – ions", "12"]);
        assert_eq!(table.text(), "| kind       | n   |\n|------------|-----|\n| gas – ions | 12  |\n\n");
    }
}
