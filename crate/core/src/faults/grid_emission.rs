//! Grid emission.

use super::shared::{above, alternatives, bound, marks, say, sentence, value, worst};
use super::{Described, Fault, fault, next};
use crate::evidence::{Evidence, Path};
use crate::lesson::{self, Scene, Sizes};
use crate::numerics::{Estimate, normal_below};
use crate::report::{Blind, Finding, Value};

fault! {
    /// # What it is
    /// The grid itself emits electrons: cathode material has settled on it and it gets hot
    /// from the cathode beside it. The electrons go to the plate.
    ///
    /// # On the curves
    /// A steady current out of the grid, the same at every plate and grid voltage as long as
    /// the tube is equally hot, still there at cutoff. With resistance in the grid lead the
    /// whole grid axis shifts. It grows over tens of seconds as the grid heats up.
    ///
    /// # What looks like it
    /// An offset of the grid-current meter is the same in both sections. A plate–grid leak
    /// follows the plate voltage, a grid–cathode leak the grid voltage, gas the plate current.
    ///
    /// # How to settle it
    /// Read the grid current at cutoff just after a cold start and again after five minutes:
    /// emission grows. Switch the heater off with the supplies on: it fades in seconds as the
    /// grid cools, while a leak stays. Raising the heater to bring it out, as military tests
    /// do, is for those who know the ratings.
    ///
    /// # In a stage
    /// The current through the grid resistor shifts the bias towards more plate current, which
    /// heats the tube further. A large grid resistor with fixed bias can run away.
    ///
    /// # Sources
    /// Test with preheat of 5 minutes and raised heater, done last: notes of MIL-PRF-1/1097,
    /// /1203, /1330 (seen). Cause: planar-triode study, abstract seen (work function of a
    /// contaminated grid 1.2 to 2 eV). The limit of 0.1 µA is from memory and unverified.
    tube GridEmission = "grid-emission", "Grid emission";
}

/// Emission from which on it is named, A: about the reverse grid current allowed
/// to new small tubes (0.1 µA, from memory, reference 3.2).
const NAMED_FROM: f64 = 1e-7;
/// A current that is not this many of its standard deviations from none is none: the
/// other causes in the grid's lead take it up as well.
const ESTABLISHED: f64 = 2.0;
/// Offset that grid-current meters have, A: the constants in published fits of
/// grid current are 40 to 80 nA (Dempwolf and Zölzer, table 1).
const METER_OFFSET: f64 = 8e-8;
/// Two sections whose constant grid current agrees within this share have one
/// meter's offset, not two emitting grids.
const SAME: f64 = 0.15;

/// Times [`NAMED_FROM`], or what is told from the other causes, that a current is clear of
/// both and of [`METER_OFFSET`], so that it is [`ESTABLISHED`] as well.
const CLEAR: f64 = 1.5;

impl Fault for GridEmission {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        (0..evidence.sections.len()).filter_map(|s| section(self, evidence, s)).collect()
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        let size = worst(evidence.sections.iter().map(|s| s.leaks.smallest(Path::Emission)))?;
        Some(bound("emitted current", "A", CLEAR * size.max(NAMED_FROM)))
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        self.smallest(evidence).is_none().then(|| Blind {
            fault: self.name().into(),
            why: if evidence.rs > 0.0 {
                format!(
                    "no grid current was measured; through {} it only shifts the grid axis, as a contact potential does",
                    say(evidence.rs, "ohm")
                )
            } else {
                "no grid current was measured, and a stiff grid supply hides it from the plate current".into()
            },
            smallest: None,
            measure: next::reach(evidence).map_or_else(
                || "Measure the grid current at cutoff, cold-started and again after five minutes.".to_owned(),
                |r| r.emission(),
            ),
        })
    }

    fn inject(&self, scene: &mut Scene, section: usize, size: f64) {
        let emission = lesson::GridEmission { current: size, to_plate: 0.0, growth: 0.0 };
        scene.spoil(section, |d| d.grid_emission = Some(emission));
    }

    fn sizes(&self, _scene: &Scene) -> Option<Sizes> {
        Some(Sizes { quantity: "emitted current", unit: "A", mild: 5e-7, severe: 1e-5 })
    }
}

