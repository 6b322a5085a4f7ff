//! Plate–grid leakage.

use super::shared::{INSULATION, above, alternatives, highest_plate, marks, path_limit, resistance, say, sentence};
use super::{Described, Fault, fault, next};
use crate::evidence::{Evidence, Path};
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
