//! Intermittent contact.

use super::shared::{alternatives, marks, sentence};
use super::{Described, Fault, fault};
use crate::evidence::Evidence;
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

impl Fault for Intermittent {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
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
}
