//! A sheet of text: wrapped to a width, hanging indents, columns. Every text
//! that is put on it is cleaned of characters that would steer a terminal.

use anstyle::{AnsiColor, Style};
use sweepbook_core::intake::clean;
use textwrap::core::display_width;
use textwrap::{Options, WordSplitter};

/// Heads and names.
pub const BOLD: Style = Style::new().bold();
/// The four verdicts, from good to bad; the word always stands beside the colour.
pub const GREEN: Style = AnsiColor::Green.on_default().bold();
/// See [`GREEN`].
pub const YELLOW: Style = AnsiColor::Yellow.on_default().bold();
/// See [`GREEN`].
pub const CYAN: Style = AnsiColor::Cyan.on_default().bold();
/// See [`GREEN`].
pub const RED: Style = AnsiColor::Red.on_default().bold();

/// A blank that no line is broken at, written as an ordinary one in the end.
pub const TIE: char = '\u{a0}';

/// Largest share of the width that a column of a table but its last may take:
/// two such beside a verdict fit (by construction, no source).
const WIDEST_COLUMN: f64 = 0.3;
/// Narrowest room that a table's last column is put into; with less it goes
/// below its row, characters (by construction, no source).
const NARROWEST_LAST: usize = 24;
/// How much deeper than its row a last column stands that went below it.
const BELOW: usize = 2;
/// Units that stay on the line of their number.
const UNITS: [&str; 19] =
    ["%", "V", "mV", "kV", "A", "mA", "µA", "nA", "pA", "Ω", "kΩ", "MΩ", "GΩ", "S", "mS", "µS", "s", "W", "mW"];

/// The text so far.
pub struct Sheet {
    text: String,
    width: usize,
}

/// A cell of a table.
pub struct Cell {
    text: String,
    style: Style,
}

impl Cell {
    /// A cell in the ordinary style.
    pub fn plain(text: impl Into<String>) -> Self {
        Self::styled(text, Style::new())
    }

    /// A cell in a style of its own.
    pub fn styled(text: impl Into<String>, style: Style) -> Self {
        Self { text: text.into(), style }
    }
}

impl Sheet {
    /// An empty sheet, `width` characters wide.
    pub fn new(width: usize) -> Self {
        Self { text: String::new(), width }
    }

    /// The whole text.
    pub fn finish(self) -> String {
        self.text
    }

    /// The width, characters.
    pub fn width(&self) -> usize {
        self.width
    }

    /// An empty line.
    pub fn blank(&mut self) {
        self.text.push('\n');
    }

    /// A line across.
    pub fn rule(&mut self) {
        self.text.push_str(&"─".repeat(self.width));
        self.blank();
    }

    /// A heading.
    pub fn heading(&mut self, text: &str) {
        self.wrap("", "", text, BOLD);
    }

    /// A name at the left in bold and a word at the right end in its style; the
    /// word moves to a line of its own where both do not fit.
    pub fn ends(&mut self, left: &str, right: &Cell) {
        let (left, word) = (clean(left), clean(&right.text));
        let gap = self.width.saturating_sub(display_width(&left) + display_width(&word));
        if gap >= 2 {
            self.push_styled(&left, BOLD);
            self.text.push_str(&" ".repeat(gap));
        } else {
            self.heading(&left);
        }
        self.push_styled(&word, right.style);
        self.blank();
    }

    /// A paragraph behind an indent.
    pub fn paragraph(&mut self, indent: usize, text: &str) {
        let indent = " ".repeat(indent);
        self.wrap(&indent, &indent, text, Style::new());
    }

    /// A heading behind an indent, its further lines `hang` characters deeper.
    pub fn subheading(&mut self, indent: usize, hang: usize, text: &str) {
        self.wrap(&" ".repeat(indent), &" ".repeat(indent + hang), text, BOLD);
    }

    /// A label and the text that belongs to it, wrapped beside the label.
    pub fn entry(&mut self, indent: usize, label: &Cell, label_width: usize, text: &str) {
        let word = clean(&label.text);
        let pad = " ".repeat(label_width.saturating_sub(display_width(&word)).max(1));
        let first = format!("{}{1}{word}{1:#}{pad}", " ".repeat(indent), label.style);
        self.wrap(&first, &" ".repeat(indent + label_width), text, Style::new());
    }

    fn wrap(&mut self, first: &str, rest: &str, text: &str, style: Style) {
        let options = Options::new(self.width)
            .initial_indent(first)
            .subsequent_indent(rest)
            .word_splitter(WordSplitter::NoHyphenation)
            // A path that is cut could not be copied.
            .break_words(false);
        for (i, line) in textwrap::wrap(&with_units(&clean(text)), options).iter().enumerate() {
            let line = line.replace(TIE, " ");
            // The lead has a style of its own.
            let lead = if i == 0 { first } else { rest };
            match line.strip_prefix(lead) {
                Some(words) => {
                    self.text.push_str(lead);
                    self.push_styled(words, style);
                }
                None => self.text.push_str(&line),
            }
            self.blank();
        }
    }

