//! The quick way through rows of plain numbers, straight from bytes.

use super::ends::Ends;
use super::number::{self, Mark};
use super::plan::Role;
use super::scan::{Scan, Separator};

/// What a row calls its tube and section.
pub(super) struct Names<'a> {
    pub(super) tube: Option<&'a str>,
    pub(super) section: Option<&'a str>,
}

/// Reads rows of which each cell is a plain number or a plain name.
pub(super) struct Quick<'a> {
    text: &'a str,
    steps: Vec<Step>,
    separator: u8,
    mark: u8,
    blanks: bool,
    ends: Ends<'a>,
}

#[derive(Clone, Copy)]
enum Step {
    /// The most that it may be; before it the factor as a divisor or as a multiplier,
    /// as [`super::units::to_si`] takes it.
    Plain(f64),
    Divide(f64, f64),
    Multiply(f64, f64),
    Tube,
    Section,
    Skip,
}

impl<'a> Quick<'a> {
    pub(super) fn new(text: &'a str, roles: &[Role], separator: Separator, mark: Mark) -> Self {
        let step = |role: &Role| match *role {
            Role::Number { factor, most, .. } if factor < 1.0 => Step::Divide((1.0 / factor).round(), most),
            Role::Number { factor: 1.0, most, .. } => Step::Plain(most),
            Role::Number { factor, most, .. } => Step::Multiply(factor, most),
            Role::Tube => Step::Tube,
            Role::Section => Step::Section,
            Role::Skip => Step::Skip,
        };
        Self {
            text,
            steps: roles.iter().map(step).collect(),
            separator: separator.byte(),
            mark: mark.byte(),
            blanks: separator == Separator::Blanks,
            ends: Ends::new(text.as_bytes(), separator.byte()),
        }
    }

    /// Reads the next row into `values` and steps over it; `None`, with nothing
    /// changed but the values, where it is not plain.
    #[inline]
    pub(super) fn row(&mut self, scan: &mut Scan<'a>, values: &mut [f64]) -> Option<Names<'a>> {
        let bytes = self.text.as_bytes();
        let mut names = Names { tube: None, section: None };
        let last = self.steps.len().checked_sub(1)?;
        let mut ends = self.ends.from(scan.at);
        let mut start = past_blanks(bytes, scan.at);
        if bytes.get(start) == Some(&b'#') {
            return None;
        }
        for (i, (step, value)) in self.steps.iter().zip(values.iter_mut()).enumerate() {
            let mut end = ends.next();
            // Of several blanks the last one parts the cells.
            while self.blanks && end < start {
                end = ends.next();
            }
            match *step {
                Step::Plain(most) => *value = self.number(start, end, most, |v| v)?,
                Step::Divide(by, most) => *value = self.number(start, end, most, |v| v / by)?,
                Step::Multiply(by, most) => *value = self.number(start, end, most, |v| v * by)?,
                Step::Tube => names.tube = self.name(start, end)?,
                Step::Section => names.section = self.name(start, end)?,
                Step::Skip => {}
            }
            if i < last {
                if bytes.get(end) != Some(&self.separator) {
                    return None;
                }
                start = past_blanks(bytes, end + 1);
            } else {
                // A blank before the line's end is no cell.
                let mut at = end;
                while self.blanks && bytes.get(at) == Some(&b' ') {
                    at = ends.next();
                }
                match bytes.get(at) {
                    None => scan.at = at,
                    Some(b'\n') => scan.at = at + 1,
                    Some(b'\r') if bytes.get(at + 1) == Some(&b'\n') => scan.at = ends.next() + 1,
                    Some(b'\r') => scan.at = at + 1,
                    Some(_) => return None,
                }
            }
        }
        self.ends = ends;
        scan.line += 1;
        Some(names)
    }

    /// The number between two places in SI; `None` where it is not plain, or too large.
    #[inline(always)]
    fn number(&self, start: usize, end: usize, most: f64, to_si: impl Fn(f64) -> f64) -> Option<f64> {
        let bytes = self.text.as_bytes();
        let value = number::fast(bytes, start, end, self.mark).or_else(|| {
            let cell = bytes.get(start..end)?.trim_ascii_end();
            number::fast(bytes, start, start + cell.len(), self.mark)
        })?;
        Some(to_si(value)).filter(|v| v.abs() <= most)
    }

    /// The name between two places; an empty one is none.
    #[inline]
    fn name(&self, start: usize, end: usize) -> Option<Option<&'a str>> {
        let cell = self.text.get(start..end)?;
        let cell = if plain(cell) { cell } else { cell.trim() };
        if cell.as_bytes().contains(&b'"') {
            return None;
        }
        Some((!cell.is_empty()).then_some(cell))
    }
}

/// Whether a cell has no blanks around it, as most have.
#[inline]
fn plain(cell: &str) -> bool {
    let plain = |b: Option<&u8>| b.is_some_and(u8::is_ascii_graphic);
    plain(cell.as_bytes().first()) && plain(cell.as_bytes().last())
}

/// The first place from `at` on that is no blank.
#[inline(always)]
fn past_blanks(bytes: &[u8], mut at: usize) -> usize {
    while bytes.get(at) == Some(&b' ') {
        at += 1;
    }
    at
}
