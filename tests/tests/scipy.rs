//! The fit and the non-negative least squares against scipy (scipy.optimize
//! 1.17: least_squares, nnls), on the same data.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use nalgebra::{DMatrix, DVector};
use serde_json::{Value, json};
use sweepbook_core::law::{FitOptions, Observed, Par, Params, SpaceCharge, fit};
use sweepbook_core::numerics::nnls;
use sweepbook_tests::{ask_python, imperfect};
use sweepbook_timed::{PRIORS, Task};

/// Two sections of a twin triode like a 6SN7, with noise and rounding.
fn observed(factor: f64, seed: u64) -> Observed {
    let law = SpaceCharge {
        ln_p: (1.3e-3 * factor).ln(),
        mu: 20.6,
        phi: 0.15,
        x: 1.37,
        w0: 0.1,
        w1: 0.0065,
        kvb: 256.0,
        kvl: 0.0,
    };
    let mut o = Observed::default();
    for va in [100.0, 200.0, 300.0] {
        for k in 0..57 {
            let vg = -28.0 + 0.5 * f64::from(k);
            let ideal = law.current(va, vg);
            let read = imperfect(ideal, seed + o.index.len() as u64, 0.003, 1e-6);
            o.time.push(o.index.len() as f64);
            o.index.push(o.index.len());
            o.va.push(va);
            o.vg.push(vg);
            o.ia.push(read);
            o.sigma.push(1e-6f64.hypot(0.004 * read));
        }
    }
    o
}

#[test]
fn the_fit_finds_the_optimum_that_scipy_finds() {
    let data = [observed(1.0, 0), observed(0.93, 5000)];
    let begin =
        SpaceCharge { ln_p: 1e-3f64.ln(), mu: 18.0, phi: 0.2, x: 1.45, w0: 0.1, w1: 0.15 / 18.0, kvb: 300.0, kvl: 0.0 };
    let shared = vec![Par::X, Par::W0, Par::Spread, Par::Kvb];
    let own = vec![vec![Par::LnP, Par::LnMu, Par::Phi]; 2];
    let options = FitOptions { priors: PRIORS.to_vec(), ..FitOptions::to_the_end(shared, own) };
    let ours = fit(&data, &[Params::healthy(&begin); 2], &options).unwrap();

    let priors: serde_json::Map<String, Value> =
        Task::priors().into_iter().map(|(name, mean, sd)| (name.to_owned(), json!([mean, sd]))).collect();
    let sections: Vec<Value> =
        data.iter().map(|o| json!({"va": o.va, "vg": o.vg, "ia": o.ia, "sigma": o.sigma})).collect();
    let start = json!({"x": 1.45, "w0": 0.1, "spread": 0.15, "kvb": 300.0, "ln_p": 1e-3f64.ln(), "ln_mu": 18f64.ln(), "phi": 0.2});
    let theirs = ask_python("fit.py", &json!({"sections": sections, "priors": priors, "start": start})).unwrap();
    let theirs = |name: &str| theirs[name].as_f64().unwrap();

    let within = |name: &str, ours: f64, theirs: f64| {
        assert!((ours / theirs - 1.0).abs() < 0.005, "{name}: {ours} against scipy's {theirs}");
    };
    within("sum of squares", ours.chi2, theirs("chi2"));
    within("x", ours.params[0].get(Par::X), theirs("x"));
    within("spread", ours.params[0].get(Par::Spread), theirs("spread"));
    within("hold", ours.params[0].get(Par::Kvb), theirs("kvb"));
    for s in 0..2 {
        within("perveance", ours.params[s].get(Par::LnP).exp(), theirs(&format!("ln_p{s}")).exp());
        within("mu", ours.params[s].get(Par::LnMu).exp(), theirs(&format!("ln_mu{s}")).exp());
        // The contact potential may lie near zero: half a per cent of its error bar's scale, 1 V.
        let (phi, scipy) = (ours.params[s].get(Par::Phi), theirs(&format!("phi{s}")));
        assert!((phi - scipy).abs() < 0.005, "contact potential: {phi} against {scipy}");
    }
}

#[test]
fn non_negative_least_squares_agrees_with_scipy() {
    let mut problems = Vec::new();
    let mut ours = Vec::new();
    for case in 0..40u64 {
        let (rows, columns) = (6 + case as usize % 9, 2 + case as usize % 5);
        let entry = |k: u64| imperfect(1.0, 1000 * case + k, 2.0, 1e-9) - 1.0;
        let a = DMatrix::from_fn(rows, columns, |i, j| entry((i * columns + j) as u64));
        let b = DVector::from_fn(rows, |i, _| entry(700 + i as u64));
        let (x, norm) = nnls(&a, &b).unwrap();
        ours.push((x, norm));
        let a: Vec<Vec<f64>> = a.row_iter().map(|r| r.iter().copied().collect()).collect();
        problems.push(json!({"a": a, "b": b.as_slice()}));
    }
    let theirs = ask_python("nnls.py", &Value::Array(problems)).unwrap();
    for (case, (x, norm)) in ours.iter().enumerate() {
        let scipy = &theirs[case];
        assert!((norm - scipy["norm"].as_f64().unwrap()).abs() < 1e-9, "case {case}");
        for (j, value) in x.iter().enumerate() {
            assert!((value - scipy["x"][j].as_f64().unwrap()).abs() < 1e-8, "case {case}, coefficient {j}");
        }
    }
}

/// The operating characteristic of every plan of the sampling table against `scipy.stats.binom`.
#[test]
fn a_batch_is_taken_as_often_as_scipy_says() {
    use sweepbook_core::sampling::{AQLS, plan};
    let mut asked = Vec::new();
    let mut ours = Vec::new();
    for batch in [5, 12, 20, 40, 80, 140, 250, 400, 1000, 3000, 9000, 30_000, 140_000, 400_000, 600_000] {
        for plan in AQLS.iter().filter_map(|aql| plan(batch, *aql)) {
            for p in [0.001, 0.01, 0.05, 0.1, 0.3, 0.9] {
                asked.push(serde_json::json!({ "accept": plan.accept, "sample": plan.sample, "p": p }));
                ours.push(plan.taken(p));
            }
        }
    }
    let answer = ask_python("binomial.py", &serde_json::json!(asked)).unwrap();
    let theirs: Vec<f64> = answer.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect();
    assert_eq!(theirs.len(), ours.len());
    for (i, (a, b)) in ours.iter().zip(&theirs).enumerate() {
        assert!((a - b).abs() < 1e-10, "{}: {a} {b}", asked[i]);
    }
}
