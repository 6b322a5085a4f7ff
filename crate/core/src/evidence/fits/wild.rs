//! Readings that jump off their own curve: the neighbours agree with each other
//! and not with the one between them.

use crate::law::{Applied, Fit, Observed, PARS};

use super::observe::Input;

/// Neighbours on each side that a reading is compared with.
const WINDOW: usize = 3;
/// Least jump, as a share of the current: smaller ones are coarse steps or a
/// kink of the meter's range (by construction).
const LEAST: f64 = 0.12;
/// Least jump in standard deviations of the noise.
const SIGMAS: f64 = 8.0;
/// Neighbours further apart in predicted current than this factor are on
/// different parts of the sweep.
const NEAR: f64 = 4.0;
/// A jump is measured against the prediction plus this many standard deviations
/// of the constant noise, so that nothing is divided by zero at cutoff.
const FLOOR: f64 = 20.0;
/// A section with more wild readings than this share is not a curve with jumps.
const MOST_SHARE: f64 = 0.25;

/// Indices (in the section) of the wild readings of each section.
pub(super) fn wild(observed: &[Observed], inputs: &[Input<'_>], fit: &Fit) -> Vec<Vec<usize>> {
    observed.iter().zip(inputs).zip(&fit.residuals).map(|((o, i), r)| of_section(o, i, r)).collect()
}

/// Keeps the readings that are still off the finished model: a tail that the
/// plain law could not follow looks wild at first.
pub(super) fn confirm(wild: &mut [Vec<usize>], inputs: &[Input<'_>], fit: &Fit) {
    let mut unused = [0.0; PARS];
    for ((wild, input), params) in wild.iter_mut().zip(inputs).zip(&fit.params) {
        wild.retain(|&i| {
            let at = Applied {
                va: input.points.va[i],
                vg: input.pin[i],
                // The feedback terms want the current that flows, not the jump.
                reading: 0.0,
                time: i as f64,
                before: input.before,
            };
            let predicted = params.predict(&at, &mut unused);
            let scale = predicted.max(0.0) + FLOOR * input.noise.floor;
            (input.points.ia[i] - predicted).abs() > LEAST * scale
        });
    }
}

fn of_section(o: &Observed, input: &Input<'_>, residuals: &[f64]) -> Vec<usize> {
    let noise = input.noise;
    // The fit's residual is prediction less reading, over sigma.
    let predicted: Vec<f64> = (0..o.len()).map(|i| (o.ia[i] + residuals[i] * o.sigma[i]).max(0.0)).collect();
    let scale: Vec<f64> = predicted.iter().map(|p| p + FLOOR * noise.floor).collect();
    let jump: Vec<f64> = (0..o.len()).map(|i| (o.ia[i] - predicted[i]) / scale[i]).collect();
    let mut out = Vec::new();
    for i in 0..o.len() {
        let from = i.saturating_sub(WINDOW);
        let near = |j: &usize| *j != i && scale[*j] < NEAR * scale[i] && scale[i] < NEAR * scale[*j];
        let mut around: Vec<f64> = (from..(i + WINDOW + 1).min(o.len())).filter(near).map(|j| jump[j]).collect();
        if around.len() < 3 {
            continue;
        }
        let off = (jump[i] - crate::numerics::median(&mut around)).abs();
        if off > LEAST && off > SIGMAS * noise.sd(predicted[i]) / scale[i] {
            out.push(o.index[i]);
        }
    }
    if out.len() as f64 > MOST_SHARE * o.len() as f64 { Vec::new() } else { out }
}
