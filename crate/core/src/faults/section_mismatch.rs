//! Section mismatch.

use super::shared::{alternatives, bound, explained, marks};
use super::{Described, Fault, fault};
use crate::evidence::Evidence;
use crate::law::Par;
use crate::lesson::{Scene, Sizes};
use crate::numerics::{Estimate, normal_below};
use crate::report::{Blind, Finding, Value};

fault! {
    /// # What it is
    /// The two sections of a tube differ more than they should: one gives more current
    /// than the other at the same voltages.
    ///
    /// # On the curves
    /// Both families have a healthy shape. They differ by a ratio (perveance: worn or
    /// larger cathode), by spread (mu: grid pitch), or by a shift along the grid axis
    /// (contact potential).
    ///
    /// # What looks like it
    /// Two meters or two test leads that do not agree; a plate supply that differs between
    /// the sections; a leak or a ceiling in one section. Where the grid is driven through a
    /// resistance, a grid–cathode leak looks like a lower mu.
    ///
    /// # How to settle it
    /// Repeat with the leads of the two sections swapped: the difference must follow the
    /// section. The same section swept twice on both channels must agree with itself.
    ///
    /// # In a stage
    /// In a long-tailed pair or a push-pull driver it unbalances the halves: offset, even
    /// harmonics, less cancellation. In two separate single-ended stages it hardly matters.
    ///
    /// # Sources
    /// Ten per cent of plate current over the working region counts as matched (a dealer,
    /// quoted on a public forum, seen): common practice. A published balance limit, where
    /// the type has one, goes before it. Sections tested apart: notes of MIL-PRF-1/779 and
    /// /1097 (seen).
    tube SectionMismatch = "section-mismatch", "Section mismatch";
}

/// Largest difference of plate current over the working region that still counts
/// as matched, 1 (reference 3.6: practice).
pub(crate) const BALANCE: f64 = 0.10;

/// Faults of one section that make it differ from the other without a mismatch.
const EXPLAINS: [&str; 11] = [
    "no-conduction",
    "no-grid-control",
    "low-emission",
    "cathode-interface",
    "uneven-grid",
    "grid-cathode-leakage",
    "plate-grid-leakage",
    "electrode-short",
    "gas",
    "intermittent",
    "type-mismatch",
];

impl Fault for SectionMismatch {
    fn look(&self, evidence: &Evidence<'_>, found: &[Finding]) -> Vec<Finding> {
        let Some(contrast) = &evidence.contrast else { return Vec::new() };
        let names: Vec<&str> = evidence.sections.iter().map(|s| s.name).collect();
        let [first, second] = names[..] else { return Vec::new() };
        if [first, second].iter().any(|name| explained(found, name, &EXPLAINS)) {
            return Vec::new();
        }
        let ratio = contrast.ratio;
        let limit = libm::log(1.0 + BALANCE);
        let outside = normal_below((ratio.value - limit) / ratio.sd) + normal_below((-ratio.value - limit) / ratio.sd);
        let (weaker, stronger) = if ratio.value < 0.0 { (first, second) } else { (second, first) };
        let share = |z: f64| libm::exp(-(ratio.value.abs() + z * ratio.sd));
        let text = format!(
            "Over the working region section {weaker} gives {:.0} % of the plate current of section {stronger}{}.",
            100.0 * share(0.0),
            nature(evidence)
        );
        let marked = contrast.points.iter().map(|p| p.0).collect::<Vec<_>>();
        // A mu that differs behind a source resistance has another reading, given there.
        let scaled = found.iter().find(|f| f.fault == "grid-cathode-leakage").map_or(0.0, |f| f.confidence);
        vec![Finding {
            fault: self.name().into(),
            section: None,
            confidence: outside * (1.0 - scaled),
            value: Some(Value {
                quantity: format!("plate current of section {weaker} over section {stronger}"),
                unit: "1".into(),
                estimate: share(0.0),
                low: Some(share(1.96)),
                high: Some(share(-1.96)),
            }),
            evidence: text,
            confirm: "Repeat with the leads of the two sections swapped: the difference must follow the section."
                .into(),
            alternatives: alternatives([("grid-cathode-leakage", scaled)]),
            marks: marks(0, &marked),
        }]
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        let sd = evidence.contrast.as_ref()?.ratio.sd;
        Some(bound("difference of plate current", "1", BALANCE.max(2.0 * sd)))
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        (evidence.contrast.is_none() && evidence.sections.len() < 2).then(|| Blind {
            fault: self.name().into(),
            why: "only one section was swept".into(),
            smallest: None,
            measure: "Sweep the other section over the same voltages.".into(),
        })
    }

