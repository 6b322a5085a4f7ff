//! What of a change of the readings a fit could not have taken up.

use nalgebra::{DMatrix, DVector};

use super::fit::FitOptions;
use super::lanes::{Pack, dot, packed};
use super::model::Params;
use super::normal::{Packed, derivatives, times};
use super::observed::Observed;
use super::problem::{Problem, inverse};

/// A change of the readings, with how it pulls at the free parameters and what they take of it.
pub struct Change {
    /// Times the weights, a list a section; empty for none.
    weighted: Vec<Vec<Pack>>,
    pull: DVector<f64>,
    taken: DVector<f64>,
    /// Product of what is left of it with itself.
    own: f64,
}

/// What the free parameters of a fit cannot take up of a change of the readings, in the
/// linear neighbourhood of its optimum.
pub struct Leftover<'a> {
    problem: Problem<'a>,
    covariance: DMatrix<f64>,
    /// The derivatives by each parameter that a section uses, times the weights: a list of
    /// columns a section.
    columns: Vec<Vec<Vec<Pack>>>,
}

impl<'a> Leftover<'a> {
    /// About the optimum `params`; `None` where the normal equations have no solution.
    pub fn new(data: &'a [Observed], params: &[Params], options: &FitOptions) -> Option<Self> {
        let mut problem = Problem::new(data, params, options);
        let mut normal = problem.room();
        problem.normal(&mut normal);
        let covariance = inverse(&normal.matrix)?;
        let columns = problem
            .points
            .iter()
            .zip(&problem.params)
            .zip(&problem.used)
            .map(|((points, params), used)| derivatives(points, params, used))
            .collect();
        Some(Self { problem, covariance, columns })
    }

    /// A change (A, a list a section; empty for none), ready for products.
    pub fn change(&self, change: &[Vec<f64>]) -> Change {
        let weigh = |(change, points): (&Vec<f64>, &Packed<'_>)| times(&packed(change, 0.0), &points.weight);
        let weighted: Vec<Vec<Pack>> = change.iter().zip(&self.problem.points).map(weigh).collect();
        let mut pull = DVector::zeros(self.problem.x.len());
        for ((change, columns), used) in weighted.iter().zip(&self.columns).zip(&self.problem.used) {
            for (column, &(_, slot)) in columns.iter().zip(used) {
                pull[slot] += dot(column, change);
            }
        }
        let mut change = Change { taken: &self.covariance * &pull, pull, weighted, own: 0.0 };
        change.own = self.product(&change, &change);
        change
    }

    /// χ² of what is left of a change.
    pub fn of(&self, change: &Change) -> f64 {
        change.own.max(0.0)
    }

    /// The same where another change may come in as well, at any positive size.
    pub fn beside(&self, change: &Change, other: &Change) -> f64 {
        let shared = self.product(change, other).max(0.0);
        if other.own > 0.0 { (change.own - shared * shared / other.own).max(0.0) } else { change.own.max(0.0) }
    }

    /// How many times a change the residuals hold (what the readings lack, A), and what χ² would
    /// lose if it came in at that size.
    pub fn best(&self, residuals: &Change, change: &Change) -> (f64, f64) {
        let (shared, own) = (self.product(residuals, change), change.own.max(f64::MIN_POSITIVE));
        (shared / own, shared * shared / own)
    }

    /// The values of the optimum, moved to where they go once a change comes in so many times.
    pub fn moved(&self, residuals: &Change, change: &Change, times: f64) -> Vec<Params> {
        let mut params = self.problem.params.clone();
        for (params, used) in params.iter_mut().zip(&self.problem.used) {
            for &(par, slot) in used {
                params.0[par] += residuals.taken[slot] - times * change.taken[slot];
            }
        }
        params
    }

    /// What χ² would lose at the optimum if one of some changes, or a mixture of them, came in
    /// at any size; `residuals` are what the readings lack there, A.
    pub fn gain(&self, residuals: &Change, changes: &[Change]) -> f64 {
        /// Changes that are alike to this share are one.
        const ALIKE: f64 = 1e-9;
        // At the optimum the residuals no longer pull at what is free.
        let pull = DVector::from_fn(changes.len(), |i, _| whole(residuals, &changes[i]));
        let mut own = DMatrix::from_fn(changes.len(), changes.len(), |i, j| self.product(&changes[i], &changes[j]));
        for i in 0..changes.len() {
            own[(i, i)] = own[(i, i)] * (1.0 + ALIKE) + f64::MIN_POSITIVE;
        }
        own.cholesky().map_or(f64::INFINITY, |c| pull.dot(&c.solve(&pull)))
    }

    /// χ² of what is left of a change in each section.
    pub fn by_section(&self, change: &Change) -> Vec<f64> {
        let of_section = |(s, values): (usize, &Vec<Pack>)| {
            let mut left = values.clone();
            for (column, &(_, slot)) in self.columns[s].iter().zip(&self.problem.used[s]) {
                let taken = change.taken[slot];
                for (l, by) in left.as_flattened_mut().iter_mut().zip(column.as_flattened()) {
                    *l -= by * taken;
                }
            }
            dot(&left, &left)
        };
        change.weighted.iter().enumerate().map(of_section).collect()
    }

    /// Product of what is left of two changes.
    fn product(&self, a: &Change, b: &Change) -> f64 {
        whole(a, b) - a.pull.dot(&b.taken)
    }
}

/// Product of two changes, whatever the free parameters take.
fn whole(a: &Change, b: &Change) -> f64 {
    a.weighted.iter().zip(&b.weighted).map(|(a, b)| dot(a, b)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Par, SpaceCharge, fit};

    #[test]
    fn a_change_in_the_readings_is_found_at_its_size_and_the_optimum_moves_back() {
        let law = SpaceCharge::MADE;
        let truth = Params::healthy(&law);
        let points = [100.0, 200.0, 300.0].into_iter().flat_map(|va| (0..41).map(move |k| (va, f64::from(k))));
        let points = points.map(|(va, k)| (va, -0.05 * va * (1.0 - k / 40.0)));
        // A current that grows with the plate voltage and comes in three times.
        let read = |va, vg| law.current(va, vg) + 3.0 * 1e-7 * va;
        let data = [Observed::made(points, read, |ia| 1e-6 + 0.005 * ia)];
        let options = FitOptions::to_the_end(Vec::new(), vec![vec![Par::LnP, Par::LnMu, Par::Phi, Par::X]]);
        let optimum = fit(&data, &[truth], &options).unwrap();
        let leftover = Leftover::new(&data, &optimum.params, &options).unwrap();
        let lacking: Vec<f64> = optimum.residuals[0].iter().zip(&data[0].sigma).map(|(r, sigma)| -r * sigma).collect();
        let lacking = leftover.change(&[lacking]);
        let change = leftover.change(&[data[0].va.iter().map(|va| 1e-7 * va).collect()]);
        let (times, gain) = leftover.best(&lacking, &change);
        assert!(
            (times - 3.0).abs() < 0.1 && (gain / optimum.chi2 - 1.0).abs() < 0.1,
            "{times} {gain} {}",
            optimum.chi2
        );
        let moved = leftover.moved(&lacking, &change, times);
        for par in [Par::LnMu, Par::Phi, Par::X] {
            let off = |params: &Params| (params.get(par) - truth.get(par)).abs();
            assert!(off(&moved[0]) < 0.2 * off(&optimum.params[0]), "{par:?}");
        }
    }
}
