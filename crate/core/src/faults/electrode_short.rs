//! Short between plate and cathode.

use super::shared::{marks, say, sentence, shorted, value};
use super::{Described, Fault, fault};
use crate::evidence::{Evidence, State};
use crate::lesson::{Scene, Sizes};
use crate::report::{Alternative, Blind, Finding, Value};

fault! {
    /// # What it is
    /// Plate and cathode touch, or are joined by a path of so few ohms that the grid has no
    /// say: a bent support, a loose wire or flake, metal sputtered over the mica.
    ///
    /// # On the curves
    /// A straight line through the origin in the plate voltage, the same at every grid
    /// voltage; or the bench's current limit at every setting.
    ///
    /// # What looks like it
    /// A grid that has no control lets the current follow the plate voltage to the power
    /// 3/2. A leak of some megohms stands below curves that the grid still controls.
    ///
    /// # How to settle it
    /// With all supplies off and discharged, and the tube out of its socket, measure from
    /// plate pin to cathode pin, cold; then the empty socket.
    ///
    /// # In a stage
    /// The supply is shorted through the load. Do not put the tube into an amplifier.
    ///
    /// # Sources
    /// Table of signatures in this project's reference notes, section 4.4; solved as a
    /// resistor by ngspice in the tests.
    tube ElectrodeShort = "electrode-short", "Short from plate to cathode";
}

/// Confidence where the instrument is in its limit at every setting: a short is
/// likelier than a bench set to a limit that no tube could work below. With another
/// section that works below that limit on the same bench it is as good as seen.
const IN_LIMIT: f64 = 0.85;
/// Confidence where the line through the origin was seen at two plate voltages
/// or more, and where only one was swept (common practice, no source).
const WITH_LINE: f64 = 0.97;
const WITHOUT_LINE: f64 = 0.55;

impl Fault for ElectrodeShort {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        (0..evidence.sections.len())
            .filter_map(|s| {
                let section = &evidence.sections[s];
                if section.state == State::Limited {
                    return Some(limited(self, evidence, s));
                }
                let ohm = shorted(section)?;
                let lines = section.gross.ends.len() > 1;
                let text = format!(
                    "the plate current is a straight line through the origin of {}, whatever the grid voltage.",
                    say(ohm.value, "ohm")
                );
                Some(Finding {
                    fault: self.name().into(),
                    section: Some(section.name.into()),
                    confidence: if lines { WITH_LINE } else { WITHOUT_LINE },
                    value: Some(value("resistance of the short", "ohm", ohm)),
                    evidence: sentence(evidence, s, &text),
                    confirm: "With all supplies off and discharged, measure from plate pin to cathode pin cold and out of the socket, then the empty socket.".into(),
                    alternatives: vec![Alternative { fault: "plate-cathode-leakage".into(), confidence: if lines { 0.03 } else { 0.45 } }],
                    marks: marks(s, &section.leaks.plate_rows),
                })
            })
            .collect()
    }

    fn smallest(&self, _evidence: &Evidence<'_>) -> Option<Value> {
        None
    }

    fn blind(&self, _evidence: &Evidence<'_>) -> Option<Blind> {
        // Any sweep that reaches a plate voltage shows a short.
        None
    }

    fn inject(&self, scene: &mut Scene, section: usize, size: f64) {
        scene.spoil(section, |d| d.plate_cathode = Some(size));
        // Any real supply gives up at some multiple of what the tube takes.
        let limit = 3.0 * scene.largest_current();
        scene.bench.current_limit.get_or_insert(limit);
    }

    fn sizes(&self, scene: &Scene) -> Option<Sizes> {
        // From as much as the tube itself gives.
        let mild = (scene.top_plate() / scene.largest_current()).min(10e3);
        Some(Sizes { quantity: "resistance of the short", unit: "ohm", mild, severe: 0.01 * mild })
    }
}

/// A section that holds the bench in its limit at every plate and grid voltage.
fn limited(fault: &ElectrodeShort, evidence: &Evidence<'_>, s: usize) -> Finding {
    let section = &evidence.sections[s];
    // Another section that works below this level clears the bench.
    let cleared =
        evidence.sections.iter().any(|other| other.state == State::Controlled && other.gross.top < section.gross.top);
    let confidence = if cleared { WITH_LINE } else { IN_LIMIT };
    let lowest = section.points.va.iter().copied().filter(|v| *v > 0.0).fold(f64::INFINITY, f64::min);
    let text = format!(
        "the current is {} at every plate and grid voltage: the bench is held in its limit.",
        say(section.gross.top, "A")
    );
    Finding {
        fault: fault.name().into(),
        section: Some(section.name.into()),
        confidence,
        value: Some(Value {
            quantity: "resistance of the short, at most".into(),
            unit: "ohm".into(),
            estimate: lowest / section.gross.top,
            low: None,
            high: Some(lowest / section.gross.top),
        }),
        evidence: sentence(evidence, s, &text),
        confirm: "With all supplies off and discharged, measure from plate pin to every other pin, cold and out of the socket.".into(),
        alternatives: vec![Alternative { fault: "current-limit".into(), confidence: 1.0 - confidence }],
        marks: marks(s, &(0..section.points.len()).collect::<Vec<_>>()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::CurrentLimit;
    use crate::faults::proof::*;
    use crate::faults::{Gas, LowEmission, NoGridControl, PlateCathodeLeakage};

    proved!(
        ElectrodeShort,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).with(&ElectrodeShort, 1, 3e3).within(0.02),
                on(Dempwolf, "6SN7GTB", 12).with(&ElectrodeShort, 0, 1.5e3).within(0.05),
                // So low that the supply is in its limit from the first point on.
                on(ChildLangmuir, "12AU7", 13).with(&ElectrodeShort, 0, 200.0),
            ],
            silent: sound(&ElectrodeShort),
            look_alikes: vec![
                // A leak leaves the grid its say.
                on(Strips, "12AU7", 14).with(&PlateCathodeLeakage, 0, 500e3),
                // Grows with the plate voltage to the power 3/2.
                on(Dempwolf, "12AX7", 15).with(&NoGridControl, 1, f64::NAN),
                // In both sections, and only above a level.
                on(ChildLangmuir, "6SN7GTB", 16).severe(&CurrentLimit, 0, 1.0),
            ],
            together: vec![
                on(Strips, "12AU7", 17).with(&ElectrodeShort, 1, 2e3).severe(&LowEmission, 0, 0.5),
                on(Dempwolf, "12AX7", 18).grid_meter().with(&ElectrodeShort, 1, 500.0).with(&Gas, 0, 1e-3),
            ],
            larger: vec![
                on(Strips, "12AU7", 19).growing(&ElectrodeShort, 1),
                on(Dempwolf, "12AX7", 20).growing(&ElectrodeShort, 0),
            ],
        }
    );
}
