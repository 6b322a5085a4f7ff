//! Bayes' rule on odds: what an observation does to the confidences of a sweep.

use serde::Serialize;

use super::{Lamps, Seen};
use crate::faults;
use crate::handbook;
use crate::report::{TubeReport, Verdict, percent};

/// Probability of a fault that the sweep could have shown and did not: well below what is
/// worth reporting, 0.05 (by construction, a judgement).
pub const NOT_FOUND: f64 = 0.01;
/// Probability of a fault that the sweep cannot show (a judgement, no source: what is
/// usual among used tubes is not known).
pub const NOT_SHOWN: f64 = 0.05;
/// From this confidence on a fault that observations bring up is worth deciding anew: even
/// odds, as for a finding of the sweep.
const DECIDES: f64 = 0.5;
/// Confidences stay this far from 0 and 1, so that odds are numbers (by construction).
const EDGE: f64 = 1e-9;

/// What one observation did to one confidence.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Step {
    /// Index of the observation among those given.
    pub observation: usize,
    /// The observation in words.
    pub words: String,
    /// Posterior odds over prior odds.
    pub ratio: f64,
    /// Confidence before.
    pub from: f64,
    /// Confidence after.
    pub to: f64,
}

/// One confidence and how it moved.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Moved {
    /// The fault's name in the report contract.
    pub fault: String,
    /// Its section, as in the finding.
    pub section: Option<String>,
    /// Index of the finding in the report that it belongs to, as the finding's fault or as
    /// one of its alternatives; `None` for a fault that the sweep did not find.
    pub finding: Option<usize>,
    /// Whether it is one of the finding's alternatives.
    pub alternative: bool,
    /// As the sweep has it; for a fault not found, what is taken for that.
    pub from: f64,
    /// With the observations.
    pub to: f64,
    /// How each observation moved it; those that did not are left out.
    pub steps: Vec<Step>,
}

/// All confidences that there are.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Weighed {
    /// Findings in the report's order, each followed by its alternatives; then faults that
    /// the sweep did not find and an observation speaks of.
    pub moved: Vec<Moved>,
}

/// Causes of which at most one is true, with what is left for none of them.
struct Rivals {
    section: Option<String>,
    causes: Vec<Moved>,
}

/// Moves the confidences of a report by observations, in the order given; each with the
/// section it is of, `None` for the whole tube. Of the same measurement made twice the
/// later counts.
///
/// A finding and its alternatives are rivals: odds between any two of them move by the
/// quotient of their likelihoods, so that what speaks for one speaks against the others.
/// The odds of a fault without rivals are multiplied by its ratio.
pub fn weigh(report: &TubeReport, observations: &[(Option<String>, Seen)], lamps: &Lamps) -> Weighed {
    let kind = report.kind.as_deref().and_then(handbook::find);
    let counted = |i: usize| {
        let (section, seen) = &observations[i];
        !observations[i + 1..].iter().any(|(s, later)| s == section && later.same_measurement(seen))
    };
    let mut all: Vec<Rivals> = report.findings.iter().enumerate().map(|(i, f)| rivals(i, f)).collect();
    for (i, (section, seen)) in observations.iter().enumerate().filter(|(i, _)| counted(*i)) {
        let ratios = seen.ratios(lamps, kind);
        for ratio in &ratios {
            let known = |r: &Rivals| applies(section.as_deref(), r.section.as_deref()) && r.has(ratio.fault);
            if !all.iter().any(known) {
                all.push(unfound(report, ratio.fault, section.clone()));
            }
        }
        for rivals in all.iter_mut().filter(|r| applies(section.as_deref(), r.section.as_deref())) {
            let of = |fault: &str| ratios.iter().find(|r| r.fault == fault).map_or(1.0, |r| r.ratio);
            rivals.hear(i, &seen.words(), of);
        }
    }
    Weighed { moved: all.into_iter().flat_map(|r| r.causes).collect() }
}

/// An observation of a section says nothing of another one.
fn applies(observed: Option<&str>, of: Option<&str>) -> bool {
    observed.is_none() || of.is_none() || observed == of
}

