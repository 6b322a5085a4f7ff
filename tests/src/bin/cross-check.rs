//! Writes the cross-check, or holds the committed page to it.

use std::process::ExitCode;

use clap::Parser;
use sweepbook_tests::corpus::HELD_OUT;
use sweepbook_tests::end;
use sweepbook_tests::study::pages::{self, Page};
use sweepbook_tests::study::{confusion, one_point, population};

/// Diagnoses the tubes that were held out and writes tests/study/confusion.md.
#[derive(Debug, Parser)]
struct Arguments {
    /// Compare with the committed page instead, and fail where it differs.
    #[arg(long)]
    check: bool,
    /// Every page of tests/study in one go (the tubes are then diagnosed once).
    #[arg(long)]
    all: bool,
    /// Print the page for a development seed (and the next three) instead of writing it.
    #[arg(long, conflicts_with = "check", value_parser = clap::value_parser!(u64).range(..HELD_OUT - 4))]
    seed: Option<u64>,
    /// With --seed: list the tubes of which something else is said than is true.
    #[arg(long, requires = "seed")]
    misses: bool,
}

fn on_development_seeds(seed: u64, arguments: &Arguments) -> Result<String, String> {
    let population = population::of_seeds(seed)?;
    if arguments.misses {
        return Ok(confusion::misses(&population));
    }
    let more = if arguments.all { one_point::page(&population) } else { String::new() };
    Ok(confusion::page(&population) + &more)
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let Some(seed) = arguments.seed else {
        let pages: &[Page] = if arguments.all { &Page::ALL } else { &[Page::Confusion] };
        return end(pages::keep(pages, arguments.check));
    };
    match on_development_seeds(seed, &arguments) {
        Ok(text) => {
            print!("{text}");
            ExitCode::SUCCESS
        }
        wrong => end(wrong),
    }
}
