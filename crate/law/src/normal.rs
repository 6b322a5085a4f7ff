//! The normal equations of a section, and its weighted derivatives, in blocks of points that
//! stay in the nearest cache: the sums are made without allocating anything.

use fearless_simd::{Simd, dispatch, prelude::*};

use super::applied::AppliedFour;
use super::lanes::{Four, Lanes, WIDTH, dot, level, total};
use super::model::{PARS, Par, Params};

/// Fours of points in a block: fifteen columns of them are 10 kB.
const BLOCK: usize = 20;
/// The most columns: the derivatives, the residuals, and one that makes their number even.
const MOST: usize = PARS + 2;

/// One section's points, four by four.
#[derive(Debug, Clone)]
pub(super) struct Packed {
    pub(super) applied: Vec<AppliedFour>,
    pub(super) ia: Vec<Four>,
    /// 1 over sigma; 0 where there is no point.
    pub(super) per_sigma: Vec<Four>,
    /// The same times the square root of the robust weight.
    pub(super) weight: Vec<Four>,
}

/// Products of the columns of one section: those of the derivatives, by place in `used`, and
/// after them the residuals. Only the lower half counts.
pub(super) type Sums = [[f64; MOST]; MOST];

/// Room for the columns of a block, to be used again and again. Wide loads from it never
/// reach into two lines of the cache.
#[repr(align(64))]
pub(super) struct Columns([[Four; BLOCK]; MOST]);

/// Room for the columns of a block.
pub(super) fn columns() -> Box<Columns> {
    Box::new(Columns([[[0.0; WIDTH]; BLOCK]; MOST]))
}

/// The sums over a section's points; `used` are the parameters that are free in it. How far off
/// each is, predicted less read, is put into `off`.
#[inline(always)]
pub(super) fn sums<S: Simd>(
    simd: S,
    points: &Packed,
    params: &Params,
    used: &[(usize, usize)],
    columns: &mut Columns,
    off: &mut Vec<Four>,
) -> Sums {
    off.clear();
    let columns = &mut columns.0;
    let ready = params.ready(simd, |par| is_free(used, par));
    let mut out = [[0.0; MOST]; MOST];
    let mut by = [Lanes::splat(simd, 0.0); PARS];
    let mut along = None;
    let residual = used.len();
    for from in (0..points.ia.len()).step_by(BLOCK) {
        let block = from..(from + BLOCK).min(points.ia.len());
        let length = block.len();
        for (k, i) in block.enumerate() {
            let weight = Lanes::load_array_ref(simd, &points.weight[i]);
            let predicted = ready.predict::<true>(&points.applied[i], &mut along, &mut by);
            for (column, &(par, _)) in columns.iter_mut().zip(used) {
                column[k] = (by[par] * weight).to_array();
            }
            let short = predicted - Lanes::load_array_ref(simd, &points.ia[i]);
            columns[residual][k] = (short * weight).to_array();
            off.push(short.to_array());
        }
        // Two columns by two: each is fetched half as often. Where their number is odd, what the
        // one too many holds is not looked at.
        for a in (0..=residual).step_by(2) {
            for b in (0..=a).step_by(2) {
                let [x, y, z, w] = [a, a + 1, b, b + 1].map(|c| &columns[c][..length]);
                for (row, sums) in out[a..].iter_mut().zip(products(simd, x, y, z, w)) {
                    row[b] += sums[0];
                    row[b + 1] += sums[1];
                }
            }
        }
    }
    out
}

fn is_free(used: &[(usize, usize)], par: Par) -> bool {
    used.iter().any(|(free, _)| *free == par as usize)
}

