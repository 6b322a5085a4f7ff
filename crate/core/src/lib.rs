//! `sweepbook-core`: reads sweeps of vacuum tubes, measures them, and says what is
//! wrong, why, how sure it is, what else it could be and what this sweep cannot show.
//!
//! The way of a sweep, one direction:
//! bytes → [`intake`] → [`sweep`] → [`law`] → [`evidence`] → [`faults`] → [`kin`] → [`verdict`] → [`notebook`] → [`report`].
//! The core knows no file system, no clock, no network and no page.

pub mod evidence;
pub mod faults;
pub mod figure;
pub mod handbook;
pub mod intake;
mod json;
pub mod kin;
pub mod lesson;
pub mod notebook;
pub mod pairing;
pub mod report;
pub mod sampling;
mod sorting;
pub mod stage;
pub mod sums;
pub mod sweep;
pub mod verdict;

pub use json::read_json;
pub use sweepbook_law as law;
pub use sweepbook_law::numerics;

/// Diagnoses one tube: the whole way from points to a report.
pub fn triage(tube: &sweep::Tube) -> report::TubeReport {
    triage_among(tube, &[])
}

/// Diagnoses a whole lot. Sweeps that name the same tube and type are used
/// together, each for the other: a cooler heater, another resistor in the grid
/// lead, a repeat.
pub fn triage_lot(lot: &sweep::Lot) -> Vec<report::TubeReport> {
    let together = lot.same_tubes();
    lot.tubes
        .iter()
        .zip(&together)
        .map(|(tube, same)| triage_among(tube, &same.iter().map(|&i| &lot.tubes[i]).collect::<Vec<_>>()))
        .collect()
}

/// Diagnoses one tube with other sweeps of the same tube at hand.
pub fn triage_among(tube: &sweep::Tube, others: &[&sweep::Tube]) -> report::TubeReport {
    judge_among(tube, others).report
}

/// What was found of one tube, and what of it is compared with others of its lot.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Judged {
    /// The diagnosis.
    pub report: report::TubeReport,
    /// For [`kin::lot::compare`].
    pub member: kin::lot::Member,
}

/// As [`triage_among`], and prepares the comparison with other tubes from the same evidence.
pub fn judge_among(tube: &sweep::Tube, others: &[&sweep::Tube]) -> Judged {
    let kind = tube.kind.as_deref().and_then(handbook::find);
    let evidence = evidence::gather(tube, kind, others);
    let findings = faults::look(&evidence);
    let second = kin::second_opinion(&evidence, &findings);
    let judgement = verdict::judge(&evidence, &findings, second.objection.as_ref());
    let sections = (0..evidence.sections.len())
        .map(|s| report::SectionReport {
            section: evidence.sections[s].name.to_owned(),
            figures: verdict::figures(&evidence, s, kind),
            kin: second.kin.get(s).cloned(),
            agreement: second.agreement.get(s).copied(),
        })
        .collect();
    let report = report::TubeReport {
        tube: tube.name.clone(),
        source: tube.source.clone(),
        kind: tube.kind.clone(),
        verdict: judgement.verdict,
        reasons: judgement.reasons,
        blind: faults::blind(&evidence, &findings),
        limits: faults::limits(&evidence, &findings),
        findings,
        sections,
        notes: tube.notes.iter().cloned().chain(verdict::remarks(&evidence)).collect(),
    };
    Judged { report, member: kin::lot::Member::of(&evidence) }
}

/// What of a tube is compared with others of its lot; `others` as in [`triage_among`].
pub fn member_among(tube: &sweep::Tube, others: &[&sweep::Tube]) -> kin::lot::Member {
    let kind = tube.kind.as_deref().and_then(handbook::find);
    kin::lot::Member::of(&evidence::gather(tube, kind, others))
}
