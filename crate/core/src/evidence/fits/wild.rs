//! Readings that jump off their own curve: the neighbours agree with each other
//! and not with the one between them.

use crate::law::{Applied, Params};
use crate::numerics::median;
use crate::sweep::Curve;

use super::observe::Input;

/// Neighbours on each side that a reading is compared with.
const WINDOW: usize = 8;
/// Least jump, as a share of the current: smaller ones are coarse steps or a
/// kink of the meter's range (by construction).
const LEAST: f64 = 0.12;
/// Least jump in standard deviations of the noise.
const SIGMAS: f64 = 8.0;
/// Neighbours further apart in predicted current than this factor are on
/// different parts of the curve.
const NEAR: f64 = 4.0;
/// A jump is measured against the prediction plus this many standard deviations
/// of the constant noise, so that nothing is divided by zero at cutoff.
const FLOOR: f64 = 20.0;
/// A section with more wild readings than this share is not a curve with jumps.
const MOST_SHARE: f64 = 0.25;

/// Indices of a section's wild readings, rising: off the law by much more than
/// their neighbours are, and outside the range of the nearest sound readings on
/// either side, which no rising curve allows.
pub(super) fn wild(input: &Input<'_>, params: &Params) -> Vec<usize> {
    let points = input.points;
    let at = |i| Applied {
        // The feedback terms want the current that flows, not the jump.
        reading: 0.0,
        time: i as f64,
        before: input.before,
        ..input.drive.applied(points, i, input.pin[i])
    };
    let mut predicted = params.currents((0..points.len()).map(at));
    predicted.iter_mut().for_each(|i| *i = i.max(0.0));
    let clipped: std::collections::HashSet<usize> = input.left_out.iter().copied().collect();
    let curves = points.curves();
    let mut out: Vec<usize> = curves.iter().flat_map(|c| of_curve(input, c, &predicted, &clipped)).collect();
    out.sort_unstable();
    if out.len() as f64 > MOST_SHARE * points.len() as f64 { Vec::new() } else { out }
}

fn of_curve(
    input: &Input<'_>,
    curve: &Curve,
    predicted: &[f64],
    clipped: &std::collections::HashSet<usize>,
) -> Vec<usize> {
    let noise = input.noise;
    let sound = |i: &usize| !clipped.contains(i) && input.drive.usable[*i];
    let index: Vec<usize> = curve.index.iter().copied().filter(sound).collect();
    let ia = |k: usize| input.drive.current[index[k]];
    let scale: Vec<f64> = index.iter().map(|&i| predicted[i] + FLOOR * noise.floor).collect();
    let jump: Vec<f64> = (0..index.len()).map(|k| (ia(k) - predicted[index[k]]) / scale[k]).collect();
    let suspect: Vec<bool> = (0..index.len())
        .map(|k| {
            let near = |j: &usize| *j != k && scale[*j] < NEAR * scale[k] && scale[k] < NEAR * scale[*j];
            let window = k.saturating_sub(WINDOW)..(k + WINDOW + 1).min(index.len());
            // Most readings agree with all around them, and so with their median.
            if window.clone().all(|j| (jump[k] - jump[j]).abs() <= LEAST) {
                return false;
            }
            let mut around: Vec<f64> = window.filter(near).map(|j| jump[j]).collect();
            if around.len() < 3 {
                return false;
            }
            let off = (jump[k] - median(&mut around)).abs();
            off > LEAST && off > SIGMAS * noise.sd(predicted[index[k]]) / scale[k]
        })
        .collect();
    (0..index.len())
        .filter(|&k| {
            if !suspect[k] {
                return false;
            }
            let before = (0..k).rev().find(|&j| !suspect[j]).map(ia);
            let after = (k + 1..index.len()).find(|&j| !suspect[j]).map(ia);
            let margin = 0.5 * LEAST * scale[k];
            match (before, after) {
                (Some(b), Some(a)) => ia(k) > a.max(b) + margin || ia(k) < a.min(b) - margin,
                // At the end of a curve only a fall is against the rise of curves.
                (Some(b), None) => ia(k) < b - margin,
                (None, Some(a)) => ia(k) > a + margin,
                (None, None) => false,
            }
        })
        .map(|k| index[k])
        .collect()
}
