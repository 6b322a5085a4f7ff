//! Wrong type.

use super::shared::{alternatives, bound, controlled, explained, say, value};
use super::{Described, Fault, fault};
use crate::evidence::{Evidence, Likeness};
use crate::handbook::{self, Type};
use crate::lesson::{Scene, Sizes};
use crate::report::{Blind, Finding, Value};

fault! {
    /// # What it is
    /// The tube is healthy but not what its label says: relabelled, mixed up, or a close
    /// relative sold as the other.
    ///
    /// # On the curves
    /// A healthy shape with another amplification factor or another perveance than the
    /// type's, in both sections.
    ///
    /// # What looks like it
    /// A worn tube has the right mu and too little current. A grid supply that gives less
    /// than it says lowers mu in both sections. Consumer types spread by ±30 % in current.
    ///
    /// # How to settle it
    /// Compare construction, base and heater current with the type that the curves match;
    /// check the grid supply with a voltmeter at the pin.
    ///
    /// # In a stage
    /// Gain and operating point are another type's; ratings may be lower than the stage asks.
    ///
    /// # Sources
    /// Operating points of the handbook, each with its own source. Spread of current, ±30 %:
    /// H. M. Knoll, radiomuseum.org, thread 383722 (seen). Spread of mu between specimens:
    /// Dempwolf and Zölzer, DAFx-11, table 1.
    tube TypeMismatch = "type-mismatch", "Another type than the label says";
}

/// Faults that change mu or current of a section by themselves.
const EXPLAINS: [&str; 6] = [
    "no-conduction",
    "no-grid-control",
    "electrode-short",
    "grid-cathode-leakage",
    "plate-grid-leakage",
    "uneven-grid",
];

impl Fault for TypeMismatch {
    fn look(&self, evidence: &Evidence<'_>, found: &[Finding]) -> Vec<Finding> {
        let Some(label) = evidence.kind else { return Vec::new() };
        let judged: Vec<&Likeness> = controlled(evidence)
            .filter(|s| !explained(found, evidence.sections[*s].name, &EXPLAINS))
            .filter_map(|s| evidence.sections[s].likeness.as_ref())
            .collect();
        // Sections of one tube are one type: the one that fits the label best speaks.
        let Some(best) = judged.iter().max_by(|a, b| a.label.total_cmp(&b.label)) else { return Vec::new() };
        let wrong = 1.0 - best.label;
        let nearest = best.nearest.as_deref().map_or_else(
            || "no type of the handbook is near".to_owned(),
            |name| format!("the nearest type of the handbook is {name}"),
        );
        vec![Finding {
            fault: self.name().into(),
            section: None,
            confidence: wrong,
            value: Some(value("amplification factor over the type's", "1", best.mu_ratio)),
            evidence: format!(
                "At {} V, {} V mu is {} where the type {} has {}, and the plate current is {} where it has {}; {nearest}.",
                best.at.0,
                best.at.1,
                say(best.mu, "1"),
                label.name,
                say(best.mu / best.mu_ratio.value, "1"),
                say(best.ia, "A"),
                say(best.ia / best.current_ratio, "A"),
            ),
            confirm: "Compare the construction, the base and the heater current with the type it resembles; check the grid voltage at the pin.".into(),
            alternatives: alternatives([("section-mismatch", 0.0)]),
            marks: Vec::new(),
        }]
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        evidence.kind?;
        Some(bound("amplification factor over the type's", "1", libm::exp(Likeness::least_ln_mu())))
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        let why = match (&evidence.tube.kind, evidence.kind) {
            (None, _) => "the file does not say which type it should be".to_owned(),
            (Some(label), None) => format!("the handbook does not know the type {label}"),
            _ => return None,
        };
        Some(Blind {
            fault: self.name().into(),
            why,
            smallest: None,
            measure: "State the type in the file, or add it to the handbook.".into(),
        })
    }

