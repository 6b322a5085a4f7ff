//! The first rows of a table as they stand, for naming its columns by hand.

use serde::Serialize;

use super::error::{Place, Unread};
use super::heading::{self, Column, Heading};
use super::limits::{LARGEST_FILE, LINES_BEFORE_HEADING, LONGEST_HEADING};
use super::number::{self, Mark};
use super::reading::Reading;
use super::scan::{self, Separator};
use super::shown::clean;
use super::{Mistake, decode};

/// Rows that are shown (by construction: a screen's height).
const MOST_ROWS: usize = 10;
/// Columns that can be named by hand (by construction: more are no table for a hand).
const MOST_COLUMNS: usize = 40;

/// The beginning of a table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Look {
    /// The separator: comma, semicolon, tab or blanks.
    pub separator: &'static str,
    /// The line of the heading, 0 where there seems to be none.
    pub heading_line: usize,
    /// The first rows, comments left out.
    pub rows: Vec<LookRow>,
    /// What each column seems to be, or was said to be.
    pub columns: Vec<LookColumn>,
    /// What files of the same kind have in common.
    pub shape: String,
}

/// A row with its line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LookRow {
    /// Counted from 1.
    pub line: usize,
    /// Its cells.
    pub cells: Vec<String>,
}

/// What a column seems to be.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct LookColumn {
    /// The symbol of its quantity, such as `ia`; empty where it is left out.
    pub what: &'static str,
    /// The factor of its unit to SI, where it names one.
    pub factor: Option<f64>,
    /// Its section.
    pub section: Option<String>,
    /// The voltage held along it, V.
    pub held: Option<f64>,
}

/// Looks at the beginning of a table, with what was decided about it.
///
/// # Errors
/// The bytes are no text, or hold no row of at least two cells.
pub fn look(name: &str, bytes: &[u8], reading: &Reading) -> Result<Look, Unread> {
    let unread = |(place, mistake)| Unread::new(&clean(name), place, mistake);
    if bytes.len() > LARGEST_FILE {
        return Err(Unread::too_large(&clean(name), bytes.len() as u64));
    }
    let text = decode::text(bytes).map_err(unread)?;
    let text = text.surveyed().text;
    let lines: Vec<(usize, &str)> = scan::lines(text)
        .filter(|(_, _, line)| line.len() <= LONGEST_HEADING)
        .filter(|(_, _, line)| !line.trim().is_empty() && !line.trim_start().starts_with('#'))
        .map(|(number, _, line)| (number, line))
        .take(LINES_BEFORE_HEADING)
        .collect();
    let separator = reading.separator().or_else(|| separator(&lines)).unwrap_or(Separator::Comma);
    let rows: Vec<LookRow> = lines
        .iter()
        .map(|&(line, text)| LookRow { line, cells: scan::cells(text, separator).iter().map(|c| clean(c)).collect() })
        .collect();
    let width = usual_width(rows.iter().map(|row| row.cells.len())).0.min(MOST_COLUMNS);
    if width < 2 {
        return Err(unread((Place::File, Mistake::NotATable)));
    }
    // The heading is the row before the first that is as wide as most and all numbers.
    let first = rows.iter().position(|row| row.cells.len() >= width && row.cells.iter().all(|c| is_number(c)));
    let heading = first.and_then(|i| i.checked_sub(1)).filter(|i| rows[*i].cells.len() == width);
    let heading_line = reading.heading_line().unwrap_or(heading.map_or(0, |i| rows[i].line));
    let own = heading.map(|i| rows[i].cells.as_slice()).unwrap_or_default();
    let named: Vec<String> = match reading.columns() {
        Some(columns) => columns.into_iter().map(str::to_owned).collect(),
        None => own.to_vec(),
    };
    let columns = (0..width).map(|i| named.get(i).map_or_else(LookColumn::default, |name| column(name))).collect();
    let shape = if own.is_empty() { format!("{width}") } else { own.join("|").to_lowercase() };
    // From the heading on, or what stands before it would be all that is seen.
    let from = heading.unwrap_or(0).saturating_sub(2);
    let rows = rows.into_iter().skip(from).take(MOST_ROWS);
    let rows = rows.map(|row| LookRow { cells: row.cells.into_iter().take(width).collect(), ..row }).collect();
    Ok(Look { separator: separator.name(), heading_line, rows, columns, shape })
}

