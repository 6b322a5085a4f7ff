//! Marks that a bench leaves in the readings themselves: a plate voltage that
//! sags, and a region in which the readings are restless.

use super::noise;
use crate::law::SpaceCharge;
use crate::numerics::{Estimate, Gram, median, third_difference_residuals};
use crate::sorting::sort_by;
use crate::sweep::{Curve, Points, Running};

/// A plate voltage that falls as the current rises, as read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sag {
    /// Resistance that would do it, ohm.
    pub ohm: Estimate,
    /// Largest fall along a curve, as a share of the plate voltage.
    pub share: f64,
}

/// A region of high transconductance in which readings scatter.
#[derive(Debug, Clone, PartialEq)]
pub struct Unrest {
    /// Transconductance above which it lies, S.
    pub from: f64,
    /// Scatter there over the scatter below, relative to the current.
    pub excess: f64,
    /// ln of the smallest excess that chance leaves likely.
    pub at_least: f64,
    /// Points in it.
    pub points: Vec<usize>,
}

/// Whether the plate voltages differ along a curve: then they were read, not set.
pub(super) fn reads_plate_voltage(points: &Points, curves: &[Curve]) -> bool {
    curves.iter().filter(|c| c.running == Running::Grid).any(|c| {
        let (low, high) = range(c.index.iter().map(|&i| points.va[i]));
        high - low > 1e-4 * high.abs()
    })
}

/// Slope of the plate voltage over the plate current along transfer curves;
/// `None` where it does not fall.
pub(super) fn sag(points: &Points, curves: &[Curve]) -> Option<Sag> {
    let mut gram = Gram::new(1);
    let mut share: f64 = 0.0;
    let mut rows = 0;
    for curve in curves.iter().filter(|c| c.running == Running::Grid && c.index.len() > 3) {
        let n = curve.index.len() as f64;
        let mean = |column: &[f64]| curve.index.iter().map(|&i| column[i]).sum::<f64>() / n;
        let (va, ia) = (mean(&points.va), mean(&points.ia));
        for &i in &curve.index {
            gram.add(&[points.ia[i] - ia], points.va[i] - va, 1.0);
            rows += 1;
        }
        let (low, high) = range(curve.index.iter().map(|&i| points.va[i]));
        share = share.max((high - low) / high.abs().max(1.0));
    }
    let line = gram.solve(&[0])?;
    let scatter = (line.chi2 / (rows as f64 - 1.0).max(1.0)).sqrt();
    let ohm = Estimate::new(-line.beta[0], (scatter * line.covariance[(0, 0)].sqrt()).max(1e-6 * line.beta[0].abs()));
    (ohm.value > 0.0 && share > 0.0).then_some(Sag { ohm, share })
}

fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |r, v| (r.0.min(v), r.1.max(v)))
}

/// Readings below this share of the top scatter by the meter's own noise.
const LIVELY: f64 = 0.05;
/// Fewest scatters on either side of the edge.
const FEWEST: (usize, usize) = (10, 16);
/// Standard deviation of ln of a median of n scatters, times √n: 1.1 for
/// independent ones (normal distribution), more because third differences of
/// neighbours share readings (computed by drawing).
const MEDIAN_SPREAD: f64 = 1.9;
/// The edge is looked for: the best of many ratios is large by chance.
const SEARCHED: f64 = 2.5;

/// The edge in transconductance that divides restless readings from quiet ones
/// best; `None` where there are too few of either.
pub(super) fn unrest(
    points: &Points,
    drive: &[f64],
    curves: &[Curve],
    law: &SpaceCharge,
    left_out: &[usize],
) -> Option<Unrest> {
    let top = points.top();
    // Within a step of the meter nothing can be seen to scatter.
    let unseen = noise::ROUNDING * noise::step(&points.ia);
    // Transconductance, relative scatter and point, wild and clipped ones left out.
    let mut seen: Vec<(f64, f64, usize)> = Vec::new();
    for curve in curves {
        let run = points.running(curve.running);
        let index: Vec<usize> =
            curve.index.iter().copied().filter(|i| points.ia[*i] > LIVELY * top && !left_out.contains(i)).collect();
        let x: Vec<f64> = index.iter().map(|&i| run[i]).collect();
        let y: Vec<f64> = index.iter().map(|&i| points.ia[i]).collect();
        for (at, residual) in third_difference_residuals(&x, &y) {
            let i = index[at];
            seen.push((law.slopes(drive[i], points.vg[i]).gm, residual.abs().max(unseen) / points.ia[i], i));
        }
    }
    sort_by(&mut seen, |a, b| a.0.total_cmp(&b.0));
    let scatter = |part: &[(f64, f64, usize)]| {
        let mut values: Vec<f64> = part.iter().map(|s| s.1).collect();
        median(&mut values)
    };
    let last = seen.len().checked_sub(FEWEST.0)?;
    (FEWEST.1..=last)
        .step_by(4)
        .filter_map(|edge| {
            let (below, above) = (scatter(&seen[..edge]), scatter(&seen[edge..]));
            let chance = SEARCHED * MEDIAN_SPREAD * (1.0 / edge as f64 + 1.0 / (seen.len() - edge) as f64).sqrt();
            (below > 0.0).then(|| (libm::log(above / below) - chance, above / below, edge))
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(at_least, excess, edge)| Unrest {
            from: seen[edge].0,
            excess,
            at_least,
            points: seen[edge..].iter().map(|s| s.2).collect(),
        })
}
