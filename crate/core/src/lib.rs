//! `sweepbook-core`: reads sweeps of vacuum tubes, measures them, and says what is
//! wrong, why, how sure it is, what else it could be and what this sweep cannot show.
//!
//! The way of a sweep, one direction:
//! bytes → [`intake`] → [`sweep`] → [`law`] → [`evidence`] → [`faults`] → [`verdict`] → [`report`].
//! The core knows no file system, no clock, no network and no page.

pub mod evidence;
pub mod faults;
pub mod figure;
pub mod handbook;
pub mod intake;
pub mod law;
pub mod lesson;
pub mod numerics;
pub mod report;
pub mod sweep;
pub mod verdict;

/// Diagnoses one tube: the whole way from points to a report.
pub fn triage(tube: &sweep::Tube) -> report::TubeReport {
    let kind = tube.kind.as_deref().and_then(handbook::find);
    let evidence = evidence::gather(tube, kind);
    let findings = faults::look(&evidence);
    let judgement = verdict::judge(&evidence, &findings);
    let sections = (0..evidence.sections.len())
        .map(|s| report::SectionReport {
            section: evidence.sections[s].name.to_owned(),
            figures: verdict::figures(&evidence, s, kind),
            kin: None,
        })
        .collect();
    report::TubeReport {
        tube: tube.name.clone(),
        source: tube.source.clone(),
        kind: tube.kind.clone(),
        verdict: judgement.verdict,
        reasons: judgement.reasons,
        blind: faults::blind(&evidence, &findings),
        limits: faults::limits(&evidence, &findings),
        findings,
        sections,
        notes: tube.notes.clone(),
    }
}
