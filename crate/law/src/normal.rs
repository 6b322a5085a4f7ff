//! The normal equations of a section, and its weighted derivatives, in blocks of points that
//! stay in the nearest cache. Nothing is allocated here.

use super::lanes::{Lanes, dot};
use super::model::{AppliedLanes, PARS, Params};

/// Fours of points in a block: twenty columns of them are 10 kB.
const BLOCK: usize = 16;

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

/// JᵀJ (lower half, by place in `used`), Jᵀr and rᵀr of one section.
pub(super) struct Sums {
    pub(super) matrix: [[f64; PARS]; PARS],
    pub(super) gradient: [f64; PARS],
    pub(super) chi2: f64,
}

/// Room for the columns of a block.
pub(super) type Columns = [[Lanes; BLOCK]; PARS + 1];

/// Room for the columns of a block, to be used again and again.
pub(super) fn columns() -> Box<Columns> {
    Box::new([[Lanes::ZERO; BLOCK]; PARS + 1])
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
    let ready = params.ready();
    let mut out = Sums { matrix: [[0.0; PARS]; PARS], gradient: [0.0; PARS], chi2: 0.0 };
    let mut by = [Lanes::ZERO; PARS];
    let residual = used.len();
    for from in (0..points.ia.len()).step_by(BLOCK) {
        let block = from..(from + BLOCK).min(points.ia.len());
        let length = block.len();
        for (k, i) in block.enumerate() {
            let weight = points.weight[i];
            let predicted = ready.predict::<true>(&points.applied[i], &mut by);
            for (column, &(par, _)) in columns.iter_mut().zip(used) {
                column[k] = by[par] * weight;
            }
            let short = predicted - points.ia[i];
            columns[residual][k] = short * weight;
            off.push(short);
        }
        let (free, rest) = columns.split_at(residual);
        let residual = &rest[0][..length];
        for (a, column) in free.iter().enumerate() {
            let column = &column[..length];
            for (sum, other) in out.matrix[a].iter_mut().zip(&free[..=a]) {
                *sum += dot(column, &other[..length]);
            }
            out.gradient[a] += dot(column, residual);
        }
        out.chi2 += dot(residual, residual);
    }
    out
}

/// How far off each point of a section is, predicted less read, A.
pub(super) fn off(points: &Packed, params: &Params) -> Vec<Lanes> {
    let (ready, mut unused) = (params.ready(), [Lanes::ZERO; PARS]);
    let off = |(at, ia): (&AppliedLanes, &Lanes)| ready.predict::<false>(at, &mut unused) - *ia;
    points.applied.iter().zip(&points.ia).map(off).collect()
}

/// Sum of squares of a section.
pub(super) fn chi2(points: &Packed, params: &Params) -> f64 {
    let (ready, mut unused) = (params.ready(), [Lanes::ZERO; PARS]);
    let mut sum = Lanes::ZERO;
    for ((at, ia), weight) in points.applied.iter().zip(&points.ia).zip(&points.weight) {
        let r = (ready.predict::<false>(at, &mut unused) - *ia) * *weight;
        sum += r * r;
    }
    sum.reduce_add()
}

/// The derivatives by each used parameter at all points, times the weights: a column each.
pub(super) fn derivatives(points: &Packed, params: &Params, used: &[(usize, usize)]) -> Vec<Vec<Lanes>> {
    let (ready, mut by) = (params.ready(), [Lanes::ZERO; PARS]);
    let mut columns = vec![Vec::with_capacity(points.ia.len()); used.len()];
    for (applied, weight) in points.applied.iter().zip(&points.weight) {
        ready.predict::<true>(applied, &mut by);
        for (column, &(par, _)) in columns.iter_mut().zip(used) {
            column.push(by[par] * *weight);
        }
    }
    columns
}
