//! The points of a section, ready to be fitted.

use super::lanes::WIDTH;
use super::model::{Applied, Params};

/// The points of one section, ready to be fitted.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Observed {
    /// Index of each point in its section.
    pub index: Vec<usize>,
    /// Voltage that drives the space charge, V.
    pub va: Vec<f64>,
    /// Plate voltage, V; empty where that is the same.
    pub anode: Vec<f64>,
    /// Grid voltage at the pin as well as it is known, V.
    pub vg: Vec<f64>,
    /// How far the plate is beyond the screen in a pentode, V; empty otherwise.
    pub plate: Vec<f64>,
    /// Plate current, A.
    pub ia: Vec<f64>,
    /// Standard deviation of the current, A.
    pub sigma: Vec<f64>,
    /// Points of the section taken before each one.
    pub time: Vec<f64>,
    /// Points of other sections taken before this section.
    pub before: f64,
}

impl Observed {
    /// A section read at these plate and grid voltages, one after the other.
    #[cfg(test)]
    pub(crate) fn made(
        points: impl Iterator<Item = (f64, f64)>,
        read: impl Fn(f64, f64) -> f64,
        sigma: impl Fn(f64) -> f64,
    ) -> Self {
        let (va, vg): (Vec<f64>, Vec<f64>) = points.unzip();
        let ia: Vec<f64> = va.iter().zip(&vg).map(|(va, vg)| read(*va, *vg)).collect();
        let index: Vec<usize> = (0..ia.len()).collect();
        let time = index.iter().map(|i| *i as f64).collect();
        Self { sigma: ia.iter().map(|ia| sigma(*ia)).collect(), index, va, vg, ia, time, ..Self::default() }
    }

    /// Number of points.
    pub fn len(&self) -> usize {
        self.ia.len()
    }

    /// Packs of points, the last one perhaps not full.
    pub(super) fn packs(&self) -> usize {
        self.len().div_ceil(WIDTH)
    }

    /// Whether there is no point.
    pub fn is_empty(&self) -> bool {
        self.ia.is_empty()
    }

    /// What was applied at a point.
    pub fn at(&self, i: usize) -> Applied {
        Applied {
            va: self.va[i],
            anode: self.anode.get(i).copied().unwrap_or(self.va[i]),
            vg: self.vg[i],
            plate: self.plate.get(i).copied().unwrap_or(0.0),
            reading: self.ia[i],
            time: self.time[i],
            before: self.before,
        }
    }

    /// Points of one section at which this was applied, with nothing known of their deviations.
    pub(super) fn at_which(at: impl Iterator<Item = Applied>) -> Self {
        let mut out = Self::default();
        for at in at {
            out.va.push(at.va);
            out.anode.push(at.anode);
            out.vg.push(at.vg);
            out.plate.push(at.plate);
            out.ia.push(at.reading);
            out.time.push(at.time);
            out.before = at.before;
        }
        out
    }

    /// Sum of squares of what the readings are off with these parameters, over their deviations.
    pub fn chi2(&self, params: &Params) -> f64 {
        let off = |((i, ia), sigma): ((&f64, &f64), &f64)| ((i - ia) / sigma).powi(2);
        params.currents_of(self).iter().zip(&self.ia).zip(&self.sigma).map(off).sum()
    }

    /// Every so many-th point, from the first.
    #[must_use]
    pub fn every(&self, stride: usize) -> Self {
        let some = |values: &Vec<f64>| values.iter().copied().step_by(stride).collect();
        Self {
            index: self.index.iter().copied().step_by(stride).collect(),
            va: some(&self.va),
            anode: some(&self.anode),
            vg: some(&self.vg),
            plate: some(&self.plate),
            ia: some(&self.ia),
            sigma: some(&self.sigma),
            time: some(&self.time),
            before: self.before,
        }
    }

    /// What was applied at every point.
    pub fn applied(&self) -> impl ExactSizeIterator<Item = Applied> {
        (0..self.len()).map(|i| self.at(i))
    }
}
