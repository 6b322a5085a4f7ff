//! Writes the cross-check, or holds the committed page to it.

use std::process::ExitCode;

use clap::Parser;
use sweepbook_tests::corpus::HELD_OUT;
use sweepbook_tests::here;
use sweepbook_tests::study::{confusion, kept, population};

/// Diagnoses the tubes that were held out and writes tests/study/confusion.md.
#[derive(Debug, Parser)]
struct Arguments {
    /// Compare with the committed page instead, and fail where it differs.
    #[arg(long)]
    check: bool,
    /// Print the page for a development seed (and the next three) instead of writing it.
    #[arg(long, conflicts_with = "check", value_parser = clap::value_parser!(u64).range(..HELD_OUT - 4))]
    seed: Option<u64>,
    /// With --seed: list what was not named, falsely found, or said beside the truth.
    #[arg(long, requires = "seed")]
    misses: bool,
}

fn run(arguments: &Arguments) -> Result<(), String> {
    let Some(seed) = arguments.seed else {
        let page = confusion::page(&population::held_out()?);
        eprintln!("{}", kept::keep(&here().join("study/confusion.md"), &page, arguments.check)?);
        return Ok(());
    };
    let population = population::of_seeds(seed)?;
    if arguments.misses {
        println!("{}", confusion::misses(&population));
    } else {
        println!("{}", confusion::page(&population));
    }
    Ok(())
}

fn main() -> ExitCode {
    match run(&Arguments::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(wrong) => {
            eprintln!("{wrong}");
            ExitCode::FAILURE
        }
    }
}
