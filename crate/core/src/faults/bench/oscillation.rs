//! Oscillation.

use crate::evidence::Evidence;
use crate::faults::shared::{alternatives, marks, say};
use crate::faults::{Described, Fault, fault};
use crate::lesson::{self, Scene, Sizes};
use crate::numerics::logistic;
use crate::report::{Blind, Finding, Value};

fault! {
    /// # What it is
    /// The tube oscillates on the bench at a high frequency: long leads and a high
    /// transconductance make a generator of it.
    ///
    /// # On the curves
    /// Where gm is highest the readings scatter and step away from the curve; below, all is
    /// well. The edge lies at one gm for every plate voltage.
    ///
    /// # What looks like it
    /// A loose contact jumps anywhere. A kink of secondary emission in tetrodes is smooth and
    /// repeats.
    ///
    /// # How to settle it
    /// Put 1 to 10 kΩ close to the grid pin, or ferrite beads on the leads, and repeat; touch
    /// nothing under voltage.
    ///
    /// # In a stage
    /// The tube is not at fault; a stage with long leads and no grid stopper will do the same.
    ///
    /// # Sources
    /// Table of signatures in this project's reference notes, section 4.4; otherwise common
    /// practice, no source.
    bench Oscillation = "oscillation", "Oscillation on the bench";
}

/// ln odds before looking, and what each factor e of excess scatter that chance
/// does not explain adds (common practice, no source).
const BEFORE: f64 = -4.0;
const PER_E_FOLD: f64 = 4.0;

impl Fault for Oscillation {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        let mut out = Vec::new();
        for (s, section) in evidence.sections.iter().enumerate() {
            let Some(unrest) = &section.unrest else { continue };
            let log_odds = BEFORE + PER_E_FOLD * unrest.at_least;
            out.push(Finding {
                fault: self.name().into(),
                section: Some(section.name.into()),
                confidence: logistic(log_odds),
                value: None,
                evidence: format!(
                    "Section {}: above a transconductance of about {} the readings scatter {:.0} times as much as below.",
                    section.name,
                    say(unrest.from, "S"),
                    unrest.excess
                ),
                confirm: "Put 1 to 10 kΩ close to the grid pin and repeat: the unrest must go.".into(),
                alternatives: alternatives([("intermittent", 0.5 * logistic(-log_odds))]),
                marks: marks(s, &unrest.points),
            });
        }
        // The same in every section is the bench's, and said once.
        if out.len() > 1 && out.iter().all(|f: &Finding| f.confidence > 0.5) {
            let marks = out.iter().flat_map(|f| f.marks.clone()).collect();
            let surest = out.into_iter().max_by(|a, b| a.confidence.total_cmp(&b.confidence));
            return surest.map(|f| vec![Finding { section: None, marks, ..f }]).unwrap_or_default();
        }
        out
    }

    fn smallest(&self, _evidence: &Evidence<'_>) -> Option<Value> {
        None
    }

    fn blind(&self, _evidence: &Evidence<'_>) -> Option<Blind> {
        // An oscillation that does not move the readings does no harm to them.
        None
    }

    fn inject(&self, scene: &mut Scene, _section: usize, size: f64) {
        // Where gm is above three quarters of its largest.
        let from = 0.75 * scene.largest_gm();
        scene.bench.oscillation = Some(lesson::Oscillation { from, depth: size, scatter: 0.3 * size });
    }

    fn sizes(&self, _scene: &Scene) -> Option<Sizes> {
        Some(Sizes { quantity: "share of the current that it takes", unit: "1", mild: 0.05, severe: 0.25 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::{CoarseResolution, ZeroOffset};
    use crate::faults::proof::*;
    use crate::faults::{Intermittent, LowEmission, PlateCathodeLeakage};

    proved!(
        Oscillation,
        Proof {
            named: vec![
                on(Dempwolf, "12AX7", 11).severe(&Oscillation, 0, 0.7),
                on(CohenHelie, "6SN7GTB", 12).severe(&Oscillation, 0, 0.5),
                on(ChildLangmuir, "6SN7GTB", 13).severe(&Oscillation, 0, 0.3),
            ],
            silent: sound(&Oscillation),
            look_alikes: vec![
                // A loose contact jumps anywhere.
                on(Dempwolf, "12AX7", 14).with(&Intermittent, 0, 0.1),
                // The steps of a meter.
                on(Dempwolf, "12AX7", 100).severe(&CoarseResolution, 0, 0.3),
                // A bend at the top without unrest.
                on(Strips, "12AU7", 16).severe(&LowEmission, 0, 0.6),
            ],
            together: vec![
                on(ChildLangmuir, "6SN7GTB", 17).severe(&Oscillation, 0, 0.7).with(&PlateCathodeLeakage, 1, 3e6),
                on(CohenHelie, "6SN7GTB", 18).severe(&Oscillation, 0, 0.5).with(&ZeroOffset, 0, 50e-6),
            ],
            larger: vec![
                on(Dempwolf, "12AX7", 19).growing(&Oscillation, 0),
                on(CohenHelie, "6SN7GTB", 20).growing(&Oscillation, 0),
            ],
        }
    );
}
