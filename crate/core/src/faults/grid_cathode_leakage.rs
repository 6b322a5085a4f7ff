//! Grid–cathode leakage.

use super::shared::{INSULATION, above, alternatives, bound, marks, path_limit, resistance, say, sentence};
use super::{Described, Fault, fault, next};
use crate::evidence::{Evidence, Path, Scale};
use crate::lesson::{Scene, Sizes};
use crate::report::{Blind, Finding, Value};

fault! {
    /// # What it is
    /// A conducting path from the grid to the cathode: material evaporated from the
    /// cathode onto the mica, a loose wire, a track on the base.
    ///
    /// # On the curves
    /// The grid meter reads Vg/R: a straight line through the origin that does not depend
    /// on the plate voltage. On a bench that drives the grid stiffly the plate current
    /// shows nothing. Behind a resistance in the grid lead every grid voltage is divided by
    /// the same factor: gm and mu fall together, the zero-bias curve and the plate
    /// resistance stay, and cutoff moves out.
    ///
    /// # What looks like it
    /// In plate current alone: a tube, or a section, with a lower mu, or a grid supply that
    /// gives less than it says. A voltmeter of 10 MΩ at the grid pin is itself such a path.
    ///
    /// # How to settle it
    /// Measure the grid current at two negative grid voltages, or repeat the sweep with
    /// another resistor in the grid lead: a leak scales with it, a low mu does not.
    ///
    /// # In a stage
    /// It forms a divider with the grid resistor and the source before it: signal is lost
    /// and, with fixed bias through a large resistor, so is bias. Small against the usual
    /// grid resistor it shorts the drive.
    ///
    /// # Sources
    /// Algebra of the divider: this project's reference notes, section 4.3 item 1, solved
    /// as a resistor by ngspice in the tests. Spread of mu between specimens: Dempwolf and
    /// Zölzer, DAFx-11, table 1.
    tube GridCathodeLeakage = "grid-cathode-leakage", "Grid–cathode leakage";
}

/// A scaled axis shows from this many standard deviations of the usual
/// difference between sections on.
const SCALE_SEEN: f64 = 3.0;

impl Fault for GridCathodeLeakage {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        (0..evidence.sections.len())
            .filter_map(|s| {
                if evidence.has_grid_current(s) {
                    by_grid_current(self, evidence, s)
                } else {
                    by_scale(self, evidence, s)
                }
            })
            .collect()
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        if let Some(limit) = path_limit(evidence, Path::GridCathode) {
            return Some(limit);
        }
        let resolution = evidence.sections.iter().filter_map(|s| s.scale).map(|s| s.resolution).fold(0.0, f64::max);
        (evidence.rs > 0.0 && resolution > 0.0).then(|| {
            let kappa = libm::exp(-SCALE_SEEN * resolution);
            bound("leakage resistance", "ohm", evidence.rs * kappa / (1.0 - kappa))
        })
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        let smallest = self.smallest(evidence);
        let proposed = next::reach(evidence)
            .map_or_else(|| "Measure the grid current at two negative grid voltages.".to_owned(), |r| r.grid_cathode());
        let by_meter = path_limit(evidence, Path::GridCathode).is_some();
        let (why, measure) = match &smallest {
            Some(limit) if by_meter && limit.estimate >= INSULATION => return None,
            Some(limit) if by_meter => (
                format!("paths of more than {} are lost in the grid meter's noise", say(limit.estimate, "ohm")),
                "Measure the grid current on a more sensitive range.".to_owned(),
            ),
            _ if evidence.rs > 0.0 => (
                "without the grid current it only scales the grid axis, as a section with a lower mu does".to_owned(),
                proposed,
            ),
            _ => (
                "no grid current was measured, and a stiff grid supply hides this path from the plate current"
                    .to_owned(),
                proposed,
            ),
        };
        Some(Blind { fault: self.name().into(), why, smallest, measure })
    }

    fn inject(&self, scene: &mut Scene, section: usize, size: f64) {
        scene.spoil(section, |d| d.grid_cathode = Some(size));
    }

    fn times(&self, smallest: f64, times: f64) -> f64 {
        // Twice the leak is half the resistance.
        smallest / times
    }

    fn sizes(&self, scene: &Scene) -> Option<Sizes> {
        let rs = scene.bench.grid_source_resistance;
        // A grid meter shows the path itself; without one it shows by the share of the
        // grid voltage that it leaves: 0.85 is clear of the spread of mu, 0.5 is gross.
        let left = |share: f64| rs * share / (1.0 - share);
        let (mild, severe) = if scene.bench.grid_meter.is_some() || rs <= 0.0 {
            (20e6, 200e3_f64.max(left(0.5)))
        } else {
            (left(0.85), left(0.5))
        };
        Some(Sizes { quantity: "leakage resistance", unit: "ohm", mild, severe })
    }
}

