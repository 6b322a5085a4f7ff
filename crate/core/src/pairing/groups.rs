//! Which go together.

use serde::Serialize;

use super::distance::{self, Mismatch, Weights, mismatch, profile};
use super::{Candidate, Region};
use crate::sorting::{sort, sort_by};

/// Largest group that is put together: an output stage of many tubes in parallel (by
/// construction).
pub const LARGEST_GROUP: usize = 16;
/// Distances are whole multiples of this share when they are matched: far finer than a
/// sweep repeats (by construction).
const UNIT: f64 = 1e-9;
/// Rounds of exchanges at most; each shortens the total, and a few are enough (by construction).
const MOST_ROUNDS: usize = 200;

/// One group.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Group {
    /// Its members, places among the candidates, rising.
    pub members: Vec<usize>,
    /// The largest distance between two of them, a fraction.
    pub distance: f64,
    /// The most that remains between two of them at the operating point.
    pub mismatch: Mismatch,
}

/// The groups, the best first.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Matched {
    /// The groups.
    pub groups: Vec<Group>,
    /// Candidates in none: places, rising.
    pub left: Vec<usize>,
    /// Sum of the distances within all groups.
    pub total: f64,
    /// No grouping has a smaller sum than this; for pairs it is the total.
    pub bound: f64,
}

/// Puts candidates together in groups of `size` (2 to [`LARGEST_GROUP`]), as many as there
/// are, with a small sum of distances within them: for pairs the least there is.
pub fn group(all: &[Candidate], region: &Region, weights: Weights, size: usize) -> Matched {
    let size = size.clamp(2, LARGEST_GROUP);
    let places = region.conducting(all);
    let n = all.len();
    let profiles: Vec<_> = all.iter().map(|c| profile(c, &places)).collect();
    let mut between = Table { n, values: vec![0; n * n] };
    for i in 0..n {
        for j in 0..i {
            let d = (distance::between(&profiles[i], &profiles[j], weights) / UNIT).round() as i64;
            between.values[i * n + j] = d;
            between.values[j * n + i] = d;
        }
    }
    if n < size {
        return Matched { left: (0..n).collect(), ..Matched::default() };
    }
    let (groups, bound) = if size == 2 {
        let pairs = pairs(&between);
        let total = total(&between, &pairs);
        (pairs, total)
    } else {
        (larger(&between, size), bound(&between, size))
    };
    let at = region.operating();
    let described = |members: &Vec<usize>| {
        let (mut most, mut rest) = (0, Mismatch::default());
        for (k, &i) in members.iter().enumerate() {
            for &j in &members[..k] {
                most = most.max(between.at(i, j));
                let m = mismatch(&all[i], &all[j], at);
                rest.current = rest.current.max(m.current);
                rest.transconductance = rest.transconductance.max(m.transconductance);
                rest.bias = rest.bias.max(m.bias);
            }
        }
        Group { members: members.clone(), distance: most as f64 * UNIT, mismatch: rest }
    };
    let mut taken = vec![false; n];
    groups.iter().flatten().for_each(|&i| taken[i] = true);
    let mut matched = Matched {
        left: (0..n).filter(|&i| !taken[i]).collect(),
        total: total(&between, &groups) as f64 * UNIT,
        bound: bound as f64 * UNIT,
        groups: groups.iter().map(described).collect(),
    };
    sort_by(&mut matched.groups, |a, b| a.distance.total_cmp(&b.distance).then(a.members.cmp(&b.members)));
    matched
}

/// Distances between candidates, in [`UNIT`].
struct Table {
    n: usize,
    values: Vec<i64>,
}

impl Table {
    fn at(&self, i: usize, j: usize) -> i64 {
        self.values[i * self.n + j]
    }

    /// Sum of the distances of one to several.
    fn to(&self, i: usize, others: &[usize]) -> i64 {
        others.iter().map(|&j| self.at(i, j)).sum()
    }
}

fn total(between: &Table, groups: &[Vec<usize>]) -> i64 {
    groups.iter().map(|g| g.iter().map(|&i| between.to(i, g)).sum::<i64>() / 2).sum()
}

