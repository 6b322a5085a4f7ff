//! Uneven grid.

use super::shared::{bound, controlled, marks, of_departure, sentence, value, weighed};
use super::{Described, Fault, fault};
use crate::evidence::{Departure, Evidence};
use crate::law::Par;
use crate::lesson::{Scene, Sizes, Uneven};
use crate::report::{Blind, Finding, Value};

fault! {
    /// # What it is
    /// Part of the cathode lies under a coarser grid: a turn is missing or displaced, the
    /// pitch is uneven, or electrons pass the ends of the grid. Two tubes in parallel, one
    /// of them with a lower mu.
    ///
    /// # On the curves
    /// A long tail and a late cutoff. The tail falls with the grid and rises with the plate
    /// voltage as a space-charge current does, not in proportion; the upper curves are nearly
    /// as they should be.
    ///
    /// # What looks like it
    /// A plate–cathode leak makes a floor that does not fall any more. A grid wound on
    /// purpose with varying pitch does this by design: such a type is not faulty.
    ///
    /// # How to settle it
    /// Sweep further down: a tail dies, a floor stays. Look whether the current at a fixed
    /// grid beyond cutoff grows with the plate voltage faster than in proportion.
    ///
    /// # In a stage
    /// More distortion at large signals, and no clean cutoff: not for stages that switch or
    /// clip by cutoff. In small-signal stages it may pass unnoticed.
    ///
    /// # Sources
    /// Pitch, spacing and the length of the tail: Mullard note on the ECL86, March 1962
    /// (seen). Table of signatures in this project's reference notes, 4.3 item 9.
    tube UnevenGrid = "uneven-grid", "Uneven grid";
}

/// Least share of the cathode for which it is named.
const LEAST_SHARE: f64 = 0.01;

/// Times [`LEAST_SHARE`] that a share is clear of it: a law that ends more sharply than the
/// fitted one takes some of it away.
const CLEAR: f64 = 1.9;

impl Fault for UnevenGrid {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        of_departure(evidence, Departure::Unevenness)
            .filter_map(|(f, s, at)| {
                let section = &evidence.sections[s];
                let fit = &evidence.laws.as_ref()?.fit;
                let share = fit.estimate(at, Par::Share);
                if share.value < LEAST_SHARE {
                    return None;
                }
                let ratio = libm::exp(fit.params[at].get(Par::LnRatio));
                let mu = fit.params[at].law().mu;
                let (confidence, alternatives) = weighed(f);
                let top = section.points.top();
                let tail: Vec<usize> = (0..section.points.len())
                    .filter(|&i| section.points.ia[i] > 5.0 * section.noise.floor && section.points.ia[i] < 0.1 * top)
                    .collect();
                let text = format!(
                    "the tail is that of a second grid in parallel: {:.0} % of the cathode at a mu of {:.1} beside {mu:.1}.",
                    100.0 * share.value,
                    mu * ratio
                );
                Some(Finding {
                    fault: self.name().into(),
                    section: Some(section.name.into()),
                    confidence,
                    value: Some(value("share of the cathode under the coarser part", "1", share)),
                    evidence: sentence(evidence, s, &text),
                    confirm: "Sweep the grid further down at the highest plate voltage: a tail dies, a leak's floor stays.".into(),
                    alternatives,
                    marks: marks(s, &tail),
                })
            })
            .collect()
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        let laws = evidence.laws.as_ref()?;
        // In a single section a law with a wider spread of its grid takes up a larger share
        // where it would not take up a smaller one: no size is promised.
        if laws.sections.len() < 2 {
            return None;
        }
        let share = laws.smallest(Departure::Unevenness)?.max(CLEAR * LEAST_SHARE);
        (share <= 0.5).then(|| bound("share of the cathode under the coarser part", "1", share))
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        let ends_early = controlled(evidence).any(|s| evidence.sections[s].reach.cut_off == 0);
        let alone = evidence.laws.as_ref().is_some_and(|laws| laws.sections.len() < 2);
        let blind = |why: &str, measure: &str| Blind {
            fault: self.name().into(),
            why: why.into(),
            smallest: None,
            measure: measure.into(),
        };
        if ends_early {
            return Some(blind("the curves end before the tail", "Sweep the grid to well past cutoff."));
        }
        alone.then(|| {
            blind(
                "a single section has no twin: an uneven grid may pass for another type's law",
                "Compare the tail with that of another tube of the type.",
            )
        })
    }

    fn inject(&self, scene: &mut Scene, section: usize, size: f64) {
        // A turn missing roughly halves the local mu.
        scene.spoil(section, |d| d.uneven = Some(Uneven { share: size, mu_ratio: 0.45 }));
    }

    fn sizes(&self, _scene: &Scene) -> Option<Sizes> {
        Some(Sizes { quantity: "share of the cathode under the coarser part", unit: "1", mild: 0.05, severe: 0.3 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::ZeroOffset;
    use crate::faults::proof::*;
    use crate::faults::{LowEmission, PlateCathodeLeakage};

    proved!(
        UnevenGrid,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).with(&UnevenGrid, 1, 0.1).within(0.15),
                on(Dempwolf, "12AX7", 12).with(&UnevenGrid, 0, 0.15).within(0.15),
                on(ChildLangmuir, "6SN7GTB", 13).with(&UnevenGrid, 1, 0.2).within(0.15),
            ],
            silent: sound(&UnevenGrid),
            look_alikes: vec![
                // A floor that does not fall.
                on(Strips, "12AU7", 14).with(&PlateCathodeLeakage, 0, 1e6),
                // A floor on the meter.
                on(Dempwolf, "12AX7", 15).with(&ZeroOffset, 0, 30e-6),
                // A lower mu of the whole section.
                on(ChildLangmuir, "6SN7GTB", 16).set(|s| s.spoil(0, |d| d.mu = Some(0.85))),
            ],
            together: vec![
                on(Strips, "12AU7", 17).set(deeper).with(&UnevenGrid, 1, 0.15).with(&PlateCathodeLeakage, 1, 3e6),
                on(Dempwolf, "12AX7", 18).with(&UnevenGrid, 0, 0.15).severe(&LowEmission, 1, 0.6),
            ],
            larger: vec![
                on(Strips, "12AU7", 19).growing(&UnevenGrid, 1),
                on(Dempwolf, "12AX7", 20).growing(&UnevenGrid, 0),
                on(ChildLangmuir, "6SN7GTB", 21).growing(&UnevenGrid, 0),
            ],
        }
    );
}
