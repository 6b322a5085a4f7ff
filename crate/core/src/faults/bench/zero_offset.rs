//! Zero offset.

use crate::evidence::{Evidence, Path, SectionEvidence};
use crate::faults::shared::{alternatives, bound, marks, say, shorted, value, worst};
use crate::faults::{Described, Fault, fault};
use crate::lesson::{Scene, Sizes};
use crate::numerics::{Estimate, normal_below};
use crate::report::{Blind, Finding, Mark, Value};
use crate::sweep::MeterPlace;

fault! {
    /// # What it is
    /// The plate-current meter does not read zero at zero current.
    ///
    /// # On the curves
    /// Past cutoff every curve stands at the same reading, whatever the plate voltage and
    /// the grid voltage, in both sections alike and even in a section that is dead. It can
    /// be negative, which no leak can.
    ///
    /// # What looks like it
    /// A leak from plate to cathode also makes a floor, but one in proportion to the plate
    /// voltage. With a single plate voltage the two cannot be told apart.
    ///
    /// # How to settle it
    /// Take a few readings with the tube out of its socket, or with the plate supply at
    /// zero: the offset stays. Set the meter's zero and repeat.
    ///
    /// # In a stage
    /// Nothing: it is the bench's. Taken off every reading, the curves are the tube's.
    ///
    /// # Sources
    /// Table of signatures in this project's reference notes, section 4.4 (computed there);
    /// otherwise common practice, no source.
    bench ZeroOffset = "zero-offset", "Zero offset of the current meter";
}

/// Offsets below this many steps of the meter, or standard deviations of its
/// noise, are the meter's ordinary uncertainty (common practice, no source).
const WORTH_NAMING: f64 = 2.0;
/// Share of constants in one section on a cathode-lead meter that are the
/// meter's own after all (common practice, no source).
const NOT_THE_HEATER: f64 = 0.25;
/// How far the offsets of two sections may differ, as a share, and still be one
/// meter's: their floors are measured on different points.
const SAME_SHARE: f64 = 0.1;

impl Fault for ZeroOffset {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        let seen: Vec<(usize, f64, Estimate)> = evidence
            .sections
            .iter()
            .enumerate()
            // What a shorted section reads is the short's.
            .filter(|(_, section)| shorted(section).is_none())
            .filter_map(|(s, section)| {
                let offset = section.leaks.estimate(Path::PlateOffset)?;
                let large = normal_below((offset.value.abs() - least(section)) / offset.sd.max(1e-30));
                Some((s, section.leaks.probability(Path::PlateOffset) * large, offset))
            })
            .collect();
        if seen.is_empty() {
            return Vec::new();
        }
        let marks_of = |s: usize| marks(s, &evidence.sections[s].leaks.plate_rows);
        let all: f64 = seen.iter().map(|(_, p, _)| p).product();
        if seen.len() == evidence.sections.len() && all > 0.1 && agree(&seen) {
            let weights: f64 = seen.iter().map(|(.., e)| e.sd.powi(-2)).sum();
            let mean = seen.iter().map(|(.., e)| e.value * e.sd.powi(-2)).sum::<f64>() / weights;
            let both = if seen.len() > 1 { " in both sections" } else { "" };
            return vec![self.finding(
                None,
                all,
                Estimate::new(mean, weights.recip().sqrt()),
                format!("Past cutoff the meter reads {} at every plate voltage{both}.", say(mean, "A")),
                seen.iter().flat_map(|(s, ..)| marks_of(*s)).collect(),
                leak_rival(evidence, &seen),
            )];
        }
        // A meter in the cathode lead reads heater–cathode leakage as a constant;
        // in one section alone that is the likelier (reference 4.2).
        let from_heater = evidence.meter == MeterPlace::CathodeLead && evidence.sections.len() > 1;
        let share = if from_heater { NOT_THE_HEATER } else { 1.0 };
        seen.iter()
            .filter(|(_, p, _)| *p > 0.1)
            .map(|(s, p, e)| (s, p * share, e))
            .map(|(s, p, e)| {
                let name = evidence.sections[*s].name;
                self.finding(
                    Some(name.into()),
                    p,
                    *e,
                    format!(
                        "Section {name}: past cutoff the meter reads {} at every plate voltage; the other section shows no such offset.",
                        say(e.value, "A")
                    ),
                    marks_of(*s),
                    leak_rival(evidence, std::slice::from_ref(&(*s, p, *e))),
                )
            })
            .collect()
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        let shown = worst(evidence.sections.iter().map(|s| s.leaks.smallest(Path::PlateOffset)))?;
        let named = evidence.sections.iter().map(least).fold(0.0, f64::max);
        Some(bound("offset of the plate-current meter", "A", shown.max(named)))
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        self.smallest(evidence).is_none().then(|| Blind {
            fault: self.name().into(),
            why: "no curve goes far enough past cutoff to show the meter's zero".into(),
            smallest: None,
            measure: "Take a reading with the plate supply at zero.".into(),
        })
    }

    fn inject(&self, scene: &mut Scene, _section: usize, size: f64) {
        scene.bench.plate_meter.offset = size;
    }

    fn sizes(&self, scene: &Scene) -> Option<Sizes> {
        let meter = &scene.bench.plate_meter;
        let mild = 10.0 * meter.step_at(meter.noise).unwrap_or(0.0).max(meter.noise).max(1e-7);
        let severe = (0.05 * scene.largest_current()).max(2.0 * mild);
        Some(Sizes { quantity: "offset of the plate-current meter", unit: "A", mild, severe })
    }
}

