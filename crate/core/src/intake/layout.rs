//! Where the heading of a table is, and how its lines are taken apart.

use std::borrow::Cow;

use super::error::{Mistake, Place};
use super::heading::{self, Column, Heading, Held};
use super::limits::{HEADING_WITHIN, LINES_BEFORE_HEADING, LONGEST_HEADING, LONGEST_NAME};
use super::number::{self, Mark};
use super::scan::{self, Scan, Separator};
use super::way::Way;

/// A place and what is wrong there.
pub(super) type Failure = (Place, Mistake);

/// The heading of a table.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    /// The heading's line, counted from 1; the first row's where there is none.
    pub(super) line: usize,
    /// Byte at which the rows start.
    pub(super) start: usize,
    /// Line at which the rows start.
    pub(super) first_line: usize,
    pub(super) separator: Separator,
    pub(super) headings: Vec<Heading>,
}

/// Finds the heading.
///
/// # Errors
/// There is none, or one with a quantity in a wrong unit.
pub(super) fn find(text: &str, way: &Way) -> Result<Layout, Failure> {
    if let Some(columns) = way.reading.columns() {
        return given(text, &columns, way.reading.heading_line(), way.reading.separator());
    }
    let (wanted, separator) = (way.reading.heading_line(), way.reading.separator());
    let mut before: Option<&str> = None;
    let mut numbers = None;
    for (line, start, content) in candidates(text) {
        if wanted.is_some_and(|wanted| line < wanted) {
            before = Some(content);
            continue;
        }
        if let Some((separator, headings)) = best(text, line, start, content, separator) {
            return finish(text, line, start, content, separator, headings, before);
        }
        if wanted.is_some() {
            return Err((Place::Line(line), Mistake::NotATable));
        }
        numbers = numbers.max(row_of_numbers(content));
        before = Some(content);
    }
    // A line too long for a heading may have been one.
    let long = scan::lines(text).take(LINES_BEFORE_HEADING).any(|l| l.2.len() > LONGEST_HEADING);
    Err(match numbers.filter(|_| !long) {
        Some(columns) => (Place::File, Mistake::NoHeading { columns }),
        None => (Place::File, Mistake::NotATable),
    })
}

/// Lines that can be the heading.
fn candidates(text: &str) -> impl Iterator<Item = (usize, usize, &str)> {
    scan::lines(text)
        .filter(|(_, _, content)| content.len() <= LONGEST_HEADING)
        .filter(|(_, _, content)| !content.trim().is_empty() && !content.trim_start().starts_with('#'))
        .take(LINES_BEFORE_HEADING)
        .scan(0, |seen, line| {
            *seen += line.2.len();
            (*seen <= HEADING_WITHIN).then_some(line)
        })
}

/// How many numbers a line consists of, if of at least two and nothing else.
fn row_of_numbers(content: &str) -> Option<usize> {
    let count = |separator| {
        let cells = scan::cells(content, separator);
        (cells.len() >= 2 && cells.iter().all(|c| is_number(c))).then_some(cells.len())
    };
    [Separator::Semicolon, Separator::Tab, Separator::Comma, Separator::Blanks].into_iter().find_map(count)
}

fn is_number(cell: &str) -> bool {
    number::parse(cell, Mark::Point).or_else(|| number::parse(cell, Mark::Comma)).is_some()
}

type Headings = Vec<Result<Heading, Mistake>>;

/// The separator and headings under which a line is a heading; of several the
/// one that names most.
fn best(
    text: &str,
    line: usize,
    start: usize,
    content: &str,
    only: Option<Separator>,
) -> Option<(Separator, Headings)> {
    let next = Scan::new(text, start + content.len(), line);
    let mut best: Option<(usize, Separator, Headings)> = None;
    for separator in allowed(only) {
        for cells in splits(content, separator) {
            if cells.len() < 2 {
                continue;
            }
            let headings: Headings = cells.iter().map(|c| heading::read(c)).collect();
            let worth = worth(&headings);
            let more = best.as_ref().is_none_or(|(most, ..)| worth > *most);
            if more && is_heading(&headings, separator, &next) {
                best = Some((worth, separator, headings));
            }
        }
    }
    best.map(|(_, separator, headings)| (separator, headings))
}