/// Probability and size of a constant current out of the grid.
fn constant(evidence: &Evidence<'_>, s: usize) -> Option<(f64, Estimate)> {
    let leaks = &evidence.sections[s].leaks;
    let emission = leaks.estimate(Path::Emission)?;
    let offset = leaks.estimate(Path::GridOffset)?;
    let (p, q) = (leaks.probability(Path::Emission), leaks.probability(Path::GridOffset));
    let out = if q > p { Estimate::new(-offset.value, offset.sd) } else { emission };
    (out.value > 0.0).then(|| (leaks.probability_of_any(&[Path::Emission, Path::GridOffset]), out))
}

fn section(fault: &GridEmission, evidence: &Evidence<'_>, s: usize) -> Option<Finding> {
    let section = &evidence.sections[s];
    let (any, current) = constant(evidence, s)?;
    let leaks = &section.leaks;
    // A constant on the grid meter alone is the bench's where the twin shows it
    // too; where the twin shows none, the meter is right and the grid emits.
    let twins: Vec<_> = (0..evidence.sections.len())
        .filter(|t| *t != s && evidence.sections[*t].leaks.grid_rows.len() >= 6)
        .map(|t| constant(evidence, t))
        .collect();
    let shared =
        twins.iter().flatten().any(|(p, twin)| *p > 0.5 && (twin.value - current.value).abs() < SAME * current.value);
    let alone = !twins.is_empty() && !shared;
    let here = match () {
        () if alone => any,
        () if shared => leaks.probability(Path::Emission),
        // No twin to ask: the larger the current, the less likely it is an offset.
        () => {
            let by_size = current.value / (current.value + METER_OFFSET);
            leaks.probability(Path::Emission).max(any * by_size)
        }
    } * above(current, NAMED_FROM)
        * normal_below(current.z() - ESTABLISHED);
    let text = format!(
        "a steady {} flows out of the grid at every plate and grid voltage, also at cutoff{}.",
        say(current.value, "A"),
        if alone { ", and not in the other section" } else { "" }
    );
    Some(Finding {
        fault: fault.name().into(),
        section: Some(section.name.into()),
        confidence: here,
        value: Some(value("emitted current", "A", current)),
        evidence: sentence(evidence, s, &text),
        confirm: "Read the grid current at cutoff after a cold start and again after five minutes: emission grows, a leak does not.".into(),
        alternatives: alternatives([
            ("plate-grid-leakage", leaks.probability(Path::PlateGrid) * (1.0 - here)),
            ("grid-cathode-leakage", leaks.probability(Path::GridCathode) * (1.0 - here)),
        ]),
        marks: marks(s, &leaks.grid_rows),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::proof::*;
    use crate::faults::{Gas, GridCathodeLeakage, PlateGridLeakage};

    proved!(
        GridEmission,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).grid_meter().with(&GridEmission, 1, 1e-6).within(0.05),
                on(Dempwolf, "12AX7", 12).grid_meter().through(10e3).with(&GridEmission, 0, 5e-6).within(0.05),
                on(ChildLangmuir, "6SN7GTB", 13).grid_meter().with(&GridEmission, 0, 5e-7).within(0.1),
            ],
            silent: sound(&GridEmission).into_iter().map(|c| c.grid_meter().through(10e3)).collect(),
            look_alikes: vec![
                // Gas dies at cutoff.
                on(Strips, "12AU7", 14).grid_meter().with(&Gas, 0, 1e-3),
                // A leak follows the plate voltage.
                on(Dempwolf, "12AX7", 15).grid_meter().with(&PlateGridLeakage, 1, 20e6),
                // The offset of the grid meter is the same in both sections.
                on(ChildLangmuir, "6SN7GTB", 16).grid_meter().set(offset_of_the_grid_meter),
            ],
            together: vec![
                on(Strips, "12AU7", 17).grid_meter().with(&GridEmission, 0, 2e-6).with(&Gas, 0, 1e-3),
                on(Dempwolf, "12AX7", 18).grid_meter().with(&GridEmission, 1, 2e-6).with(&PlateGridLeakage, 0, 20e6),
                on(ChildLangmuir, "6SN7GTB", 19).grid_meter().with(&GridEmission, 1, 1e-6).with(
                    &GridCathodeLeakage,
                    1,
                    10e6
                ),
            ],
            larger: vec![
                on(Strips, "12AU7", 20).grid_meter().growing(&GridEmission, 1),
                on(Dempwolf, "12AX7", 21).grid_meter().through(10e3).growing(&GridEmission, 0),
            ],
        }
    );

    fn offset_of_the_grid_meter(scene: &mut Scene) {
        if let Some(meter) = &mut scene.bench.grid_meter {
            meter.offset = -1e-6;
        }
    }
}
