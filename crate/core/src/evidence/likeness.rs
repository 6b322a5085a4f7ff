//! Does a section's law fit the type on its label, or another of the handbook?

use crate::handbook::{self, Type};
use crate::law::{Params, SpaceCharge};
use crate::numerics::{Estimate, log_sum_exp};
use crate::sorting::sort_by;
use crate::sweep::Points;

/// How a section compares with the handbook.
#[derive(Debug, Clone, PartialEq)]
pub struct Likeness {
    /// Probability that the type is the one on the label.
    pub label: f64,
    /// The most similar type of the handbook, where one is similar.
    pub nearest: Option<String>,
    /// The point of comparison: the label's first typical point, V.
    pub at: (f64, f64),
    /// Amplification factor there.
    pub mu: f64,
    /// Plate current there, A.
    pub ia: f64,
    /// Amplification factor over the type's.
    pub mu_ratio: Estimate,
    /// Plate current over the type's.
    pub current_ratio: f64,
}

impl Likeness {
    /// Relative spread of mu between healthy specimens of one type: 87 to 103 in
    /// three 12AX7 (Dempwolf and Zölzer, table 1), rounding of sheets included.
    pub const MU_SPREAD: f64 = 0.09;
    /// Relative spread of plate current at the sheet's voltages: ±30 % between
    /// makers (Knoll), more with wear, which lowers it further.
    pub const CURRENT_SPREAD: f64 = 0.45;

    /// ln of the amplification factor over the type's from which on an unknown type is the
    /// likelier, the current being the type's.
    pub fn least_ln_mu() -> f64 {
        let right = libm::log(1.0 - WRONG - UNKNOWN) - libm::log(Self::MU_SPREAD * Self::CURRENT_SPREAD);
        let unknown = libm::log(UNKNOWN) - libm::log(UNKNOWN_SPREAD.0 * UNKNOWN_SPREAD.1);
        let sharper = Self::MU_SPREAD.powi(-2) - UNKNOWN_SPREAD.0.powi(-2);
        (2.0 * (right - unknown) / sharper).sqrt()
    }
}

/// Share of tubes whose label is wrong, and of those that are no type of the
/// handbook at all (common practice, no source).
const WRONG: f64 = 0.02;
const UNKNOWN: f64 = 0.01;
/// How widely mu and current of an unknown type are spread about the label's, in
/// logarithms: a factor of three either way.
const UNKNOWN_SPREAD: (f64, f64) = (1.1, 1.6);
/// A type's point is compared where the sweep comes within this factor of its
/// plate voltage.
const REACH: f64 = 1.6;
/// A current this far from the type's weighs no more: wear can take any share.
const MOST_CURRENT_SIGMAS: f64 = 2.0;

/// Compares a fitted section with the type on its label and with all others.
pub(super) fn likeness(points: &Points, params: &Params, mu_sd: f64, label: &Type, section: usize) -> Option<Likeness> {
    let law = params.law();
    let highest = points.va.iter().copied().fold(0.0, f64::max);
    let own = compare(&law, label, section, highest)?;
    let mut others: Vec<(f64, &Type)> = handbook::all()
        .iter()
        .filter(|t| t.name != label.name)
        .filter_map(|t| {
            compare(&law, t, section.min(t.section_count().saturating_sub(1)), highest).map(|c| (c.log_density, t))
        })
        .collect();
    sort_by(&mut others, |a, b| b.0.total_cmp(&a.0));
    let count = others.len().max(1) as f64;
    let wrong: Vec<f64> = others.iter().map(|o| libm::log(WRONG / count) + o.0).collect();
    let unknown = libm::log(UNKNOWN) + density(own.ln_mu, own.ln_ia, UNKNOWN_SPREAD.0, UNKNOWN_SPREAD.1);
    let right = libm::log(1.0 - WRONG - UNKNOWN) + own.log_density;
    let all = log_sum_exp(&[right, unknown, log_sum_exp(&wrong)]);
    // A type is near where mu and current lie within about two spreads.
    const NEAR: f64 = -4.0;
    let peak = density(0.0, 0.0, Likeness::MU_SPREAD, Likeness::CURRENT_SPREAD);
    let nearest = others.first().filter(|o| o.0 - peak > NEAR).map(|o| o.1.name.clone());
    Some(Likeness {
        label: libm::exp(right - all),
        nearest,
        at: own.at,
        mu: own.mu,
        ia: own.ia,
        mu_ratio: Estimate::new(libm::exp(own.ln_mu), libm::exp(own.ln_mu) * mu_sd),
        current_ratio: libm::exp(own.ln_ia),
    })
}

struct Compared {
    log_density: f64,
    ln_mu: f64,
    ln_ia: f64,
    at: (f64, f64),
    mu: f64,
    ia: f64,
}

fn compare(law: &SpaceCharge, kind: &Type, section: usize, highest: f64) -> Option<Compared> {
    let point = kind.section(section)?.points.iter().find(|p| {
        p.vg2.is_none() && p.mu.is_some() && p.ia.is_some() && p.va < REACH * highest && p.va > 0.2 * highest
    })?;
    let (mu_sheet, ia_sheet) = (point.mu.as_ref()?.value, point.ia.as_ref()?.value);
    let slopes = law.slopes(point.va, point.vg);
    let (mu, ia) = (slopes.mu(), slopes.ia);
    if !(mu.is_finite() && mu > 0.0 && ia > 0.0) {
        return None;
    }
    let (ln_mu, ln_ia) = (libm::log(mu / mu_sheet), libm::log(ia / ia_sheet));
    Some(Compared {
        log_density: density(ln_mu, ln_ia, Likeness::MU_SPREAD, Likeness::CURRENT_SPREAD),
        ln_mu,
        ln_ia,
        at: (point.va, point.vg),
        mu,
        ia,
    })
}

/// ln density of independent normal spreads of ln mu and ln current.
fn density(ln_mu: f64, ln_ia: f64, mu: f64, ia: f64) -> f64 {
    let current = (ln_ia / ia).clamp(-MOST_CURRENT_SIGMAS, MOST_CURRENT_SIGMAS);
    -0.5 * ((ln_mu / mu).powi(2) + current * current) - libm::log(mu * ia)
}