/// The ways to take a heading's line apart. Between blanks, units in brackets
/// belong to the name before, and names may be of several words.
fn splits(content: &str, separator: Separator) -> Vec<Vec<String>> {
    if separator != Separator::Blanks {
        return vec![scan::cells(content, separator)];
    }
    let wide: Vec<String> = content
        .split("  ")
        .flat_map(|p| p.split('\t'))
        .map(|p| p.trim().to_owned())
        .filter(|p| !p.is_empty())
        .collect();
    let mut glued: Vec<String> = Vec::new();
    let mut bracketed: Vec<String> = vec![String::new()];
    for word in content.split_whitespace() {
        let inside = glued
            .last()
            .is_some_and(|g| g.len() < LONGEST_NAME && g.matches(['[', '(']).count() > g.matches([']', ')']).count());
        match glued.last_mut() {
            Some(last) if inside || word.starts_with(['[', '(']) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => glued.push(word.to_owned()),
        }
        if let Some(last) = bracketed.last_mut() {
            last.push_str(word);
            last.push(' ');
        }
        if word.ends_with([']', ')']) {
            bracketed.push(String::new());
        }
    }
    bracketed.retain(|b| !b.trim().is_empty());
    vec![wide, glued, bracketed]
}

/// How many cells name a column that makes a sweep, or a curve.
fn worth(headings: &Headings) -> usize {
    let names = |h: &Result<Heading, Mistake>| match h {
        Ok(h) => h.column.makes_a_sweep() || h.held.is_some(),
        Err(_) => true,
    };
    headings.iter().filter(|h| names(h)).count()
}

/// Whether the line heads a table: a long one by what it names, a wide one by
/// its levels and the numbers below.
fn is_heading(headings: &Headings, separator: Separator, next: &Scan) -> bool {
    let named = |h: &Result<Heading, Mistake>| h.as_ref().map_or(true, |h| h.column.makes_a_sweep());
    let long = headings.iter().filter(|h| named(h)).count() >= 2;
    if long && separator != Separator::Blanks {
        return true;
    }
    let first = headings.iter().flatten().next();
    let begins = first.is_some_and(|h| h.held.is_none_or(|_| h.column != Column::Other) && h.section.is_none());
    let curves = headings.iter().skip(1).flatten().filter(|h| h.held.is_some()).count();
    let told = first.is_some_and(|h| h.column.partner().is_some());
    (long || begins && (curves >= 2 || curves == 1 && told)) && followed_by_numbers(headings.len(), separator, next)
}

/// Whether a row of as many numbers comes next, perhaps after a row of units.
fn followed_by_numbers(width: usize, separator: Separator, next: &Scan) -> bool {
    let mut next = next.clone();
    let mut cells = Vec::new();
    for _ in 0..2 {
        let Ok(Some(_)) = next.row(separator, &mut cells) else { return false };
        let number = |c: &Cow<str>| c.is_empty() || is_number(c);
        if cells.len() == width && cells.iter().all(number) {
            return true;
        }
        let unit = |c: &Cow<str>| c.is_empty() || heading::unit(c).is_some();
        if !cells.iter().all(unit) {
            return false;
        }
    }
    false
}

/// Takes in the rows around the heading: units below it, levels or sections above.
fn finish(
    text: &str,
    line: usize,
    start: usize,
    content: &str,
    separator: Separator,
    headings: Headings,
    before: Option<&str>,
) -> Result<Layout, Failure> {
    let mut read = Vec::with_capacity(headings.len());
    for (i, heading) in headings.into_iter().enumerate() {
        read.push(heading.map_err(|m| (Place::Cell(line, i + 1), m))?);
    }
    if let Some(above) = before {
        let above = scan::cells(above, separator);
        levels_above(&mut read, &above);
        sections_above(&mut read, &above);
    }
    let mut rows = after_line(text, start + content.len(), line);
    let mut cells = Vec::new();
    let mut below = rows.clone();
    if let Ok(Some(unit_line)) = below.row(separator, &mut cells)
        && units_below(&mut read, &cells).map_err(|(i, m)| (Place::Cell(unit_line, i), m))?
    {
        rows = below;
    }
    Ok(Layout { line, start: rows.at, first_line: rows.line, separator, headings: read })
}

/// The place after a line that ends at `end`.
fn after_line(text: &str, end: usize, line: usize) -> Scan<'_> {
    let ending = match text.as_bytes().get(end..) {
        Some([b'\r', b'\n', ..]) => 2,
        Some([b'\r' | b'\n', ..]) => 1,
        _ => return Scan::new(text, text.len(), line + 1),
    };
    Scan::new(text, end + ending, line + 1)
}

