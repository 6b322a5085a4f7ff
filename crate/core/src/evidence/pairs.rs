//! Two sweeps of one section, used together.
//!
//! What differs between them says more than either: a cooler heater shows how
//! much emission is in reserve, another resistor in the grid lead makes the grid
//! current visible in the plate current, and a plain repeat shows what does not
//! repeat.

use crate::numerics::{Estimate, MAD_TO_SD, median};
use crate::sweep::{Curve, Points, Section, Tube};

use super::noise::Noise;

/// A section swept again with a cooler heater.
#[derive(Debug, Clone, PartialEq)]
pub struct Activity {
    /// Heater voltage of the cooler sweep over that of the other.
    pub heater: f64,
    /// Plate current at the top of the curves with the cooler heater over that
    /// with the other.
    pub kept: Estimate,
}

/// Grid current that follows from two resistors in the grid lead, point by point.
#[derive(Debug, Clone, PartialEq)]
pub struct GridFromPair {
    /// Resistances of the two sweeps, ohm, this sweep's first.
    pub resistors: (f64, f64),
    /// Difference of the plate currents, this sweep less the other, A; NaN where
    /// the other has no reading.
    pub difference: Vec<f64>,
}

/// A section swept again with nothing changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Repeat {
    /// Readings compared.
    pub compared: usize,
    /// Readings that disagree while their neighbours agree: indices in this sweep.
    pub disagree: Vec<usize>,
    /// ln of this sweep's current over the other's, over the working region.
    pub drift: Estimate,
}

/// What other sweeps of a section say about it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Pairs {
    /// With a cooler or a warmer heater.
    pub activity: Option<Activity>,
    /// With another resistor in the grid lead.
    pub grid: Option<GridFromPair>,
    /// With nothing changed.
    pub repeat: Option<Repeat>,
}

/// Heater voltages closer than this share are the same.
const SAME_HEATER: f64 = 0.02;
/// Grid resistors that differ by less than this share are the same.
const SAME_RESISTOR: f64 = 0.1;
/// The top of the curves: above this share of the largest current.
const TOP: f64 = 0.6;
/// Readings above this share of the top are lively enough to compare.
const LIVELY: f64 = 0.05;
/// Error of a ratio of two sweeps on top of the readings' noise: supplies and
/// heaters wander (common practice, no source).
const REPEATS: f64 = 0.003;
/// A reading disagrees from this share on, and this many standard deviations.
const DISAGREES: (f64, f64) = (0.12, 8.0);

/// Other sweeps of a section: every section of the same name in the others.
pub(super) fn pairs(tube: &Tube, section: &Section, curves: &[Curve], noise: &Noise, others: &[&Tube]) -> Pairs {
    let mut out = Pairs::default();
    for other in others {
        let Some(twin) = other.sections.iter().find(|s| s.name == section.name && !s.points.is_empty()) else {
            continue;
        };
        let matched = matched(&section.points, curves, &twin.points);
        if matched.iter().filter(|m| m.is_finite()).count() < 4 {
            continue;
        }
        let heater = match (other.bench.heater_voltage, tube.bench.heater_voltage) {
            (Some(theirs), Some(ours)) if ours > 0.0 => theirs / ours,
            _ => 1.0,
        };
        let resistors = (tube.bench.rs(), other.bench.rs());
        let same_resistor = (resistors.0 - resistors.1).abs() <= SAME_RESISTOR * resistors.0.max(resistors.1);
        match (heater < 1.0 - SAME_HEATER, heater > 1.0 + SAME_HEATER) {
            (true, _) | (_, true) if same_resistor => {
                out.activity = activity(&section.points, &matched, heater).or(out.activity)
            }
            (false, false) if !same_resistor => {
                let difference = section.points.ia.iter().zip(&matched).map(|(a, b)| a - b).collect();
                out.grid = Some(GridFromPair { resistors, difference });
            }
            (false, false) => out.repeat = Some(repeat(&section.points, curves, &matched, noise)),
            _ => {}
        }
    }
    out
}

/// The other sweep's current at each of our points; NaN where it has none.
fn matched(ours: &Points, curves: &[Curve], theirs: &Points) -> Vec<f64> {
    let their_curves = theirs.curves();
    let mut out = vec![f64::NAN; ours.len()];
    for curve in curves {
        let same =
            |c: &&Curve| c.running == curve.running && (c.held - curve.held).abs() <= 0.01 * curve.held.abs().max(1.0);
        let Some(other) = their_curves.iter().find(same) else { continue };
        let run = ours.running(curve.running);
        for &i in &curve.index {
            if let Some(value) = super::contrast::at(theirs, other, run[i]) {
                out[i] = value;
            }
        }
    }
    out
}

fn activity(points: &Points, matched: &[f64], heater: f64) -> Option<Activity> {
    let top = points.top();
    let mut ratios: Vec<f64> = (0..points.len())
        .filter(|&i| points.ia[i] > TOP * top && matched[i] > 0.0)
        .map(|i| matched[i] / points.ia[i])
        .collect();
    if ratios.len() < 3 {
        return None;
    }
    let n = ratios.len() as f64;
    let kept = median(&mut ratios);
    let mut off: Vec<f64> = ratios.iter().map(|r| (r - kept).abs()).collect();
    let sd = libm::hypot(MAD_TO_SD * median(&mut off) / n.sqrt(), REPEATS);
    // Told as the cooler over the warmer, whichever this one is.
    if heater < 1.0 {
        Some(Activity { heater, kept: Estimate::new(kept, sd) })
    } else {
        Some(Activity { heater: 1.0 / heater, kept: Estimate::new(1.0 / kept, sd / (kept * kept)) })
    }
}

fn repeat(points: &Points, curves: &[Curve], matched: &[f64], noise: &Noise) -> Repeat {
    let top = points.top();
    let ratio = |i: usize| libm::log(points.ia[i] / matched[i]);
    let usable = |i: &usize| points.ia[*i] > LIVELY * top && matched[*i] > LIVELY * top;
    let mut lively: Vec<f64> = (0..points.len()).filter(usable).map(ratio).collect();
    let n = lively.len().max(1) as f64;
    let drift = if lively.is_empty() { 0.0 } else { median(&mut lively) };
    let mut off: Vec<f64> = lively.iter().map(|r| (r - drift).abs()).collect();
    let scatter = if off.is_empty() { 0.0 } else { MAD_TO_SD * median(&mut off) };
    let disagree = curves
        .iter()
        .flat_map(|c| c.index.iter().copied())
        .filter(|&i| {
            let scale = points.ia[i].abs().max(matched[i].abs());
            let apart = (points.ia[i] - matched[i] * libm::exp(drift)).abs();
            matched[i].is_finite()
                && scale > LIVELY * top
                && apart > DISAGREES.0 * scale
                && apart > DISAGREES.1 * libm::hypot(noise.sd(scale), scatter * scale)
        })
        .collect();
    let compared = matched.iter().filter(|m| m.is_finite()).count();
    Repeat { compared, disagree, drift: Estimate::new(drift, libm::hypot(scatter / n.sqrt(), REPEATS)) }
}
