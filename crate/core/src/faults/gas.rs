//! Gas.

use super::shared::{above, alternatives, bound, marks, say, sentence, value, worst};
use super::{Described, Fault, fault, next};
use crate::evidence::{Evidence, Path};
use crate::lesson::{Scene, Sizes, ionisation};
use crate::report::{Blind, Finding, Value};

fault! {
    /// # What it is
    /// Gas in the envelope: from electrodes that were run too hot, from long storage, or
    /// through a leak in the glass. Electrons on their way to the plate ionise it, and the
    /// ions fall on the negative grid.
    ///
    /// # On the curves
    /// A grid current out of the grid, in proportion to the plate current, larger at high
    /// plate voltage, and gone at cutoff with the plate current. The plate curves stay as
    /// they are as long as the bench drives the grid stiffly; with resistance in the grid
    /// lead they become steeper at high current.
    ///
    /// # What looks like it
    /// A plate–grid leak and grid emission also draw reverse grid current, but they are
    /// still there at cutoff. Steeper curves without a grid meter can be a tube of high
    /// transconductance, or one that heats up during the sweep.
    ///
    /// # How to settle it
    /// Measure the grid current at two or three plate currents at one plate voltage: with
    /// gas the ratio of the two stays the same. Or sweep twice with different resistors in
    /// the grid lead. Gas from storage may clean up over some hours of normal running.
    ///
    /// # In a stage
    /// The ions' current through the grid resistor makes the grid less negative, which
    /// makes more ions. It is stable only while gm times the grid resistor times the ratio
    /// stays below 1; a power tube with a large grid resistor and fixed bias runs away.
    /// Do not install a suspected tube in such a stage before it is settled.
    ///
    /// # Sources
    /// Ratio of run-in valves, 3e-7 to 9e-7: G. H. Metson, the vacuum factor of the
    /// oxide-cathode valve (abstract seen). Effect of the grid resistor: Terman, Radio
    /// Engineers' Handbook, 1st ed., p. 316 (quotation seen).
    tube Gas = "gas", "Gas";
}

/// Ratio of grid ion current to plate current from which on it is named: about
/// twenty times the 9e-7 of run-in valves (Metson, abstract seen, reference 3.2).
pub(crate) const ION_RATIO: f64 = 2e-5;

impl Fault for Gas {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        (0..evidence.sections.len()).filter_map(|s| section(self, evidence, s)).collect()
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        worst(evidence.sections.iter().map(|s| s.leaks.smallest(Path::Ions)))
            .map(|k| bound("ion ratio", "1", k.max(ION_RATIO)))
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        let smallest = self.smallest(evidence);
        let proposed = next::reach(evidence)
            .map_or_else(|| "Measure the grid current at the working point and at cutoff.".to_owned(), |r| r.gas());
        let (why, measure) = match &smallest {
            None if evidence.rs > 0.0 => (
                format!(
                    "no grid current was measured; with {} in the grid lead gas only makes the curves steeper, as a better tube would",
                    say(evidence.rs, "ohm")
                ),
                proposed,
            ),
            None => (
                "no grid current was measured, and a stiff grid supply hides gas from the plate current".to_owned(),
                proposed,
            ),
            Some(k) if k.estimate > ION_RATIO => (
                format!("ion ratios below {} are lost in the grid meter's noise", say(k.estimate, "1")),
                "Measure the grid current on a more sensitive range.".to_owned(),
            ),
            Some(_) => return None,
        };
        Some(Blind { fault: self.name().into(), why, smallest, measure })
    }

    fn inject(&self, scene: &mut Scene, section: usize, size: f64) {
        // The finding states the ratio at the highest plate voltage of the sweep.
        let share = ionisation(scene.top_plate());
        if share > 0.0 {
            scene.spoil(section, |d| d.gas = Some(size / share));
        }
    }

    fn sizes(&self, scene: &Scene) -> Option<Sizes> {
        /// Loop gain through the source resistance up to which a sweep can be taken.
        const STABLE: f64 = 0.5;
        let loop_of_one = scene.largest_gm() * scene.bench.grid_source_resistance;
        let severe = if loop_of_one > 0.0 { (STABLE / loop_of_one).min(5e-3) } else { 5e-3 };
        Some(Sizes { quantity: "ion ratio", unit: "1", mild: 2e-4_f64.min(0.5 * severe), severe })
    }
}