/// Puts the units of the row below into the headings; whether it is such a row.
fn units_below(headings: &mut [Heading], cells: &[Cow<str>]) -> Result<bool, (usize, Mistake)> {
    let unit = |c: &Cow<str>| c.is_empty() || matches!(c.as_ref(), "-" | "1" | "#") || heading::unit(c).is_some();
    if !cells.iter().all(unit) || !cells.iter().any(|c| heading::unit(c).is_some()) {
        return Ok(false);
    }
    for (i, (heading, cell)) in headings.iter_mut().zip(cells).enumerate() {
        let Some(unit) = heading::unit(cell).filter(|_| heading.unit.is_none()) else { continue };
        let with_unit = match (heading.column, heading.held) {
            (Column::Other, None) => continue,
            // A curve: its unit is that of the current.
            (Column::Other, Some(_)) => format!("Ia [{unit}]"),
            _ => format!("{} [{unit}]", heading.column.symbol()),
        };
        heading.unit = heading::read(&with_unit).map_err(|m| (i + 1, m))?.unit;
    }
    Ok(true)
}

/// Takes the held voltages from the row above where the heading only repeats a
/// current's name.
fn levels_above(headings: &mut [Heading], above: &[String]) {
    let repeated = |h: &Heading| h.column == Column::Ia && h.section.is_none() && h.held.is_none();
    if headings.iter().filter(|h| repeated(h)).count() < 2 {
        return;
    }
    let named = above.first().and_then(|c| heading::read(c).ok()).map(|h| h.column);
    for (heading, cell) in headings.iter_mut().zip(above) {
        let current = matches!(heading.column, Column::Ia | Column::Ig | Column::Ig2);
        if !current || heading.held.is_some() {
            continue;
        }
        heading.held = match heading::read(cell) {
            Ok(Heading { held: Some(held), .. }) => {
                Some(Held { column: held.column.or(named.filter(|c| c.partner().is_some())), ..held })
            }
            _ => None,
        };
    }
}

/// Takes the sections from the row above, each until the next: `section 1,,,section 2`.
fn sections_above(headings: &mut [Heading], above: &[String]) {
    let labels = above.iter().filter_map(|c| heading::section_label(c)).count();
    if labels < 2 || above.iter().any(|c| !c.is_empty() && heading::section_label(c).is_none()) {
        return;
    }
    let mut current = None;
    for (i, heading) in headings.iter_mut().enumerate() {
        current = above.get(i).and_then(|c| heading::section_label(c)).or(current);
        if heading.column != Column::Other || heading.held.is_some() {
            heading.section = heading.section.take().or_else(|| current.clone());
        }
    }
}

/// The layout under headings that were given by hand.
fn given(text: &str, columns: &[&str], line: Option<usize>, only: Option<Separator>) -> Result<Layout, Failure> {
    let mut headings = Vec::with_capacity(columns.len());
    for (i, column) in columns.iter().enumerate() {
        headings.push(match *column {
            "-" | "" => Heading::other(""),
            column => heading::read(column).map_err(|m| (Place::Cell(1, i + 1), m))?,
        });
    }
    let after = line.unwrap_or(0);
    for (line, start, content) in candidates(text).filter(|(line, ..)| *line > after) {
        let fits = |separator: &Separator| {
            let cells = scan::cells(content, *separator);
            let needed = headings.iter().zip(&cells).filter(|(h, _)| h.column != Column::Other);
            cells.len() == headings.len()
                && needed.clone().next().is_some()
                && needed.into_iter().all(|(h, c)| c.is_empty() || is_text(h.column) || is_number(c))
        };
        if let Some(separator) = allowed(only).find(fits) {
            return Ok(Layout { line, start, first_line: line, separator, headings });
        }
    }
    Err((Place::File, Mistake::Ragged { found: 0, expected: columns.len() }))
}

/// The separators to try: all, or the one that was decided.
fn allowed(only: Option<Separator>) -> impl Iterator<Item = Separator> {
    Separator::ALL.into_iter().filter(move |s| only.is_none_or(|only| only == *s))
}

fn is_text(column: Column) -> bool {
    matches!(column, Column::Tube | Column::Section)
}