    /// Changes the label to that of the type whose mu makes the ratio nearest to `size`,
    /// among those that could be taken for it.
    fn inject(&self, scene: &mut Scene, _section: usize, size: f64) {
        let Some((kind, mu)) = handbook::find(&scene.tube.really).and_then(|k| Some((k, mu_of(k)?))) else { return };
        let swept = scene.top_plate();
        let mistakable = |label: &&Type| {
            let point = label.section(0).and_then(|s| s.points.first());
            label.name != kind.name
                && label.groups.len() == 1
                && (label.section_count(), label.class()) == (kind.section_count(), kind.class())
                && label.section(0).map(|s| s.kind) == kind.section(0).map(|s| s.kind)
                && point.is_some_and(|p| p.ia.is_some() && (0.4 * swept..=swept).contains(&p.va))
        };
        let off = |label: &Type| mu_of(label).map_or(f64::INFINITY, |m| libm::log(mu / m / size).abs());
        let label = handbook::all().iter().filter(mistakable).min_by(|a, b| off(a).total_cmp(&off(b)));
        if let Some(label) = label {
            scene.tube.label = Some(label.name.clone());
        }
    }

    fn times(&self, smallest: f64, times: f64) -> f64 {
        // A ratio grows by powers.
        libm::pow(smallest, times)
    }

    fn on_the_limits_side(&self, size: f64) -> f64 {
        // The limit is a ratio above 1.
        size.max(size.recip())
    }

    fn sizes(&self, scene: &Scene) -> Option<Sizes> {
        // Up or down, whichever way there are types.
        let mu = handbook::find(&scene.tube.really).and_then(mu_of)?;
        let (mild, severe) = if mu > 35.0 { (1.6, 5.0) } else { (0.6, 0.2) };
        Some(Sizes { quantity: "amplification factor over the type's", unit: "1", mild, severe })
    }
}

/// The first stated amplification factor of a triode type.
fn mu_of(kind: &Type) -> Option<f64> {
    kind.section(0)?.points.iter().filter(|p| p.vg2.is_none()).find_map(|p| p.mu.as_ref()).map(|v| v.value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::ZeroOffset;
    use crate::faults::proof::*;
    use crate::faults::{GridCathodeLeakage, PlateCathodeLeakage, SectionMismatch};

    proved!(
        TypeMismatch,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).set(|s| s.tube.label = Some("12AX7".into())).being(&TypeMismatch, 0),
                on(Dempwolf, "12AX7", 12).severe(&TypeMismatch, 0, 0.8).within(0.3),
                on(ChildLangmuir, "6SN7GTB", 13).severe(&TypeMismatch, 0, 0.8).within(0.3),
            ],
            silent: sound(&TypeMismatch),
            look_alikes: vec![
                // A worn tube has the right mu.
                on(Strips, "12AU7", 14).set(|s| worn(s, 0.4)),
                // Sections that differ.
                on(Dempwolf, "12AX7", 15).with(&SectionMismatch, 1, 0.5),
                // A section with a lower mu by a leak.
                on(Strips, "6SN7GTB", 16).grid_meter().through(100e3).with(&GridCathodeLeakage, 0, 150e3),
            ],
            together: vec![
                on(Strips, "12AU7", 17).severe(&TypeMismatch, 0, 0.6).with(&PlateCathodeLeakage, 1, 3e6),
                on(Dempwolf, "12AX7", 18).severe(&TypeMismatch, 0, 0.8).with(&ZeroOffset, 0, 30e-6),
            ],
            // The same label on tubes whose mu is further and further off.
            larger: vec![
                [1.2, 1.4, 1.7, 2.2, 3.0].map(|times| off_by(on(Strips, "12AU7", 19), times)).to_vec(),
                [0.8, 0.7, 0.6, 0.45, 0.3].map(|times| off_by(on(Dempwolf, "12AX7", 20), times)).to_vec(),
            ],
        }
    );

    fn worn(scene: &mut Scene, left: f64) {
        (0..2).for_each(|section| scene.spoil(section, |d| d.perveance = Some(left)));
    }

    fn off_by(case: Case, times: f64) -> Case {
        let every = |scene: &mut Scene| (0..2).for_each(|section| scene.spoil(section, |d| d.mu = Some(times)));
        case.set(every).being(&TypeMismatch, 0)
    }
}
