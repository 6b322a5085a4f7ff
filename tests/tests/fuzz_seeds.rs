//! A short, bounded version of fuzzing: the seeds of the fuzz targets and changes of
//! them, through the targets' own entry functions (`tests/fuzz`).

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

#[path = "../fuzz/entry.rs"]
mod entry;

use std::path::PathBuf;

/// Changed files for each seed.
const CHANGES: u64 = 150;
/// Pieces that tables are made of, put in at random places.
const PIECES: [&[u8]; 14] =
    [b",", b";", b"\t", b"\n", b"\r", b"\"", b"#", b"1,234", b"-0", b"1e999", b"Va=100 V", b"Ia2 [mA]", b"\xb5", b"\0"];

fn seeds(target: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let folder = sweepbook_tests::here().join("fuzz/seeds").join(target);
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    paths.sort_unstable();
    assert!(!paths.is_empty());
    paths.into_iter().map(|p| (p.clone(), std::fs::read(p).unwrap())).collect()
}

/// A number that depends on nothing but where it is asked for (splitmix64).
fn scrambled(at: u64) -> usize {
    let a = at.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    let b = (a ^ (a >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let c = (b ^ (b >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    usize::try_from((c ^ (c >> 31)) >> 1).unwrap()
}

fn changed(seed: &[u8], number: u64) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for change in 0..1 + number % 4 {
        let draw = |k: u64| scrambled(number * 64 + change * 8 + k);
        let at = draw(0) % (bytes.len() + 1);
        match draw(1) % 5 {
            0 => bytes.truncate(at),
            1 if at < bytes.len() => bytes[at] = draw(2) as u8,
            2 => {
                let end = (at + draw(2) % 40).min(bytes.len());
                bytes.drain(at..end);
            }
            3 => {
                let end = (at + draw(2) % 40).min(bytes.len());
                let copy = bytes[at..end].to_vec();
                let to = draw(3) % (bytes.len() + 1);
                bytes.splice(to..to, copy);
            }
            _ => {
                let piece = PIECES[draw(2) % PIECES.len()];
                bytes.splice(at..at, piece.iter().copied());
            }
        }
    }
    bytes
}

fn replay(target: &str, entry: fn(&[u8])) {
    for (_, seed) in seeds(target) {
        entry(&seed);
        (0..CHANGES).for_each(|number| entry(&changed(&seed, number)));
    }
}

#[test]
fn text() {
    replay("text", entry::text);
}

#[test]
fn spreadsheet() {
    replay("spreadsheet", entry::spreadsheet);
}

#[test]
fn notebook() {
    replay("notebook", entry::notebook);
}
