//! Where linfa comes in: the components of a class, from the features that all have.

use linfa::DatasetBase;
use linfa::traits::Fit;
use linfa_clustering::GaussianMixtureModel;
use nalgebra::{DMatrix, DVector};
use ndarray::Array2;
use rand_xoshiro::Xoshiro256Plus;
use rand_xoshiro::rand_core::SeedableRng;
use sweepbook_core::kin::mixture::{Component, Mixture, Row};

/// Rounds and tolerance of linfa's fit.
const ROUNDS: u64 = 200;
const TOLERANCE: f64 = 1e-4;

/// Fits linfa's mixture to whole rows; `None` where it refuses. `ridge` is added to each
/// variance. What it fits is evaluated by our own code: the released one computes densities
/// without logarithms, and they are zero far from every component.
pub fn fit(rows: &[Vec<f64>], components: usize, ridge: f64, seed: u64) -> Option<Mixture> {
    let width = rows.first()?.len();
    let flat: Vec<f64> = rows.iter().flatten().copied().collect();
    let records = Array2::from_shape_vec((rows.len(), width), flat).ok()?;
    let found = GaussianMixtureModel::params_with_rng(components, Xoshiro256Plus::seed_from_u64(seed))
        .n_runs(1)
        .max_n_iterations(ROUNDS)
        .tolerance(TOLERANCE)
        .reg_covariance(ridge)
        .fit(&DatasetBase::from(records))
        .ok()?;
    let component = |k: usize| Component {
        weight: found.weights()[k],
        mean: DVector::from_fn(width, |j, _| found.means()[(k, j)]),
        covariance: DMatrix::from_fn(width, width, |i, j| found.covariances()[(k, i, j)]),
    };
    let mixture = Mixture { components: (0..components).map(component).collect() };
    let sound = |c: &Component| c.weight > 0.0 && c.mean.iter().chain(c.covariance.iter()).all(|v| v.is_finite());
    mixture.components.iter().all(sound).then_some(mixture)
}

/// Shares of the components in each row of a class. The features that every row has are
/// whole; with too few rows for more than one component, or where linfa refuses, all rows
/// are in one.
pub fn shares(rows: &[Row], components: usize, ridge: f64, seed: u64) -> Vec<Vec<f64>> {
    let one = || vec![vec![1.0]; rows.len()];
    let Some(first) = rows.first() else { return Vec::new() };
    let whole: Vec<usize> = (0..first.len()).filter(|&j| rows.iter().all(|r| r[j].is_some())).collect();
    if components < 2 || whole.is_empty() {
        return one();
    }
    let part: Vec<Vec<f64>> = rows.iter().map(|r| whole.iter().filter_map(|&j| r[j]).collect()).collect();
    let Some(mixture) = fit(&part, components, ridge, seed) else { return one() };
    part.iter().map(|r| mixture.responsibilities(&r.iter().copied().map(Some).collect::<Vec<_>>())).collect()
}
