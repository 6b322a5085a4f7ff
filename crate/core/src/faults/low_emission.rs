//! Low emission.

use super::shared::{
    WORKING_OF_TOP, bound, controlled, explained, highest_plate, marks, of_departure, say, sentence, value, weighed,
};
use super::{Described, Fault, fault};
use crate::evidence::{Activity, Departure, Evidence};
use crate::law::Par;
use crate::lesson::{Ceiling, Scene, Sizes};
use crate::numerics::{Estimate, normal_below};
use crate::report::{Blind, Finding, Value};

fault! {
    /// # What it is
    /// The cathode cannot give the current that the fields ask for: it is worn, poisoned,
    /// or not hot enough. The space charge in front of it is used up and the current nears
    /// a ceiling.
    ///
    /// # On the curves
    /// Low currents are as they should be. The top bends over towards a saturation current
    /// that depends little on plate and grid voltage; the local exponent falls from about
    /// 1.4 towards 0.
    ///
    /// # What looks like it
    /// A current limit of the bench is flat at one level in both sections and sharp at the
    /// corner. A resistance in the cathode lead makes the curves straighter without a
    /// ceiling. A heater fed too low a voltage is the same thing as a worn cathode, and
    /// mends itself.
    ///
    /// # How to settle it
    /// Check the heater voltage at the pins. Then repeat the upper half of the sweep with
    /// the heater 10 % lower: a good cathode hardly notices, a worn one loses much more
    /// than a tenth. Only those who know the tube's ratings should change heater voltages.
    ///
    /// # In a stage
    /// Peaks are clipped softly and distortion grows with level; the tube fades in minutes
    /// and will soon be spent. Where the peak current of the stage stays well below the
    /// ceiling it may serve a while.
    ///
    /// # Sources
    /// Excess of emission over the peak current decides life: Brimar text reprinted at
    /// tubecad.com, October 2000 (seen). Reduced-heater test: W. Donzelli, classiccmp.org
    /// (seen). Emission as a test: MIL-STD-1311D.
    tube LowEmission = "low-emission", "Low emission";
}

/// Least loss at the top of the curves for which the ceiling is named: below it
/// the law's own error could look the same (by the law errors of reference 1).
const LEAST_LOSS: f64 = 0.03;

/// What is left of the emission with the heater 10 % lower: emission goes with
/// about the sixth power of the heater voltage in oxide cathodes (Richardson's law
/// at 1020 K and a work function near 1 eV; computed, see `lesson::HEATER_POWER`).
const HEATER_TENTH: f64 = 0.54;
/// Exponent with which curves near a ceiling, usual value (physics.md gives no
/// figure; fits to worn tubes here land between 2 and 5).
const USUAL_SOFTNESS: f64 = 3.0;

