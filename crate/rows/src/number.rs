//! Plain numbers: digits, a sign before them, a mark among them.

/// Powers of ten that a double holds exactly.
const TENS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20,
    1e21, 1e22,
];
/// Most digits of which every number is exact in a double.
const EXACT_DIGITS: usize = 15;

/// Reads the plain number that stands between two places of `bytes`; `None` for what
/// is none, or has more digits than are exact. Exact: numerator and power of ten are both exact in a double, so
/// that the one division rounds as IEEE 754 says (Clinger, "How to read floating point
/// numbers accurately", PLDI 1990, the fast case).
#[inline(always)]
pub fn plain(bytes: &[u8], start: usize, end: usize, mark: u8) -> Option<f64> {
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
pub(crate) const fn each(byte: u8) -> u64 {
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

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
        fn a_plain_number_is_the_exact_one(n in -999_999_999_i64..999_999_999, places in 0_usize..9) {
            let text = format!("{:.places$}", n as f64 / 10_f64.powi(places as i32));
            let value = plain(text.as_bytes(), 0, text.len(), b'.').unwrap();
            prop_assert_eq!(value.to_bits(), text.parse::<f64>().unwrap().to_bits());
            let comma = text.replace('.', ",");
            prop_assert_eq!(plain(comma.as_bytes(), 0, comma.len(), b',').unwrap().to_bits(), value.to_bits());
        }
    }
}
