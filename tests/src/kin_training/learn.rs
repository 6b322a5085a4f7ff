//! From examples to a model.

use std::collections::BTreeMap;

use nalgebra::{DMatrix, SymmetricEigen};
use sweepbook_core::kin::features::FEATURES;
use sweepbook_core::kin::mixture::{Row, shares};
use sweepbook_core::kin::model::{Class, Model, Part, SOUND, TWIN};
use sweepbook_core::numerics::median;

use super::linfa_start;
use super::rows::Example;

/// Faults that show in all sections at once.
pub const WHOLE: [&str; 9] = [
    "type-mismatch",
    "warm-up-drift",
    "current-limit",
    "zero-offset",
    "section-mismatch",
    "coarse-resolution",
    "short-range",
    "supply-sag",
    "oscillation",
];
/// Components of a fault, and of sound sections, which are of many kinds and benches.
const PARTS: (usize, usize) = (2, 8);
/// Rows that a component needs.
const ROWS: usize = 30;
/// Least spread of a component, in spreads of sound sections: a class that was seen in a
/// few dozen tubes is not known more closely.
const LEAST: f64 = 0.5;
/// Rounds of expectation and maximisation after linfa's.
const ROUNDS: usize = 25;
/// Weight of a class's own mean and spread in those of its components, rows.
const PRIOR: (f64, f64) = (1.0, 2.0);
/// Share by which correlations are shrunk towards none (Ledoit and Wolf's idea, the share
/// chosen on laws left out).
const SHRUNK: f64 = 0.3;
/// Least eigenvalue of the correlations before they are shrunk: pairs that are seldom seen
/// together do not make a proper matrix by themselves.
const EIGEN: f64 = 0.02;
/// Pairs below this number do not count in full.
const PAIRS: f64 = 50.0;
/// A deviation counts this much at most in a correlation, in spreads.
const MOST: f64 = 3.0;
/// Fewest rows by which a feature of a class is known.
const KNOWN: usize = 5;
/// Share of sound tubes before looking: as in the cross-check.
const SOUND_SHARE: f64 = 0.5;

/// Learns from the decidable ones: what a sweep cannot show teaches nothing.
pub fn learn(examples: &[&Example], seed: u64) -> Model {
    let mut classes: BTreeMap<&str, Vec<Row>> = BTreeMap::new();
    for e in examples.iter().filter(|e| e.decidable) {
        for (s, row) in e.rows.iter().enumerate() {
            let whole = WHOLE.contains(&e.kind.as_str());
            let name = match () {
                () if e.is_sound() => SOUND,
                () if whole || e.section == Some(s) => e.kind.as_str(),
                () => TWIN,
            };
            classes.entry(name).or_default().push(row.clone());
        }
    }
    let width = FEATURES.len();
    let (centre, scale) = yardstick(classes.get(SOUND).map_or(&[][..], Vec::as_slice), width);
    let mut products = DMatrix::zeros(width, width);
    let mut pairs = DMatrix::zeros(width, width);
    let mut learnt = Vec::new();
    for (name, rows) in &classes {
        let z: Vec<Row> = rows
            .iter()
            .map(|r| r.iter().enumerate().map(|(j, v)| v.map(|v| (v - centre[j]) / scale[j])).collect())
            .collect();
        let most = if [SOUND, TWIN].contains(name) { PARTS.1 } else { PARTS.0 };
        let begun = linfa_start::shares(&z, most.min(z.len() / ROWS).max(1), LEAST * LEAST, seed);
        let (parts, of) = refine(&z, begun);
        correlate(&z, &parts, &of, &mut products, &mut pairs);
        let hundredths = |v: &[f64]| v.iter().map(|v| (100.0 * v).round() as i32).collect();
        let part = |p: &Spread| Part {
            weight: (1e3 * p.weight).round().max(1.0) / 1e3,
            mean: hundredths(&p.mean),
            spread: hundredths(&p.spread),
        };
        learnt.push(Class {
            name: (*name).to_owned(),
            whole: WHOLE.contains(name),
            speaks: false,
            parts: parts.iter().map(part).collect(),
        });
    }
    Model {
        seed,
        temper: 1.0,
        sound: SOUND_SHARE,
        stretch: 1.0,
        features: FEATURES.iter().map(|f| f.name.to_owned()).collect(),
        centre,
        scale,
        correlations: correlations(products, &pairs),
        classes: learnt,
    }
}

/// Median and spread of each feature over sound sections, to four figures.
fn yardstick(rows: &[Row], width: usize) -> (Vec<f64>, Vec<f64>) {
    let figures = |v: f64| format!("{v:.3e}").parse().unwrap_or(v);
    let column = |j: usize| rows.iter().filter_map(move |r| r[j]).collect::<Vec<f64>>();
    let one = |j: usize| {
        let mut values = column(j);
        if values.is_empty() {
            return (0.0, 1.0);
        }
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let sd = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt();
        (figures(median(&mut values)), if sd > 1e-6 { figures(sd) } else { 1.0 })
    };
    (0..width).map(one).unzip()
}

