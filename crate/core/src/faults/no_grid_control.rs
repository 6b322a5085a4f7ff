//! No grid control.

use super::shared::{marks, say, sentence};
use super::{Described, Fault, fault};
use crate::evidence::{Evidence, SectionEvidence, State};
use crate::lesson::{GridState, Scene, Sizes};
use crate::report::{Alternative, Blind, Finding, Value};

fault! {
    /// # What it is
    /// The grid has no say: its lead is open and it floats, or it touches the cathode.
    ///
    /// # On the curves
    /// The plate current follows the plate voltage as it would at zero bias, with an
    /// exponent near 3/2, and is flat in the grid voltage. The grid current tells which of
    /// the two it is: none with an open grid, the supply voltage over the resistance in the
    /// grid lead with a grid that touches the cathode.
    ///
    /// # What looks like it
    /// A current limit is flat too, but at one level for every plate voltage. A short from
    /// plate to cathode follows the plate voltage in a straight line. A grid lead that makes
    /// no contact at the socket looks exactly the same.
    ///
    /// # How to settle it
    /// With everything off and discharged, measure the resistance from grid pin to cathode
    /// pin: low means they touch. Then repeat the sweep with the grid leads of the two
    /// sections swapped: if the fault moves, it is the bench's.
    ///
    /// # In a stage
    /// The section conducts heavily at once and cannot be biased; the plate load or the
    /// cathode resistor overheats.
    ///
    /// # Sources
    /// Table of signatures in this project's reference notes, section 4.4. The 3/2 law:
    /// Child 1911, Langmuir 1913.
    tube NoGridControl = "no-grid-control", "No grid control";
}

/// Confidence where the exponent in plate voltage could be measured, and where a
/// single plate voltage leaves a limit or a short open (common practice, no source).
const WITH_EXPONENT: f64 = 0.97;
const WITHOUT_EXPONENT: f64 = 0.5;

impl Fault for NoGridControl {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        let mut out = Vec::new();
        for (s, section) in evidence.sections.iter().enumerate() {
            if section.state != State::Uncontrolled {
                continue;
            }
            let (confidence, exponent) = match section.gross.plate_exponent {
                Some(p) => (WITH_EXPONENT, format!(" and grows with the plate voltage to the power {p:.2}")),
                None => (WITHOUT_EXPONENT, String::new()),
            };
            let text = format!(
                "over the whole travel of the grid the plate current changes by {:.1} %{exponent}.{}",
                100.0 * section.gross.control,
                which(evidence.rs, section)
            );
            out.push(Finding {
                fault: self.name().into(),
                section: Some(section.name.into()),
                confidence,
                value: None,
                evidence: sentence(evidence, s, &text),
                confirm: "With all supplies off and discharged, measure from grid pin to cathode pin; then repeat with the grid leads of the sections swapped.".into(),
                alternatives: if section.gross.plate_exponent.is_some() {
                    Vec::new()
                } else {
                    vec![
                        Alternative { fault: "current-limit".into(), confidence: 0.25 },
                        Alternative { fault: "electrode-short".into(), confidence: 0.25 },
                    ]
                },
                marks: marks(s, &(0..section.points.len()).collect::<Vec<_>>()),
            });
        }
        out
    }

    fn smallest(&self, _evidence: &Evidence<'_>) -> Option<Value> {
        None
    }

    fn blind(&self, _evidence: &Evidence<'_>) -> Option<Blind> {
        // Any sweep of a conducting section over its grid shows whether the grid controls it.
        None
    }

    fn inject(&self, scene: &mut Scene, section: usize, _size: f64) {
        // An open grid gathers electrons until it is some tenths of a volt negative.
        scene.spoil(section, |d| d.grid = GridState::Open { rest: -0.5, wander: 0.01 });
    }

    fn sizes(&self, _scene: &Scene) -> Option<Sizes> {
        None
    }
}

/// What the grid meter says about which of the two it is.
fn which(rs: f64, section: &SectionEvidence<'_>) -> String {
    let (Some(ig), Some(noise)) = (section.points.ig.as_ref(), section.grid_noise) else {
        return " Without the grid current an open grid and one that touches the cathode cannot be told apart.".into();
    };
    let negative = (0..ig.len()).filter(|&i| section.points.vg[i] < -1.0 && ig[i].is_finite());
    let Some(deepest) = negative.min_by(|&a, &b| section.points.vg[a].total_cmp(&section.points.vg[b])) else {
        return String::new();
    };
    if ig[deepest] < -10.0 * noise.floor {
        let through = say(section.points.vg[deepest] / ig[deepest], "ohm");
        format!(
            " The grid draws {} at {} V, as through {through}: it touches the cathode or a supply limit holds it{}.",
            say(ig[deepest], "A"),
            section.points.vg[deepest],
            if rs > 0.0 { format!(" ({} in the grid lead)", say(rs, "ohm")) } else { String::new() }
        )
    } else {
        " The grid draws no current at negative voltage: it is open.".into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::CurrentLimit;
    use crate::faults::proof::*;
    use crate::faults::{ElectrodeShort, GridCathodeLeakage, LowEmission, PlateCathodeLeakage};

    proved!(
        NoGridControl,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).with(&NoGridControl, 1, f64::NAN),
                on(Dempwolf, "12AX7", 12).grid_meter().with(&NoGridControl, 0, f64::NAN),
                // Tied to the cathode.
                on(ChildLangmuir, "6SN7GTB", 13).set(|s| tied(s, 0, 1.0)).being(&NoGridControl, 0),
            ],
            silent: sound(&NoGridControl),
            look_alikes: vec![
                // Flat too, but at one level.
                on(Strips, "12AU7", 14).severe(&CurrentLimit, 0, 1.0),
                // A straight line in the plate voltage.
                on(Dempwolf, "6SN7GTB", 15).with(&ElectrodeShort, 1, 3e3),
                // A grid that half of the voltage reaches.
                on(Strips, "6SN7GTB", 16).through(100e3).with(&GridCathodeLeakage, 1, 100e3),
            ],
            together: vec![
                on(Strips, "12AU7", 17).with(&NoGridControl, 0, f64::NAN).severe(&LowEmission, 1, 0.5),
                on(Dempwolf, "12AX7", 18).with(&NoGridControl, 0, f64::NAN).with(&PlateCathodeLeakage, 1, 5e6),
            ],
            larger: vec![
                [3e3, 1e3, 300.0, 100.0, 30.0, 1.0]
                    .map(|ohm| on(Strips, "12AU7", 19).through(10e3).set(|s| tied(s, 1, ohm)).being(&NoGridControl, 1))
                    .to_vec(),
            ],
        }
    );

    fn tied(scene: &mut Scene, section: usize, ohm: f64) {
        scene.spoil(section, |d| d.grid = GridState::Tied(ohm));
    }
}
