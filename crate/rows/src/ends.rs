//! Where cells end, many bytes at a time.

#[cfg(not(target_feature = "simd128"))]
use crate::number::each;
use crate::table::Table;

/// Bytes that are looked at together.
const BLOCK: usize = 64;

/// Separators and control characters of a text, found as they are needed.
#[derive(Debug)]
pub(crate) struct Ends<'a> {
    bytes: &'a [u8],
    separator: u8,
    /// The byte before the first row that was not passed (one less than nought at the
    /// start of the text), then the ends that follow, in a row, from `next` on.
    found: Vec<u32>,
    next: usize,
    /// The byte up to which ends were looked for.
    looked: usize,
    /// How many ends a row has: one more than cells where two bytes end a line.
    stride: usize,
}

impl<'a> Ends<'a> {
    pub(crate) fn new(bytes: &'a [u8], separator: u8) -> Self {
        Self { bytes, separator, found: Vec::new(), next: 0, looked: 0, stride: 1 }
    }

    /// The rows from byte `at` on, as many as are known of at most `most`; `None` where no
    /// whole row is there.
    pub(crate) fn table(&mut self, at: usize, cells: usize, most: usize) -> Option<Table<'_>> {
        // One cell in a row is no table, and a text of four gigabytes no file.
        if cells < 2 || at >= self.bytes.len() || u32::try_from(self.bytes.len()).is_err() {
            return None;
        }
        let before = (at as u32).wrapping_sub(1);
        let left = self.found.len().saturating_sub(self.next + 1);
        let few = self.next > self.found.len() / 2 && self.looked < self.bytes.len();
        if self.found.get(self.next) != Some(&before) || left < self.stride || few {
            self.look(at, cells * most);
        }
        let ends = self.found.get(self.next..)?;
        let table = Table::new(self.bytes, ends, self.separator, cells, most)?;
        self.stride = table.stride();
        Some(table)
    }

    /// Goes on after so many rows of the table that was given out last.
    pub(crate) fn pass(&mut self, rows: usize) {
        self.next += rows * self.stride;
    }

    /// Finds the ends from byte `at` on, so many or a few more.
    fn look(&mut self, at: usize, wanted: usize) {
        self.found.clear();
        self.next = 0;
        self.found.push((at as u32).wrapping_sub(1));
        self.looked = at - at % BLOCK;
        let mut ends = self.block() & (u64::MAX << (at % BLOCK));
        loop {
            while ends != 0 {
                self.found.push((self.looked + ends.trailing_zeros() as usize) as u32);
                ends &= ends - 1;
            }
            self.looked += BLOCK;
            if self.looked >= self.bytes.len() || self.found.len() > wanted {
                break;
            }
            ends = self.block();
        }
        if self.looked >= self.bytes.len() && !self.bytes.ends_with(b"\n") && !self.bytes.ends_with(b"\r") {
            // The last row ends with the text.
            self.found.push(self.bytes.len() as u32);
        }
        if self.separator == b' ' {
            self.join_blanks();
        }
    }

    /// Leaves out the blanks that part no cells: at a row's start and end, and of several
    /// all but the first.
    fn join_blanks(&mut self) {
        let bytes = self.bytes;
        let blank = |at: usize| bytes.get(at) == Some(&b' ');
        let line_end = |at: usize| bytes.get(at).is_none_or(|b| matches!(b, b'\n' | b'\r'));
        let first = self.found[0];
        let mut trailing = 0;
        self.found.retain(|&end| {
            let at = end as usize;
            if end == first || !blank(at) {
                return true;
            }
            if at == first.wrapping_add(1) as usize || blank(at - 1) || line_end(at - 1) {
                return false;
            }
            // Looked for once in a run of blanks, which is then passed over.
            trailing = trailing.max(at);
            while blank(trailing) {
                trailing += 1;
            }
            !line_end(trailing)
        });
    }

    /// The ends in the block at `looked`.
    #[inline]
    fn block(&self) -> u64 {
        let rest = self.bytes.get(self.looked..).unwrap_or_default();
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

    #[cfg(not(target_feature = "simd128"))]
    #[inline(always)]
    fn of(&self, block: &[u8; BLOCK]) -> u64 {
        let mut ends = 0;
        for (i, word) in block.as_chunks::<8>().0.iter().enumerate() {
            let word = u64::from_le_bytes(*word);
            let low = word & each(0x7f);
            let other = word ^ each(self.separator);
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

    /// As above, sixteen bytes at a time by WebAssembly's vector instructions.
    #[cfg(target_feature = "simd128")]
    #[inline(always)]
    fn of(&self, block: &[u8; BLOCK]) -> u64 {
        use std::arch::wasm32::{i8x16_bitmask, u8x16_eq, u8x16_lt, u8x16_splat, u64x2, v128_or};
        let (blank, separator) = (u8x16_splat(0x20), u8x16_splat(self.separator));
        let mut ends = 0;
        for (i, half) in block.as_chunks::<16>().0.iter().enumerate() {
            let word = |at: usize| half[at..].first_chunk().map_or(0, |w| u64::from_le_bytes(*w));
            let bytes = u64x2(word(0), word(8));
            let found = i8x16_bitmask(v128_or(u8x16_lt(bytes, blank), u8x16_eq(bytes, separator)));
            ends |= u64::from(found) << (16 * i);
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
        fn ends_are_those_found_byte_by_byte(bytes in proptest::collection::vec(0_u8..=255, 1..300), from in 0_usize..300, pick in 0_usize..3) {
            let separator = b",;\t"[pick];
            let from = from.min(bytes.len() - 1);
            let mut ends = Ends::new(&bytes, separator);
            ends.look(from, usize::MAX);
            let is_end = |i: &usize| bytes[*i] < 0x20 || bytes[*i] == separator;
            let mut told: Vec<u32> = (from..bytes.len()).filter(is_end).map(|i| i as u32).collect();
            if !bytes.ends_with(b"\n") && !bytes.ends_with(b"\r") {
                told.push(bytes.len() as u32);
            }
            prop_assert_eq!(&ends.found[1..], &told[..]);
        }
    }
}
