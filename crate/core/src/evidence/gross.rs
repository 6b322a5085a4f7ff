//! What can be said before any law is fitted: does the section conduct at all,
//! and does the grid have a say?

use super::noise::Noise;
use crate::numerics::median;
use crate::sweep::{Curve, Points, Running};

/// What the ends of the curves say.
#[derive(Debug, Clone, PartialEq)]
pub struct Gross {
    /// Largest plate current, A (median of the three largest readings).
    pub top: f64,
    /// Largest part of the current that the grid or the plate turns on, A: the
    /// reading less the straight line through the lowest readings.
    pub swing: f64,
    /// For each plate voltage: current with the grid at its most negative and at
    /// its most positive, A.
    pub ends: Vec<Ends>,
    /// Share of the current that the grid controls at the best curve, 0 to 1.
    pub control: f64,
    /// Exponent of the current in the plate voltage with the grid at its most
    /// positive; `None` for a single plate voltage.
    pub plate_exponent: Option<f64>,
    /// The same with the grid at its most negative.
    pub deep_exponent: Option<f64>,
}

/// Current at both ends of the grid's travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ends {
    /// Plate voltage, V.
    pub va: f64,
    /// Current at the most negative grid, A.
    pub low: f64,
    /// Current at the most positive grid, A.
    pub high: f64,
}

impl Gross {
    /// Reads them off.
    pub fn of(points: &Points, curves: &[Curve], noise: &Noise) -> Self {
        let ends = ends(points, curves);
        let mut largest: Vec<f64> = points.ia.clone();
        largest.sort_by(f64::total_cmp);
        largest.reverse();
        let mut head: Vec<f64> = largest.iter().take(3).copied().collect();
        let top = if head.is_empty() { 0.0 } else { median(&mut head) };
        let swing = ends.iter().map(|e| e.high - e.low).fold(0.0, f64::max);
        let significant = |e: &&Ends| e.high > 20.0 * noise.floor;
        let control = ends.iter().filter(significant).map(|e| 1.0 - e.low / e.high).fold(0.0, f64::max);
        let plate_exponent = exponent(ends.iter().map(|e| (e.va, e.high)), noise);
        let deep_exponent = exponent(ends.iter().map(|e| (e.va, e.low)), noise);
        Self { top, swing, control, plate_exponent, deep_exponent, ends }
    }
}

/// Readings averaged at each end of a curve, to keep one wild point from deciding.
const END_POINTS: usize = 3;

fn ends(points: &Points, curves: &[Curve]) -> Vec<Ends> {
    let mean = |index: &[usize]| {
        let mut values: Vec<f64> = index.iter().map(|&i| points.ia[i]).collect();
        median(&mut values)
    };
    let transfer: Vec<&Curve> = curves.iter().filter(|c| c.running == Running::Grid && c.index.len() >= 2).collect();
    if !transfer.is_empty() {
        return transfer
            .iter()
            .map(|c| {
                // Of a short curve the ends must not be the same readings.
                let n = (c.index.len() / 2).clamp(1, END_POINTS);
                Ends { va: c.held, low: mean(&c.index[..n]), high: mean(&c.index[c.index.len() - n..]) }
            })
            .collect();
    }
    // Plate family: the outermost curves, read at plate voltages that both have.
    let (Some(low), Some(high)) = (curves.first(), curves.last()) else { return Vec::new() };
    if std::ptr::eq(low, high) {
        return Vec::new();
    }
    let span = |c: &Curve| (points.va[c.index[0]], points.va[c.index[c.index.len() - 1]]);
    let (from, to) = (span(low).0.max(span(high).0), span(low).1.min(span(high).1));
    (1..=4)
        .map(|q| from + (to - from) * f64::from(q) / 4.0)
        .filter(|va| *va > 0.0)
        .map(|va| Ends { va, low: interpolate(points, low, va), high: interpolate(points, high, va) })
        .collect()
}

fn interpolate(points: &Points, curve: &Curve, va: f64) -> f64 {
    let at = curve.index.partition_point(|&i| points.va[i] < va).clamp(1, curve.index.len().max(2) - 1);
    let (a, b) = (curve.index[at - 1], curve.index[at.min(curve.index.len() - 1)]);
    let width = points.va[b] - points.va[a];
    let t = if width > 0.0 { ((va - points.va[a]) / width).clamp(0.0, 1.0) } else { 0.0 };
    points.ia[a] + t * (points.ia[b] - points.ia[a])
}

/// Slope of ln current over ln plate voltage.
fn exponent(at: impl Iterator<Item = (f64, f64)>, noise: &Noise) -> Option<f64> {
    let usable: Vec<(f64, f64)> = at
        .filter(|(va, ia)| *va > 0.0 && *ia > 20.0 * noise.floor)
        .map(|(va, ia)| (libm::log(va), libm::log(ia)))
        .collect();
    let n = usable.len() as f64;
    let (mx, my) = (usable.iter().map(|p| p.0).sum::<f64>() / n, usable.iter().map(|p| p.1).sum::<f64>() / n);
    let sxx: f64 = usable.iter().map(|p| (p.0 - mx).powi(2)).sum();
    let sxy: f64 = usable.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum();
    (usable.len() >= 2 && sxx > 1e-4).then(|| sxy / sxx)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_grid_has_a_say_on_a_curve_of_any_length() {
        for n in 2..9 {
            let vg: Vec<f64> = (0..n).map(|i| f64::from(i) - 9.0).collect();
            let ia: Vec<f64> = (0..n).map(|i| 1e-3 * f64::from(i * i) + 1e-5).collect();
            let points = Points { va: vec![200.0; vg.len()], vg, ia, ..Points::default() };
            let curve = Curve { running: Running::Grid, held: 200.0, index: (0..points.len()).collect() };
            let noise = Noise { floor: 1e-9, relative: 0.0, step: 0.0 };
            let control = Gross::of(&points, &[curve], &noise).control;
            assert!(control > 0.5, "{n} readings: {control}");
        }
    }
}
