//! The stages of a diagnosis, each on what the one before it gave.

use sweepbook_core::evidence::{self, Evidence};
use sweepbook_core::faults;
use sweepbook_core::figure::{CurrentAxis, Figure, Options, svg};
use sweepbook_core::handbook;
use sweepbook_core::intake;
use sweepbook_core::kin;
use sweepbook_core::report::Finding;
use sweepbook_core::sweep::{Lot, Tube};
use sweepbook_core::triage;
use wasm_bindgen::prelude::wasm_bindgen;

use super::fitted::{Task, task};

/// What can be run, in the order of a diagnosis.
pub const WORKS: [&str; 7] = ["intake", "fit", "evidence", "faults", "kin", "tube", "figure"];

/// A tube with what each stage begins with.
#[wasm_bindgen]
pub struct Bench {
    bytes: Vec<u8>,
    // Evidence borrows its tube: both live as long as the program, which ends after the timing.
    tube: &'static Tube,
    evidence: &'static Evidence<'static>,
    findings: Vec<Finding>,
    task: Task,
}

#[wasm_bindgen]
impl Bench {
    /// Prepares all stages of the first tube of a file; `None` where it cannot be read.
    pub fn new(bytes: &[u8]) -> Option<Bench> {
        let tube = intake::read("timed.csv", bytes).ok()?.into_iter().next()?;
        let tube: &'static Tube = Box::leak(Box::new(tube));
        let kind = tube.kind.as_deref().and_then(handbook::find);
        let evidence: &'static Evidence<'static> = Box::leak(Box::new(evidence::gather(tube, kind, &[])));
        let (findings, task) = (faults::look(evidence), task(tube));
        Some(Bench { bytes: bytes.to_vec(), tube, evidence, findings, task })
    }

    /// Does a piece of work of [`WORKS`] once; a number that tells whether it went well,
    /// nought for work that is not known.
    pub fn run(&mut self, work: &str) -> usize {
        match work {
            "intake" => intake::read("timed.csv", &self.bytes).map_or(0, |t| t.iter().map(Tube::point_count).sum()),
            "fit" => self.task.run().map_or(0, |fit| 1 + fit.free),
            "evidence" => evidence::gather(self.tube, self.evidence.kind, &[]).sections.len(),
            "faults" => {
                let found = faults::look(self.evidence);
                let blind = faults::blind(self.evidence, &found);
                1 + found.len() + blind.len() + faults::limits(self.evidence, &found).len()
            }
            "kin" => 1 + kin::second_opinion(self.evidence, &self.findings).kin.len(),
            "tube" => intake::read("timed.csv", &self.bytes)
                .map_or(0, |tubes| tubes.iter().map(triage).map(|r| 1 + r.findings.len() + r.limits.len()).sum()),
            "figure" => svg(
                &Figure::new(
                    self.tube,
                    &Options { width: 640.0, height: 400.0, current: CurrentAxis::default(), grid_current: true },
                ),
                &self.tube.name,
                &[],
                None,
            )
            .map_or(0, |s| s.len()),
            _ => 0,
        }
    }
}

/// Diagnoses a lot, a file a tube, as on the page: together, and compared.
pub fn lot(files: &[Vec<u8>]) -> usize {
    let tubes = files.iter().filter_map(|f| intake::read("timed.csv", f).ok()).flatten().collect();
    let lot = Lot { tubes };
    let judged: Vec<_> = lot.tubes.iter().map(|t| sweepbook_core::judge_among(t, &[])).collect();
    let members: Vec<kin::lot::Member> = judged.into_iter().map(|j| j.member).collect();
    kin::lot::compare(&members).parts.len()
}
