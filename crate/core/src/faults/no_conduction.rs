//! No conduction.

use super::shared::{marks, say, sentence};
use super::{Described, Fault, fault};
use crate::evidence::{Evidence, State};
use crate::lesson::{Scene, Sizes};
use crate::report::{Alternative, Blind, Finding, Value};

fault! {
    /// # What it is
    /// The section carries no space current: its heater is open or not supplied, its
    /// cathode lead or plate lead is open, its cathode is spent, or there is air in the
    /// envelope.
    ///
    /// # On the curves
    /// Nothing but the meter's noise, whatever the plate and the grid are told; at most a
    /// straight line of a leak.
    ///
    /// # What looks like it
    /// A supply that was off, a plate lead or a pin that made no contact, a sweep that
    /// began before the heater was warm, or a grid range that is all beyond cutoff.
    ///
    /// # How to settle it
    /// Look for the heater's glow and measure its current. If the heater is right, swap the
    /// leads of the two sections and repeat: a fault of the bench stays with the lead. A
    /// white or milky getter means air.
    ///
    /// # In a stage
    /// The stage does not work, and direct-coupled stages behind it see the full supply
    /// voltage. The section is of no use.
    ///
    /// # Sources
    /// Table of signatures in this project's reference notes, section 4.4; the glow and the
    /// getter are common practice, no source.
    tube NoConduction = "no-conduction", "No conduction";
}

/// A section with an ohmic path this strong, as a share of the other's current,
/// is spoken of by the path and not by this fault: what lies in series with the
/// path cannot be seen.
const HIDDEN_BY_PATH: f64 = 0.1;
/// Confidence with a second section that works on the same bench in the same
/// sweep, and without one, when the bench may simply have been off (common
/// practice, no source).
const WITH_WITNESS: f64 = 0.98;
const WITHOUT_WITNESS: f64 = 0.8;

impl Fault for NoConduction {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        let witness = evidence.sections.iter().map(|s| s.gross.top).fold(0.0, f64::max);
        let alive = evidence.sections.iter().any(|s| s.state != State::Dead);
        let mut out = Vec::new();
        for (s, section) in evidence.sections.iter().enumerate() {
            if section.state != State::Dead || section.points.is_empty() {
                continue;
            }
            if alive && section.gross.top > HIDDEN_BY_PATH * witness {
                continue;
            }
            let text = format!(
                "the plate current never exceeds {}, the meter's noise being {}{}.",
                say(section.gross.top.max(section.noise.floor), "A"),
                say(section.noise.floor, "A"),
                if alive { ", while the other section works" } else { "" }
            );
            let confidence = if alive { WITH_WITNESS } else { WITHOUT_WITNESS };
            out.push(Finding {
                fault: self.name().into(),
                section: Some(section.name.into()),
                confidence,
                value: None,
                evidence: sentence(evidence, s, &text),
                confirm: "Measure the heater current; then repeat with the leads of the sections swapped.".into(),
                alternatives: if alive {
                    Vec::new()
                } else {
                    vec![Alternative { fault: "short-range".into(), confidence: 1.0 - confidence }]
                },
                marks: marks(s, &(0..section.points.len()).collect::<Vec<_>>()),
            });
        }
        out
    }

    fn smallest(&self, _evidence: &Evidence<'_>) -> Option<Value> {
        None
    }

    fn blind(&self, _evidence: &Evidence<'_>) -> Option<Blind> {
        // Any sweep of a section shows whether it conducts.
        None
    }

    fn inject(&self, scene: &mut Scene, section: usize, _size: f64) {
        scene.spoil(section, |d| d.dead = true);
    }

    fn sizes(&self, _scene: &Scene) -> Option<Sizes> {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::ZeroOffset;
    use crate::faults::proof::*;
    use crate::faults::{ElectrodeShort, LowEmission, PlateCathodeLeakage, SectionMismatch};

    proved!(
        NoConduction,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).with(&NoConduction, 1, f64::NAN),
                on(Dempwolf, "12AX7", 12).grid_meter().with(&NoConduction, 0, f64::NAN),
                // Both sections: nothing works on the bench to bear witness.
                on(ChildLangmuir, "6SN7GTB", 13).with(&NoConduction, 0, f64::NAN).with(&NoConduction, 1, f64::NAN),
            ],
            silent: sound(&NoConduction),
            look_alikes: vec![
                // A worn section gives little, and under its grid.
                on(Strips, "12AU7", 14).with(&SectionMismatch, 1, 0.1),
                // A short.
                on(Dempwolf, "12AX7", 15).with(&ElectrodeShort, 1, 500.0),
                // The end of the curves is not all of the sweep.
                on(Strips, "12AX7", 16).set(deeper),
            ],
            together: vec![
                on(Strips, "12AU7", 17).with(&NoConduction, 0, f64::NAN).severe(&LowEmission, 1, 0.5),
                on(Dempwolf, "12AX7", 18).with(&NoConduction, 0, f64::NAN).with(&PlateCathodeLeakage, 0, 10e6),
                on(Koren, "12AU7", 19).with(&NoConduction, 1, f64::NAN).with(&ZeroOffset, 0, 50e-6),
            ],
            larger: vec![
                [0.02, 8e-3, 3e-3, 1e-3, 1e-4, 1e-7]
                    .map(|left| on(Strips, "12AU7", 20).with(&SectionMismatch, 1, left).being(&NoConduction, 1))
                    .to_vec(),
            ],
        }
    );
}
