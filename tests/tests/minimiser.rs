//! The project's own minimiser against the `levenberg-marquardt` crate (a port of
//! MINPACK's lmder) on the same residuals and derivatives.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, Owned};
use sweepbook_core::law::{FitOptions, Observed, PARS, Par, Params, SETTLED, SpaceCharge, fit};
use sweepbook_tests::imperfect;

const FREE: [Par; 5] = [Par::LnP, Par::LnMu, Par::Phi, Par::X, Par::Spread];

struct Minpack<'a> {
    data: &'a Observed,
    params: Params,
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Minpack<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, x: &DVector<f64>) {
        for (par, value) in FREE.into_iter().zip(x.iter()) {
            self.params.set(par, *value);
        }
    }

    fn params(&self) -> DVector<f64> {
        DVector::from_iterator(FREE.len(), FREE.into_iter().map(|p| self.params.get(p)))
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let d = self.data;
        let mut unused = [0.0; PARS];
        Some(DVector::from_fn(d.len(), |i, _| (self.params.predict(&d.at(i), &mut unused) - d.ia[i]) / d.sigma[i]))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let d = self.data;
        let mut by = [0.0; PARS];
        let mut out = DMatrix::zeros(d.len(), FREE.len());
        for i in 0..d.len() {
            self.params.predict(&d.at(i), &mut by);
            for (j, par) in FREE.into_iter().enumerate() {
                out[(i, j)] = by[par as usize] / d.sigma[i];
            }
        }
        Some(out)
    }
}

#[test]
fn both_minimisers_find_the_same_optimum() {
    let truth =
        SpaceCharge { ln_p: 2e-3f64.ln(), mu: 100.0, phi: 0.3, x: 1.42, w0: 0.05, w1: 0.0015, kvb: 300.0, kvl: 0.0 };
    let mut data = Observed::default();
    for va in [100.0, 200.0, 300.0] {
        for k in 0..51 {
            let vg = -5.0 + 0.1 * f64::from(k);
            let read = imperfect(truth.current(va, vg), data.index.len() as u64, 0.002, 1e-7);
            data.time.push(data.index.len() as f64);
            data.index.push(data.index.len());
            data.va.push(va);
            data.vg.push(vg);
            data.ia.push(read);
            data.sigma.push(1e-7f64.hypot(0.01 * read));
        }
    }
    let begin = SpaceCharge { ln_p: 1.2e-3f64.ln(), mu: 85.0, phi: 0.1, x: 1.5, w1: 0.0025, ..truth };
    let start = Params::healthy(&begin);

    let (minpack, report) = LevenbergMarquardt::new().minimize(Minpack { data: &data, params: start });
    assert!(report.termination.was_successful(), "{report:?}");
    let options = FitOptions::to_the_end(Vec::new(), vec![FREE.to_vec()]);
    let ours = fit(std::slice::from_ref(&data), &[start], &options).unwrap();

    let theirs = 2.0 * report.objective_function;
    assert!((ours.chi2 - theirs).abs() <= SETTLED, "{} against {theirs}", ours.chi2);
    for par in FREE {
        let (a, b) = (ours.params[0].get(par), minpack.params.get(par));
        assert!((a - b).abs() < 1e-3 * b.abs().max(0.1), "{par:?}: {a} against {b}");
    }
}