    fn inject(&self, scene: &mut Scene, section: usize, size: f64) {
        scene.spoil(section, |d| d.perveance = Some(size));
    }

    fn times(&self, smallest: f64, times: f64) -> f64 {
        // The difference is stated over the mean, the fault built in as a ratio.
        let half = 0.5 * smallest * times;
        (1.0 - half) / (1.0 + half)
    }

    fn sizes(&self, _scene: &Scene) -> Option<Sizes> {
        Some(Sizes { quantity: "plate current over that of the other section", unit: "1", mild: 0.8, severe: 0.4 })
    }
}

/// Which of ratio, spread and shift it is, from the fitted laws.
fn nature(evidence: &Evidence<'_>) -> String {
    let (Some(laws), Some(a), Some(b)) =
        (&evidence.laws, evidence.sections[0].law_index, evidence.sections[1].law_index)
    else {
        return String::new();
    };
    let difference = |par: Par| {
        let (x, y) = (laws.fit.estimate(a, par), laws.fit.estimate(b, par));
        let variance = x.sd.powi(2) + y.sd.powi(2) - 2.0 * laws.fit.covariance((a, par), (b, par));
        Estimate::new(x.value - y.value, variance.max(0.0).sqrt())
    };
    let mut parts = Vec::new();
    let (p, mu, phi) = (difference(Par::LnP), difference(Par::LnMu), difference(Par::Phi));
    if p.z().abs() > 2.0 {
        parts.push(format!("perveance differs by {:.0} %", 100.0 * (libm::exp(p.value.abs()) - 1.0)));
    }
    if mu.z().abs() > 2.0 && mu.value.abs() > 0.01 {
        parts.push(format!("mu by {:.0} %", 100.0 * (libm::exp(mu.value.abs()) - 1.0)));
    }
    if phi.z().abs() > 2.0 && phi.value.abs() > 0.02 {
        parts.push(format!("the grid axis is shifted by {:.2} V", phi.value.abs()));
    }
    if parts.is_empty() { String::new() } else { format!("; {}", parts.join(", ")) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::ZeroOffset;
    use crate::faults::proof::*;
    use crate::faults::{GridCathodeLeakage, LowEmission, NoConduction, PlateCathodeLeakage};

    proved!(
        SectionMismatch,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).with(&SectionMismatch, 1, 0.7).within(0.08),
                on(Dempwolf, "12AX7", 12).with(&SectionMismatch, 0, 0.5).within(0.08),
                on(ChildLangmuir, "6SN7GTB", 13).with(&SectionMismatch, 1, 0.8).within(0.08),
            ],
            silent: sound(&SectionMismatch),
            look_alikes: vec![
                // A ceiling in one section.
                on(Strips, "12AU7", 14).severe(&LowEmission, 1, 0.7),
                // A leak in one section.
                on(Dempwolf, "12AX7", 15).with(&PlateCathodeLeakage, 0, 1.5e6),
                // A section that gives nothing.
                on(ChildLangmuir, "6SN7GTB", 16).with(&NoConduction, 1, f64::NAN),
                // A grid axis that is divided.
                on(Strips, "6SN7GTB", 17).grid_meter().through(100e3).with(&GridCathodeLeakage, 0, 200e3),
            ],
            together: vec![
                on(Strips, "12AU7", 18).with(&SectionMismatch, 1, 0.7).with(&PlateCathodeLeakage, 1, 3e6),
                on(Dempwolf, "12AX7", 19).with(&SectionMismatch, 0, 0.6).with(&ZeroOffset, 0, 30e-6),
            ],
            larger: vec![
                on(Strips, "12AU7", 20).growing(&SectionMismatch, 1),
                on(Dempwolf, "12AX7", 21).growing(&SectionMismatch, 0),
            ],
        }
    );
}
