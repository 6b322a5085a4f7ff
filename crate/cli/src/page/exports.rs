//! The exports of a WebAssembly file, as far as needed to mend one mistake.
//!
//! wasm-opt 108 (of Debian 12 and Ubuntu 24.04) exports the first table wherever a
//! table is exported. The glue needs the second, which holds its references; with
//! the first in its place the page does not start (found here, by trying).
//! Layout of the file: WebAssembly Core Specification, section 5.5 (from memory).

/// Number of the export section.
const EXPORTS: u8 = 7;
/// Kind of an exported table.
const TABLE: u8 = 1;
/// Bytes before the first section: magic number and version.
const HEAD: usize = 8;

/// `after` with its exported tables those of `before`: tables keep their order
/// and number. `None` where one of the two is no such file.
pub(super) fn keep_tables(before: &[u8], mut after: Vec<u8>) -> Option<Vec<u8>> {
    let was = tables(before)?;
    for (name, at) in tables(&after)? {
        let number = was.iter().find(|(n, _)| *n == name).and_then(|(_, at)| before.get(*at))?;
        // A number below 128 is one byte.
        if *number >= 0x80 || after[at] >= 0x80 {
            return None;
        }
        after[at] = *number;
    }
    Some(after)
}

/// Names of the exported tables, and where in the file their numbers stand.
fn tables(wasm: &[u8]) -> Option<Vec<(Vec<u8>, usize)>> {
    let mut found = Vec::new();
    let mut at = HEAD;
    while at < wasm.len() {
        let section = *wasm.get(at)?;
        at += 1;
        let length = number(wasm, &mut at)?;
        let end = at.checked_add(length)?;
        if section == EXPORTS {
            for _ in 0..number(wasm, &mut at)? {
                let length = number(wasm, &mut at)?;
                let name = wasm.get(at..at.checked_add(length)?)?.to_vec();
                at += length;
                let kind = *wasm.get(at)?;
                at += 1;
                if kind == TABLE {
                    found.push((name, at));
                }
                number(wasm, &mut at)?;
            }
        }
        at = end;
    }
    Some(found)
}

/// An unsigned number of seven bits a byte, lowest first.
fn number(wasm: &[u8], at: &mut usize) -> Option<usize> {
    let mut value = 0;
    for shift in (0..32).step_by(7) {
        let byte = *wasm.get(*at)?;
        *at += 1;
        value |= usize::from(byte & 0x7f) << shift;
        if byte & 0x80 == 0 {
            return Some(value);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file with a section to skip, a function and two tables exported.
    fn file(first: u8, second: u8) -> Vec<u8> {
        let mut wasm = b"\0asm\x01\0\0\0".to_vec();
        wasm.extend([1, 3, 9, 9, 9]);
        wasm.extend([EXPORTS, 16, 3, 1, b'f', 0, 0x80, 0x01, 1, b'a', TABLE, first, 2, b'b', b'c', TABLE, second]);
        wasm.extend([10, 1, 7]);
        wasm
    }

    #[test]
    fn a_table_exported_for_another_is_put_right() {
        assert_eq!(keep_tables(&file(0, 1), file(0, 0)), Some(file(0, 1)));
        assert_eq!(keep_tables(&file(0, 1), file(0, 1)), Some(file(0, 1)));
    }

    #[test]
    fn what_is_no_such_file_is_refused() {
        let whole = file(0, 1);
        for length in HEAD + 1..whole.len() - 3 {
            let cut = whole[..length].to_vec();
            if let Some(kept) = keep_tables(&whole, cut.clone()) {
                assert_eq!(kept, cut, "a cut between sections changes nothing");
            }
        }
        assert_eq!(keep_tables(&whole, b"\0asm\x01\0\0\0\x07\xff\xff\xff\xff\xff\xff".to_vec()), None);
    }
}
