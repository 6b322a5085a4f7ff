//! The normal equations of a section, and its weighted derivatives, in blocks of points that
//! stay in the nearest cache: the sums are made in room that is used again and again.

use fearless_simd::{Simd, dispatch, f64x2, f64x4, prelude::*};

use super::applied::AppliedLanes;
use super::lanes::{BLOCK, Four, Lanes, Pack, WIDTH, blocks, fours, level, packed, total};
use super::model::{PARS, Par, Params};
use super::observed::Observed;
use super::predict::Way;

/// One section's points, pack by pack.
#[derive(Debug, Clone)]
pub(super) struct Packed<'a> {
    pub(super) data: &'a Observed,
    /// 1 over sigma; 0 where there is no point.
    pub(super) per_sigma: Vec<Pack>,
    /// The same times the square root of the robust weight.
    pub(super) weight: Vec<Pack>,
}

impl<'a> Packed<'a> {
    /// Points, before any weight is robust.
    pub(super) fn new(data: &'a Observed) -> Self {
        let mut per_sigma = packed(&data.sigma, f64::INFINITY);
        per_sigma.as_flattened_mut().iter_mut().for_each(|s| *s = 1.0 / *s);
        Self { data, weight: per_sigma.clone(), per_sigma }
    }
}

/// A column of a block: fifteen of them are 10 kB. Wide loads from it never reach into two lines of
/// the cache.
#[derive(Clone)]
#[repr(align(64))]
struct Column([Pack; BLOCK]);

/// Products of the columns of one section, with room to be used again and again: the derivatives, by
/// place in `used`, and after them the residuals.
pub(super) struct Sums {
    /// The columns of a block, and one more where that makes their number even.
    columns: Vec<Column>,
    /// The lower half of the products, row by row.
    products: Vec<f64>,
}

impl Sums {
    /// For sections in which at most so many parameters are free.
    pub(super) fn room(free: usize) -> Self {
        let side = Self::side(free);
        Self { columns: vec![Column([[0.0; WIDTH]; BLOCK]); side], products: vec![0.0; side * side] }
    }

    /// Columns where so many parameters are free.
    fn side(free: usize) -> usize {
        (free + 1).next_multiple_of(2)
    }

    /// Products of a column with those before it and itself, in this order, where so many
    /// parameters were free. What follows does not count.
    pub(super) fn row(&self, free: usize, column: usize) -> &[f64] {
        let side = Self::side(free);
        &self.products[column * side..][..side]
    }

    /// Makes the sums over a section's points; `used` are the parameters that are free in it. How far
    /// off each is, predicted less read, is put into `off`; what is missing from the last pack is as
    /// the last point.
    #[inline(always)]
    pub(super) fn make<S: Simd>(
        &mut self,
        simd: S,
        points: &Packed<'_>,
        params: &Params,
        used: &[(usize, usize)],
        way: &mut Way<S>,
        off: &mut Vec<Pack>,
    ) {
        off.clear();
        let residual = used.len();
        let side = Self::side(residual);
        let (columns, products) = (&mut self.columns[..side], &mut self.products[..side * side]);
        products.fill(0.0);
        let ready = params.ready(simd, |par| is_free(used, par));
        let mut by = [Lanes::splat(simd, 0.0); PARS];
        way.anew();
        for block in blocks(points.weight.len()) {
            let length = block.len();
            let at = |pack| AppliedLanes::at(simd, points.data, pack);
            ready.lead::<true, _, _>(block.clone(), at, way);
            for (k, i) in block.enumerate() {
                let at = at(i);
                let short = ready.predict::<true, _, _>(k, &at, way, &mut by) - at.reading;
                let weight = Lanes::load_array_ref(simd, &points.weight[i]);
                for (column, &(par, _)) in columns.iter_mut().zip(used) {
                    column.0[k] = (by[par] * weight).to_array();
                }
                columns[residual].0[k] = (short * weight).to_array();
                off.push(short.to_array());
            }
            // Two columns by two: each is fetched half as often. Where their number is odd, what the
            // one too many holds is not looked at.
            for a in (0..side).step_by(2) {
                for b in (0..=a).step_by(2) {
                    let tile = [a, a + 1, b, b + 1].map(|c| fours(&columns[c].0[..length]));
                    for (row, sums) in products[a * side..].chunks_mut(side).zip(two_by_two(simd, tile)) {
                        row[b] += sums[0];
                        row[b + 1] += sums[1];
                    }
                }
            }
        }
    }
}

fn is_free(used: &[(usize, usize)], par: Par) -> bool {
    used.iter().any(|(free, _)| *free == par as usize)
}

/// Products of two columns with two others.
#[inline(always)]
fn two_by_two<S: Simd>(simd: S, columns: [&[Four]; 4]) -> [[f64; 2]; 2] {
    if cfg!(target_arch = "wasm32") {
        // Both halves at once are more than fits into its registers.
        let half = |from| tile::<S, f64x2<S>>(simd, columns, from).map(|row| row.map(|sum| sum.to_array()));
        let (low, high) = (half(0), half(2));
        let sum = |a: usize, b: usize| total([low[a][b][0], low[a][b][1], high[a][b][0], high[a][b][1]]);
        [[sum(0, 0), sum(0, 1)], [sum(1, 0), sum(1, 1)]]
    } else {
        tile::<S, f64x4<S>>(simd, columns, 0).map(|row| row.map(|sum| total(sum.to_array())))
    }
}