/// A component while it is learnt.
struct Spread {
    weight: f64,
    mean: Vec<f64>,
    spread: Vec<f64>,
}

/// Goes on from linfa's components with all features, missing ones marginalised: under
/// independent features that is to leave them out.
fn refine(rows: &[Row], mut of: Vec<Vec<f64>>) -> (Vec<Spread>, Vec<Vec<f64>>) {
    let mut parts = maximise(rows, &of);
    for _ in 0..ROUNDS {
        let log = |row: &Row, p: &Spread| {
            let density: f64 = row
                .iter()
                .enumerate()
                .filter_map(|(j, v)| {
                    let z = ((*v)? - p.mean[j]) / p.spread[j];
                    Some(-0.5 * z * z - p.spread[j].ln())
                })
                .sum();
            p.weight.max(1e-9).ln() + density
        };
        of = rows.iter().map(|r| shares(&parts.iter().map(|p| log(r, p)).collect::<Vec<_>>())).collect();
        parts = maximise(rows, &of);
    }
    (parts, of)
}

fn maximise(rows: &[Row], of: &[Vec<f64>]) -> Vec<Spread> {
    let width = rows.first().map_or(0, Vec::len);
    let moments = |j: usize, k: Option<usize>| {
        let seen = rows.iter().zip(of).filter_map(|(r, s)| Some((r[j]?, k.map_or(1.0, |k| s[k]))));
        seen.fold((0.0, 0.0, 0.0), |(n, x, xx), (v, w)| (n + w, x + w * v, xx + w * v * v))
    };
    let own: Vec<(usize, f64, f64)> = (0..width)
        .map(|j| {
            let (n, x, xx) = moments(j, None);
            let mean = if n > 0.0 { x / n } else { 0.0 };
            (n as usize, mean, if n > 0.0 { (xx / n - mean * mean).max(0.0) } else { 1.0 })
        })
        .collect();
    (0..of.first().map_or(0, Vec::len))
        .map(|k| {
            let weight = of.iter().map(|s| s[k]).sum::<f64>() / rows.len().max(1) as f64;
            let one = |j: usize| {
                let (seen, mean, variance) = own[j];
                if seen <= KNOWN {
                    return (0.0, 1.0);
                }
                let (n, x, xx) = moments(j, Some(k));
                let middle = (x + PRIOR.0 * mean) / (n + PRIOR.0);
                let squares = (xx - 2.0 * middle * x + n * middle * middle).max(0.0);
                let spread = (squares + PRIOR.1 * variance) / (n + PRIOR.1) + LEAST * LEAST;
                (middle, spread.sqrt())
            };
            let (mean, spread) = (0..width).map(one).unzip();
            Spread { weight, mean, spread }
        })
        .collect()
}

/// Adds what a class says of the correlations.
fn correlate(rows: &[Row], parts: &[Spread], of: &[Vec<f64>], products: &mut DMatrix<f64>, pairs: &mut DMatrix<f64>) {
    for (row, share) in rows.iter().zip(of) {
        for (part, w) in parts.iter().zip(share).filter(|(_, w)| **w > 1e-6) {
            let z: Vec<(usize, f64)> = row
                .iter()
                .enumerate()
                .filter_map(|(j, v)| Some((j, (((*v)? - part.mean[j]) / part.spread[j]).clamp(-MOST, MOST))))
                .collect();
            for &(i, a) in &z {
                for &(j, b) in &z {
                    products[(i, j)] += w * a * b;
                    pairs[(i, j)] += w;
                }
            }
        }
    }
}

fn correlations(mut products: DMatrix<f64>, pairs: &DMatrix<f64>) -> Vec<Vec<i32>> {
    let width = products.nrows();
    products.zip_apply(pairs, |p, n| *p /= n.max(PAIRS));
    let unit = |m: &DMatrix<f64>| {
        let d: Vec<f64> = (0..width).map(|j| m[(j, j)].max(1e-3).sqrt()).collect();
        DMatrix::from_fn(width, width, |i, j| if i == j { 1.0 } else { m[(i, j)] / (d[i] * d[j]) })
    };
    let eigen = SymmetricEigen::new(unit(&products));
    let lifted = DMatrix::from_diagonal(&eigen.eigenvalues.map(|v| v.max(EIGEN)));
    let proper = unit(&(&eigen.eigenvectors * lifted * eigen.eigenvectors.transpose()));
    (0..width).map(|i| (0..i).map(|j| (100.0 * (1.0 - SHRUNK) * proper[(i, j)]).round() as i32).collect()).collect()
}
