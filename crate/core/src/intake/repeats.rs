//! Rows that are there twice.

use std::collections::HashSet;

use crate::sorting::sort;
use crate::sweep::Points;

/// Smallest share of a section's rows, one in this many, that repeat others
/// before the file counts as pasted twice. Two or three equal rows happen on a
/// coarse meter that visits a point twice; a pasted copy repeats a good part of
/// the table (judgement, no source).
const ONE_IN: usize = 10;
/// Rows from which a sample tells first whether it is worth looking: of a table
/// this long it holds over 1000 rows (by construction, no source).
const LONG_TABLE: usize = 65_536;
/// One row in so many is in the sample, a power of two.
const SAMPLE_ONE_IN: u64 = 64;

/// Drops rows that repeat an earlier row to the last digit in every column: a
/// file pasted twice, not a measurement repeated (that one has noise). Returns how
/// many were dropped.
pub(super) fn drop_repeats(points: &mut Points) -> usize {
    let columns: Vec<&Vec<f64>> = [Some(&points.va), Some(&points.vg), Some(&points.ia)]
        .into_iter()
        .chain([&points.ig, &points.vg2, &points.ig2, &points.ik].map(Option::as_ref))
        .chain([&points.vhk, &points.ihk, &points.time, &points.repeat].map(Option::as_ref))
        .flatten()
        .collect();
    if hardly_any(&columns, points.len()) {
        return 0;
    }
    // Zero is one value, whatever its sign.
    let key = |i: usize| -> Vec<u64> { columns.iter().map(|c| (c[i] + 0.0).to_bits()).collect() };
    let mut seen = HashSet::new();
    let keep: Vec<bool> = (0..points.len()).map(|i| seen.insert(key(i))).collect();
    let dropped = keep.iter().filter(|k| !**k).count();
    if dropped * ONE_IN < points.len().max(ONE_IN) {
        return 0;
    }
    let filter = |column: &mut Vec<f64>| {
        let mut it = keep.iter();
        column.retain(|_| it.next().copied().unwrap_or(true));
    };
    filter(&mut points.va);
    filter(&mut points.vg);
    filter(&mut points.ia);
    for column in points.optional_columns() {
        column.as_mut().map(filter);
    }
    dropped
}

/// Whether hardly a row repeats another: rows that are equal have the same digest, so no more
/// repeat another than digests do. Of a long table a sample is looked at, drawn by the rows'
/// contents, so that equal rows are in it together.
fn hardly_any(columns: &[&Vec<f64>], rows: usize) -> bool {
    let (one_in, luck) = if rows < LONG_TABLE { (1, 1) } else { (SAMPLE_ONE_IN, 2) };
    let bits = |column: &[f64], i: usize| (column[i] + 0.0).to_bits();
    let mut digests = Vec::with_capacity(rows / one_in as usize * luck);
    for i in 0..rows {
        // Grid voltage and plate current tell most rows apart; the top of a product
        // depends on all that is below it.
        let drawn = (bits(columns[1], i) ^ bits(columns[2], i).rotate_left(32)).wrapping_mul(ODD);
        if drawn >> 32 & (one_in - 1) == 0 {
            digests.push(columns.iter().fold(drawn, |h, c| ((h ^ (h >> 32)) ^ bits(c, i)).wrapping_mul(ODD)));
        }
    }
    let all = digests.len();
    sort(&mut digests);
    digests.dedup();
    // Of a sample half the share that counts, for the luck of the draw.
    (all - digests.len()) * luck * ONE_IN < all.max(ONE_IN)
}

/// 2⁶⁴ over the golden ratio: what is near each other comes far apart (Knuth, The Art of Computer
/// Programming 3, section 6.4; from memory).
const ODD: u64 = 0x9e37_79b9_7f4a_7c15;