fn section(fault: &Gas, evidence: &Evidence<'_>, s: usize) -> Option<Finding> {
    let section = &evidence.sections[s];
    let leaks = &section.leaks;
    let ratio = leaks.estimate(Path::Ions)?;
    let here = leaks.probability(Path::Ions) * above(ratio, ION_RATIO);
    let top = section.points.top();
    let text = format!(
        "{} a current out of the grid that follows the plate current, {} of it at {} V, and dies with it at cutoff.",
        leaks.grid_says(),
        say(ratio.value, "1"),
        leaks.ion_reference.round()
    );
    let lively: Vec<usize> = leaks.grid_rows.iter().copied().filter(|&i| section.points.ia[i] > 0.1 * top).collect();
    Some(Finding {
        fault: fault.name().into(),
        section: Some(section.name.into()),
        confidence: here,
        value: Some(value("ion ratio", "1", ratio)),
        evidence: sentence(evidence, s, &text),
        confirm: "Measure the grid current at two plate currents at one plate voltage, and once at cutoff; repeat after an hour of normal running.".into(),
        alternatives: alternatives([
            ("plate-grid-leakage", leaks.probability(Path::PlateGrid) * (1.0 - here)),
            ("grid-emission", leaks.probability(Path::Emission) * (1.0 - here)),
        ]),
        marks: marks(s, &lively),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::proof::*;
    use crate::faults::{GridEmission, PlateCathodeLeakage, PlateGridLeakage};
    use crate::lesson::Family;

    proved!(
        Gas,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).grid_meter().with(&Gas, 1, 1e-3).within(0.05),
                on(Dempwolf, "12AX7", 12).grid_meter().through(10e3).with(&Gas, 0, 5e-4).within(0.05),
                on(ChildLangmuir, "6SN7GTB", 13).grid_meter().with(&Gas, 1, 2e-4).within(0.05),
            ],
            silent: sound(&Gas).into_iter().map(|c| c.grid_meter().through(10e3)).collect(),
            look_alikes: vec![
                // Is still there at cutoff and follows the plate voltage.
                on(Strips, "12AU7", 14).grid_meter().with(&PlateGridLeakage, 0, 5e6),
                // Is still there at cutoff and steady.
                on(Dempwolf, "12AX7", 15).grid_meter().with(&GridEmission, 1, 2e-6),
                // Electrons that the grid of every tube draws near zero volts.
                on(ChildLangmuir, "6SN7GTB", 16).grid_meter().set(positive_grid),
            ],
            together: vec![
                on(Strips, "12AU7", 17).grid_meter().with(&Gas, 0, 5e-4).with(&GridEmission, 0, 2e-6),
                on(Dempwolf, "12AX7", 18).grid_meter().with(&Gas, 0, 1e-3).with(&PlateGridLeakage, 0, 20e6),
                on(Strips, "6SN7GTB", 19).grid_meter().with(&Gas, 1, 1e-3).with(&PlateCathodeLeakage, 1, 3e6),
            ],
            larger: vec![
                on(Strips, "12AU7", 20).grid_meter().growing(&Gas, 1),
                on(Dempwolf, "12AX7", 21).grid_meter().through(10e3).growing(&Gas, 0),
            ],
        }
    );

    fn positive_grid(scene: &mut Scene) {
        for family in &mut scene.bench.plan {
            if let Family::Transfer { grid, .. } = family {
                grid.to = 1.0;
            }
        }
    }
}
