//! How two sections of one tube differ over the region in which they work.

use super::fits::Laws;
use crate::numerics::{Estimate, MAD_TO_SD, median};
use crate::sweep::{Curve, Points};

/// Difference of two sections.
#[derive(Debug, Clone, PartialEq)]
pub struct Contrast {
    /// ln of the first section's plate current over the second's at equal
    /// voltages, over the working region.
    pub ratio: Estimate,
    /// The same, point by point: index in the first section, ln ratio.
    pub points: Vec<(usize, f64)>,
}

impl Contrast {
    /// The difference of the fitted healthy laws at the same points: what a
    /// departure in one section does is then left out.
    pub(super) fn of_laws(self, laws: &Laws, pin: &[f64], drive: &[f64]) -> Self {
        let law = |at: usize| laws.fit.params[at].law();
        let mut values: Vec<f64> = self
            .points
            .iter()
            .map(|&(i, _)| {
                let (va, vg) = (drive[i], pin[i]);
                libm::log(law(0).current(va, vg) / law(1).current(va, vg))
            })
            .filter(|v| v.is_finite())
            .collect();
        if values.len() < 4 {
            return self;
        }
        let sd = libm::hypot(self.ratio.sd.min(0.02), laws.law_error);
        Self { ratio: Estimate::new(median(&mut values), sd), points: self.points }
    }
}

/// Working region: from this share of the larger section's top current up to
/// the top. Below it, a shift of a few hundredths of a volt is a large ratio.
pub(super) const WORKING_SHARE: f64 = 0.15;
/// The ratio depends on where the region begins; two ways of drawing it differ
/// by about this much on healthy tubes (measured on simulated ones).
const REGION: f64 = 0.01;

/// Compares reading by reading; `None` where fewer than four points of the
/// working region have a counterpart.
pub(super) fn contrast(a: (&Points, &[Curve]), b: (&Points, &[Curve])) -> Option<Contrast> {
    let top = a.0.top().max(b.0.top());
    let mut points = Vec::new();
    for curve in a.1 {
        let same =
            |c: &&Curve| c.running == curve.running && (c.held - curve.held).abs() <= 0.01 * curve.held.abs().max(1.0);
        let Some(other) = b.1.iter().find(same) else { continue };
        for &i in &curve.index {
            let x = a.0.running(curve.running)[i];
            let Some(y) = at(b.0, other, x) else { continue };
            let larger = a.0.ia[i].max(y);
            if larger > WORKING_SHARE * top && a.0.ia[i] > 0.0 && y > 0.0 {
                points.push((i, libm::log(a.0.ia[i] / y)));
            }
        }
    }
    if points.len() < 4 {
        return None;
    }
    let mut values: Vec<f64> = points.iter().map(|p| p.1).collect();
    let middle = median(&mut values);
    let mut distance: Vec<f64> = points.iter().map(|p| (p.1 - middle).abs()).collect();
    let scatter = MAD_TO_SD * median(&mut distance) / (points.len() as f64).sqrt();
    Some(Contrast { ratio: Estimate::new(middle, libm::hypot(scatter, REGION)), points })
}

pub(super) fn at(points: &Points, curve: &Curve, x: f64) -> Option<f64> {
    let run = points.running(curve.running);
    let upper = curve.index.partition_point(|&i| run[i] < x);
    if let Some(&i) = curve.index.get(upper)
        && (run[i] - x).abs() < 1e-9
    {
        return Some(points.ia[i]);
    }
    let (a, b) = (*curve.index.get(upper.checked_sub(1)?)?, *curve.index.get(upper)?);
    let t = (x - run[a]) / (run[b] - run[a]);
    Some(points.ia[a] + t * (points.ia[b] - points.ia[a]))
}
