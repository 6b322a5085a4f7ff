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

/// Powers of ten that a double holds exactly.
const TENS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20,
    1e21, 1e22,
];
/// Most digits of which every number is exact in a double.
const EXACT_DIGITS: usize = 15;

/// Reads the plain number that stands between two places of `bytes`; `None` for what
/// needs [`parse`]. Exact: numerator and power of ten are both exact in a double, so
/// that the one division rounds as IEEE 754 says (Clinger, "How to read floating point
/// numbers accurately", PLDI 1990, the fast case).
#[inline(always)]
pub(super) fn fast(bytes: &[u8], start: usize, end: usize, mark: u8) -> Option<f64> {
    let negative = bytes.get(start) == Some(&b'-');
    let start = start + usize::from(negative);
    let (digits, decimals) = match short(bytes, start, end, mark) {
        Some(found) => found,
        None => long(bytes.get(start..end)?, mark)?,
    };
    // Signed: processors have an instruction for that one.
    let value = digits.cast_signed() as f64;
    let value = if decimals == 0 { value } else { value / TENS.get(decimals)? };
    Some(if negative { -value } else { value })
}

/// Each byte of a word.
pub(super) const fn each(byte: u8) -> u64 {
    u64::from_le_bytes([byte; 8])
}

/// A number of up to eight bytes: its digits as one whole number, and how many of them
/// are decimals. All bytes are looked at at once. (The sum of eight digits by three
/// multiplications is a known device; from memory.)
#[inline(always)]
fn short(bytes: &[u8], start: usize, end: usize, mark: u8) -> Option<(u64, usize)> {
    let length = end.checked_sub(start).filter(|l| (1..=8).contains(l))?;
    let word = u64::from_le_bytes(*bytes.get(start..)?.first_chunk()?);
    // Each byte less '0', the last one at the top; noughts come in before the first.
    let values = (word ^ each(b'0')) << (64 - 8 * length);
    // The top bits of those that are no digits.
    let others = (((values & each(0x7f)) + each(0x76)) | values) & each(0x80);
    let (digits, decimals) = if others == 0 {
        (values, 0)
    } else {
        let at = others.trailing_zeros() & !7;
        let alone = others & (others - 1) == 0;
        if !alone || (values >> at) as u8 != mark ^ b'0' || length == 1 {
            return None;
        }
        // What is before the mark moves up over it.
        let before = values & ((1 << at) - 1);
        ((values >> at >> 8 << 8 << at) | before << 8, 7 - at as usize / 8)
    };
    let pairs = digits.wrapping_mul(10).wrapping_add(digits >> 8);
    let even = (pairs & 0x0000_00ff_0000_00ff).wrapping_mul(0x000f_4240_0000_0064);
    let odd = ((pairs >> 16) & 0x0000_00ff_0000_00ff).wrapping_mul(0x0000_2710_0000_0001);
    Some((even.wrapping_add(odd) >> 32, decimals))
}

/// As [`short`], byte by byte, for up to as many digits as are exact.
#[inline(never)]
fn long(cell: &[u8], mark: u8) -> Option<(u64, usize)> {
    let (mut digits, mut count, mut whole) = (0_u64, 0, None);
    for byte in cell {
        match byte.wrapping_sub(b'0') {
            digit @ 0..10 => {
                digits = digits.wrapping_mul(10).wrapping_add(u64::from(digit));
                count += 1;
            }
            _ if *byte == mark && whole.is_none() => whole = Some(count),
            _ => return None,
        }
    }
    (count > 0 && count <= EXACT_DIGITS).then_some((digits, count - whole.unwrap_or(count)))
}

/// Reads a whole cell; `None` where it is no number.
///
/// Thousands may be set apart by the other mark, a blank or an apostrophe, in
/// threes. A true minus sign instead of a hyphen comes out of word processors.
pub(super) fn parse(cell: &str, mark: Mark) -> Option<f64> {
    if let Some(value) = fast(cell.as_bytes(), 0, cell.len(), mark.byte()) {
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
        fn eight_bytes_at_once_are_the_bytes_one_by_one(
            cell in "[0-9.,;\n -]{0,9}", any in proptest::collection::vec(0_u8..=255, 0..9), behind in "[0-9.;]{8}",
        ) {
            for cell in [cell.as_bytes(), &any] {
                for mark in *b".," {
                    let whole = [b";", cell, behind.as_bytes()].concat();
                    let found = short(&whole, 1, 1 + cell.len(), mark);
                    if cell.len() <= 8 {
                        prop_assert_eq!(found, long(cell, mark));
                    } else {
                        prop_assert_eq!(found, None);
                    }
                }
            }
        }

        #[test]
        fn the_fast_way_is_the_exact_way(n in -999_999_999_i64..999_999_999, places in 0_usize..9) {
            let text = format!("{:.places$}", n as f64 / 10_f64.powi(places as i32));
            let value = fast(text.as_bytes(), 0, text.len(), b'.').unwrap();
            prop_assert_eq!(value.to_bits(), text.parse::<f64>().unwrap().to_bits());
            let comma = text.replace('.', ",");
            prop_assert_eq!(parse(&comma, Mark::Comma).unwrap().to_bits(), value.to_bits());
        }

        #[test]
        fn whatever_the_cell_nothing_panics(cell in ".{0,12}") {
            let _ = parse(&cell, Mark::Point);
            let _ = parse(&cell, Mark::Comma);
            Evidence::default().take(&cell);
        }
    }
}
