//! The normal equations of a section, and its weighted derivatives, in blocks of points that
//! stay in the nearest cache. Nothing is allocated here.

use super::lanes::Lanes;
use super::model::{AppliedLanes, PARS, Par, Params};

/// Fours of points in a block: fifteen columns of them are 10 kB.
const BLOCK: usize = 20;
/// The most columns: the derivatives, the residuals, and one that makes their number even.
const MOST: usize = PARS + 2;

/// One section's points, four by four.
#[derive(Debug, Clone)]
pub(super) struct Packed {
    pub(super) applied: Vec<AppliedLanes>,
    pub(super) ia: Vec<Lanes>,
    /// 1 over sigma; 0 where there is no point.
    pub(super) per_sigma: Vec<Lanes>,
    /// The same times the square root of the robust weight.
    pub(super) weight: Vec<Lanes>,
}

/// Products of the columns of one section: those of the derivatives, by place in `used`, and
/// after them the residuals. Only the lower half counts.
pub(super) type Sums = [[f64; MOST]; MOST];

/// Room for the columns of a block.
pub(super) type Columns = [[Lanes; BLOCK]; MOST];

/// Room for the columns of a block, to be used again and again.
pub(super) fn columns() -> Box<Columns> {
    Box::new([[Lanes::ZERO; BLOCK]; MOST])
}

/// The sums over a section's points; `used` are the parameters that are free in it. How far off
/// each is, predicted less read, is put into `off`.
pub(super) fn sums(
    points: &Packed,
    params: &Params,
    used: &[(usize, usize)],
    columns: &mut Columns,
    off: &mut Vec<Lanes>,
) -> Sums {
    off.clear();
    let ready = params.ready(|par| is_free(used, par));
    let mut out = [[0.0; MOST]; MOST];
    let mut by = [Lanes::ZERO; PARS];
    let mut along = None;
    let residual = used.len();
    for from in (0..points.ia.len()).step_by(BLOCK) {
        let block = from..(from + BLOCK).min(points.ia.len());
        let length = block.len();
        for (k, i) in block.enumerate() {
            let weight = points.weight[i];
            let predicted = ready.predict::<true>(&points.applied[i], &mut along, &mut by);
            for (column, &(par, _)) in columns.iter_mut().zip(used) {
                column[k] = by[par] * weight;
            }
            let short = predicted - points.ia[i];
            columns[residual][k] = short * weight;
            off.push(short);
        }
        // Two columns by two: each is fetched half as often. Where their number is odd, what the
        // one too many holds is not looked at.
        for a in (0..=residual).step_by(2) {
            for b in (0..=a).step_by(2) {
                let four = products(
                    &columns[a][..length],
                    &columns[a + 1][..length],
                    &columns[b][..length],
                    &columns[b + 1][..length],
                );
                for (row, sums) in out[a..].iter_mut().zip(four) {
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
fn products(a: &[Lanes], b: &[Lanes], c: &[Lanes], d: &[Lanes]) -> [[f64; 2]; 2] {
    let mut sums = [[Lanes::ZERO; 2]; 2];
    for (((a, b), c), d) in a.iter().zip(b).zip(c).zip(d) {
        sums[0][0] += *a * *c;
        sums[0][1] += *a * *d;
        sums[1][0] += *b * *c;
        sums[1][1] += *b * *d;
    }
    sums.map(|row| row.map(|sum| sum.reduce_add()))
}

/// How far off each point of a section is, predicted less read, A.
pub(super) fn off(points: &Packed, params: &Params) -> Vec<Lanes> {
    let (ready, mut along, mut unused) = (params.ready(|_| false), None, [Lanes::ZERO; PARS]);
    let off = |(at, ia): (&AppliedLanes, &Lanes)| ready.predict::<false>(at, &mut along, &mut unused) - *ia;
    points.applied.iter().zip(&points.ia).map(off).collect()
}

/// Sum of squares of a section.
pub(super) fn chi2(points: &Packed, params: &Params) -> f64 {
    let (ready, mut along, mut unused) = (params.ready(|_| false), None, [Lanes::ZERO; PARS]);
    let mut sum = Lanes::ZERO;
    for ((at, ia), weight) in points.applied.iter().zip(&points.ia).zip(&points.weight) {
        let r = (ready.predict::<false>(at, &mut along, &mut unused) - *ia) * *weight;
        sum += r * r;
    }
    sum.reduce_add()
}

/// The derivatives by each used parameter at all points, times the weights: a column each.
pub(super) fn derivatives(points: &Packed, params: &Params, used: &[(usize, usize)]) -> Vec<Vec<Lanes>> {
    let (ready, mut along, mut by) = (params.ready(|p| is_free(used, p)), None, [Lanes::ZERO; PARS]);
    let mut columns = vec![Vec::with_capacity(points.ia.len()); used.len()];
    for (applied, weight) in points.applied.iter().zip(&points.weight) {
        ready.predict::<true>(applied, &mut along, &mut by);
        for (column, &(par, _)) in columns.iter_mut().zip(used) {
            column.push(by[par] * *weight);
        }
    }
    columns
}

#[cfg(test)]
mod tests {
    use super::super::lanes::{dot, packed};
    use super::super::observed::Observed;
    use super::*;
    use crate::SpaceCharge;

    #[test]
    fn the_sums_are_those_of_the_columns_however_many_there_are() {
        let law = SpaceCharge { ln_p: -6.2, mu: 20.0, phi: 0.2, x: 1.4, w0: 0.05, w1: 0.006, kvb: 300.0, kvl: 0.0 };
        let params = Params::healthy(&law);
        let mut data = Observed::default();
        for k in 0..3 * BLOCK + 7 {
            let (va, vg) = (100.0 + k as f64, -0.05 * (k % 60) as f64);
            (data.va.push(va), data.vg.push(vg), data.time.push(k as f64), data.index.push(k));
            (data.ia.push(1.1 * law.current(va, vg)), data.sigma.push(1e-5));
        }
        let weight = packed(&vec![1e5; data.len()], 0.0);
        let points =
            Packed { applied: AppliedLanes::all(&data), ia: packed(&data.ia, 0.0), per_sigma: weight.clone(), weight };
        let free = [Par::LnP, Par::LnMu, Par::Phi, Par::X, Par::W0];
        for many in 1..=free.len() {
            let used: Vec<(usize, usize)> = free.iter().take(many).map(|p| (*p as usize, 0)).collect();
            let mut off = Vec::new();
            let sums = sums(&points, &params, &used, &mut columns(), &mut off);
            let mut columns = derivatives(&points, &params, &used);
            columns.push(off.iter().zip(&points.weight).map(|(o, w)| *o * *w).collect());
            for (a, b) in (0..=many).flat_map(|a| (0..=a).map(move |b| (a, b))) {
                let (ours, plain) = (sums[a][b], dot(&columns[a], &columns[b]));
                assert!((ours - plain).abs() <= 1e-9 * plain.abs(), "{many}: {a}, {b}: {ours} against {plain}");
            }
            assert!((chi2(&points, &params) / sums[many][many] - 1.0).abs() < 1e-12);
        }
    }
}
