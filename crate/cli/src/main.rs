//! `sweepbook`: triage of whole lots of vacuum tubes in the terminal, and the
//! page, built and served from here.
//!
//! Exit codes: 0 all done; 1 some input could not be read, or the page could not
//! be built or served; 2 wrong usage.

mod bench;
mod commands;
mod lot;
mod page;
mod readable;
mod screen;
mod server;
mod work;

use std::process::ExitCode;

use clap::Parser;

fn main() -> ExitCode {
    commands::run(commands::Cli::parse())
}
