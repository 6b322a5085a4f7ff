//! Coarse resolution.

use crate::evidence::{Evidence, SectionEvidence, State};
use crate::faults::shared::{WORKING_OF_TOP, bound, say};
use crate::faults::{Described, Fault, fault};
use crate::lesson::{Resolution, Scene, Sizes};
use crate::report::{Blind, Finding, Value};

fault! {
    /// # What it is
    /// The meter's steps are too coarse for what is to be seen: a range too high, or too few
    /// digits written down.
    ///
    /// # On the curves
    /// Readings stand on a staircase: equal for several points, then one step up. Slopes
    /// between neighbours are zero or a whole step.
    ///
    /// # What looks like it
    /// A current limit is one long step at the top only. An offset stands still at every
    /// voltage.
    ///
    /// # How to settle it
    /// Choose a lower range or write down more digits, and repeat the lower part of the sweep.
    ///
    /// # In a stage
    /// Nothing: it says nothing about the tube.
    ///
    /// # Sources
    /// Table of signatures in this project's reference notes, section 4.4 (computed there).
    bench CoarseResolution = "coarse-resolution", "Coarse steps of the meter";
}

/// A step above this share of the working current hides a floor of the size that
/// matters in a stage (2 % of it) behind a few steps.
pub(crate) const COARSE: f64 = 0.01;
/// It is read off the file.
const CERTAIN: f64 = 0.95;

impl Fault for CoarseResolution {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        let coarsest = evidence.sections.iter().filter(|s| s.state != State::Dead).map(share).fold(0.0, f64::max);
        if coarsest < COARSE {
            return Vec::new();
        }
        let step = evidence.sections.iter().map(|s| s.noise.step).fold(0.0, f64::max);
        vec![Finding {
            fault: self.name().into(),
            section: None,
            confidence: CERTAIN,
            value: Some(bound("step of the plate-current meter", "A", step)),
            evidence: format!(
                "The readings stand on steps of {}, {:.0} % of the working current.",
                say(step, "A"),
                100.0 * coarsest
            ),
            confirm: "Use a lower range or write down more digits, and repeat the part below the working point.".into(),
            alternatives: Vec::new(),
            marks: Vec::new(),
        }]
    }

    fn smallest(&self, _evidence: &Evidence<'_>) -> Option<Value> {
        None
    }

    fn blind(&self, _evidence: &Evidence<'_>) -> Option<Blind> {
        // The step is read off the file.
        None
    }

    fn inject(&self, scene: &mut Scene, _section: usize, size: f64) {
        let meter = &mut scene.bench.plate_meter;
        meter.resolution = Resolution::Step(size);
        // Noise of more than a step would blur the stairs.
        meter.noise = meter.noise.min(0.2 * size);
    }

    fn sizes(&self, scene: &Scene) -> Option<Sizes> {
        let top = scene.largest_current();
        Some(Sizes { quantity: "step of the plate-current meter", unit: "A", mild: top / 80.0, severe: top / 12.0 })
    }
}

/// The step as a share of the working current; 0 for a section that carries none.
fn share(section: &SectionEvidence<'_>) -> f64 {
    let working = WORKING_OF_TOP * section.gross.top;
    // Two levels in all are no staircase.
    if section.gross.top < 4.0 * section.noise.step { 0.0 } else { section.noise.step / working }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::{CurrentLimit, ZeroOffset};
    use crate::faults::proof::*;
    use crate::faults::{LowEmission, NoConduction, SectionMismatch};

    proved!(
        CoarseResolution,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).severe(&CoarseResolution, 0, 0.3).within(0.01),
                on(Dempwolf, "12AX7", 12).severe(&CoarseResolution, 0, 0.5).within(0.01),
                on(ChildLangmuir, "6SN7GTB", 13).severe(&CoarseResolution, 0, 1.0).within(0.01),
            ],
            silent: sound(&CoarseResolution),
            look_alikes: vec![
                // One long step, at the top only.
                on(Strips, "12AU7", 14).severe(&CurrentLimit, 0, 0.5),
                // Stands still at every voltage.
                on(Dempwolf, "12AX7", 15).with(&ZeroOffset, 0, 30e-6),
                // Nothing but noise, in small steps.
                on(ChildLangmuir, "6SN7GTB", 16).with(&NoConduction, 0, f64::NAN),
            ],
            together: vec![
                on(Strips, "12AU7", 17).severe(&CoarseResolution, 0, 0.2).severe(&LowEmission, 1, 0.8),
                on(Dempwolf, "12AX7", 18).severe(&CoarseResolution, 0, 0.2).with(&SectionMismatch, 0, 0.5),
            ],
            larger: vec![
                on(Strips, "12AU7", 19).growing(&CoarseResolution, 0),
                on(Dempwolf, "12AX7", 20).growing(&CoarseResolution, 0),
            ],
        }
    );
}
