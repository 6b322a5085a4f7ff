//! Numbers as people write them: with a point or a comma, with thousands set
//! apart or not; and what the cells of a table tell of which it is.

use super::shown::excerpt;

/// The decimal mark of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    Point,
    Comma,
}

impl Mark {
    pub(super) fn byte(self) -> u8 {
        match self {
            Self::Point => b'.',
            Self::Comma => b',',
        }
    }

    /// The mark that then sets thousands apart.
    fn other(self) -> char {
        match self {
            Self::Point => ',',
            Self::Comma => '.',
        }
    }
}

/// Reads a whole cell; `None` where it is no number.
///
/// Thousands may be set apart by the other mark, a blank or an apostrophe, in
/// threes. A true minus sign instead of a hyphen comes out of word processors.
pub(super) fn parse(cell: &str, mark: Mark) -> Option<f64> {
    if let Some(value) = sweepbook_rows::plain(cell.as_bytes(), 0, cell.len(), mark.byte()) {
        return Some(value);
    }
    let plain: String = cell.chars().map(|c| if c == '\u{2212}' { '-' } else { c }).collect();
    let unsigned = plain.trim_start_matches(['+', '-']);
    let sign = if plain.starts_with('-') { -1.0 } else { 1.0 };
    if plain.len() > unsigned.len() + 1 {
        return None;
    }
    let (whole, rest) = match unsigned.find([char::from(mark.byte()), 'e', 'E']) {
        Some(at) => unsigned.split_at(at),
        None => (unsigned, ""),
    };
    let whole = ungrouped(whole, mark)?;
    if rest.contains(mark.other()) {
        return None;
    }
    let value: f64 = format!("{whole}{}", rest.replacen(char::from(mark.byte()), ".", 1)).parse().ok()?;
    Some(sign * value)
}

/// The whole part without what sets its thousands apart.
fn ungrouped(whole: &str, mark: Mark) -> Option<String> {
    let apart = |c: char| c == mark.other() || matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '\'' | '’');
    if !whole.contains(apart) {
        return Some(whole.to_owned());
    }
    let groups: Vec<&str> = whole.split(apart).collect();
    let digits = |g: &str| g.bytes().all(|b| b.is_ascii_digit());
    let head = groups.first().is_some_and(|g| (1..=3).contains(&g.len()) && digits(g));
    (head && groups[1..].iter().all(|g| g.len() == 3 && digits(g))).then(|| groups.concat())
}

/// What the cells of a table tell of its decimal mark.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Evidence {
    /// A cell that only a decimal point explains.
    pub(super) point: Option<String>,
    /// A cell that only a decimal comma explains.
    pub(super) comma: Option<String>,
    /// A cell with a comma that either explains, as in `1,234`.
    pub(super) either: Option<String>,
}

impl Evidence {
    /// Takes in one cell.
    pub(super) fn take(&mut self, cell: &str) {
        if !cell.contains(',') && (self.point.is_some() || !cell.contains('.')) {
            return;
        }
        let slot = match (parse(cell, Mark::Point), parse(cell, Mark::Comma)) {
            (Some(_), None) => &mut self.point,
            (None, Some(_)) => &mut self.comma,
            (Some(a), Some(b)) if a != b && cell.contains(',') => {
                // No group of thousands begins with a nought.
                let leading = cell.trim_start_matches(['+', '-', '\u{2212}']).starts_with('0');
                if leading { &mut self.comma } else { &mut self.either }
            }
            _ => return,
        };
        slot.get_or_insert_with(|| excerpt(cell));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_as_people_write_them() {
        for (cell, point, comma) in [
            ("12", Some(12.0), Some(12.0)),
            ("-0.5", Some(-0.5), None),
            ("0,5", None, Some(0.5)),
            ("\u{2212}1,25", None, Some(-1.25)),
            ("+3", Some(3.0), Some(3.0)),
            ("1,234", Some(1234.0), Some(1.234)),
            ("1.234,5", None, Some(1234.5)),
            ("1,234.5", Some(1234.5), None),
            ("1 234.5", Some(1234.5), None),
            ("1'234", Some(1234.0), Some(1234.0)),
            ("1.2e-5", Some(1.2e-5), None),
            ("1,2E-5", None, Some(1.2e-5)),
            (".5", Some(0.5), None),
            ("12,34,567", None, None),
            ("--3", None, None),
            ("-", None, None),
            ("", None, None),
            ("1e", None, None),
            ("12V", None, None),
        ] {
            assert_eq!((parse(cell, Mark::Point), parse(cell, Mark::Comma)), (point, comma), "{cell}");
        }
    }

    #[test]
    fn cells_tell_the_mark_or_leave_it_open() {
        let told = |cells: &[&str]| {
            let mut e = Evidence::default();
            cells.iter().for_each(|c| e.take(c));
            (e.point.is_some(), e.comma.is_some(), e.either.is_some())
        };
        assert_eq!(told(&["1", "250"]), (false, false, false));
        assert_eq!(told(&["0,435"]), (false, true, false));
        assert_eq!(told(&["1,234"]), (false, false, true));
        assert_eq!(told(&["1,234", "-2,5"]), (false, true, true));
        assert_eq!(told(&["1,234", "2.5"]), (true, false, true));
        assert_eq!(told(&["1,234,567"]), (true, false, false));
    }

    proptest! {
        #[test]
        fn whatever_the_cell_nothing_panics(cell in ".{0,12}") {
            let _ = parse(&cell, Mark::Point);
            let _ = parse(&cell, Mark::Comma);
            Evidence::default().take(&cell);
        }
    }
}
