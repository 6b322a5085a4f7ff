//! The subcommands, one file each. A new one is a file here, a variant of
//! [`Command`] and an arm of [`run`].

mod convert;
mod explain;
mod lines;
mod lot;
mod matching;
mod page;
mod report;
mod serve;
mod stage;
mod sums;
mod triage;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use sweepbook_core::intake::{BadOption, Profile, Reading, Unread};
use sweepbook_core::sweep::Tube;

use crate::page::PageError;
use crate::screen;
use crate::server::ServeError;

/// Reads sweeps of vacuum tubes and says what is wrong, why, how sure it is and
/// what to measure next.
///
/// Without a command it builds the page, serves it on this machine only, and
/// opens it with the sample lot.
#[derive(Debug, Parser)]
#[command(name = "sweepbook", version, args_conflicts_with_subcommands = true, max_term_width = 100)]
pub struct Cli {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    serve: serve::Args,
}

#[derive(Debug, Subcommand)]
enum Command {
    Triage(triage::Args),
    Lot(lot::Args),
    Match(matching::Args),
    Stage(stage::Args),
    Sums(sums::Args),
    Convert(convert::Args),
    Report(report::Args),
    Explain(explain::Args),
    Page(page::Args),
}

/// How files are to be read where they leave it open.
#[derive(Debug, clap::Args)]
struct ReadArgs {
    /// Settles what a file leaves open, as its refusal says: decimal=comma, unit.ia=mA,
    /// vg=negative, first=vg, 'va=250 V' and others. May be given more than once, and
    /// holds for all files.
    #[arg(long = "read", value_name = "OPTION", value_parser = option)]
    read: Vec<String>,
    /// Join pieces of a tube that are in several files: those that name the same tube and
    /// type and have different sections. Without it they are only told of.
    #[arg(long)]
    join: bool,
    /// What the bench adds to every sweep, from a profile (JSON, sweepbook/bench/1): the
    /// resistor in the grid lead, the meter's place, its limit. The files' own word counts.
    #[arg(long, value_name = "FILE", value_parser = crate::bench::profile)]
    bench: Option<Profile>,
}

/// Files of sweeps, and how they are to be read.
#[derive(Debug, clap::Args)]
struct SweepArgs {
    /// Files, or folders: a folder stands for the tables, spreadsheets and archives in it.
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,
    #[command(flatten)]
    reading: ReadArgs,
    /// Look into the folders within folders too.
    #[arg(short, long)]
    recursive: bool,
}

impl SweepArgs {
    /// The tubes in them, and what could not be read.
    fn read(&self) -> (Vec<Tube>, Vec<Unread>) {
        self.reading.read(&self.paths, self.recursive)
    }
}

impl ReadArgs {
    fn reading(&self) -> Reading {
        let mut reading = Reading::default();
        for option in &self.read {
            // Each was checked when the command line was taken apart.
            let _ = reading.set(option);
        }
        reading
    }

    /// The tubes in files and folders, and what could not be read.
    fn read(&self, paths: &[PathBuf], recursive: bool) -> (Vec<Tube>, Vec<Unread>) {
        let (tubes, unread) = crate::lot::read_all(paths, recursive, &self.reading(), self.join);
        // Once pieces are joined: a profile must not make benches of theirs differ.
        (self.on_their_bench(tubes), unread)
    }

    /// Tubes with what the bench adds to every sweep.
    fn on_their_bench(&self, mut tubes: Vec<Tube>) -> Vec<Tube> {
        for tube in &mut tubes {
            self.bench.iter().for_each(|profile| profile.apply(tube));
        }
        tubes
    }
}

fn option(text: &str) -> Result<String, BadOption> {
    Reading::default().set(text).map(|()| text.to_owned())
}

/// How a command ended that did not fail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ending {
    /// Everything asked for was done.
    Done,
    /// Some input could not be read; the rest was reported.
    SomeUnread,
    /// The command line asks for something that does not exist.
    WrongUsage,
}

impl From<Ending> for ExitCode {
    fn from(ending: Ending) -> Self {
        Self::from(match ending {
            Ending::Done => 0,
            Ending::SomeUnread => 1,
            Ending::WrongUsage => 2,
        })
    }
}

/// Says what could not be read, and how a command then ends.
fn told(unread: &[Unread]) -> Ending {
    for unread in unread {
        screen::say(&format!("sweepbook: {unread}"));
    }
    if unread.is_empty() { Ending::Done } else { Ending::SomeUnread }
}

/// Why a command failed.
#[derive(Debug, thiserror::Error)]
enum Failure {
    #[error("the output could not be written: {0}")]
    Output(#[from] std::io::Error),
    #[error("{path} could not be written: {why}")]
    Written { path: String, why: String },
    #[error("the report could not be put into JSON: {0}")]
    Json(#[from] serde_json::Error),
    #[error(transparent)]
    Page(#[from] PageError),
    #[error(transparent)]
    Serve(#[from] ServeError),
}

/// Runs what the command line asks for.
pub fn run(cli: Cli) -> ExitCode {
    let ended = match cli.command {
        None => serve::run(&cli.serve),
        Some(Command::Triage(args)) => triage::run(&args),
        Some(Command::Lot(args)) => lot::run(&args),
        Some(Command::Match(args)) => matching::run(&args),
        Some(Command::Stage(args)) => stage::run(&args),
        Some(Command::Sums(args)) => sums::run(&args),
        Some(Command::Convert(args)) => convert::run(&args),
        Some(Command::Report(args)) => report::run(&args),
        Some(Command::Explain(args)) => explain::run(&args),
        Some(Command::Page(args)) => page::run(&args),
    };
    match ended {
        Ok(ending) => ending.into(),
        Err(failure) => {
            screen::say(&format!("sweepbook: {failure}"));
            ExitCode::FAILURE
        }
    }
}
