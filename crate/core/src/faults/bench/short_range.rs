//! Short range.

use crate::evidence::{Evidence, SectionEvidence, State};
use crate::faults::{Described, Fault, fault};
use crate::report::{Blind, Finding, Value};

fault! {
    /// # What it is
    /// The sweep does not cover enough to judge the tube: no curve reaches cutoff, or there
    /// is only one curve, or only a handful of points.
    ///
    /// # On the curves
    /// Every curve ends while current still flows, or a single plate voltage was swept.
    ///
    /// # What looks like it
    /// A strong leak also keeps the current from falling to zero: it ends in a flat floor,
    /// while a short sweep ends on a slope. A grid that has no say never cuts off at all.
    ///
    /// # How to settle it
    /// Sweep the grid from zero to at least 10 V past cutoff (for a tube of high mu, twice
    /// its cutoff voltage) at three plate voltages.
    ///
    /// # In a stage
    /// Nothing: it says nothing about the tube. Figures at the points that were swept stand.
    ///
    /// # Sources
    /// What a floor needs: this project's physics notes, "The floor, worked"; otherwise
    /// common practice, no source.
    bench ShortRange = "short-range", "Sweep too short";
}

/// Fewest points and curves a section needs: the law has three parameters of its
/// own and a floor three more; two plate voltages are needed to tell mu.
const FEWEST_POINTS: usize = 12;
const FEWEST_CURVES: usize = 2;
/// It is a fact about the file, not an inference.
const CERTAIN: f64 = 0.97;

impl Fault for ShortRange {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        let short: Vec<(&SectionEvidence<'_>, String)> =
            evidence.sections.iter().filter_map(|s| Some((s, shortcoming(s)?))).collect();
        // What all sections lack is said once.
        let all = short.len() == evidence.sections.len();
        let said = if all { 1 } else { short.len() };
        short
            .into_iter()
            .take(said)
            .map(|(section, why)| {
                let place = if all { "In every section".to_owned() } else { format!("Section {}", section.name) };
                Finding {
                    fault: self.name().into(),
                    section: (!all).then(|| section.name.into()),
                    confidence: CERTAIN,
                    value: None,
                    evidence: format!("{place}: {why}."),
                    confirm: "Sweep the grid from 0 V to well past cutoff at three plate voltages, within the tube's ratings.".into(),
                    alternatives: Vec::new(),
                    marks: Vec::new(),
                }
            })
            .collect()
    }

    fn smallest(&self, _evidence: &Evidence<'_>) -> Option<Value> {
        None
    }

    fn blind(&self, _evidence: &Evidence<'_>) -> Option<Blind> {
        // Whether a sweep is short is read off the file.
        None
    }
}

/// What the section's sweep lacks; `None` for one that has enough.
fn shortcoming(section: &SectionEvidence<'_>) -> Option<String> {
    let n = section.points.len();
    if n < FEWEST_POINTS {
        return Some(format!("{n} {} too few to judge a section by", if n == 1 { "point is" } else { "points are" }));
    }
    // A diode has one curve and no cutoff.
    if section.state == State::Diode {
        return None;
    }
    if section.reach.curves < FEWEST_CURVES {
        return Some("a single curve cannot tell mu from perveance, nor a leak from an offset".into());
    }
    (section.state == State::Controlled && section.reach.cut_off == 0).then(|| {
        format!(
            "no curve reaches cutoff; the lowest reading is {:.0} % of the highest",
            100.0 * section.reach.lowest_share
        )
    })
}