/// The same of those of each four values that a vector from so many-th on holds.
#[inline(always)]
fn tile<S: Simd, V: SimdFloat<S, Element = f64>>(simd: S, [a, b, c, d]: [&[Four]; 4], from: usize) -> [[V; 2]; 2] {
    let load = |four: &Four| V::from_slice(simd, &four[from..from + V::LEN]);
    let mut sums = [[V::splat(simd, 0.0); 2]; 2];
    for (((a, b), c), d) in a.iter().zip(b).zip(c).zip(d) {
        let (a, b, c, d) = (load(a), load(b), load(c), load(d));
        sums[0][0] += a * c;
        sums[0][1] += a * d;
        sums[1][0] += b * c;
        sums[1][1] += b * d;
    }
    sums
}

/// Sum of squares of a section. How far off each point is, predicted less read, A, is put into
/// `off`, as [`Sums::make`] puts it.
pub(super) fn look(points: &Packed<'_>, params: &Params, off: &mut Vec<Pack>) -> f64 {
    params.read(points.data, off);
    let (there, missing) = off.as_flattened_mut().split_at_mut(points.data.len());
    there.iter_mut().zip(&points.data.ia).for_each(|(off, ia)| *off -= ia);
    if let Some(last) = points.data.ia.last() {
        missing.iter_mut().for_each(|off| *off -= last);
    }
    let mut squares: Four = [0.0; 4];
    for (off, weight) in fours(off).iter().zip(fours(&points.weight)) {
        for (sum, (off, weight)) in squares.iter_mut().zip(off.iter().zip(weight)) {
            let weighted = off * weight;
            *sum += weighted * weighted;
        }
    }
    total(squares)
}

/// Products of what stands at the same place.
pub(super) fn times(a: &[Pack], b: &[Pack]) -> Vec<Pack> {
    let mut out = a.to_vec();
    out.as_flattened_mut().iter_mut().zip(b.as_flattened()).for_each(|(a, b)| *a *= b);
    out
}

/// The derivatives by each used parameter at all points, times the weights: a column each.
pub(super) fn derivatives(points: &Packed<'_>, params: &Params, used: &[(usize, usize)]) -> Vec<Vec<Pack>> {
    let mut columns = vec![Vec::with_capacity(points.weight.len()); used.len()];
    dispatch!(level(), simd => {
        let ready = params.ready(simd, |par| is_free(used, par));
        let (mut way, mut by) = (Way::of_block(simd), [Lanes::splat(simd, 0.0); PARS]);
        let at = |pack| AppliedLanes::at(simd, points.data, pack);
        for block in blocks(points.weight.len()) {
            ready.lead::<true, _, _>(block.clone(), at, &mut way);
            for (k, i) in block.enumerate() {
                ready.predict::<true, _, _>(k, &at(i), &way, &mut by);
                for (column, &(par, _)) in columns.iter_mut().zip(used) {
                    column.push((by[par] * Lanes::load_array_ref(simd, &points.weight[i])).to_array());
                }
            }
        }
    });
    columns
}

#[cfg(test)]
mod tests {
    use super::super::lanes::dot;
    use super::*;
    use crate::SpaceCharge;

    #[test]
    fn the_sums_are_those_of_the_columns_however_many_there_are() {
        let law = SpaceCharge::MADE;
        let params = Params::healthy(&law);
        let points = (0..3 * BLOCK * WIDTH + 27).map(|k| (100.0 + k as f64, -0.05 * (k % 60) as f64));
        let data = Observed::made(points, |va, vg| 1.1 * law.current(va, vg), |_| 1e-5);
        let points = Packed::new(&data);
        let free = [Par::LnP, Par::LnMu, Par::Phi, Par::X, Par::W0];
        let mut sums = Sums::room(free.len());
        for many in 1..=free.len() {
            let used: Vec<(usize, usize)> = free.iter().take(many).map(|p| (*p as usize, 0)).collect();
            let mut off = Vec::new();
            dispatch!(level(), simd => sums.make(simd, &points, &params, &used, &mut Way::of_block(simd), &mut off));
            let mut columns = derivatives(&points, &params, &used);
            columns.push(times(&off, &points.weight));
            for (a, b) in (0..=many).flat_map(|a| (0..=a).map(move |b| (a, b))) {
                let (ours, plain) = (sums.row(many, a)[b], dot(&columns[a], &columns[b]));
                assert!((ours - plain).abs() <= 1e-9 * plain.abs(), "{many}: {a}, {b}: {ours} against {plain}");
            }
            let mut again = Vec::new();
            assert!((look(&points, &params, &mut again) / sums.row(many, many)[many] - 1.0).abs() < 1e-12);
            assert_eq!(again, off);
        }
    }
}
