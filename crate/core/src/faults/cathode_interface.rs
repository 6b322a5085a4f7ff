//! Cathode interface resistance.

use super::shared::{bound, controlled, explained, marks, of_departure, say, sentence, value, weighed};
use super::{Described, Fault, fault};
use crate::evidence::{Departure, Evidence};
use crate::law::Par;
use crate::lesson::{Scene, Sizes};
use crate::report::{Blind, Finding, Value};
use crate::sweep::MeterPlace;

fault! {
    /// # What it is
    /// A layer between the cathode's coating and its nickel core that resists the current,
    /// grown in tubes that were kept hot with little or no plate current. It acts as a
    /// resistor in the cathode lead, shunted by about 0.01 µF.
    ///
    /// # On the curves
    /// The cathode's own voltage drop works against the grid: the curves become straighter
    /// and gm is lower at the top, by more the higher the current. The toe and cutoff stay,
    /// and there is no ceiling. 1/gm is larger than it should be by the same resistance
    /// everywhere.
    ///
    /// # What looks like it
    /// The burden of a meter in the cathode lead, or a bad contact in the socket, is the
    /// same thing at DC. A plate supply that sags does the same to both sections. A worn
    /// cathode bends towards a ceiling.
    ///
    /// # How to settle it
    /// Measure gm at signal frequency: the layer's capacitance bridges it above some tens of
    /// kilohertz, and gm recovers; a resistor outside the tube does not. Clean the pins and
    /// repeat. Swap the leads of the sections.
    ///
    /// # In a stage
    /// Gain is lost at low frequencies and kept at high ones; the loss is like that of an
    /// unbypassed cathode resistor of this size. It often grows.
    ///
    /// # Sources
    /// Size and frequency: Osterwald, Electric Radio 54 (1993), seen; Eaglesfield, Valve
    /// Cathode Life, Wireless World, December 1951, seen: up to about 40 Ω·cm². Growth
    /// without current: Waymouth, MIT RLE report 159 (1950), seen. IEC 60151-9 measures it.
    tube CathodeInterface = "cathode-interface", "Cathode interface resistance";
}

/// Least loss of gm at the top for which it is named: below it the spread of
/// exponents between sections could look the same.
const LEAST_LOSS: f64 = 0.03;

impl Fault for CathodeInterface {
    fn look(&self, evidence: &Evidence<'_>, found: &[Finding]) -> Vec<Finding> {
        of_departure(evidence, Departure::Degeneration)
            .filter_map(|(f, s, at)| {
                let section = &evidence.sections[s];
                if explained(found, section.name, &["supply-sag"]) {
                    return None;
                }
                let laws = evidence.laws.as_ref()?;
                let ohm = laws.fit.estimate(at, Par::Ri);
                let loss = loss(evidence, s, ohm.value);
                if loss < LEAST_LOSS {
                    return None;
                }
                let (confidence, alternatives) = weighed(f);
                let top = section.points.top();
                let marked: Vec<usize> =
                    (0..section.points.len()).filter(|&i| section.points.ia[i] > 0.3 * top).collect();
                let text = format!(
                    "the curves are straighter than the law, as with {} in the cathode lead; at the top gm is {:.0} % lower than it would be, the toe is untouched.",
                    say(ohm.value, "ohm"),
                    100.0 * loss
                );
                let burden = match evidence.meter {
                    MeterPlace::CathodeLead => " Take the meter out of the cathode lead first: its burden looks the same.",
                    MeterPlace::PlateLead => "",
                };
                Some(Finding {
                    fault: self.name().into(),
                    section: Some(section.name.into()),
                    confidence,
                    value: Some(value("interface resistance", "ohm", ohm)),
                    evidence: sentence(evidence, s, &text),
                    confirm: format!(
                        "Clean the pins and repeat; then compare gm at signal frequency with gm from these curves.{burden}"
                    ),
                    alternatives,
                    marks: marks(s, &marked),
                })
            })
            .collect()
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        let laws = evidence.laws.as_ref()?;
        // What takes LEAST_LOSS of gm at the top, and stands out of what a healthy law and
        // the other departures could take up.
        let felt = controlled(evidence)
            .filter_map(|s| Some(LEAST_LOSS / (1.0 - LEAST_LOSS) / gm_at_top(evidence, s)?))
            .reduce(f64::max)?;
        let ohm = laws.smallest(Departure::Degeneration)?.max(felt);
        ohm.is_finite().then(|| bound("interface resistance", "ohm", ohm))
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        (controlled(evidence).count() == 1).then(|| Blind {
            fault: self.name().into(),
            why: "a single section has no twin to be compared with: a straighter law of its own looks the same".into(),
            smallest: self.smallest(evidence),
            measure: "Compare gm at signal frequency with gm from these curves.".into(),
        })
    }

