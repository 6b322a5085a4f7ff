//! Trains the kin model and writes it with its card.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Parser;
use sweepbook_core::lesson::LawChoice;
use sweepbook_tests::kin_training::{Example, TRAINED, TRIED, TRIED_SEED, card, examples, tally, train};
use sweepbook_tests::{end, here};

/// Trains the kin model on simulated tubes and writes crate/core/src/kin/model.json and
/// card.md. The same seed and number give the same files.
#[derive(Debug, Parser)]
struct Arguments {
    /// Seed of the training tubes; those from 900000 on are kept for trials.
    #[arg(long, default_value_t = 7, value_parser = clap::value_parser!(u64).range(..899_990))]
    seed: u64,
    /// Tubes of each fault under each law.
    #[arg(long, default_value_t = 48)]
    per: usize,
    /// A folder to keep the made tubes in; those that are there are read from it.
    #[arg(long)]
    kept: Option<PathBuf>,
}

/// Tubes to learn from, a seed a law so that no two laws share benches and faults, and
/// those to be tried on.
struct Made {
    learnt: Vec<Example>,
    tried: Vec<Example>,
}

fn made(arguments: &Arguments) -> Result<Made, String> {
    let make = |law: LawChoice, seed: u64| -> Result<Vec<Example>, String> {
        let path = arguments.kept.as_ref().map(|k| k.join(format!("{}-{}-{seed}.json", law.name(), arguments.per)));
        if let Some(text) = path.as_ref().and_then(|p| std::fs::read_to_string(p).ok()) {
            return serde_json::from_str(&text).map_err(|e| e.to_string());
        }
        eprintln!("making tubes under {}", law.name());
        let tubes = examples(law, arguments.per, seed);
        if let Some(path) = path {
            let text = serde_json::to_string(&tubes).map_err(|e| e.to_string())?;
            std::fs::write(&path, text).map_err(|e| format!("{}: {e}", path.display()))?;
        }
        Ok(tubes)
    };
    let mut learnt = Vec::new();
    for (law, seed) in TRAINED.into_iter().zip(arguments.seed..) {
        learnt.extend(make(law, seed)?);
    }
    Ok(Made { learnt, tried: make(TRIED, TRIED_SEED)? })
}

fn run(arguments: &Arguments) -> Result<String, String> {
    let Made { learnt, tried } = made(arguments)?;
    eprintln!("learning");
    let trained = train(&learnt, arguments.seed);
    let result = tally(&trained.model, &tried.iter().collect::<Vec<_>>());
    let folder = here().join("../crate/core/src/kin");
    let write = |name: &str, text: String| {
        let path = folder.join(name);
        std::fs::write(&path, text).map_err(|e| format!("{}: {e}", path.display()))
    };
    let model = serde_json::to_string(&trained.model).map_err(|e| e.to_string())?;
    // A line a class and a row of correlations: small changes are small in a review.
    let model = model.replace("{\"weight\"", "\n{\"weight\"").replace("],[", "],\n[") + "\n";
    write("model.json", model)?;
    write("card.md", card(&trained, &result, arguments.per, learnt.len()))?;
    Ok(format!("named alone under {}: {}", TRIED.name(), result.model.1.with_interval()))
}

fn main() -> ExitCode {
    end(run(&Arguments::parse()))
}
