//! Plate–grid leakage.

use super::shared::{INSULATION, above, alternatives, highest_plate, marks, path_limit, resistance, say, sentence};
use super::{Described, Fault, fault, next};
use crate::evidence::{Evidence, Path};
use crate::lesson::{Scene, Sizes};
use crate::report::{Blind, Finding, Value};

fault! {
    /// # What it is
    /// A conducting path from the plate to the grid, inside the tube or at its base. It
    /// acts as a resistor that pulls the grid towards the plate.
    ///
    /// # On the curves
    /// Past cutoff the plate current stays at a floor of (Va − Vg)/R that rises as the
    /// grid goes more negative, and the grid meter reads the same current with the
    /// opposite sign, in proportion to the plate voltage, also at cutoff. Where the bench
    /// has resistance in the grid lead, the grid is pulled up and the curves look like
    /// those of a tube with a lower mu.
    ///
    /// # What looks like it
    /// A path from plate to cathode or heater: its floor does not change with the grid.
    /// Gas and grid emission also draw reverse grid current, but gas dies with the plate
    /// current at cutoff and emission does not follow the plate voltage.
    ///
    /// # How to settle it
    /// Measure the grid current at cutoff at two plate voltages: a leak follows the plate
    /// voltage. Or measure the insulation from plate to grid cold, tube out of its socket.
    ///
    /// # In a stage
    /// It acts like a leaky coupling capacitor: the grid is pulled positive by the leak's
    /// current times the grid resistor, the bias shrinks and the plate current rises. In a
    /// fixed-bias output stage that can run away.
    ///
    /// # Sources
    /// Algebra of the grid node: this project's reference notes, section 4.1; solved as a
    /// resistor by ngspice in the tests. Insulation as a test: MIL-STD-1311D. The limit of
    /// 100 MΩ is from memory and unverified; it is yours to change.
    tube PlateGridLeakage = "plate-grid-leakage", "Plate–grid leakage";
}

impl Fault for PlateGridLeakage {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        (0..evidence.sections.len()).filter_map(|s| section(self, evidence, s)).collect()
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        path_limit(evidence, Path::PlateGrid)
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        let smallest = self.smallest(evidence);
        let why = match &smallest {
            None => "no curve goes far enough past cutoff, and the grid current was not measured".to_owned(),
            Some(limit) if limit.estimate < INSULATION => {
                format!("paths of more than {} are lost in the meter's noise", say(limit.estimate, "ohm"))
            }
            Some(_) => return None,
        };
        let measure = next::reach(evidence)
            .map_or_else(|| "Measure the insulation from plate to grid cold.".to_owned(), |r| r.plate_grid());
        Some(Blind { fault: self.name().into(), why, smallest, measure })
    }

    fn inject(&self, scene: &mut Scene, section: usize, size: f64) {
        scene.spoil(section, |d| d.plate_grid = Some(size));
    }

    fn times(&self, smallest: f64, times: f64) -> f64 {
        // Twice the leak is half the resistance.
        smallest / times
    }

    fn sizes(&self, scene: &Scene) -> Option<Sizes> {
        // Through the source resistance it may pull the grid up by a third of its travel:
        // more, and the sweep never comes to cutoff.
        let deepest = scene.bench.visits().iter().map(|v| -v.vg).fold(0.0, f64::max);
        let pulled = 3.0 * scene.bench.grid_source_resistance * scene.top_plate() / deepest.max(1.0);
        let severe = pulled.clamp(500e3, 10e6);
        Some(Sizes { quantity: "leakage resistance", unit: "ohm", mild: 20e6, severe })
    }
}