    fn inject(&self, scene: &mut Scene, section: usize, size: f64) {
        scene.spoil(section, |d| d.interface = Some(size));
    }

    fn sizes(&self, scene: &Scene) -> Option<Sizes> {
        let gm = scene.largest_gm();
        Some(Sizes { quantity: "interface resistance", unit: "ohm", mild: 0.2 / gm, severe: 1.0 / gm })
    }
}

/// gm(1 + 1/mu) of the law at the highest reading, S.
fn gm_at_top(evidence: &Evidence<'_>, s: usize) -> Option<f64> {
    let law = evidence.params(s)?.law();
    let points = &evidence.sections[s].points;
    let i = (0..points.len()).max_by(|&a, &b| points.ia[a].total_cmp(&points.ia[b]))?;
    let slopes = law.slopes(evidence.sections[s].drive.volts[i], points.vg[i]);
    Some(slopes.gm + slopes.gp).filter(|g| *g > 0.0)
}

/// Share of gm that a resistance takes at the highest reading.
fn loss(evidence: &Evidence<'_>, s: usize, ohm: f64) -> f64 {
    gm_at_top(evidence, s).map_or(0.0, |g| 1.0 - 1.0 / (1.0 + g * ohm))
}

/// Whether so much gain is lost that the section is of no use in most stages.
pub(crate) fn is_severe(evidence: &Evidence<'_>, s: usize, ohm: f64) -> bool {
    /// A third of gm lost at the top: reference 3.3 counts 70 % of gm as the end
    /// of useful life (practice).
    const SEVERE: f64 = 0.3;
    loss(evidence, s, ohm) > SEVERE
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::CurrentLimit;
    use crate::faults::proof::*;
    use crate::faults::{LowEmission, PlateCathodeLeakage, SectionMismatch};

    proved!(
        CathodeInterface,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).severe(&CathodeInterface, 1, 0.5).within(0.15),
                on(Dempwolf, "12AX7", 12).severe(&CathodeInterface, 0, 0.8).within(0.25),
                on(CohenHelie, "6SN7GTB", 13).severe(&CathodeInterface, 0, 0.5).within(0.15),
            ],
            silent: sound(&CathodeInterface),
            look_alikes: vec![
                // Bends towards a ceiling.
                on(Strips, "12AU7", 14).severe(&LowEmission, 0, 0.5),
                // Lower by one factor, as bent as before.
                on(Dempwolf, "12AX7", 15).with(&SectionMismatch, 1, 0.6),
                // Flat at one level.
                on(CohenHelie, "6SN7GTB", 16).severe(&CurrentLimit, 0, 0.5),
            ],
            together: vec![
                on(Strips, "12AU7", 17).severe(&CathodeInterface, 1, 0.7).with(&PlateCathodeLeakage, 1, 3e6),
                on(CohenHelie, "6SN7GTB", 18).severe(&CathodeInterface, 0, 0.7).severe(&LowEmission, 1, 0.7),
            ],
            larger: vec![
                on(Strips, "12AU7", 19).growing(&CathodeInterface, 1),
                on(Dempwolf, "12AX7", 20).growing(&CathodeInterface, 0),
            ],
        }
    );
}
