//! Is one section's grid axis scaled against its twin's?
//!
//! Behind a source resistance a grid–cathode path divides the grid voltage: gm,
//! mu and cutoff change together by one factor while the zero-bias curve and the
//! plate resistance stay (reference 4.3 item 1). In the fitted law that is
//! mu → κ·mu, P → κˣ·P, φ → φ/κ. Two sections of one tube also differ by
//! themselves; which of the two it is, is weighed by how much each kind of
//! difference was to be expected.

use nalgebra::{Matrix3, Vector3};

use super::fits::Laws;
use crate::law::Par;
use crate::numerics::{Estimate, log_sum_exp};

/// How the grid axis of one section compares with its twin's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Probability of a scaled axis in this section, against healthy sections
    /// and against sections that differ by themselves.
    pub probability: f64,
    /// Probability that the sections differ by themselves beyond what is usual.
    pub mismatch: f64,
    /// The factor κ and its error, if the axis is scaled.
    pub kappa: Estimate,
    /// Standard deviation with which κ = 1 would be confirmed.
    pub resolution: f64,
}

/// Usual differences of two sections of one healthy tube: ln perveance, ln mu,
/// contact potential (V). Loose against matched pairs of trade (reference 3.6);
/// no source gives the spread within one envelope.
const USUAL: [f64; 3] = [0.06, 0.03, 0.10];
/// The same for sections that do not match: perveance may differ by a third or
/// more through wear, mu is set by the grid's pitch and hardly can.
const UNMATCHED: [f64; 3] = [0.35, 0.06, 0.15];
/// Shares of the three cases before looking (common practice, no source).
const BEFORE: [f64; 3] = [0.85, 0.10, 0.05];
/// Range of ln κ considered, evenly: from a tenth to what cannot be told from 1.
const LN_KAPPA: (f64, f64) = (-2.3, -0.02);
const STEPS: usize = 96;

/// Compares section `s` of the fit with section `other`.
pub(super) fn scale(laws: &Laws, s: usize, other: usize) -> Option<Scale> {
    const PARS: [Par; 3] = [Par::LnP, Par::LnMu, Par::Phi];
    let fit = &laws.fit;
    let delta = Vector3::from_fn(|i, _| fit.params[s].get(PARS[i]) - fit.params[other].get(PARS[i]));
    let error = Matrix3::from_fn(|i, j| {
        let (a, b) = (PARS[i], PARS[j]);
        fit.covariance((s, a), (s, b)) + fit.covariance((other, a), (other, b))
            - fit.covariance((s, a), (other, b))
            - fit.covariance((other, a), (s, b))
    });
    let usual = error + spread(USUAL);
    let healthy = libm::log(BEFORE[0]) + log_density(&delta, &usual)?;
    let unmatched = libm::log(BEFORE[1]) + log_density(&delta, &(error + spread(UNMATCHED)))?;

    let (x, phi) = (fit.params[other].get(Par::X), fit.params[other].get(Par::Phi));
    let width = (LN_KAPPA.1 - LN_KAPPA.0) / STEPS as f64;
    let mut grid = Vec::with_capacity(STEPS);
    for k in 0..STEPS {
        let ln_kappa = LN_KAPPA.0 + (k as f64 + 0.5) * width;
        let effect = Vector3::new(x * ln_kappa, ln_kappa, phi * (libm::exp(-ln_kappa) - 1.0));
        grid.push((ln_kappa, log_density(&(delta - effect), &usual)?));
    }
    let densities: Vec<f64> = grid.iter().map(|g| g.1).collect();
    let total = log_sum_exp(&densities);
    let scaled = libm::log(BEFORE[2]) + total - libm::log(STEPS as f64);
    let all = log_sum_exp(&[healthy, unmatched, scaled]);

    let (mut mean, mut square) = (0.0, 0.0);
    for (ln_kappa, density) in &grid {
        let weight = libm::exp(density - total);
        mean += weight * libm::exp(*ln_kappa);
        square += weight * libm::exp(2.0 * ln_kappa);
    }
    // Along κ the densities of healthy sections fall by half a unit within this.
    let direction = Vector3::new(x, 1.0, -phi);
    let resolution = usual.try_inverse().map_or(f64::INFINITY, |w| (direction.dot(&(w * direction))).sqrt().recip());
    Some(Scale {
        probability: libm::exp(scaled - all),
        mismatch: libm::exp(unmatched - all),
        kappa: Estimate::new(mean, (square - mean * mean).max(0.0).sqrt()),
        resolution,
    })
}

fn spread(sd: [f64; 3]) -> Matrix3<f64> {
    Matrix3::from_diagonal(&Vector3::from(sd.map(|s| s * s)))
}

fn log_density(x: &Vector3<f64>, covariance: &Matrix3<f64>) -> Option<f64> {
    let cholesky = covariance.cholesky()?;
    let z = cholesky.l().solve_lower_triangular(x)?;
    let log_determinant: f64 = 2.0 * cholesky.l().diagonal().iter().map(|d| libm::log(*d)).sum::<f64>();
    Some(-0.5 * (z.norm_squared() + log_determinant + 3.0 * libm::log(std::f64::consts::TAU)))
}