    /// Rows in columns, each row with the same number of cells, the first row
    /// their heads. The last column takes the rest of the width and is wrapped;
    /// the others are cut where they are very wide.
    pub fn table(&mut self, indent: usize, rows: &[Vec<Cell>]) {
        let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
        let Some(last) = columns.checked_sub(1) else { return };
        let widest = (WIDEST_COLUMN * self.width as f64) as usize;
        let shown = |cell: &Cell| cut(&clean(&cell.text), widest);
        let widths: Vec<usize> = (0..last)
            .map(|i| rows.iter().filter_map(|r| r.get(i)).map(|c| display_width(&shown(c))).max().unwrap_or(0))
            .collect();
        let beside: usize = indent + widths.iter().map(|w| w + 2).sum::<usize>();
        let below = self.width < beside + NARROWEST_LAST;
        for (n, row) in rows.iter().enumerate() {
            let mut line = " ".repeat(indent);
            for (cell, width) in row.iter().zip(&widths) {
                let text = shown(cell);
                let pad = " ".repeat(width - display_width(&text) + 2);
                line.push_str(&format!("{0}{text}{0:#}{pad}", cell.style));
            }
            let Some(cell) = row.get(last) else { continue };
            if below {
                self.text.push_str(line.trim_end());
                self.blank();
                // The first row is the heads, and a column below its row needs none.
                if n > 0 {
                    let indent = " ".repeat(indent + BELOW);
                    self.wrap(&indent, &indent, &cell.text, cell.style);
                }
            } else {
                let rest = " ".repeat(beside);
                self.wrap(&line, &rest, &cell.text, cell.style);
            }
        }
    }

    fn push_styled(&mut self, text: &str, style: Style) {
        self.text.push_str(&format!("{style}{text}{style:#}"));
    }
}

/// The text, cut to `width` characters with an ellipsis.
fn cut(text: &str, width: usize) -> String {
    if display_width(text) <= width {
        return text.to_owned();
    }
    let mut shown = String::new();
    for c in text.chars() {
        shown.push(c);
        if display_width(&shown) >= width {
            shown.pop();
            break;
        }
    }
    shown.push('…');
    shown
}

/// The text with ordinary blanks tied together: a number stays with its unit.
pub fn tied(text: &str) -> String {
    text.replace(' ', &TIE.to_string())
}

/// The text with each number tied to the unit that follows it.
fn with_units(text: &str) -> String {
    let mut tied = String::with_capacity(text.len());
    let mut after_number = false;
    for (i, word) in text.split(' ').enumerate() {
        if i > 0 {
            let is_unit = UNITS.contains(&word.trim_end_matches([',', '.', ';', ':', ')']));
            tied.push(if after_number && is_unit { TIE } else { ' ' });
        }
        tied.push_str(word);
        after_number = word.ends_with(|c: char| c.is_ascii_digit());
    }
    tied
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_text_hangs_beside_its_label() {
        let mut sheet = Sheet::new(29);
        sheet.entry(2, &Cell::plain("Size"), 6, "a leak of about 4.70 MΩ, to the cathode");
        assert_eq!(sheet.finish(), "  Size  a leak of about\n        4.70 MΩ, to the\n        cathode\n");
    }

    #[test]
    fn names_and_words_at_both_ends_fill_the_width_or_share_it_out() {
        let mut sheet = Sheet::new(20);
        sheet.ends("B-17", &Cell::plain("REJECT"));
        sheet.ends("a very long name", &Cell::plain("REJECT"));
        let plain = anstream::adapter::strip_str(&sheet.finish()).to_string();
        assert_eq!(plain, "B-17          REJECT\na very long name\nREJECT\n");
    }

    #[test]
    fn columns_are_aligned_by_what_is_seen() {
        let mut sheet = Sheet::new(40);
        let row = |cells: [&str; 3]| cells.map(Cell::plain).into();
        sheet.table(1, &[row(["6Н8С", "accept", "–"]), row(["µ", "reject", "words that need more than one line"])]);
        assert_eq!(
            sheet.finish(),
            " 6Н8С  accept  –\n µ     reject  words that need more than\n               one line\n"
        );
    }

    #[test]
    fn a_wide_cell_is_cut_by_what_is_seen() {
        assert_eq!(cut("0123456789", 10), "0123456789");
        assert_eq!(cut("0123456789a", 10), "012345678…");
    }
}