impl Fault for LowEmission {
    fn look(&self, evidence: &Evidence<'_>, found: &[Finding]) -> Vec<Finding> {
        let Some(laws) = &evidence.laws else { return Vec::new() };
        let mut out = Vec::new();
        for (f, s, at) in of_departure(evidence, Departure::Ceiling) {
            let section = &evidence.sections[s];
            let loss = loss(evidence, s);
            if loss < LEAST_LOSS || explained(found, section.name, &["current-limit"]) {
                continue;
            }
            let s_inverse = laws.fit.estimate(at, Par::Ceiling);
            let ceiling = Estimate::new(1.0 / s_inverse.value, s_inverse.sd / s_inverse.value.powi(2));
            let (confidence, alternatives) = weighed(f);
            let top = section.points.top();
            let tops: Vec<usize> = (0..section.points.len()).filter(|&i| section.points.ia[i] > 0.6 * top).collect();
            let exponent = section.top_exponent.map_or_else(String::new, |e| {
                format!(" the local exponent there is {:.2} instead of about 1.4;", e.value)
            });
            let (confidence, cooler) = with_activity(confidence, section.pairs.activity.as_ref());
            let text = format!(
                "the top of the curves bends towards a ceiling of {};{exponent} at the highest point {:.0} % of the current are missing.{cooler}",
                say(ceiling.value, "A"),
                100.0 * loss
            );
            out.push(Finding {
                fault: self.name().into(),
                section: Some(section.name.into()),
                confidence,
                value: Some(value("saturation current", "A", ceiling)),
                evidence: sentence(evidence, s, &text),
                confirm: "Check the heater voltage at the pins; repeat the upper half with the heater 10 % lower and compare.".into(),
                alternatives,
                marks: marks(s, &tops),
            });
        }
        // A cooler heater shows a cathode without reserve before any curve bends.
        for (s, section) in evidence.sections.iter().enumerate() {
            let Some(activity) = &section.pairs.activity else { continue };
            let seen = out.iter().any(|f: &Finding| f.section.as_deref() == Some(section.name));
            if seen || explained(found, section.name, &["current-limit", "no-conduction"]) {
                continue;
            }
            out.push(by_activity(self, evidence, s, activity));
        }
        out
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        let top = controlled(evidence).map(|s| evidence.sections[s].points.top()).fold(f64::INFINITY, f64::min);
        // A ceiling is felt where it takes LEAST_LOSS of the current, which with
        // the usual softness is at this share of it; and it has to stand out of what a
        // healthy law and the other departures could take up.
        let felt = libm::pow(libm::pow(1.0 - LEAST_LOSS, -USUAL_SOFTNESS) - 1.0, 1.0 / USUAL_SOFTNESS);
        let seen = 1.0 / evidence.laws.as_ref()?.smallest(Departure::Ceiling)?;
        (top.is_finite() && seen > 0.0).then(|| bound("saturation current", "A", (top / felt).min(seen)))
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        let smallest = self.smallest(evidence)?;
        let needed = controlled(evidence).map(|s| WORKING_MARGIN * working(evidence, s)).fold(0.0, f64::max);
        let cooler = evidence.sections.iter().any(|s| s.pairs.activity.is_some());
        (smallest.estimate < needed && !cooler).then(|| Blind {
            fault: self.name().into(),
            why: format!(
                "a ceiling above {} does not show in a sweep that ends where this one does",
                say(smallest.estimate, "A")
            ),
            smallest: Some(smallest.clone()),
            // A heater 10 % lower halves the emission (see HEATER_TENTH), so a
            // ceiling that much higher comes into reach.
            measure: format!(
                "Repeat the upper half with the heater 10 % lower: it would show ceilings up to {}.",
                say(smallest.estimate / HEATER_TENTH, "A")
            ),
        })
    }

    fn inject(&self, scene: &mut Scene, section: usize, size: f64) {
        // A bend of middling sharpness, and a rise by 8 % from 100 to 300 V (Schottky).
        let ceiling = Ceiling { current: size, sharpness: 4.0, schottky: 0.01 };
        scene.spoil(section, |d| d.ceiling = Some(ceiling));
    }

    fn times(&self, smallest: f64, times: f64) -> f64 {
        // Twice as worn is half the current.
        smallest / times
    }

    fn sizes(&self, scene: &Scene) -> Option<Sizes> {
        let top = scene.largest_current();
        Some(Sizes { quantity: "saturation current", unit: "A", mild: 0.9 * top, severe: 0.3 * top })
    }
}

/// Loss of current with the heater a tenth lower from which on the cathode has no
/// reserve, and below which it has (a good tube keeps 90 % of its gm or more: bench
/// forum, seen, reference 3.3).
const NO_RESERVE: f64 = 0.10;
/// How sharply the two are told apart.
const RESERVE_SPREAD: f64 = 0.02;

/// Loss at the top per tenth of heater voltage.
fn loss_per_tenth(activity: &Activity) -> Estimate {
    let tenths = (1.0 - activity.heater) / 0.1;
    Estimate::new((1.0 - activity.kept.value) / tenths, activity.kept.sd / tenths)
}

/// Probability that a cathode without reserve lost as much.
fn no_reserve(activity: &Activity) -> f64 {
    let loss = loss_per_tenth(activity);
    normal_below((loss.value - NO_RESERVE) / libm::hypot(loss.sd, RESERVE_SPREAD))
}

/// A ceiling seen in the curves, with what a cooler heater says: the two are
/// independent witnesses, weighed by their odds.
fn with_activity(confidence: f64, activity: Option<&Activity>) -> (f64, String) {
    let Some(activity) = activity else { return (confidence, String::new()) };
    let p = no_reserve(activity).clamp(0.02, 0.98);
    let odds = confidence.clamp(1e-6, 1.0 - 1e-6) / (1.0 - confidence.clamp(1e-6, 1.0 - 1e-6)) * p / (1.0 - p);
    let said = format!(
        " With the heater at {:.0} % it keeps {:.0} % of its current.",
        100.0 * activity.heater,
        100.0 * activity.kept.value
    );
    (odds / (1.0 + odds), said)
}

