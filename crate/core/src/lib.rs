//! `sweepbook-core`: reads sweeps of vacuum tubes, measures them, and says what is
//! wrong, why, how sure it is, what else it could be and what this sweep cannot show.
//!
//! The way of a sweep, one direction:
//! bytes → [`intake`] → [`sweep`] → law → evidence → [`faults`] → verdict → [`report`].
//! The core knows no file system, no clock, no network and no page.

pub mod faults;
pub mod figure;
pub mod intake;
pub mod report;
pub mod sweep;

/// Diagnoses one tube.
pub fn triage(tube: &sweep::Tube) -> report::TubeReport {
    let sections = tube
        .sections
        .iter()
        .map(|s| report::SectionReport { section: s.name.clone(), figures: report::Figures::default(), kin: None })
        .collect();
    report::TubeReport {
        tube: tube.name.clone(),
        source: tube.source.clone(),
        kind: tube.kind.clone(),
        verdict: report::Verdict::Retest,
        reasons: Vec::new(),
        findings: Vec::new(),
        sections,
        blind: Vec::new(),
        notes: tube.notes.clone(),
    }
}
