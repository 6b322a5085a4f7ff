//! Writes the study of a check at one operating point, or holds the committed page to it.

use std::process::ExitCode;

use clap::Parser;
use sweepbook_tests::end;
use sweepbook_tests::study::pages::{self, Page};

/// Checks the held-out tubes at one operating point and writes tests/study/one-point.md.
#[derive(Debug, Parser)]
struct Arguments {
    /// Compare with the committed page instead, and fail where it differs.
    #[arg(long)]
    check: bool,
}

fn main() -> ExitCode {
    end(pages::keep(&[Page::OnePoint], Arguments::parse().check))
}