fn by_grid_current(fault: &GridCathodeLeakage, evidence: &Evidence<'_>, s: usize) -> Option<Finding> {
    let section = &evidence.sections[s];
    let leaks = &section.leaks;
    let conductance = leaks.estimate(Path::GridCathode)?;
    let here = leaks.probability(Path::GridCathode) * above(conductance, 1.0 / INSULATION);
    let lowest = section.points.vg.iter().copied().fold(0.0, f64::min);
    let text = format!(
        "the grid current is a straight line through the origin, {} at {} V, whatever the plate voltage.",
        say(conductance.value * lowest, "A"),
        lowest
    );
    Some(Finding {
        fault: fault.name().into(),
        section: Some(section.name.into()),
        confidence: here,
        value: Some(resistance(conductance)),
        evidence: sentence(evidence, s, &text),
        confirm: "Measure from grid to cathode cold with the tube out of its socket, then the empty socket.".into(),
        alternatives: alternatives([
            ("plate-grid-leakage", leaks.probability(Path::PlateGrid) * (1.0 - here)),
            ("grid-emission", leaks.probability(Path::Emission) * (1.0 - here)),
        ]),
        marks: marks(s, &leaks.grid_rows),
    })
}

fn by_scale(fault: &GridCathodeLeakage, evidence: &Evidence<'_>, s: usize) -> Option<Finding> {
    let section = &evidence.sections[s];
    let Scale { probability, mismatch, kappa, .. } = section.scale?;
    let leak = |k: f64| evidence.rs * k / (1.0 - k);
    let value = Value {
        quantity: "leakage resistance".into(),
        unit: "ohm".into(),
        estimate: leak(kappa.value),
        low: Some(leak(kappa.low().max(0.01))),
        high: (kappa.high() < 1.0).then(|| leak(kappa.high())),
    };
    let text = format!(
        "every grid voltage acts as {:.2} of what was set: gm and mu are lower by one factor than in the other section, the zero-bias curve is the same; through {} in the grid lead that is a path of {}.",
        kappa.value,
        say(evidence.rs, "ohm"),
        say(value.estimate, "ohm")
    );
    let bent: Vec<usize> = (0..section.points.len()).filter(|&i| section.points.vg[i] < -0.5).collect();
    Some(Finding {
        fault: fault.name().into(),
        section: Some(section.name.into()),
        confidence: probability,
        value: Some(value),
        evidence: sentence(evidence, s, &text),
        confirm: "Measure the grid current of this section, or sweep again with another resistor in the grid lead: a leak changes with it, a low mu does not.".into(),
        alternatives: alternatives([("section-mismatch", mismatch)]),
        marks: marks(s, &bent),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::proof::*;
    use crate::faults::{Gas, GridEmission, LowEmission, PlateGridLeakage};

    proved!(
        GridCathodeLeakage,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).grid_meter().with(&GridCathodeLeakage, 1, 10e6).within(0.02),
                on(Dempwolf, "12AX7", 12).grid_meter().through(10e3).with(&GridCathodeLeakage, 0, 1e6).within(0.02),
                // By the scaled grid axis alone.
                on(Strips, "6SN7GTB", 13).through(100e3).with(&GridCathodeLeakage, 0, 150e3).within(0.15),
            ],
            silent: sound(&GridCathodeLeakage).into_iter().map(|c| c.through(100e3)).collect(),
            look_alikes: vec![
                // With a stiff grid drive it does not show: this is a section of lower mu.
                on(Strips, "12AU7", 14).set(|s| s.spoil(1, |d| d.mu = Some(0.75))),
                // The same behind a resistance, seen by the grid meter.
                on(Dempwolf, "12AX7", 15).grid_meter().through(10e3).set(|s| s.spoil(1, |d| d.mu = Some(0.8))),
                // Follows the plate voltage.
                on(ChildLangmuir, "6SN7GTB", 16).grid_meter().with(&PlateGridLeakage, 1, 10e6),
                // Follows no voltage.
                on(Strips, "12AX7", 17).grid_meter().with(&GridEmission, 0, 1e-6),
            ],
            together: vec![
                on(Strips, "12AU7", 18).grid_meter().with(&GridCathodeLeakage, 0, 5e6).with(&Gas, 0, 1e-3),
                on(Dempwolf, "12AX7", 19).grid_meter().with(&GridCathodeLeakage, 0, 5e6).with(
                    &PlateGridLeakage,
                    0,
                    20e6
                ),
                on(Strips, "6SN7GTB", 20).grid_meter().with(&GridCathodeLeakage, 1, 5e6).severe(&LowEmission, 0, 0.5),
            ],
            larger: vec![
                on(Strips, "12AU7", 21).grid_meter().growing(&GridCathodeLeakage, 1),
                on(Strips, "6SN7GTB", 22).through(100e3).growing(&GridCathodeLeakage, 0),
            ],
        }
    );
}
