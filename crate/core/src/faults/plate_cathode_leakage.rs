//! Plate–cathode leakage.

use super::shared::{
    INSULATION, SHORT, above, alternatives, explained, highest_plate, marks, path_limit, resistance, say, sentence,
};
use super::{Described, Fault, fault};
use crate::evidence::{Evidence, Path};
use crate::lesson::{Scene, Sizes};
use crate::report::{Blind, Finding, Value};
use crate::sweep::MeterPlace;

fault! {
    /// # What it is
    /// A conducting path from the plate to the cathode: a film of metal on the mica
    /// spacers or the stem, a carbon track on the base or in the socket. It acts as a
    /// resistor from plate to cathode inside the tube.
    ///
    /// # On the curves
    /// Past cutoff the plate current does not fall to zero. It stays at a floor that
    /// does not change with the grid and steps in proportion to the plate voltage:
    /// 1 MΩ shows as 300 µA at 300 V.
    ///
    /// # What looks like it
    /// A path from plate to heater looks the same on a meter in the plate lead. A path
    /// from plate to grid makes a floor that rises as the grid goes more negative. A
    /// meter that is off zero makes a floor that is the same at every plate voltage. A
    /// coarse grid makes a tail that still falls with the grid. A leak in the socket or
    /// in the bench stays when the tube is taken out.
    ///
    /// # How to settle it
    /// Sweep the deepest two or three plate voltages again with the heater off and cold:
    /// an ohmic path stays, space charge is gone. Then without the tube: what is left is
    /// the socket's or the bench's. A meter in the cathode lead sees a path to the
    /// cathode and not one to the heater.
    ///
    /// # In a stage
    /// A steady floor adds to the plate current and matters little in class A; its trend
    /// does, because such films grow with heat and use (common practice, no source). The
    /// stage cannot be cut off, and noise of the film is heard.
    ///
    /// # Sources
    /// Signature: this project's physics notes, solved as a resistor by ngspice in the
    /// tests. Insulation of electrodes as a test: MIL-STD-1311D. The limit of 100 MΩ is
    /// from memory and unverified; it is yours to change.
    tube PlateCathodeLeakage = "plate-cathode-leakage", "Plate–cathode leakage";
}

impl Fault for PlateCathodeLeakage {
    fn look(&self, evidence: &Evidence<'_>, found: &[Finding]) -> Vec<Finding> {
        (0..evidence.sections.len()).filter_map(|s| section(self, evidence, found, s)).collect()
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        path_limit(evidence, Path::PlateCathode)
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        let smallest = self.smallest(evidence);
        let (why, measure) = match &smallest {
            None => (
                "no curve goes far enough past cutoff for a floor to be seen".to_owned(),
                "Sweep the grid at least 10 V past cutoff at two or more plate voltages.".to_owned(),
            ),
            Some(limit) if limit.estimate < INSULATION => (
                format!("paths of more than {} are lost in the meter's noise", say(limit.estimate, "ohm")),
                finer(evidence, limit.estimate),
            ),
            Some(_) => return None,
        };
        Some(Blind { fault: self.name().into(), why, smallest, measure })
    }

    fn inject(&self, scene: &mut Scene, section: usize, size: f64) {
        scene.spoil(section, |d| d.plate_cathode = Some(size));
    }

    fn times(&self, smallest: f64, times: f64) -> f64 {
        // Twice the leak is half the resistance.
        smallest / times
    }

    fn sizes(&self, scene: &Scene) -> Option<Sizes> {
        // A tenth of what the tube gives: more would hide its tail.
        let severe = (10.0 * scene.top_plate() / scene.largest_current()).max(100e3);
        Some(Sizes { quantity: "leakage resistance", unit: "ohm", mild: 20e6, severe: severe.min(2e6) })
    }
}

/// What it takes past cutoff to reach the limit of insulation: the smallest
/// detectable conductance goes with the noise and with one over the root of the
/// number of readings.
fn finer(evidence: &Evidence<'_>, ohm: f64) -> String {
    let factor = INSULATION / ohm;
    let noise = evidence.sections.iter().map(|s| s.noise.floor).fold(0.0, f64::max);
    format!(
        "Past cutoff use a range on which single readings scatter by no more than {} (now {}), or take {:.0} times as many; or measure the insulation from plate to cathode cold.",
        say(noise / factor, "A"),
        say(noise, "A"),
        (factor * factor).ceil()
    )
}