/// The separator under which most lines have the same number of cells.
fn separator(lines: &[(usize, &str)]) -> Option<Separator> {
    let order = [Separator::Semicolon, Separator::Tab, Separator::Comma, Separator::Blanks];
    let mut best = None;
    for separator in order {
        let (width, rows) = usual_width(lines.iter().map(|(_, line)| scan::cells(line, separator).len()));
        if width >= 2 && best.is_none_or(|(most, _)| rows > most) {
            best = Some((rows, separator));
        }
    }
    best.map(|(_, separator)| separator)
}

/// The width that most rows have, and how many have it.
fn usual_width(widths: impl Iterator<Item = usize>) -> (usize, usize) {
    let mut widths: Vec<usize> = widths.filter(|width| *width >= 2).collect();
    widths.sort_unstable();
    let counts = widths.chunk_by(|a, b| a == b).map(|alike| (alike[0], alike.len()));
    counts.max_by_key(|(width, rows)| (*rows, *width)).unwrap_or((0, 0))
}

fn is_number(cell: &str) -> bool {
    number::parse(cell, Mark::Point).or_else(|| number::parse(cell, Mark::Comma)).is_some()
}

fn column(name: &str) -> LookColumn {
    let Ok(Heading { column, unit, section, held, .. }) = heading::read(name) else { return LookColumn::default() };
    // A bare voltage heads a curve of plate current.
    let what = match column {
        Column::Other if held.is_some() => Column::Ia.symbol(),
        Column::Other => "",
        column => column.symbol(),
    };
    LookColumn { what, factor: unit, section, held: held.map(|h| h.volts) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(text: &str, options: &[&str]) -> Look {
        let mut reading = Reading::default();
        options.iter().for_each(|o| reading.set(o).unwrap());
        look("x.csv", text.as_bytes(), &reading).unwrap()
    }

    #[test]
    fn a_table_without_heading_is_shown_from_its_first_row() {
        let look = seen("# note: x\n100;-1;1,5\n100;-2;1,25\n", &[]);
        assert_eq!((look.separator, look.heading_line, look.columns.len()), ("semicolon", 0, 3));
        assert_eq!(look.rows[0], LookRow { line: 2, cells: ["100", "-1", "1,5"].map(String::from).to_vec() });
        assert!(look.columns.iter().all(|c| c.what.is_empty()));
        assert_eq!(look.shape, "3");
    }

    #[test]
    fn unknown_names_stay_open_and_known_ones_are_taken() {
        let look = seen("my bench\nVa [V],knob,Ia [mA] @ 100 V\n100,-1,1\n100,-2,2\n", &[]);
        assert_eq!((look.separator, look.heading_line), ("comma", 2));
        let whats: Vec<&str> = look.columns.iter().map(|c| c.what).collect();
        assert_eq!(whats, ["va", "", "ia"]);
        assert_eq!((look.columns[2].factor, look.columns[2].held), (Some(1e-3), Some(100.0)));
        assert_eq!(look.shape, "va [v]|knob|ia [ma] @ 100 v");
    }

    #[test]
    fn what_was_decided_comes_back() {
        let look = seen("a b c\n1 2 3\n4 5 6\n", &["columns=Va [V];-;Ia [uA] (2)", "heading=1", "separator=blanks"]);
        assert_eq!((look.columns[0].what, look.columns[1].what, look.heading_line), ("va", "", 1));
        assert_eq!((look.columns[2].what, look.columns[2].section.as_deref()), ("ia", Some("2")));
    }

    #[test]
    fn what_is_no_table_is_refused() {
        for text in ["", "rain\n", "\u{0}\u{1}"] {
            assert!(look("x", text.as_bytes(), &Reading::default()).is_err(), "{text:?}");
        }
    }
}
