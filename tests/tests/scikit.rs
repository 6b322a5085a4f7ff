//! Mixtures and k-means against scikit-learn 1.9 on the same data from the same start, and
//! where the released linfa underflows.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use linfa::DatasetBase;
use linfa::traits::Fit;
use linfa_clustering::GaussianMixtureModel;
use nalgebra::{DMatrix, DVector};
use ndarray::Array2;
use rand_xoshiro::Xoshiro256Plus;
use rand_xoshiro::rand_core::SeedableRng;
use serde_json::{Value, json};
use sweepbook_core::kin::k_means::k_means;
use sweepbook_core::kin::mixture::{Component, Fitting, Mixture, Row};
use sweepbook_core::lesson::Dice;
use sweepbook_tests::ask_python;
use sweepbook_tests::rand_index::adjusted_rand;

const RIDGE: f64 = 1e-6;

/// Three heaps in three dimensions that touch.
fn rows() -> Vec<Vec<f64>> {
    let mut dice = Dice::new(11, "heaps");
    (0..300)
        .map(|i| {
            let at = [[0.0, 0.0, 0.0], [3.0, 1.0, -1.0], [0.0, 4.0, 2.0]][i % 3];
            let x = dice.normal();
            vec![at[0] + x, at[1] + 0.7 * x + 0.6 * dice.normal(), at[2] + 0.8 * dice.normal()]
        })
        .collect()
}

fn numbers(v: &Value) -> Vec<f64> {
    v.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

#[test]
fn mixture_k_means_and_rand_index_agree_with_scikit_learn() {
    let data = rows();
    let means = [[0.5, 0.5, 0.0], [2.0, 0.0, 0.0], [1.0, 3.0, 1.0]];
    let truth: Vec<usize> = (0..data.len()).map(|i| i % 3).collect();
    let groups = k_means(&data, 3, 20, 1).unwrap();
    let theirs = ask_python(
        "mixture.py",
        &json!({"rows": data, "means": means, "ridge": RIDGE, "groups": 5, "truth": truth, "other": groups.of}),
    )
    .unwrap();

    let component = |m: &[f64; 3]| Component {
        weight: 1.0 / 3.0,
        mean: DVector::from_column_slice(m),
        covariance: DMatrix::identity(3, 3),
    };
    let start = Mixture { components: means.iter().map(component).collect() };
    let whole: Vec<Row> = data.iter().map(|r| r.iter().copied().map(Some).collect()).collect();
    let how = Fitting { ridge: RIDGE, tied: false, rounds: 2000, settled: 1e-9 };
    let fit = Mixture::fit(&whole, start, how).unwrap();
    let likelihood = theirs["log_likelihood"].as_f64().unwrap();
    assert!((fit.log_likelihood / likelihood - 1.0).abs() < 1e-3, "{} against {likelihood}", fit.log_likelihood);
    for (row, theirs) in whole.iter().zip(theirs["responsibilities"].as_array().unwrap()) {
        for (a, b) in fit.mixture.responsibilities(row).iter().zip(numbers(theirs)) {
            assert!((a - b).abs() < 1e-3, "{a} against {b}");
        }
    }

    let ours = k_means(&data, 5, 20, 1).unwrap().inertia;
    let best = theirs["inertia"].as_f64().unwrap();
    assert!(ours <= 1.01 * best, "inertia {ours} against {best}");
    let index = adjusted_rand(&truth, &groups.of);
    assert!((index - theirs["rand"].as_f64().unwrap()).abs() < 1e-12);
}

#[test]
fn the_released_linfa_underflows_far_off_and_we_do_not() {
    let data = rows();
    let flat: Vec<f64> = data.iter().flatten().copied().collect();
    let records = Array2::from_shape_vec((data.len(), 3), flat).unwrap();
    let model = GaussianMixtureModel::params_with_rng(3, Xoshiro256Plus::seed_from_u64(1))
        .n_runs(1)
        .fit(&DatasetBase::from(records))
        .unwrap();
    let component = |k: usize| Component {
        weight: model.weights()[k],
        mean: DVector::from_fn(3, |j, _| model.means()[(k, j)]),
        covariance: DMatrix::from_fn(3, 3, |i, j| model.covariances()[(k, i, j)]),
    };
    let ours = Mixture { components: (0..3).map(component).collect() };
    // Near a heap both give the same shares; ten thousand spreads away the densities are zero
    // in floating point, and linfa's shares no longer sum to one.
    let at = |scale: f64| vec![3.0 * scale, scale, -scale];
    let own = |scale: f64| ours.responsibilities(&at(scale).into_iter().map(Some).collect::<Vec<_>>());
    let theirs = |scale: f64| model.predict_proba(&Array2::from_shape_vec((1, 3), at(scale)).unwrap()).row(0).to_vec();
    for (a, b) in own(1.0).iter().zip(theirs(1.0)) {
        assert!((a - b).abs() < 1e-9, "{a} against {b}");
    }
    assert!((own(1e4).iter().sum::<f64>() - 1.0).abs() < 1e-12);
    let sum: f64 = theirs(1e4).iter().sum();
    assert!(
        !(sum - 1.0).abs().lt(&1e-6),
        "the released linfa no longer underflows ({sum}): its own evaluation will do"
    );
}
