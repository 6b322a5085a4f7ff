//! What a look at every byte of a text tells, in one pass.

/// Bytes that are counted together: no count of so many overflows a byte.
const CHUNK: usize = 128;

/// What is in some bytes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// A control byte that has no place in a text table: none of tab, line feed, form
    /// feed, carriage return and the end-of-file mark of old programs.
    pub odd: bool,
    /// A `#`.
    pub hash: bool,
    /// A `"`.
    pub quote: bool,
    /// A comma.
    pub comma: bool,
    /// Line feeds.
    pub feeds: usize,
    /// Carriage returns.
    pub returns: usize,
}

/// Whether a byte is such a control byte. Spelt out, so that whole chunks are compared at
/// a time.
#[inline(always)]
pub fn is_odd(b: u8) -> bool {
    ((b < 0x20) & (b != b'\t') & (b != b'\n') & (b != b'\r') & (b != 0x0c) & (b != 0x1a)) | (b == 0x7f)
}

/// Looks at every byte.
#[inline(never)]
pub fn tally(bytes: &[u8]) -> Tally {
    let mut all = Tally::default();
    let (chunks, rest) = bytes.as_chunks::<CHUNK>();
    for chunk in chunks {
        take(&mut all, chunk);
    }
    take(&mut all, rest);
    all
}

#[inline(always)]
fn take(all: &mut Tally, chunk: &[u8]) {
    let [mut odd, mut hash, mut quote, mut comma, mut feeds, mut returns] = [0_u8; 6];
    for &b in chunk {
        odd |= u8::from(is_odd(b));
        hash |= u8::from(b == b'#');
        quote |= u8::from(b == b'"');
        comma |= u8::from(b == b',');
        feeds += u8::from(b == b'\n');
        returns += u8::from(b == b'\r');
    }
    all.odd |= odd != 0;
    all.hash |= hash != 0;
    all.quote |= quote != 0;
    all.comma |= comma != 0;
    all.feeds += usize::from(feeds);
    all.returns += usize::from(returns);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_tally_is_what_is_there_byte_by_byte(bytes in proptest::collection::vec(prop_oneof![0_u8..=255, Just(b'\n'), Just(b'#')], 0..600)) {
            let count = |byte: u8| bytes.iter().filter(|b| **b == byte).count();
            let odd = bytes.iter().any(|b| (b.is_ascii_control()) && !b"\t\n\r\x0c\x1a".contains(b));
            prop_assert_eq!(tally(&bytes), Tally {
                odd, hash: count(b'#') > 0, quote: count(b'"') > 0, comma: count(b',') > 0,
                feeds: count(b'\n'), returns: count(b'\r'),
            });
        }
    }
}
