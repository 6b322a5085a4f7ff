//! How the stated limits keep their promise: faults of twice and of half the limit.
//!
//!     cargo run --release -p sweepbook-tests --bin promise -- --seeds 100

use std::fmt::Write as _;
use std::process::ExitCode;

use clap::Parser;
use sweepbook_tests::promise::{Trial, promised, tried};

/// Builds each fault into sound tubes, twice and half as large as the limit that the sweep
/// of the sound tube states, and counts how often it is named.
#[derive(Parser)]
struct Args {
    /// Tubes a fault.
    #[arg(long, default_value_t = 100)]
    seeds: u64,
    /// First seed.
    #[arg(long, default_value_t = 0)]
    first: u64,
    /// Only this fault, and what was found where the promise was broken.
    #[arg(long)]
    fault: Option<String>,
}

fn main() -> ExitCode {
    sweepbook_tests::end(run(&Args::parse()))
}

fn run(args: &Args) -> Result<String, String> {
    let seeds = args.first..args.first + args.seeds;
    let mut said = String::from("fault                     tubes  named at twice, at half the limit\n");
    let mut broken = false;
    for fault in promised() {
        if args.fault.as_ref().is_some_and(|only| only != fault.name()) {
            continue;
        }
        let kept = tried(fault, seeds.clone());
        broken |= !kept.holds();
        let mark = if kept.holds() { "" } else { "  broken" };
        // Writing to a string cannot fail.
        let _ = writeln!(said, "{:26}{:5}{:7}{:7}{mark}", kept.fault, kept.tubes, kept.at_twice, kept.at_half);
        if args.fault.is_some() {
            for trial in seeds.clone().filter_map(|seed| Trial::new(fault, seed)) {
                for (times, wanted) in [(2.0, true), (0.5, false)] {
                    if trial.named(times) != wanted {
                        let _ = writeln!(said, "  {times}: {}", trial.told(times));
                    }
                }
            }
        }
    }
    if broken { Err(said) } else { Ok(said) }
}
