//! Supply sag.

use crate::evidence::{Departure, Evidence};
use crate::faults::shared::{bound, of_departure, say, value};
use crate::faults::{Described, Fault, fault};
use crate::law::Par;
use crate::lesson::{Scene, Sizes};
use crate::numerics::{Estimate, logistic, normal_below};
use crate::report::{Alternative, Blind, Finding, Value};

fault! {
    /// # What it is
    /// The plate supply gives less voltage the more current is drawn: its internal
    /// resistance, or that of a meter in series, comes before the plate.
    ///
    /// # On the curves
    /// Where the plate voltage is read at the tube, it falls as the current rises. Where only
    /// the set voltage is written down, every curve lies too low at high current, in all
    /// sections alike, as with a resistance in series.
    ///
    /// # What looks like it
    /// A resistance in the cathode lead of each section, such as the burden of a meter there,
    /// is the same at DC. An interface layer is in one section, rarely in both alike.
    ///
    /// # How to settle it
    /// Read the plate voltage at the pin at the highest current. If it sags, correct the
    /// supply or write down the voltage at the pin.
    ///
    /// # In a stage
    /// Nothing: it is the bench's.
    ///
    /// # Sources
    /// Table of signatures in this project's reference notes, section 4.4 (computed there);
    /// otherwise common practice, no source.
    bench SupplySag = "supply-sag", "Sagging plate supply";
}

/// Voltages read at the tube are the tube's own: a sag that is read is named from
/// this share of the plate voltage on.
const LEAST_READ: f64 = 0.02;
/// Resistances of two sections within this factor are one supply's.
const ALIKE: f64 = 1.6;

impl Fault for SupplySag {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        if let Some(sag) = evidence.sections.iter().filter_map(|s| s.sag).max_by(|a, b| a.share.total_cmp(&b.share)) {
            let confidence =
                normal_below((sag.share - LEAST_READ) / (0.2 * LEAST_READ)) * normal_below(sag.ohm.z() - 4.0);
            return vec![Finding {
                fault: self.name().into(),
                section: None,
                confidence,
                value: Some(value("resistance of the plate supply", "ohm", sag.ohm)),
                evidence: format!(
                    "The plate voltage that was read falls by {:.0} % along a curve as the current rises, as through {}.",
                    100.0 * sag.share,
                    say(sag.ohm.value, "ohm")
                ),
                confirm:
                    "Read the supply's voltage with and without load; the curves stand at the voltages that were read."
                        .into(),
                alternatives: Vec::new(),
                marks: Vec::new(),
            }];
        }
        self.in_all_sections(evidence).into_iter().collect()
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        let read = evidence.sections.iter().any(|s| s.reads_plate_voltage);
        let top = evidence.sections.iter().map(|s| s.gross.top).fold(0.0, f64::max);
        let plate = evidence.sections.iter().flat_map(|s| s.points.va.iter().copied()).fold(0.0, f64::max);
        (read && top > 0.0).then(|| bound("resistance of the plate supply", "ohm", LEAST_READ * plate / top))
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        let read = evidence.sections.iter().any(|s| s.reads_plate_voltage);
        (!read).then(|| Blind {
            fault: self.name().into(),
            why: "the plate voltages are set values: a sag that is alike in all sections looks like another law".into(),
            smallest: None,
            measure: "Read the plate voltage at the pin at the highest current.".into(),
        })
    }

    fn inject(&self, scene: &mut Scene, _section: usize, size: f64) {
        scene.bench.plate_sag = size;
    }

    fn sizes(&self, scene: &Scene) -> Option<Sizes> {
        let per_share = scene.top_plate() / scene.largest_current();
        let (mild, severe) = (0.05 * per_share, 0.2 * per_share);
        Some(Sizes { quantity: "resistance of the plate supply", unit: "ohm", mild, severe })
    }
}

impl SupplySag {
    /// The same series resistance in every section.
    fn in_all_sections(self, evidence: &Evidence<'_>) -> Option<Finding> {
        let laws = evidence.laws.as_ref()?;
        let found: Vec<_> = of_departure(evidence, Departure::Degeneration).collect();
        if found.len() < 2 || found.len() != laws.sections.len() {
            return None;
        }
        // A resistance R before the plate acts as R/(mu + 1) in the cathode lead.
        let before_plate = |at: usize| {
            let ri = laws.fit.estimate(at, Par::Ri);
            let factor = laws.fit.params[at].law().mu + 1.0;
            Estimate::new(ri.value * factor, ri.sd * factor)
        };
        let sizes: Vec<Estimate> = found.iter().map(|(.., at)| before_plate(*at)).collect();
        let (low, high) = sizes.iter().fold((f64::INFINITY, 0.0f64), |r, e| (r.0.min(e.value), r.1.max(e.value)));
        if high > ALIKE * low {
            return None;
        }
        let confidence = found.iter().map(|(f, ..)| logistic(f.log_odds)).product::<f64>();
        // Two worn cathodes with equal layers are rarer than one weak supply.
        const BOTH_WORN: f64 = 0.15;
        Some(Finding {
            fault: self.name().into(),
            section: None,
            confidence: confidence * (1.0 - BOTH_WORN),
            value: Some(value("resistance of the plate supply", "ohm", sizes[0])),
            evidence: format!(
                "All sections are straighter than the law in the same way, as with {} before the plate or {} in the cathode lead.",
                say(sizes[0].value, "ohm"),
                say(laws.fit.params[0].get(Par::Ri), "ohm")
            ),
            confirm:
                "Read the plate voltage at the pin at the highest current; take any meter out of the cathode lead."
                    .into(),
            alternatives: vec![Alternative { fault: "cathode-interface".into(), confidence: confidence * BOTH_WORN }],
            marks: Vec::new(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::CurrentLimit;
    use crate::faults::proof::*;
    use crate::faults::{CathodeInterface, LowEmission, PlateCathodeLeakage};

    proved!(
        SupplySag,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).set(reads).severe(&SupplySag, 0, 0.3).within(0.05),
                on(Dempwolf, "12AX7", 12).set(reads).severe(&SupplySag, 0, 0.7).within(0.05),
                on(ChildLangmuir, "6SN7GTB", 13).set(reads).severe(&SupplySag, 0, 0.5).within(0.05),
            ],
            silent: sound(&SupplySag).into_iter().chain([on(Strips, "12AU7", 21).set(reads)]).collect(),
            look_alikes: vec![
                // A layer in one section.
                on(Strips, "12AU7", 14).severe(&CathodeInterface, 1, 0.7),
                // A ceiling in both sections.
                on(Dempwolf, "12AX7", 15).severe(&LowEmission, 0, 0.6).severe(&LowEmission, 1, 0.6),
                // A stiff supply that limits.
                on(ChildLangmuir, "6SN7GTB", 16).severe(&CurrentLimit, 0, 0.5),
            ],
            together: vec![
                on(Strips, "12AU7", 17).set(reads).severe(&SupplySag, 0, 0.5).with(&PlateCathodeLeakage, 1, 3e6),
                on(Dempwolf, "12AX7", 18).set(reads).severe(&SupplySag, 0, 0.5).severe(&LowEmission, 0, 0.5),
            ],
            larger: vec![
                on(Strips, "12AU7", 19).set(reads).growing(&SupplySag, 0),
                on(Dempwolf, "12AX7", 20).set(reads).growing(&SupplySag, 0),
            ],
        }
    );

    fn reads(scene: &mut Scene) {
        scene.bench.reads_plate_voltage = true;
    }
}