/// A finding from the cooler heater alone.
fn by_activity(fault: &LowEmission, evidence: &Evidence<'_>, s: usize, activity: &Activity) -> Finding {
    let section = &evidence.sections[s];
    let text = format!(
        "with the heater at {:.0} % of its voltage the top of the curves keeps only {:.0} % of its current; a cathode with reserve keeps nearly all.",
        100.0 * activity.heater,
        100.0 * activity.kept.value
    );
    let top = section.points.top();
    let tops: Vec<usize> = (0..section.points.len()).filter(|&i| section.points.ia[i] > 0.6 * top).collect();
    Finding {
        fault: fault.name().into(),
        section: Some(section.name.into()),
        confidence: no_reserve(activity),
        value: Some(value("current lost per tenth of heater voltage", "1", loss_per_tenth(activity))),
        evidence: sentence(evidence, s, &text),
        confirm: "Check both heater voltages at the pins and repeat after ten minutes.".into(),
        alternatives: Vec::new(),
        marks: marks(s, &tops),
    }
}

/// Share of the current that is missing at the highest reading.
pub(crate) fn loss(evidence: &Evidence<'_>, s: usize) -> f64 {
    let Some(params) = evidence.params(s) else { return 0.0 };
    let section = &evidence.sections[s];
    let mut free = *params;
    free.set(Par::Ceiling, 0.0);
    let mut unused = [0.0; crate::law::PARS];
    (0..section.points.len()).max_by(|&a, &b| section.points.ia[a].total_cmp(&section.points.ia[b])).map_or(0.0, |i| {
        let at = section.applied(i);
        1.0 - params.predict(&at, &mut unused) / free.predict(&at, &mut unused)
    })
}

/// A ceiling below this many working currents is within reach of a stage's
/// peaks: a class-A stage swings to twice its working current.
const WORKING_MARGIN: f64 = 2.0;

/// Working current of a healthy section with this law, A.
fn working(evidence: &Evidence<'_>, s: usize) -> f64 {
    let Some(params) = evidence.params(s) else { return f64::INFINITY };
    WORKING_OF_TOP * params.law().current(highest_plate(evidence, s), 0.0)
}

/// Whether the ceiling lies below what a stage asks of the section.
pub(crate) fn below_working(evidence: &Evidence<'_>, s: usize, ceiling: f64) -> bool {
    ceiling < WORKING_MARGIN * working(evidence, s)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::{CurrentLimit, WarmUpDrift};
    use crate::faults::proof::*;
    use crate::faults::{CathodeInterface, Gas, PlateCathodeLeakage, SectionMismatch, UnevenGrid};

    proved!(
        LowEmission,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).severe(&LowEmission, 1, 0.5).within(0.1),
                on(Dempwolf, "12AX7", 12).severe(&LowEmission, 0, 0.5).within(0.15),
                on(Koren, "6SN7GTB", 13).severe(&LowEmission, 1, 0.3).within(0.1),
                on(ChildLangmuir, "6SN7GTB", 14).severe(&LowEmission, 0, 1.0).within(0.15),
            ],
            silent: sound(&LowEmission),
            look_alikes: vec![
                // Flat at one level in both sections, with a sharp corner.
                on(Strips, "12AU7", 15).severe(&CurrentLimit, 0, 0.5),
                // Straighter, without a ceiling.
                on(Strips, "12AU7", 16).severe(&CathodeInterface, 0, 0.7),
                // Low by one factor everywhere.
                on(Dempwolf, "12AX7", 17).with(&SectionMismatch, 1, 0.6),
                // Loses current at the beginning, not at the top.
                on(Strips, "12AU7", 18).severe(&WarmUpDrift, 0, 1.0),
            ],
            together: vec![
                on(Strips, "12AU7", 19).severe(&LowEmission, 0, 0.5).with(&PlateCathodeLeakage, 0, 3e6),
                on(Dempwolf, "12AX7", 20).grid_meter().severe(&LowEmission, 1, 0.5).with(&Gas, 1, 1e-3),
                on(Strips, "12AU7", 21).severe(&LowEmission, 0, 0.7).with(&UnevenGrid, 1, 0.15),
            ],
            larger: vec![
                on(Strips, "12AU7", 22).growing(&LowEmission, 1),
                on(Dempwolf, "12AX7", 23).growing(&LowEmission, 0),
                on(Rydel, "12AU7", 24).growing(&LowEmission, 0),
            ],
        }
    );
}