/// Products of two columns with two others.
#[inline(always)]
fn products<S: Simd>(simd: S, a: &[Four], b: &[Four], c: &[Four], d: &[Four]) -> [[f64; 2]; 2] {
    let load = |four: &Four| Lanes::load_array_ref(simd, four);
    let mut sums = [[Lanes::splat(simd, 0.0); 2]; 2];
    for (((a, b), c), d) in a.iter().zip(b).zip(c).zip(d) {
        let (a, b, c, d) = (load(a), load(b), load(c), load(d));
        sums[0][0] += a * c;
        sums[0][1] += a * d;
        sums[1][0] += b * c;
        sums[1][1] += b * d;
    }
    sums.map(|row| row.map(|sum| total(sum.to_array())))
}

/// How far off each point of a section is, predicted less read, A.
pub(super) fn off(points: &Packed, params: &Params) -> Vec<Four> {
    let mut off = params.read(&points.applied);
    for (off, ia) in off.iter_mut().zip(&points.ia) {
        off.iter_mut().zip(ia).for_each(|(off, ia)| *off -= ia);
    }
    off
}

/// Sum of squares of a section, of which this is off.
pub(super) fn chi2(points: &Packed, off: &[Four]) -> f64 {
    let weighted = times(off, &points.weight);
    dot(&weighted, &weighted)
}

/// Products of what stands at the same place.
pub(super) fn times(a: &[Four], b: &[Four]) -> Vec<Four> {
    a.iter().zip(b).map(|(a, b)| std::array::from_fn(|i| a[i] * b[i])).collect()
}

/// The derivatives by each used parameter at all points, times the weights: a column each.
pub(super) fn derivatives(points: &Packed, params: &Params, used: &[(usize, usize)]) -> Vec<Vec<Four>> {
    let mut columns = vec![Vec::with_capacity(points.ia.len()); used.len()];
    dispatch!(level(), simd => {
        let (ready, mut along) = (params.ready(simd, |par| is_free(used, par)), None);
        let mut by = [Lanes::splat(simd, 0.0); PARS];
        for (applied, weight) in points.applied.iter().zip(&points.weight) {
            ready.predict::<true>(applied, &mut along, &mut by);
            for (column, &(par, _)) in columns.iter_mut().zip(used) {
                column.push((by[par] * Lanes::load_array_ref(simd, weight)).to_array());
            }
        }
    });
    columns
}

#[cfg(test)]
mod tests {
    use super::super::lanes::packed;
    use super::super::observed::Observed;
    use super::*;
    use crate::SpaceCharge;

    #[test]
    fn the_sums_are_those_of_the_columns_however_many_there_are() {
        let law = SpaceCharge::MADE;
        let params = Params::healthy(&law);
        let points = (0..3 * BLOCK + 7).map(|k| (100.0 + k as f64, -0.05 * (k % 60) as f64));
        let data = Observed::made(points, |va, vg| 1.1 * law.current(va, vg), |_| 1e-5);
        let weight = packed(&vec![1e5; data.len()], 0.0);
        let points =
            Packed { applied: AppliedFour::all(&data), ia: packed(&data.ia, 0.0), per_sigma: weight.clone(), weight };
        let free = [Par::LnP, Par::LnMu, Par::Phi, Par::X, Par::W0];
        for many in 1..=free.len() {
            let used: Vec<(usize, usize)> = free.iter().take(many).map(|p| (*p as usize, 0)).collect();
            let mut off = Vec::new();
            let sums = dispatch!(level(), simd => sums(simd, &points, &params, &used, &mut columns(), &mut off));
            let mut columns = derivatives(&points, &params, &used);
            columns.push(times(&off, &points.weight));
            for (a, b) in (0..=many).flat_map(|a| (0..=a).map(move |b| (a, b))) {
                let (ours, plain) = (sums[a][b], dot(&columns[a], &columns[b]));
                assert!((ours - plain).abs() <= 1e-9 * plain.abs(), "{many}: {a}, {b}: {ours} against {plain}");
            }
            assert!((chi2(&points, &off) / sums[many][many] - 1.0).abs() < 1e-12);
        }
    }
}
