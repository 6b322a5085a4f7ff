//! How far two groupings agree.

use std::collections::BTreeMap;

/// The adjusted Rand index (Hubert and Arabie, J. Classification 2 (1985) 193): 1 for equal
/// groupings, about 0 for unrelated ones.
pub fn adjusted_rand(a: &[usize], b: &[usize]) -> f64 {
    let pairs = |n: usize| (n * n.saturating_sub(1)) as f64 / 2.0;
    let mut cells: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    let (mut rows, mut columns): (BTreeMap<usize, usize>, BTreeMap<usize, usize>) = Default::default();
    for (&x, &y) in a.iter().zip(b) {
        *cells.entry((x, y)).or_default() += 1;
        *rows.entry(x).or_default() += 1;
        *columns.entry(y).or_default() += 1;
    }
    let sum = |counts: &mut dyn Iterator<Item = usize>| counts.map(pairs).sum::<f64>();
    let (together, in_a, in_b) =
        (sum(&mut cells.values().copied()), sum(&mut rows.values().copied()), sum(&mut columns.values().copied()));
    let expected = in_a * in_b / pairs(a.len().min(b.len())).max(1.0);
    let most = 0.5 * (in_a + in_b);
    if (most - expected).abs() < 1e-12 { 1.0 } else { (together - expected) / (most - expected) }
}