fn section(fault: &PlateCathodeLeakage, evidence: &Evidence<'_>, found: &[Finding], s: usize) -> Option<Finding> {
    let section = &evidence.sections[s];
    let leaks = &section.leaks;
    let conductance = leaks.estimate(Path::PlateCathode)?;
    let here = leaks.probability(Path::PlateCathode) * above(conductance, 1.0 / INSULATION);
    let grid_path = leaks.probability(Path::PlateGrid);
    // A path that leaves the grid no say is a short and has a file of its own.
    if conductance.value > 1.0 / SHORT {
        return None;
    }
    // The likelier of two paths that this sweep cannot tell apart carries the finding; where
    // both are likelier than not, both are there.
    if here < 0.5 && (here < grid_path || explained(found, section.name, &["plate-grid-leakage"])) {
        return None;
    }
    let va = highest_plate(evidence, s);
    let voltages = match leaks.plate_voltages {
        1 => "at the one plate voltage that reaches cutoff".to_owned(),
        n => format!("in proportion at {n} plate voltages"),
    };
    let grid = if leaks.grid_rows.is_empty() { "" } else { " The grid meter shows no counterpart." };
    Some(Finding {
        fault: fault.name().into(),
        section: Some(section.name.into()),
        confidence: here,
        value: Some(resistance(conductance)),
        evidence: sentence(
            evidence,
            s,
            &format!(
                "past cutoff the plate current stays at {} at {} V, flat in the grid voltage, {voltages}.{grid}",
                say(conductance.value * va, "A"),
                va.round()
            ),
        ),
        confirm: confirm(evidence.meter),
        alternatives: alternatives([
            ("plate-grid-leakage", grid_path),
            ("zero-offset", leaks.probability(Path::PlateOffset) * (1.0 - here)),
            ("uneven-grid", leaks.probability(Path::CoarseTail) * (1.0 - here)),
        ]),
        marks: marks(s, &leaks.plate_rows),
    })
}

fn confirm(meter: MeterPlace) -> String {
    let heater = match meter {
        MeterPlace::PlateLead => {
            " A path from plate to heater would look the same on this meter; one in the cathode lead tells them apart."
        }
        MeterPlace::CathodeLead => "",
    };
    format!("Repeat the points past cutoff with the heater off and cold, then with the tube out of its socket.{heater}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::ZeroOffset;
    use crate::faults::proof::*;
    use crate::faults::{LowEmission, PlateGridLeakage, UnevenGrid};

    proved!(
        PlateCathodeLeakage,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).with(&PlateCathodeLeakage, 1, 3e6).within(0.02),
                on(Dempwolf, "12AX7", 12).grid_meter().with(&PlateCathodeLeakage, 0, 10e6).within(0.05),
                on(ChildLangmuir, "6SN7GTB", 13).with(&PlateCathodeLeakage, 1, 1e6).within(0.03),
                on(Rydel, "12AU7", 14).cathode_meter().with(&PlateCathodeLeakage, 0, 2e6).within(0.03),
            ],
            silent: sound(&PlateCathodeLeakage),
            look_alikes: vec![
                // The same at every plate voltage.
                on(Strips, "12AU7", 15).with(&ZeroOffset, 0, 60e-6),
                // Rises as the grid goes more negative.
                on(CohenHelie, "6SN7GTB", 16).with(&PlateGridLeakage, 1, 3e6),
                // Still falls with the grid.
                on(Strips, "12AX7", 17).with(&UnevenGrid, 0, 0.1),
            ],
            together: vec![
                on(Strips, "12AU7", 18).with(&PlateCathodeLeakage, 0, 3e6).severe(&LowEmission, 0, 0.5),
                on(Dempwolf, "12AX7", 19).with(&PlateCathodeLeakage, 0, 5e6).with(&UnevenGrid, 1, 0.1),
                on(Rydel, "12AU7", 20).with(&PlateCathodeLeakage, 1, 3e6).with(&ZeroOffset, 0, 50e-6),
            ],
            larger: vec![
                on(Strips, "12AU7", 21).growing(&PlateCathodeLeakage, 1),
                on(Dempwolf, "12AX7", 22).grid_meter().growing(&PlateCathodeLeakage, 0),
            ],
        }
    );
}
