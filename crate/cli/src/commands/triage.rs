//! `sweepbook triage`: from files to a report.

use std::path::PathBuf;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::iter::{IndexedParallelIterator, IntoParallelIterator, IntoParallelRefIterator, ParallelIterator};
use sweepbook_core::intake::{Reading, Unread};
use sweepbook_core::kin::lot::Member;
use sweepbook_core::report::{Report, TubeReport};
use sweepbook_core::sweep::{Lot, Tube};

use super::{Ending, Failure};
use crate::{lot, readable, screen};

/// Fewest tubes for which a progress bar is shown: fewer are done before it
/// could be read (by construction, no source).
const LONG_LOT: usize = 8;

/// Diagnose tubes from files of their sweeps.
///
/// Prints the report on standard output, and what could not be read on standard
/// error. Exit code 0: every input was read; 1: some were not, the rest is
/// reported; 2: wrong usage.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Files, or folders: a folder stands for the tables, spreadsheets and archives in it.
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,
    #[command(flatten)]
    reading: super::ReadArgs,
    /// Print the report as JSON (the contract sweepbook/report/1).
    #[arg(long)]
    json: bool,
    /// Print only the table with a line a tube.
    #[arg(long, conflicts_with = "json")]
    brief: bool,
    /// Look into the folders within folders too.
    #[arg(short, long)]
    recursive: bool,
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    let report = triage(lot::gather(&args.paths, args.recursive), &args.reading.reading(), args.reading.join);
    if args.json {
        screen::print_json(&serde_json::to_string_pretty(&without_marks(&report))?)?;
    } else {
        let detail = if args.brief { readable::Detail::Brief } else { readable::Detail::Full };
        screen::print(&readable::report(&report, detail, screen::width()))?;
    }
    for unread in &report.unread {
        screen::say(&format!("sweepbook: {unread}"));
    }
    Ok(if report.unread.is_empty() { Ending::Done } else { Ending::SomeUnread })
}

/// Reads and diagnoses every file, in the order given.
fn triage(files: Vec<lot::Found>, reading: &Reading, join: bool) -> Report {
    let (judged, unread) = judge(files, reading, join);
    Report::new(judged.into_iter().map(|j| j.0).collect(), unread)
}

/// Reads and diagnoses every file, in the order given, on all cores. Sweeps of the same
/// tube are used together. With each report goes what of the tube is compared in its lot.
pub(super) fn judge(files: Vec<lot::Found>, reading: &Reading, join: bool) -> (Vec<(TubeReport, Member)>, Vec<Unread>) {
    let read: Vec<_> = files.into_par_iter().map(|found| lot::read_found(found, reading)).with_max_len(1).collect();
    let (mut tubes, mut unread) = (Vec::new(), Vec::new());
    for (found, failed) in read {
        tubes.extend(found);
        unread.extend(failed);
    }
    let tubes = lot::join(tubes, join);
    let lot = Lot { tubes };
    let together = lot.same_tubes();
    let bar = progress(lot.tubes.len());
    let judged = lot
        .tubes
        .par_iter()
        .zip(&together)
        .map(|(tube, same)| {
            let others: Vec<&Tube> = same.iter().map(|&i| &lot.tubes[i]).collect();
            let judged = sweepbook_core::triage_and_member(tube, &others);
            bar.inc(1);
            judged
        })
        .with_max_len(1)
        .collect();
    bar.finish_and_clear();
    (judged, unread)
}

/// A bar on standard error, drawn only on a terminal.
fn progress(tubes: usize) -> ProgressBar {
    if tubes < LONG_LOT {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::with_draw_target(Some(tubes as u64), ProgressDrawTarget::stderr());
    match ProgressStyle::with_template("{bar:30} {pos} of {len} files, {eta} left") {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
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
    use sweepbook_core::report::{Finding, Mark, Verdict};

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
