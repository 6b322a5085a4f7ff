//! Intermittent contact.

use super::shared::{alternatives, explained, marks, sentence};
use super::{Described, Fault, fault};
use crate::evidence::Evidence;
use crate::lesson::{self, Scene, Sizes};
use crate::numerics::logistic;
use crate::report::{Blind, Finding, Value};

fault! {
    /// # What it is
    /// A connection that comes and goes: a cracked weld, a loose grid wire, a particle
    /// between electrodes, a pin that makes poor contact.
    ///
    /// # On the curves
    /// Single readings that jump off their curve while their neighbours agree with each
    /// other: to zero, to a fraction, or to a multiple. Repeats disagree where nothing was
    /// changed.
    ///
    /// # What looks like it
    /// A relay or a range switch of the bench jumps always at the same place. Oscillation is
    /// confined to the region of highest gm. A dirty socket looks the same as a cracked weld.
    ///
    /// # How to settle it
    /// Clean pins and socket and repeat the same sweep twice: jumps that stay, at other
    /// places each time, are the tube's. Tapping a tube under voltage is for qualified people
    /// with an insulated stick.
    ///
    /// # In a stage
    /// Crackling, drop-outs, and at worst a grid that loses its bias: not to be used.
    ///
    /// # Sources
    /// Table of signatures in this project's reference notes, section 4.4; otherwise common
    /// practice, no source.
    tube Intermittent = "intermittent", "Intermittent contact";
}

/// ln odds of a tube with a loose contact when no reading is wild (common
/// practice, no source), and what each wild reading adds: a glitch of a sound
/// bench hits one reading in some thousands.
const BEFORE: f64 = -3.5;
const PER_READING: f64 = 2.5;

/// The onset of ringing is known no better than this share of the current there: it
/// comes and goes between neighbouring points (common practice, no source).
const NEAR_RINGING: f64 = 0.5;

impl Fault for Intermittent {
    fn look(&self, evidence: &Evidence<'_>, found: &[Finding]) -> Vec<Finding> {
        let Some(laws) = &evidence.laws else { return Vec::new() };
        let mut out = Vec::new();
        for (at, wild) in laws.wild.iter().enumerate() {
            let s = laws.sections[at];
            let section = &evidence.sections[s];
            // What a repeat contradicts counts like what the neighbours contradict.
            let mut wild = wild.clone();
            wild.extend(section.pairs.repeat.iter().flat_map(|r| &r.disagree));
            wild.sort_unstable();
            wild.dedup();
            // What scatters where a stage rings is the ringing's.
            if explained(found, section.name, &["oscillation"])
                && let Some(unrest) = &section.unrest
            {
                let ia = &section.points.ia;
                let least = unrest.points.iter().map(|i| ia[*i]).fold(f64::INFINITY, f64::min);
                wild.retain(|i| ia[*i] < NEAR_RINGING * least);
            }
            if wild.is_empty() {
                continue;
            }
            let repeated = section.pairs.repeat.as_ref().map_or("", |_| " or disagree with the repeat");
            let log_odds = BEFORE + PER_READING * wild.len() as f64;
            let text = format!(
                "{} of {} readings jump off {} while their neighbours agree{repeated}.",
                wild.len(),
                section.points.len(),
                if wild.len() == 1 { "its curve" } else { "their curve" }
            );
            out.push(Finding {
                fault: self.name().into(),
                section: Some(section.name.into()),
                confidence: logistic(log_odds),
                value: Some(super::shared::bound("share of wild readings", "1", wild.len() as f64 / section.points.len() as f64)),
                evidence: sentence(evidence, s, &text),
                confirm: "Clean pins and socket and repeat the sweep twice: a bench's relay jumps at the same place, a loose contact does not.".into(),
                alternatives: alternatives([("oscillation", 0.3 * logistic(-log_odds))]),
                marks: marks(s, &wild),
            });
        }
        out
    }

    fn smallest(&self, _evidence: &Evidence<'_>) -> Option<Value> {
        None
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        let repeated = evidence.sections.iter().any(|s| s.points.repeat.is_some() || s.pairs.repeat.is_some());
        (!repeated).then(|| Blind {
            fault: self.name().into(),
            why: "each point was read once: a contact that held throughout does not show".into(),
            smallest: None,
            measure: "Repeat the same sweep and compare.".into(),
        })
    }

    fn inject(&self, scene: &mut Scene, section: usize, size: f64) {
        // One reading at a time drops to nothing.
        let contact = lesson::Intermittent { share: size, run: 1.0, factor: 0.0 };
        scene.spoil(section, |d| d.intermittent = Some(contact));
    }

    fn sizes(&self, _scene: &Scene) -> Option<Sizes> {
        Some(Sizes { quantity: "share of wild readings", unit: "1", mild: 0.05, severe: 0.15 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::{CoarseResolution, CurrentLimit, Oscillation};
    use crate::faults::proof::*;
    use crate::faults::{LowEmission, PlateCathodeLeakage};

    proved!(
        Intermittent,
        Proof {
            named: vec![
                on(Strips, "12AX7", 11).with(&Intermittent, 1, 0.1).within(0.8),
                on(Dempwolf, "12AX7", 12).with(&Intermittent, 0, 0.08).within(0.8),
                on(Koren, "6DJ8", 13).with(&Intermittent, 1, 0.1).within(0.8),
            ],
            silent: sound(&Intermittent),
            look_alikes: vec![
                // Confined to the highest gm.
                on(Dempwolf, "12AX7", 14).severe(&Oscillation, 0, 0.5),
                // Steps of the meter.
                on(Strips, "12AU7", 15).severe(&CoarseResolution, 0, 0.5),
                // A corner, and no way back.
                on(ChildLangmuir, "6SN7GTB", 16).severe(&CurrentLimit, 0, 0.5),
            ],
            together: vec![
                on(Strips, "12AX7", 17).with(&Intermittent, 1, 0.1).with(&PlateCathodeLeakage, 0, 5e6),
                on(Dempwolf, "12AX7", 18).with(&Intermittent, 0, 0.08).severe(&LowEmission, 1, 0.5),
            ],
            larger: vec![
                on(Strips, "12AU7", 19).growing(&Intermittent, 1),
                on(Dempwolf, "12AX7", 20).growing(&Intermittent, 0),
            ],
        }
    );
}
