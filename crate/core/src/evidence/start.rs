//! Where a fit begins: amplification factor, exponent and perveance by a coarse
//! search that needs nothing but the points.

use crate::law::{Observed, Params, SpaceCharge};

/// Amplification factors tried: from the lowest (2, a 6AS7) to above the highest
/// (100, a 12AX7) of reference section 2.1, in steps of a quarter.
const MU_FROM: f64 = 1.6;
const MU_STEP: f64 = 1.25;
const MU_COUNT: i32 = 20;
/// Contact potential assumed, V: the middle of published sets.
const PHI: f64 = 0.2;
/// Points below this share of the top are left to the fit itself.
const SHARE: f64 = 0.05;
/// Exponents are kept to this range while starting.
const EXPONENTS: std::ops::RangeInclusive<f64> = 0.9..=1.8;

/// Values to begin with; `None` where fewer than three points carry current.
pub(super) fn start(observed: &Observed, mu_hint: Option<f64>, diode: bool) -> Option<Params> {
    let top = observed.ia.iter().copied().fold(0.0, f64::max);
    let used: Vec<usize> = (0..observed.len()).filter(|&i| observed.ia[i] > SHARE * top).collect();
    if used.len() < 3 || top <= 0.0 {
        return None;
    }
    let mus = (0..MU_COUNT).map(|k| MU_FROM * MU_STEP.powi(k)).chain(mu_hint);
    // A diode is a triode whose grid is its plate.
    let mus: Vec<f64> = if diode { vec![1.0] } else { mus.collect() };
    let (_, mu, x, ln_p) = mus
        .into_iter()
        .filter_map(|mu| trial(observed, &used, mu).map(|(sum, x, ln_p)| (sum, mu, x, ln_p)))
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    let law = SpaceCharge { ln_p, mu, phi: PHI, x, w0: 0.1, w1: 0.15 / mu, kvb: 300.0, kvl: 0.0 };
    Some(Params::healthy(&law))
}

/// Sum of squares of ln I about `ln P + x·ln(Vg + φ + Va/mu)`, with x and ln P.
fn trial(observed: &Observed, used: &[usize], mu: f64) -> Option<(f64, f64, f64)> {
    let pairs: Vec<(f64, f64)> = used
        .iter()
        .map(|&i| {
            // A point that this mu puts beyond cutoff counts as barely conducting.
            let e = (observed.vg[i] + PHI + observed.va[i] / mu).max(0.02 * observed.va[i] / mu);
            (libm::log(e), libm::log(observed.ia[i]))
        })
        .collect();
    let n = pairs.len() as f64;
    let (mx, my) = (pairs.iter().map(|p| p.0).sum::<f64>() / n, pairs.iter().map(|p| p.1).sum::<f64>() / n);
    let sxx: f64 = pairs.iter().map(|p| (p.0 - mx).powi(2)).sum();
    let sxy: f64 = pairs.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum();
    if sxx < 1e-12 {
        return None;
    }
    let x = (sxy / sxx).clamp(*EXPONENTS.start(), *EXPONENTS.end());
    let sum = pairs.iter().map(|p| (p.1 - my - x * (p.0 - mx)).powi(2)).sum();
    Some((sum, x, my - x * mx))
}
