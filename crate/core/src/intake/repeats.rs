//! Rows that are there twice.

use std::collections::HashSet;

use crate::sweep::Points;

/// Smallest share of a section's rows, one in this many, that repeat others
/// before the file counts as pasted twice. Two or three equal rows happen on a
/// coarse meter that visits a point twice; a pasted copy repeats a good part of
/// the table (judgement, no source).
const ONE_IN: usize = 10;

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