/// The smallest offset that is named in a section, A.
fn least(section: &SectionEvidence<'_>) -> f64 {
    WORTH_NAMING * section.noise.step.max(section.noise.floor)
}

impl ZeroOffset {
    fn finding(
        self,
        section: Option<String>,
        confidence: f64,
        offset: Estimate,
        evidence: String,
        marks: Vec<Mark>,
        leak: f64,
    ) -> Finding {
        Finding {
            fault: self.name().into(),
            section,
            confidence,
            value: Some(value("offset of the plate-current meter", "A", offset)),
            evidence,
            confirm:
                "Read the meter with the tube out of its socket or the plate supply at zero; set its zero and repeat."
                    .into(),
            alternatives: alternatives([("plate-cathode-leakage", leak * (1.0 - confidence))]),
            marks,
        }
    }
}

fn agree(seen: &[(usize, f64, Estimate)]) -> bool {
    seen.windows(2).all(|w| {
        let (a, b) = (w[0].2, w[1].2);
        let apart = (a.value - b.value).abs();
        apart <= 4.0 * libm::hypot(a.sd, b.sd) || apart <= SAME_SHARE * a.value.abs().max(b.value.abs())
    })
}

fn leak_rival(evidence: &Evidence<'_>, seen: &[(usize, f64, Estimate)]) -> f64 {
    seen.iter().map(|(s, ..)| evidence.sections[*s].leaks.probability(Path::PlateCathode)).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::proof::*;
    use crate::faults::{ElectrodeShort, LowEmission, NoConduction, PlateCathodeLeakage};

    proved!(
        ZeroOffset,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).with(&ZeroOffset, 0, 60e-6).within(0.02),
                on(Dempwolf, "12AX7", 12).with(&ZeroOffset, 0, -20e-6).within(0.05),
                on(ChildLangmuir, "6SN7GTB", 13).grid_meter().with(&ZeroOffset, 0, 200e-6).within(0.02),
                // Even a dead section shows it.
            ],
            silent: sound(&ZeroOffset),
            look_alikes: vec![
                // In proportion to the plate voltage.
                on(Strips, "12AU7", 14).with(&PlateCathodeLeakage, 1, 2e6),
                // The same in both sections, and in proportion.
                on(Dempwolf, "12AX7", 15).with(&PlateCathodeLeakage, 0, 5e6).with(&PlateCathodeLeakage, 1, 5e6),
                // A short.
                on(Strips, "12AU7", 16).with(&ElectrodeShort, 1, 1e3),
            ],
            together: vec![
                on(Strips, "12AU7", 17).with(&ZeroOffset, 0, 50e-6).with(&PlateCathodeLeakage, 1, 3e6),
                on(Dempwolf, "12AX7", 18).with(&ZeroOffset, 0, 30e-6).with(&NoConduction, 1, f64::NAN),
                on(Koren, "12AU7", 19).with(&ZeroOffset, 0, 50e-6).severe(&LowEmission, 0, 0.5),
            ],
            larger: vec![
                on(Strips, "12AU7", 20).growing(&ZeroOffset, 0),
                on(Dempwolf, "12AX7", 21).growing(&ZeroOffset, 0),
                on(ChildLangmuir, "6SN7GTB", 22).grid_meter().growing(&ZeroOffset, 0),
            ],
        }
    );
}
