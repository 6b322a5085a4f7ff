//! `sweepbook triage`: from files to a report.

use sweepbook_core::report::{Report, TubeReport};
use sweepbook_core::sweep::Lot;

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
    /// Print a report of its own (the same contract) for each tube, a line each, as soon as
    /// it is there: for a stock of any size. Each file stands for itself, so that parts of a
    /// stock can be worked on apart.
    #[arg(long, conflicts_with_all = ["json", "join"])]
    json_lines: bool,
    /// Print only the table with a line a tube.
    #[arg(long, conflicts_with_all = ["json", "json_lines"])]
    brief: bool,
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    if args.json_lines {
        return super::lines::run(&args.sweeps);
    }
    let (tubes, unread) = args.sweeps.read();
    let mut report = Report::new(work::each(&Lot { tubes }, sweepbook_core::triage_among), unread);
    if args.json {
        report.tubes = report.tubes.into_iter().map(TubeReport::without_marks).collect();
        screen::print_json(&serde_json::to_string_pretty(&report)?)?;
    } else {
        let detail = if args.brief { readable::Detail::Brief } else { readable::Detail::Full };
        screen::print(&readable::report(&report, detail, screen::width()))?;
    }
    Ok(super::told(&report.unread))
}
