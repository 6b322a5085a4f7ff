//! A report held against the truth, by the rules of the public scoring script: a fault is
//! named when the report gives it with at least even odds, or gives as an alternative of
//! such a finding, in the right section; nothing is tuned here.

use serde::Deserialize;
use sweepbook_core::report::{Finding, TubeReport, Verdict};

use super::calibration::{self, Said};
use super::interval::Share;
use crate::corpus;

/// From this confidence on a finding counts.
pub const COUNTS: f64 = 0.5;
/// Faults of the whole tube or bench: the section they are reported in does not matter.
const PER_TUBE: [&str; 5] = ["type-mismatch", "warm-up-drift", "current-limit", "zero-offset", "section-mismatch"];

/// What a truth file says of one tube, as far as a report is held against it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Told {
    /// Its file.
    pub file: String,
    /// Fault, or `healthy`.
    pub kind: String,
    /// How strong; `None` for a sound tube.
    pub level: Option<String>,
    /// Section, from 1.
    pub section: Option<usize>,
    /// Size of the fault.
    pub value: Option<serde_json::Value>,
}

impl From<&corpus::Truth> for Told {
    fn from(truth: &corpus::Truth) -> Self {
        Self {
            file: truth.file.clone(),
            kind: truth.kind.clone(),
            level: truth.level.map(str::to_owned),
            section: truth.section,
            value: truth.value.clone(),
        }
    }
}

impl Told {
    /// Whether nothing was built in.
    pub fn is_healthy(&self) -> bool {
        self.kind == "healthy"
    }

    /// Whether a finding is about the place where the fault is.
    pub fn is_there(&self, finding: &Finding) -> bool {
        let whole = PER_TUBE.contains(&self.kind.as_str()) || finding.section.is_none();
        whole || self.section.is_some_and(|s| finding.section == Some(s.to_string()))
    }

    /// The resistance that was built in, ohm.
    pub fn ohm(&self) -> Option<f64> {
        self.value.as_ref()?.get("ohm")?.as_f64()
    }
}

/// The findings that count, surest first.
pub fn counted(report: &TubeReport) -> impl Iterator<Item = &Finding> {
    report.findings.iter().filter(|f| f.confidence >= COUNTS)
}

/// How one report fares.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Outcome {
    /// The fault is given, or is an alternative of a finding there.
    pub named: bool,
    /// The surest finding is the fault.
    pub first: bool,
    /// The tube is not simply accepted.
    pub caught: bool,
    /// Of a fault given with its resistance: |ln(found/built in)|.
    pub resistance_off: Option<f64>,
}

/// Holds a report against what was built in. Of a sound tube, nothing is named.
pub fn outcome(told: &Told, report: &TubeReport) -> Outcome {
    let given = counted(report).find(|f| f.fault == told.kind && told.is_there(f));
    let alternative = counted(report).any(|f| told.is_there(f) && f.alternatives.iter().any(|a| a.fault == told.kind));
    // A cathode-lead meter shows a heater–cathode path as a current, whatever its resistance.
    let off = |f: &Finding| {
        let found = f.value.as_ref().filter(|v| v.unit == "ohm")?;
        Some((found.estimate / told.ohm()?).ln().abs())
    };
    Outcome {
        named: given.is_some() || alternative,
        first: counted(report).next().is_some_and(|f| f.fault == told.kind),
        caught: report.verdict != Verdict::Accept,
        resistance_off: given.and_then(off),
    }
}

/// Whether a sound tube is said to have something, or is turned away.
pub fn is_false_alarm(report: &TubeReport) -> bool {
    counted(report).next().is_some() || report.verdict == Verdict::Reject
}

/// The figures that the public script prints.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Public {
    /// Strong faults named.
    pub strong: Share,
    /// Medium faults named.
    pub medium: Share,
    /// Weak faults named.
    pub weak: Share,
    /// Strong and medium faults that the surest finding names.
    pub first: Share,
    /// Faulty tubes that are not simply accepted.
    pub caught: Share,
    /// Sound tubes with a finding, or turned away.
    pub false_alarms: Share,
    /// Sound tubes accepted.
    pub healthy_accept: Share,
    /// Median of found over built-in resistance, less 1, whichever is the larger.
    pub resistance_error: Option<f64>,
    /// Calibration error of all findings on faulty tubes that count: right is the kind
    /// that was built in, in any section.
    pub calibration_error: f64,
    /// Files and faults not named, and sound ones with a finding.
    pub missed: Vec<String>,
}

