//! How noisy the readings are, from the readings themselves: what is left after
//! a parabola through each four neighbours along a curve.

use crate::numerics::{mad, square, third_difference_residuals};
use crate::sweep::{Curve, Points};

/// Standard deviation of a reading: `√(floor² + (relative·I)²)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Part that does not depend on the current, A.
    pub floor: f64,
    /// Part in proportion to the current, 1.
    pub relative: f64,
    /// One step of the meter, A; 0 where none could be told.
    pub step: f64,
}

/// Readings below this share of the largest say what the constant part is: a
/// relative part of 1 % adds one fifty-thousandth of the top there.
const LOW_SHARE: f64 = 0.02;
/// Readings above this share say what the relative part is.
const HIGH_SHARE: f64 = 0.2;
/// Fewest differences a spread is taken from.
const FEWEST: usize = 8;
/// The constant part is never taken below this share of the top: double
/// precision and the last printed digit end about there (by construction).
const LEAST_FLOOR: f64 = 1e-7;
/// Standard deviation of rounding to a step: 1/√12 (uniform distribution).
pub(super) const ROUNDING: f64 = 0.288_675;
/// The relative part where the curves are too short to show it (a common bench
/// meter's, common practice, no source).
const USUAL_RELATIVE: f64 = 0.003;

impl Noise {
    /// Measures the noise of `reading` along the curves.
    pub fn of(reading: &[f64], points: &Points, curves: &[Curve]) -> Self {
        let top = reading.iter().copied().filter(|v| v.is_finite()).map(f64::abs).fold(0.0, f64::max);
        let step = step(reading);
        let mut low = Vec::new();
        let mut high = Vec::new();
        for (curve, index) in curves.iter().flat_map(|c| passes(c, points).into_iter().map(move |p| (c, p))) {
            let index: Vec<usize> = index.into_iter().filter(|&i| reading[i].is_finite()).collect();
            let run = points.running(curve.running);
            let x: Vec<f64> = index.iter().map(|&i| run[i]).collect();
            let y: Vec<f64> = index.iter().map(|&i| reading[i]).collect();
            for (at, residual) in third_difference_residuals(&x, &y) {
                let size = y[at - 1..at + 3].iter().copied().map(f64::abs).fold(0.0, f64::max);
                if size < LOW_SHARE * top {
                    low.push(residual);
                } else if size > HIGH_SHARE * top {
                    high.push(residual / size);
                }
            }
        }
        let least = (ROUNDING * step).max(LEAST_FLOOR * top);
        let floor = if low.len() >= FEWEST { mad(&mut low).max(least) } else { least };
        let relative = if high.len() >= FEWEST {
            let constant = floor / (0.5 * top).max(f64::MIN_POSITIVE);
            (mad(&mut high).powi(2) - constant * constant).max(0.0).sqrt()
        } else {
            USUAL_RELATIVE
        };
        Self { floor, relative, step }
    }

    /// Standard deviation of a reading of `current`, A.
    pub fn sd(&self, current: f64) -> f64 {
        self.variance(current).sqrt()
    }

    /// The same squared: currents of a picoampere and of an ampere are far from what a square
    /// cannot hold.
    pub fn variance(&self, current: f64) -> f64 {
        square(self.floor) + square(self.relative * current)
    }
}

/// A curve taken apart into passes that visit each voltage once: repeats and
/// sweeps up and down lie on one curve.
fn passes(curve: &Curve, points: &Points) -> Vec<Vec<usize>> {
    let run = points.running(curve.running);
    let mut out: Vec<Vec<usize>> = Vec::new();
    let mut visit = 0;
    for (k, &i) in curve.index.iter().enumerate() {
        let again = k > 0 && (run[i] - run[curve.index[k - 1]]).abs() < 1e-9;
        visit = if again { visit + 1 } else { 0 };
        match out.get_mut(visit) {
            Some(pass) => pass.push(i),
            None => out.push(vec![i]),
        }
    }
    out
}

/// The meter's step: the smallest distance of two readings, if nearly all
/// readings are multiples of it.
pub(super) fn step(reading: &[f64]) -> f64 {
    let mut values: Vec<f64> = reading.iter().copied().filter(|v| v.is_finite()).map(f64::abs).collect();
    values.sort_by(f64::total_cmp);
    let top = values.last().copied().unwrap_or(0.0);
    const SAME: f64 = 1e-9;
    let smallest = values.windows(2).map(|w| w[1] - w[0]).filter(|d| *d > SAME * top).fold(f64::INFINITY, f64::min);
    if !smallest.is_finite() {
        return 0.0;
    }
    // A large reading may have a coarser range; it is then a multiple too.
    let on_grid = values.iter().filter(|v| ((**v / smallest) - (**v / smallest).round()).abs() < 0.05).count();
    if on_grid * 10 >= values.len() * 9 { smallest } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sweep::Running;

    #[test]
    fn noise_of_a_known_size_is_found() {
        // A 3/2 law with ±0.5 % and ±1 µA of scrambled signs.
        let n = 120;
        let run: Vec<f64> = (0..n).map(|i| -12.0 + 0.1 * f64::from(i)).collect();
        let sign = |i: u32| if i.wrapping_mul(2_654_435_761) >> 31 == 0 { 1.0 } else { -1.0 };
        let reading: Vec<f64> = run
            .iter()
            .enumerate()
            .map(|(i, v)| {
                let i = u32::try_from(i).unwrap();
                let ideal = 1e-3 * libm::pow((v + 6.0f64).max(0.0), 1.5);
                ideal * (1.0 + 0.005 * sign(i)) + 1e-6 * sign(i + 7919)
            })
            .collect();
        let curve = Curve { running: Running::Grid, held: 100.0, index: (0..run.len()).collect() };
        let points = Points { vg: run, ..Points::default() };
        let noise = Noise::of(&reading, &points, &[curve]);
        assert!((0.5e-6..2e-6).contains(&noise.floor), "{noise:?}");
        assert!((0.0025..0.01).contains(&noise.relative), "{noise:?}");
    }

    #[test]
    fn a_meter_step_is_read_off() {
        let reading: Vec<f64> = (0..50).map(|i| (f64::from(i * i) * 3e-6 / 5e-6).round() * 5e-6).collect();
        assert!((step(&reading) - 5e-6).abs() < 1e-9);
    }
}