/// The pairs with the least sum; of an odd number one is left, so that it is least too.
fn pairs(between: &Table) -> Vec<Vec<usize>> {
    let n = between.n;
    // Who is paired with the one more is left.
    let even = n + n % 2;
    let mut costs = vec![0_i64; even * even];
    for i in 0..n {
        costs[i * even..i * even + n].copy_from_slice(&between.values[i * n..(i + 1) * n]);
    }
    let mates = integer_blossom::min_weight_perfect_matching(&costs, even);
    (0..n).filter(|&i| i < mates[i] && mates[i] < n).map(|i| vec![i, mates[i]]).collect()
}

/// Groups of more than two: neighbours along a row, and pairs of pairs; each is improved by
/// exchanges, and the better one counts.
fn larger(between: &Table, size: usize) -> Vec<Vec<usize>> {
    let mut starts = vec![neighbours(between, size)];
    if size == 4 {
        starts.push(pairs_of_pairs(between));
    }
    let improved = starts.into_iter().map(|start| improved(between, start));
    let mut best = improved.min_by_key(|groups| total(between, groups)).unwrap_or_default();
    best.iter_mut().for_each(|g| g.sort_unstable());
    best
}

/// From one that is farthest out, always the next nearest: groups one after the other.
fn neighbours(between: &Table, size: usize) -> Vec<Vec<usize>> {
    let mut free: Vec<usize> = (0..between.n).collect();
    let mut groups = Vec::new();
    while free.len() >= size {
        let all = free.clone();
        let Some(at) = (0..free.len()).max_by_key(|&k| between.to(free[k], &all)) else { break };
        let mut group = vec![free.swap_remove(at)];
        while group.len() < size {
            let Some(at) = (0..free.len()).min_by_key(|&k| between.to(free[k], &group)) else { break };
            group.push(free.swap_remove(at));
        }
        groups.push(group);
    }
    groups
}

/// Exact pairs, and exact pairs of those.
fn pairs_of_pairs(between: &Table) -> Vec<Vec<usize>> {
    let halves = pairs(between);
    let n = halves.len();
    let apart = |a: &[usize], b: &[usize]| a.iter().map(|&i| between.to(i, b)).sum();
    let mut values = vec![0; n * n];
    for i in 0..n {
        for j in (0..n).filter(|j| *j != i) {
            values[i * n + j] = apart(&halves[i], &halves[j]);
        }
    }
    pairs(&Table { n, values }).into_iter().map(|p| p.iter().flat_map(|&h| halves[h].clone()).collect()).collect()
}

/// Exchanges members between groups, and with those in none, as long as one helps.
fn improved(between: &Table, mut groups: Vec<Vec<usize>>) -> Vec<Vec<usize>> {
    let mut taken = vec![false; between.n];
    groups.iter().flatten().for_each(|&i| taken[i] = true);
    let mut left: Vec<usize> = (0..between.n).filter(|&i| !taken[i]).collect();
    let gain = |g: &[usize], out: usize, into: usize| {
        // What `out` costs in its group, less what `into` would cost there.
        between.to(out, g) - (between.to(into, g) - between.at(into, out))
    };
    for _ in 0..MOST_ROUNDS {
        let mut better = false;
        for a in 0..groups.len() {
            for k in 0..groups[a].len() {
                for free in &mut left {
                    if gain(&groups[a], groups[a][k], *free) > 0 {
                        std::mem::swap(&mut groups[a][k], free);
                        better = true;
                    }
                }
                for b in a + 1..groups.len() {
                    for l in 0..groups[b].len() {
                        let (i, j) = (groups[a][k], groups[b][l]);
                        if gain(&groups[a], i, j) + gain(&groups[b], j, i) > 0 {
                            groups[a][k] = j;
                            groups[b][l] = i;
                            better = true;
                        }
                    }
                }
            }
        }
        if !better {
            break;
        }
    }
    groups
}

/// A sum that no grouping is below: each member is at least as far from its mates as from
/// its nearest, and of all candidates those that are nearest to others are in groups.
fn bound(between: &Table, size: usize) -> i64 {
    let n = between.n;
    let mut sums: Vec<i64> = (0..n)
        .map(|i| {
            let mut to: Vec<i64> = (0..n).filter(|j| *j != i).map(|j| between.at(i, j)).collect();
            sort(&mut to);
            to[..size - 1].iter().sum()
        })
        .collect();
    sort(&mut sums);
    // Each distance is counted from both its ends.
    sums[..n / size * size].iter().sum::<i64>() / 2
}
