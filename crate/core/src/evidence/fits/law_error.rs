//! How wrong the law itself is for the tube at hand.
//!
//! Published forms fitted to one healthy tube leave relative residuals at the top
//! of the curves that run from 0.03 % (Koren, of which the law is a superset) to
//! 1–2 % (Dempwolf, Rydel), five to ten times as much at a hundredth of the top,
//! and neighbours share them. Measured on this project's six simulated laws and
//! ten types; the command is in DEVELOPERS.md.

use crate::law::{Fit, Observed};
use crate::numerics::square;

use super::observe::Input;

/// Relative error at the top that a first look allows for.
pub(super) const USUAL: f64 = 0.007;
/// Least and largest error that is considered.
const RANGE: (f64, f64) = (7e-4, 0.03);
/// Currents below this share of the top are treated as being there.
const LOWEST_SHARE: f64 = 1e-6;

/// Relative error at a share of the top current: towards cutoff it grows as the root of the
/// current falls.
pub(super) fn at(error: f64, share: f64) -> f64 {
    error / share.clamp(LOWEST_SHARE, 1.0).sqrt()
}

/// The error under which the residuals are likeliest, all else as measured.
pub(super) fn estimate(observed: &[Observed], inputs: &[Input<'_>], fit: &Fit) -> f64 {
    /// Steps of the search over [`RANGE`], evenly in the logarithm.
    const STEPS: u32 = 24;
    /// Variances whose product is a number: of currents from 10⁻¹⁸ A up.
    const AT_ONCE: usize = 8;
    let step = libm::log(RANGE.1 / RANGE.0) / f64::from(STEPS);
    // Residual, noise and the law's share in each, squared.
    let mut rows: Vec<(f64, f64, f64)> = Vec::new();
    for ((o, input), residuals) in observed.iter().zip(inputs).zip(&fit.residuals) {
        let top = o.ia.iter().copied().fold(0.0, f64::max);
        for (i, residual) in residuals.iter().enumerate() {
            let current = o.ia[i].max(0.0);
            let law = at(1.0, current / top) * current;
            rows.push((square(residual * o.sigma[i]), input.noise.variance(current), square(law)));
        }
    }
    let cost = |error: f64| -> f64 {
        let of_some = |rows: &[(f64, f64, f64)]| {
            let (mut sum, mut product) = (0.0, 1.0);
            for (r, noise, law) in rows {
                let variance = noise + error * error * law;
                // A wild point says nothing of the law. Not `min`, which is a call in the page.
                let off = r / variance;
                sum += if off < WILD { off } else { WILD };
                product *= variance;
            }
            sum + libm::log(product)
        };
        rows.chunks(AT_ONCE).map(of_some).sum()
    };
    (0..=STEPS)
        .map(|k| RANGE.0 * libm::exp(step * f64::from(k)))
        .map(|error| (cost(error), error))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(USUAL, |best| best.1)
}

/// Squared residuals over variance are counted up to this.
const WILD: f64 = 9.0;

/// How many readings count as one because neighbours share their error.
pub(super) fn dependence(observed: &[Observed], fit: &Fit) -> f64 {
    counting(correlation(observed, fit))
}

/// The same for a correlation φ of neighbouring residuals: (1 + φ)/(1 − φ) (the variance of a
/// mean of a first-order autoregressive series, textbook).
pub(super) fn counting(correlation: f64) -> f64 {
    /// Correlation that is counted at most: the estimate itself is noisy.
    const MOST: f64 = 0.9;
    let phi = correlation.clamp(0.0, MOST);
    (1.0 + phi) / (1.0 - phi)
}

/// Correlation of neighbouring residuals.
pub(super) fn correlation(observed: &[Observed], fit: &Fit) -> f64 {
    let (mut products, mut squares) = (0.0, 0.0);
    for (o, residuals) in observed.iter().zip(&fit.residuals) {
        for (r, ia) in residuals.windows(2).zip(o.ia.windows(2)) {
            let [a, b] = [r[0], r[1]].map(|r| r.clamp(-3.0, 3.0));
            // A jump back to the start of the next curve joins no neighbours.
            if ia[1] > ia[0] * 0.2 {
                products += a * b;
            }
            squares += b * b;
        }
    }
    if squares > 0.0 { products / squares } else { 0.0 }
}
