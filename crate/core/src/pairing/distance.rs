//! How unlike two candidates are.

use serde::{Deserialize, Serialize};

use super::{Candidate, Place};
use crate::law::Slopes;
use crate::numerics::square;

/// How much each quantity counts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Weights {
    /// Plate current.
    pub current: f64,
    /// Transconductance.
    pub transconductance: f64,
}

impl Default for Weights {
    fn default() -> Self {
        Self { current: 1.0, transconductance: 1.0 }
    }
}

/// What remains between two candidates at the operating point; of several sections the
/// most.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Mismatch {
    /// Difference of plate current over its mean, a fraction.
    pub current: f64,
    /// Difference of transconductance over its mean, a fraction.
    pub transconductance: f64,
    /// Difference of grid voltage that makes up for the current, V.
    pub bias: f64,
}

/// Root mean square of the relative differences over the places: a fraction.
pub fn distance(a: &Candidate, b: &Candidate, places: &[Place], weights: Weights) -> f64 {
    between(&profile(a, places), &profile(b, places), weights)
}

/// Current and slopes of each section at each place.
pub(super) fn profile(of: &Candidate, places: &[Place]) -> Vec<Slopes> {
    of.laws.iter().flat_map(|law| places.iter().map(|p| law.slopes(p.va, p.vg))).collect()
}

/// As [`distance`], of what was made of each once.
pub(super) fn between(a: &[Slopes], b: &[Slopes], weights: Weights) -> f64 {
    let (mut sum, mut all) = (0.0, 0.0);
    for (sa, sb) in a.iter().zip(b) {
        sum += weights.current * square(apart(sa.ia, sb.ia)) + weights.transconductance * square(apart(sa.gm, sb.gm));
        all += weights.current + weights.transconductance;
    }
    if all > 0.0 { (sum / all).sqrt() } else { 0.0 }
}

/// What remains between two at the operating point.
pub(super) fn mismatch(a: &Candidate, b: &Candidate, at: Place) -> Mismatch {
    let mut most = Mismatch::default();
    for (la, lb) in a.laws.iter().zip(&b.laws) {
        let (sa, sb) = (la.slopes(at.va, at.vg), lb.slopes(at.va, at.vg));
        most.current = most.current.max(apart(sa.ia, sb.ia).abs());
        most.transconductance = most.transconductance.max(apart(sa.gm, sb.gm).abs());
        let gm = f64::midpoint(sa.gm, sb.gm);
        most.bias = most.bias.max(if gm > 0.0 { (sa.ia - sb.ia).abs() / gm } else { 0.0 });
    }
    most
}

/// The difference of two sizes over their mean.
fn apart(a: f64, b: f64) -> f64 {
    let mean = f64::midpoint(a, b);
    if mean > 0.0 { (a - b) / mean } else { 0.0 }
}
