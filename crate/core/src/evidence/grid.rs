//! The grid current, however it is known.

use crate::law::Params;
use crate::sweep::Points;

use super::drive::Drive;
use super::noise::Noise;
use super::pairs::GridFromPair;

/// Grid current into the grid at each point of a section.
#[derive(Debug, Clone, PartialEq)]
pub struct GridReadings {
    /// Current, A; NaN where it is not known.
    pub current: Vec<f64>,
    /// Its standard deviation, A.
    pub sd: Vec<f64>,
    /// Whether it was measured, or follows from two sweeps with different
    /// resistors in the grid lead.
    pub measured: bool,
}

/// Two sweeps agree to this share at best, whatever the meter's noise: heaters and
/// supplies wander (common practice, no source).
const REPEATS: f64 = 2e-3;

impl GridReadings {
    pub(super) fn measured(ig: &[f64], noise: Noise) -> Self {
        Self { current: ig.to_vec(), sd: ig.iter().map(|i| noise.sd(*i)).collect(), measured: true }
    }

    /// A grid current Ig moves the pin by −R·Ig. What the grid's voltage was in
    /// each of two sweeps follows from the plate current by the law; the
    /// difference over the difference of the resistors is the grid current.
    pub(super) fn of_pair(pair: &GridFromPair, points: &Points, drive: &Drive, params: &Params, noise: Noise) -> Self {
        let resistance = pair.resistors.0 - pair.resistors.1;
        let law = params.law();
        let (mut current, mut sd) = (Vec::new(), Vec::new());
        for (i, difference) in pair.difference.iter().enumerate() {
            let (va, vg) = (drive.volts[i], points.vg[i]);
            let slopes = law.slopes(va, vg);
            // A floor is no part of what the grid controls.
            let ours = drive.current[i] - params.floor(points.va[i], vg);
            let reach = 2.0 * vg.abs() + 2.0 * va / law.mu + 1.0;
            let pin = |ia: f64| law.grid_for(va, ia, reach);
            let shift = pin(ours).zip(pin(ours - difference)).map(|(a, b)| a - b);
            // Where the tube hardly amplifies, nothing can be said of its grid.
            let speaks = slopes.gm * vg.abs() > slopes.ia * 0.05 && ours > 5.0 * noise.floor;
            current.push(shift.filter(|_| speaks).map_or(f64::NAN, |v| -v / resistance));
            let per_volt = (slopes.gm * resistance).abs();
            sd.push(std::f64::consts::SQRT_2 * libm::hypot(noise.sd(points.ia[i]), REPEATS * points.ia[i]) / per_volt);
        }
        Self { current, sd, measured: false }
    }
}
