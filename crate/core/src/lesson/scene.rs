//! A virtual tube on a virtual bench: what a fault is built into.

use super::bench::VirtualBench;
use super::defects::Defects;
use super::dice::Dice;
use super::measure::measure;
use super::published::LawChoice;
use super::specimen::{specimen, trace_impurities};
use super::tube::VirtualTube;
use crate::handbook;
use crate::sweep;

/// A tube and the bench that it lies on.
///
/// ```
/// use sweepbook_core::faults::{Fault, PlateCathodeLeakage};
/// use sweepbook_core::lesson::{LawChoice, Scene};
///
/// let kind = sweepbook_core::handbook::find("12AU7").ok_or("no such type")?;
/// let mut scene = Scene::usual(kind, LawChoice::Strips, 1).ok_or("no triode")?;
/// PlateCathodeLeakage.inject(&mut scene, 1, 2e6);
/// let report = sweepbook_core::triage(&scene.measure(1));
/// assert_eq!(report.findings[0].fault, "plate-cathode-leakage");
/// # Ok::<(), &str>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// The tube.
    pub tube: VirtualTube,
    /// The bench.
    pub bench: VirtualBench,
}

/// How large a fault may be in a lesson, in the unit of its finding's value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sizes {
    /// What the size is, such as `leakage resistance`.
    pub quantity: &'static str,
    /// Its SI unit, `1` for a ratio.
    pub unit: &'static str,
    /// One that a careful sweep shows.
    pub mild: f64,
    /// One hardly to be missed. Below `mild` where less is worse, as with the
    /// resistance of a leak.
    pub severe: f64,
}

impl Sizes {
    /// The size at a severity from 0 (mild) to 1 (severe), evenly in the logarithm.
    pub fn at(&self, severity: f64) -> f64 {
        self.mild * libm::pow(self.severe / self.mild, severity)
    }
}

impl Scene {
    /// A sound specimen of a type, with the traces of gas and leakage that sound tubes
    /// have, on a good bench with the usual sweep. `None` where the handbook knows too
    /// little of the type.
    pub fn usual(kind: &handbook::Type, law: LawChoice, seed: u64) -> Option<Self> {
        let mut tube = specimen(kind, law, seed)?;
        trace_impurities(&mut tube, &mut Dice::new(seed, "traces"));
        Some(Self { tube, bench: VirtualBench::usual(kind)? })
    }

    /// Sweeps the tube. The same seed gives the same sweep.
    pub fn measure(&self, seed: u64) -> sweep::Tube {
        measure(&self.tube, &self.bench, seed)
    }

    /// Changes what is wrong with a section; a section that the tube has not is left.
    pub fn spoil(&mut self, section: usize, change: impl FnOnce(&mut Defects)) {
        if let Some(s) = self.tube.sections.get_mut(section) {
            change(&mut s.defects);
        }
    }

    /// Highest plate voltage of the plan, V.
    pub fn top_plate(&self) -> f64 {
        self.bench.visits().iter().map(|v| v.va).fold(0.0, f64::max)
    }

    /// Largest plate current of a section's law over the plan, A; 0 for a section that
    /// the tube has not.
    pub fn top_current(&self, section: usize) -> f64 {
        let Some(s) = self.tube.sections.get(section) else { return 0.0 };
        self.bench.visits().iter().map(|v| s.form.current(v.va, v.vg)).fold(0.0, f64::max)
    }

    /// Largest plate current of any section, A.
    pub fn largest_current(&self) -> f64 {
        (0..self.tube.sections.len()).map(|s| self.top_current(s)).fold(0.0, f64::max)
    }

    /// Largest transconductance of a section's law over the plan, S; 0 for a section
    /// that the tube has not.
    pub fn top_gm(&self, section: usize) -> f64 {
        let Some(s) = self.tube.sections.get(section) else { return 0.0 };
        self.bench.visits().iter().map(|v| s.form.slopes(v.va, v.vg).0).fold(0.0, f64::max)
    }

    /// Largest transconductance of any section, S.
    pub fn largest_gm(&self) -> f64 {
        (0..self.tube.sections.len()).map(|s| self.top_gm(s)).fold(0.0, f64::max)
    }
}
