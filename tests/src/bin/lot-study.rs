//! How lots of simulated sweeps are grouped: two makes 6 % apart, and one make.
//!
//! `cargo run --release -p sweepbook-tests --bin lot-study -- --seeds 100`

use std::process::ExitCode;

use clap::Parser;
use sweepbook_core::kin::lot::compare;
use sweepbook_core::lesson::LawChoice;
use sweepbook_tests::lots::{members, truth, two_makes};
use sweepbook_tests::rand_index::adjusted_rand;

/// Groups lots of forty simulated tubes and says how often that was right.
#[derive(Parser)]
struct Args {
    /// Lots of each kind.
    #[arg(long, default_value_t = 100)]
    seeds: u64,
    /// First seed.
    #[arg(long, default_value_t = 0)]
    first: u64,
    /// Law of the tubes: dempwolf, rydel, child-langmuir, cohen-helie, koren or strips.
    #[arg(long, default_value = "strips")]
    law: String,
}

fn main() -> ExitCode {
    sweepbook_tests::end(run(&Args::parse()))
}

fn run(args: &Args) -> Result<String, String> {
    let law = LawChoice::ALL.into_iter().find(|l| l.name() == args.law).ok_or("there is no such law")?;
    let makes = two_makes();
    let truth = truth(&makes);
    let (mut apart, mut single, mut quiet) = (0, 0, 0);
    let mut worst = f64::INFINITY;
    for seed in args.first..args.first + args.seeds {
        let two = compare(&members(&makes, law, seed).ok_or("the handbook lost the type")?);
        let of: Vec<usize> = two.parts[0].tubes.iter().map(|t| t.group.unwrap_or(usize::MAX)).collect();
        let index = adjusted_rand(&truth, &of);
        worst = worst.min(index);
        apart += usize::from(index >= 0.8);
        let one = compare(&members(&[1.0; 40], law, seed + 1_000_000).ok_or("the handbook lost the type")?);
        single += usize::from(one.parts[0].groups.len() == 1);
        quiet += usize::from(one.parts[0].tubes.iter().all(|t| t.odd.is_empty()));
    }
    Ok(format!(
        "{}: of {} lots of two makes {apart} separate with an adjusted Rand index of 0.8 or more (worst {worst:.2}); of as \
         many lots of one make {single} are one group, {quiet} without an odd tube",
        args.law, args.seeds
    ))
}