fn rivals(index: usize, f: &crate::report::Finding) -> Rivals {
    let cause = |fault: &str, confidence: f64, alternative| Moved {
        fault: fault.to_owned(),
        section: f.section.clone(),
        finding: Some(index),
        alternative,
        from: confidence,
        to: confidence,
        steps: Vec::new(),
    };
    let mut causes = vec![cause(&f.fault, f.confidence, false)];
    causes.extend(f.alternatives.iter().map(|a| cause(&a.fault, a.confidence, true)));
    Rivals { section: f.section.clone(), causes }
}

/// A fault that the sweep did not find.
fn unfound(report: &TubeReport, fault: &str, section: Option<String>) -> Rivals {
    let from = if report.blind.iter().any(|b| b.fault == fault) { NOT_SHOWN } else { NOT_FOUND };
    let cause = Moved {
        fault: fault.to_owned(),
        section: section.clone(),
        finding: None,
        alternative: false,
        from,
        to: from,
        steps: Vec::new(),
    };
    Rivals { section, causes: vec![cause] }
}

impl Rivals {
    fn has(&self, fault: &str) -> bool {
        self.causes.iter().any(|c| c.fault == fault)
    }

    fn hear(&mut self, observation: usize, words: &str, likelihood: impl Fn(&str) -> f64) {
        let before: Vec<f64> = self.causes.iter().map(|c| c.to.clamp(EDGE, 1.0 - EDGE)).collect();
        let likelihoods: Vec<f64> = self.causes.iter().map(|c| likelihood(&c.fault)).collect();
        for (i, cause) in self.causes.iter_mut().enumerate() {
            let others = || (0..before.len()).filter(move |&j| j != i);
            // What is left for none of them; two that are both there leave nothing.
            let listed: f64 = others().map(|j| before[j]).sum();
            let without = (1.0 - before[i]).max(listed);
            let against = (others().map(|j| before[j] * likelihoods[j]).sum::<f64>() + without - listed) / without;
            let ratio = likelihoods[i] / against;
            if (ratio - 1.0).abs() < EDGE {
                continue;
            }
            let odds = before[i] / (1.0 - before[i]) * ratio;
            let to = (odds / (1.0 + odds)).clamp(EDGE, 1.0 - EDGE);
            cause.steps.push(Step { observation, words: words.to_owned(), ratio, from: before[i], to });
            cause.to = to;
        }
    }
}

/// How a verdict stands to observations.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Standing {
    /// The sweep's own verdict: no observation changes it.
    pub verdict: Verdict,
    /// Whether what was seen beside the sweep asks for a decision of the user's own.
    pub reconsider: bool,
    /// Why, in words.
    pub says: String,
}

/// Says how the verdict of a sweep stands beside what else was seen of the tube.
///
/// The verdict stays what the sweep alone shows, so that it can be checked; what
/// observations show is said beside it. Lamps are left out here: they move confidences,
/// and never ask for another decision.
pub fn standing(report: &TubeReport, observations: &[(Option<String>, Seen)], lamps: &Lamps) -> Standing {
    let measured: Vec<_> = observations.iter().filter(|(_, seen)| !seen.is_lamp()).cloned().collect();
    let of_tube = |fault: &str| faults::named(fault).filter(|f| !f.is_bench());
    let weighed = weigh(report, &measured, lamps);
    let crossed = weighed.moved.iter().filter(|m| (m.from < DECIDES) != (m.to < DECIDES));
    let crossed = crossed.filter_map(|m| of_tube(&m.fault).map(|f| (m, f.title())));
    let said: Vec<String> =
        crossed.map(|(m, title)| format!("{title} went from {} to {}", percent(m.from), percent(m.to))).collect();
    let says = if said.is_empty() {
        "What else was seen leaves this verdict as it is.".to_owned()
    } else {
        format!("The verdict is the sweep's alone. With what else was seen, {}: decide.", said.join("; "))
    };
    Standing { verdict: report.verdict, reconsider: !said.is_empty(), says }
}
