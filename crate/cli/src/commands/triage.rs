//! `sweepbook triage`: from files to a report.

use sweepbook_core::report::Report;

use super::{Ending, Failure};
use crate::{readable, screen, work};

/// Diagnose tubes from files of their sweeps.
///
/// Prints the report on standard output, and what could not be read on standard
/// error. Exit code 0: every input was read; 1: some were not, the rest is
/// reported; 2: wrong usage.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    sweeps: super::SweepArgs,
    /// Print the report as JSON (the contract sweepbook/report/1).
    #[arg(long)]
    json: bool,
    /// Print only the table with a line a tube.
    #[arg(long, conflicts_with = "json")]
    brief: bool,
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    let (tubes, unread) = args.sweeps.read();
    let report = Report::new(work::each(tubes, sweepbook_core::triage_among), unread);
    if args.json {
        screen::print_json(&serde_json::to_string_pretty(&without_marks(&report))?)?;
    } else {
        let detail = if args.brief { readable::Detail::Brief } else { readable::Detail::Full };
        screen::print(&readable::report(&report, detail, screen::width()))?;
    }
    Ok(super::told(&report.unread))
}

/// The report as the contract has it: the marks are for figures.
fn without_marks(report: &Report) -> Report {
    let mut report = report.clone();
    for finding in report.tubes.iter_mut().flat_map(|tube| &mut tube.findings) {
        finding.marks.clear();
    }
    report
}

#[cfg(test)]
mod tests {
    use sweepbook_core::report::{Finding, Mark, TubeReport, Verdict};

    use super::*;

    #[test]
    fn marks_stay_out_of_the_contract() {
        let finding = Finding {
            fault: "gas".into(),
            section: None,
            confidence: 0.9,
            value: None,
            evidence: String::new(),
            confirm: String::new(),
            alternatives: Vec::new(),
            marks: vec![Mark { section: 0, points: vec![1, 2] }],
        };
        let tube = TubeReport {
            tube: "1".into(),
            source: Vec::new(),
            kind: None,
            verdict: Verdict::Reject,
            reasons: Vec::new(),
            findings: vec![finding],
            sections: Vec::new(),
            blind: Vec::new(),
            limits: Vec::new(),
            notes: Vec::new(),
        };
        let report = Report::new(vec![tube], Vec::new());
        assert!(serde_json::to_string(&report).unwrap().contains("marks"));
        assert!(!serde_json::to_string(&without_marks(&report)).unwrap().contains("marks"));
    }
}
