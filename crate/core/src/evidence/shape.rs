//! Shape figures read off the curves: the exponent at the top, the steepness of
//! the tail, and what the order of measurement did.

use crate::law::{Fit, Observed};
use crate::numerics::{Estimate, Gram};
use crate::sweep::{Curve, Points, Running};

use super::noise::Noise;

/// d ln Ia/d ln E at the top of the highest curve, E the effective voltage of
/// the fitted law. Healthy: the law's exponent, 1.2 to 1.6; towards 0 at a ceiling.
pub(super) fn top_exponent(observed: &Observed, fit: &Fit, section: usize) -> Option<Estimate> {
    /// The top: above this share of the largest current.
    const TOP: f64 = 0.6;
    let top = observed.ia.iter().copied().fold(0.0, f64::max);
    let law = fit.params[section].law();
    let used = (0..observed.len()).filter(|&i| observed.ia[i] > TOP * top);
    let line = regress(used.map(|i| {
        let e = observed.vg[i] + law.phi + observed.va[i] / law.mu;
        (libm::log(e.max(1e-6)), libm::log(observed.ia[i]), observed.sigma[i] / observed.ia[i])
    }))?;
    Some(line)
}

/// Tail index (Va/mu)·d ln Ia/dVg where the current is 0.1 to 2 % of the top,
/// on the transfer curve with the highest plate voltage. Healthy: 3 to 28.
pub(super) fn tail_index(
    points: &Points,
    curves: &[Curve],
    noise: &Noise,
    mu: f64,
    floor: impl Fn(usize) -> f64,
) -> Option<Estimate> {
    let top = points.top();
    let curve = curves.iter().rfind(|c| c.running == Running::Grid)?;
    let used = curve.index.iter().filter_map(|&i| {
        let current = points.ia[i] - floor(i);
        let seen = current > (0.001 * top).max(5.0 * noise.floor) && current < 0.02 * top;
        seen.then(|| (points.vg[i], libm::log(current), noise.sd(points.ia[i]) / current))
    });
    let slope = regress(used)?;
    let volts = curve.held / mu;
    Some(Estimate::new(volts * slope.value, volts * slope.sd))
}

/// Relative difference between the last and the first quarter of the readings,
/// in the order taken, that the law leaves over: a warm-up or a drift.
pub(super) fn order_effect(observed: &Observed, fit: &Fit, section: usize) -> Option<Estimate> {
    /// Readings below this share of the top have relative residuals that say
    /// more of the tail than of the order.
    const SHARE: f64 = 0.05;
    let top = observed.ia.iter().copied().fold(0.0, f64::max);
    let used: Vec<f64> = (0..observed.len())
        .filter(|&i| observed.ia[i] > SHARE * top)
        .map(|i| -fit.residuals[section][i] * observed.sigma[i] / observed.ia[i])
        .collect();
    let quarter = used.len() / 4;
    if quarter < 3 {
        return None;
    }
    let mean = |part: &[f64]| {
        let m = part.iter().sum::<f64>() / part.len() as f64;
        let v = part.iter().map(|r| (r - m).powi(2)).sum::<f64>() / (part.len() - 1) as f64;
        (m, v / part.len() as f64)
    };
    let (first, last) = (mean(&used[..quarter]), mean(&used[used.len() - quarter..]));
    Some(Estimate::new(last.0 - first.0, (first.1 + last.1).sqrt()))
}

/// Weighted slope of y on x from `(x, y, sd of y)`.
fn regress(points: impl Iterator<Item = (f64, f64, f64)>) -> Option<Estimate> {
    let mut gram = Gram::new(2);
    let mut origin = None;
    for (x, y, sd) in points.filter(|p| p.0.is_finite() && p.1.is_finite() && p.2 > 0.0) {
        let (x0, y0) = *origin.get_or_insert((x, y));
        gram.add(&[1.0, x - x0], y - y0, sd.powi(-2));
    }
    let line = (gram.rows >= 4).then(|| gram.solve(&[0, 1]))??;
    let excess = (line.chi2 / (gram.rows - 2) as f64).max(1.0);
    Some(Estimate::new(line.beta[1], (line.covariance[(1, 1)] * excess).sqrt()))
}