/// Scores reports against their truths.
pub fn public<'a>(pairs: impl IntoIterator<Item = (&'a Told, &'a TubeReport)>) -> Public {
    let mut p = Public::default();
    let mut said: Vec<Said> = Vec::new();
    let mut off = Vec::new();
    for (told, report) in pairs {
        let found = || report.findings.iter().map(|f| format!("{} {:.2}", f.fault, f.confidence)).collect::<Vec<_>>();
        if told.is_healthy() {
            let alarm = is_false_alarm(report);
            p.false_alarms.add(alarm);
            p.healthy_accept.add(report.verdict == Verdict::Accept);
            if alarm || report.verdict != Verdict::Accept {
                p.missed.push(format!("{}: healthy, but {:?} {:?}", told.file, report.verdict, found()));
            }
            continue;
        }
        let outcome = outcome(told, report);
        let level = told.level.as_deref().unwrap_or("weak");
        match level {
            "strong" => p.strong.add(outcome.named),
            "medium" => p.medium.add(outcome.named),
            _ => p.weak.add(outcome.named),
        }
        if level != "weak" {
            p.first.add(outcome.first);
        }
        p.caught.add(outcome.caught);
        off.extend(outcome.resistance_off);
        said.extend(counted(report).map(|f| (f.confidence, f.fault == told.kind)));
        if !outcome.named {
            p.missed.push(format!("{}: {} {level}, but {:?}", told.file, told.kind, found()));
        }
    }
    p.resistance_error = quantile(&mut off, 0.5).map(|e| e.exp() - 1.0);
    p.calibration_error = calibration::error_in_tenths(&said);
    p
}

/// The value below which this share of them lies (the one at that rank); sorts them.
pub fn quantile(values: &mut [f64], share: f64) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let rank = ((values.len() as f64 * share) as usize).min(values.len().checked_sub(1)?);
    values.get(rank).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use sweepbook_core::report::{Alternative, Value};

    fn told(kind: &str, section: Option<usize>) -> Told {
        Told {
            file: "000.csv".into(),
            kind: kind.into(),
            level: (kind != "healthy").then(|| "strong".into()),
            section,
            value: Some(serde_json::json!({ "ohm": 1e6 })),
        }
    }

    fn finding(fault: &str, section: Option<&str>, confidence: f64) -> Finding {
        Finding {
            fault: fault.into(),
            section: section.map(Into::into),
            confidence,
            value: Some(Value {
                quantity: "leakage resistance".into(),
                unit: "ohm".into(),
                estimate: 1.1e6,
                low: None,
                high: None,
            }),
            evidence: String::new(),
            confirm: String::new(),
            alternatives: Vec::new(),
            marks: Vec::new(),
        }
    }

    fn report(verdict: Verdict, findings: Vec<Finding>) -> TubeReport {
        TubeReport {
            tube: "000".into(),
            source: Vec::new(),
            kind: None,
            verdict,
            reasons: Vec::new(),
            findings,
            sections: Vec::new(),
            blind: Vec::new(),
            limits: Vec::new(),
            notes: Vec::new(),
        }
    }

    #[test]
    fn a_fault_is_named_in_its_section_or_as_an_alternative_there() {
        let gas = told("gas", Some(1));
        let score = |findings| outcome(&gas, &report(Verdict::Reject, findings));
        let right = score(vec![finding("gas", Some("1"), 0.9)]);
        assert!(right.named && right.first && right.caught);
        assert!((right.resistance_off.unwrap_or(0.0) - 1.1_f64.ln()).abs() < 1e-12);
        let elsewhere = score(vec![finding("gas", Some("2"), 0.9)]);
        assert!(!elsewhere.named && elsewhere.first && elsewhere.resistance_off.is_none());
        assert!(!score(vec![finding("gas", Some("1"), 0.49)]).named);
        let mut other = finding("grid-emission", Some("1"), 0.9);
        other.alternatives = vec![Alternative { fault: "gas".into(), confidence: 0.02 }];
        let listed = score(vec![other.clone()]);
        assert!(listed.named && !listed.first);
        other.section = Some("2".into());
        assert!(!score(vec![other]).named);
    }

    #[test]
    fn the_public_figures_are_the_scripts() {
        // Worked by hand from the script.
        let truths = [told("gas", Some(1)), told("zero-offset", None), told("healthy", None), told("healthy", None)];
        let reports = [
            report(Verdict::Reject, vec![finding("gas", Some("1"), 0.95), finding("uneven-grid", Some("1"), 0.65)]),
            report(Verdict::Accept, vec![finding("zero-offset", Some("2"), 0.85)]),
            report(Verdict::Accept, vec![finding("gas", Some("1"), 0.3)]),
            report(Verdict::Retest, Vec::new()),
        ];
        let p = public(truths.iter().zip(&reports));
        assert_eq!((p.strong, p.first), (Share { yes: 2, of: 2 }, Share { yes: 2, of: 2 }));
        assert_eq!(p.caught, Share { yes: 1, of: 2 });
        assert_eq!((p.false_alarms, p.healthy_accept), (Share { yes: 0, of: 2 }, Share { yes: 1, of: 2 }));
        assert!((p.calibration_error - (0.05 + 0.65 + 0.15) / 3.0).abs() < 1e-12);
        assert!((p.resistance_error.unwrap_or(0.0) - 0.1).abs() < 1e-9);
        assert_eq!(p.missed.len(), 1);
    }
}