fn section(fault: &PlateGridLeakage, evidence: &Evidence<'_>, s: usize) -> Option<Finding> {
    let section = &evidence.sections[s];
    let leaks = &section.leaks;
    let conductance = leaks.estimate(Path::PlateGrid)?;
    let here = leaks.probability(Path::PlateGrid) * above(conductance, 1.0 / INSULATION);
    let cathode_path = leaks.probability(Path::PlateCathode);
    if here <= cathode_path && here < 0.5 {
        return None;
    }
    let va = highest_plate(evidence, s);
    let current = say(conductance.value * va, "A");
    let text = if leaks.grid_rows.is_empty() {
        format!(
            "past cutoff the plate current stays at about {current} at {} V and rises as the grid goes more negative",
            va.round()
        )
    } else {
        format!(
            "{} about {current} out of the grid at {} V, in proportion to the plate voltage, also at cutoff",
            leaks.grid_says(),
            va.round()
        )
    };
    let pulled = if evidence.rs > 0.0 && leaks.grid_rows.is_empty() {
        format!(
            "; through the {} in the grid lead it pulls the grid up by {}",
            say(evidence.rs, "ohm"),
            say(evidence.rs * conductance.value * va, "V")
        )
    } else {
        String::new()
    };
    let rows = if leaks.grid_rows.is_empty() { &leaks.plate_rows } else { &leaks.grid_rows };
    Some(Finding {
        fault: fault.name().into(),
        section: Some(section.name.into()),
        confidence: here,
        value: Some(resistance(conductance)),
        evidence: sentence(evidence, s, &format!("{text}{pulled}.")),
        confirm: "Measure the grid current at cutoff at two plate voltages, or the insulation from plate to grid cold and out of the socket."
            .into(),
        alternatives: alternatives([
            ("plate-cathode-leakage", cathode_path),
            ("zero-offset", leaks.probability(Path::PlateOffset) * (1.0 - here)),
            ("uneven-grid", leaks.probability(Path::CoarseTail) * (1.0 - here)),
            ("grid-emission", leaks.probability(Path::Emission) * (1.0 - here)),
        ]),
        marks: marks(s, rows),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::proof::*;
    use crate::faults::{Gas, GridCathodeLeakage, GridEmission, PlateCathodeLeakage};

    proved!(
        PlateGridLeakage,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).with(&PlateGridLeakage, 0, 3e6).within(0.05),
                on(Dempwolf, "12AX7", 12).grid_meter().with(&PlateGridLeakage, 1, 20e6).within(0.02),
                on(ChildLangmuir, "6SN7GTB", 13)
                    .grid_meter()
                    .through(10e3)
                    .with(&PlateGridLeakage, 0, 5e6)
                    .within(0.02),
            ],
            silent: sound(&PlateGridLeakage).into_iter().map(|c| c.grid_meter().through(10e3)).collect(),
            look_alikes: vec![
                // Its floor does not change with the grid.
                on(Strips, "12AU7", 14).with(&PlateCathodeLeakage, 1, 2e6),
                // Dies with the plate current at cutoff.
                on(Dempwolf, "12AX7", 15).grid_meter().with(&Gas, 0, 1e-3),
                // Does not follow the plate voltage.
                on(ChildLangmuir, "6SN7GTB", 16).grid_meter().with(&GridEmission, 1, 2e-6),
                // Follows the grid voltage.
                on(Strips, "12AU7", 17).grid_meter().with(&GridCathodeLeakage, 1, 5e6),
            ],
            together: vec![
                on(Strips, "12AU7", 18).grid_meter().with(&PlateGridLeakage, 0, 10e6).with(&Gas, 0, 1e-3),
                on(Dempwolf, "12AX7", 19).grid_meter().with(&PlateGridLeakage, 0, 20e6).with(
                    &PlateCathodeLeakage,
                    0,
                    5e6
                ),
                on(Koren, "12AU7", 20).grid_meter().with(&PlateGridLeakage, 1, 10e6).with(&GridCathodeLeakage, 0, 5e6),
            ],
            larger: vec![
                on(Strips, "12AU7", 21).growing(&PlateGridLeakage, 1),
                on(Dempwolf, "12AX7", 22).grid_meter().through(10e3).growing(&PlateGridLeakage, 0),
            ],
        }
    );
}
