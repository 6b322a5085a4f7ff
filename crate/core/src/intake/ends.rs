//! Where cells end, many bytes at a time: reading one number need not wait for the end
//! of the one before it.

use super::number::each;

/// Bytes that are looked at together.
const BLOCK: usize = 64;

/// Finds separators and control characters, one after the other.
#[derive(Clone, Copy)]
pub(super) struct Ends<'a> {
    bytes: &'a [u8],
    separator: u64,
    /// Where the block starts of which `left` has a bit for each end that was not yet
    /// given out.
    block: usize,
    left: u64,
}

impl<'a> Ends<'a> {
    pub(super) fn new(bytes: &'a [u8], separator: u8) -> Self {
        let mut ends = Self { bytes, separator: each(separator), block: 0, left: 0 };
        ends.left = ends.found();
        ends
    }

    /// The same, from `at` on; it does not go back.
    #[inline(always)]
    pub(super) fn from(mut self, at: usize) -> Self {
        // Nearly always it stands there already.
        if at >= self.block + BLOCK {
            self.block = at - at % BLOCK;
            self.left = self.found();
        }
        if at > self.block {
            self.left &= u64::MAX << (at - self.block);
        }
        self
    }

    /// The next end; the end of the text where there is none.
    #[inline(always)]
    pub(super) fn next(&mut self) -> usize {
        while self.left == 0 {
            if self.block + BLOCK >= self.bytes.len() {
                return self.bytes.len();
            }
            self.block += BLOCK;
            self.left = self.found();
        }
        let at = self.block + self.left.trailing_zeros() as usize;
        self.left &= self.left - 1;
        at
    }

    /// The ends in the block.
    #[inline]
    fn found(&self) -> u64 {
        let rest = self.bytes.get(self.block..).unwrap_or_default();
        match rest.first_chunk() {
            Some(block) => self.of(block),
            None => {
                // What stands in for the missing bytes is no end.
                let mut block = [b'0'; BLOCK];
                block[..rest.len()].copy_from_slice(rest);
                self.of(&block)
            }
        }
    }

    #[inline(always)]
    fn of(&self, block: &[u8; BLOCK]) -> u64 {
        let mut ends = 0;
        for (i, word) in block.as_chunks::<8>().0.iter().enumerate() {
            let word = u64::from_le_bytes(*word);
            let low = word & each(0x7f);
            let other = word ^ self.separator;
            // The top bit of each byte that is none of the two: neither below a blank ...
            let no_control = (low + each(0x60)) | word;
            // ... nor the separator.
            let no_separator = ((other & each(0x7f)) + each(0x7f)) | other;
            let found = !(no_control & no_separator) & each(0x80);
            // The top bits side by side; no two meet in the sum.
            ends |= (found >> 7).wrapping_mul(0x0102_0408_1020_4080) >> 56 << (8 * i);
        }
        ends
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn ends_are_those_found_byte_by_byte(bytes in proptest::collection::vec(0_u8..=255, 0..300), from in 0_usize..300, pick in 0_usize..4) {
            let separator = b",;\t "[pick];
            let from = from.min(bytes.len());
            let mut ends = Ends::new(&bytes, separator).from(from);
            for at in (from..bytes.len()).filter(|i| bytes[*i] < 0x20 || bytes[*i] == separator) {
                prop_assert_eq!(ends.next(), at);
            }
            prop_assert_eq!(ends.next(), bytes.len());
            prop_assert_eq!(ends.next(), bytes.len());
        }
    }
}
