//! The quick way through rows of plain numbers, straight from bytes.

use super::number::{self, Mark};
use super::plan::Role;
use super::scan::{Scan, Separator};

/// What a row calls its tube and section.
pub(super) struct Names<'a> {
    pub(super) tube: Option<&'a str>,
    pub(super) section: Option<&'a str>,
}

/// Reads rows of which each cell is a plain number or a plain name.
pub(super) struct Quick {
    steps: Vec<Step>,
    separator: u8,
    mark: u8,
    blanks: bool,
}

#[derive(Clone, Copy)]
enum Step {
    /// Factor as a divisor or as a multiplier, as [`super::units::to_si`] takes it.
    Divide(f64, f64),
    Multiply(f64, f64),
    Tube,
    Section,
    Skip,
}

impl Quick {
    pub(super) fn new(roles: &[Role], separator: Separator, mark: Mark) -> Self {
        let step = |role: &Role| match *role {
            Role::Number { factor, most, .. } if factor < 1.0 => Step::Divide((1.0 / factor).round(), most),
            Role::Number { factor, most, .. } => Step::Multiply(factor, most),
            Role::Tube => Step::Tube,
            Role::Section => Step::Section,
            Role::Skip => Step::Skip,
        };
        Self {
            steps: roles.iter().map(step).collect(),
            separator: separator.byte(),
            mark: mark.byte(),
            blanks: separator == Separator::Blanks,
        }
    }

    /// Reads the next row into `values` and steps over it; `None`, with nothing
    /// changed but the values, where it is not plain.
    #[inline]
    pub(super) fn row<'a>(&self, text: &'a str, scan: &mut Scan<'a>, values: &mut [f64]) -> Option<Names<'a>> {
        let bytes = text.as_bytes();
        let mut at = scan.at;
        let mut names = Names { tube: None, section: None };
        let last = self.steps.len().checked_sub(1)?;
        for (i, (step, value)) in self.steps.iter().zip(values.iter_mut()).enumerate() {
            while bytes.get(at) == Some(&b' ') {
                at += 1;
            }
            if i == 0 && bytes.get(at) == Some(&b'#') {
                return None;
            }
            match *step {
                Step::Divide(by, most) => {
                    let (v, used) = number::fast(&bytes[at..], self.mark)?;
                    *value = v / by;
                    at += used;
                    if value.abs() > most {
                        return None;
                    }
                }
                Step::Multiply(by, most) => {
                    let (v, used) = number::fast(&bytes[at..], self.mark)?;
                    *value = v * by;
                    at += used;
                    if value.abs() > most {
                        return None;
                    }
                }
                Step::Tube | Step::Section | Step::Skip => {
                    let start = at;
                    while bytes
                        .get(at)
                        .is_some_and(|b| *b != self.separator && !matches!(b, b'\n' | b'\r' | b'"' | b'\t'))
                    {
                        at += 1;
                    }
                    let cell = text.get(start..at)?.trim();
                    let cell = (!cell.is_empty()).then_some(cell);
                    match step {
                        Step::Tube => names.tube = cell,
                        Step::Section => names.section = cell,
                        _ => {}
                    }
                }
            }
            let after = at;
            while bytes.get(at) == Some(&b' ') {
                at += 1;
            }
            if i < last {
                if self.blanks {
                    if at == after {
                        return None;
                    }
                } else if bytes.get(at) == Some(&self.separator) {
                    at += 1;
                } else {
                    return None;
                }
            }
        }
        match bytes.get(at) {
            None => {}
            Some(b'\n') => at += 1,
            Some(b'\r') => at += 1 + usize::from(bytes.get(at + 1) == Some(&b'\n')),
            Some(_) => return None,
        }
        // A row of nothing but blanks is for the careful way, as is the end.
        if at == scan.at {
            return None;
        }
        scan.at = at;
        scan.line += 1;
        Some(names)
    }
}
