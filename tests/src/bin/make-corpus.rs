//! Makes a corpus of simulated tubes with their truth.

use std::fs;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, ValueEnum};
use sweepbook_core::lesson::LawChoice;
use sweepbook_tests::corpus::kinds::KINDS;
use sweepbook_tests::corpus::{Choice, HELD_OUT, Wish, make};
use sweepbook_tests::end;

/// Writes NNN.csv, truth.json and making.json (everything that was simulated) to a folder.
#[derive(Debug, Parser)]
struct Arguments {
    /// Folder to write to; made if it is not there.
    out: PathBuf,
    /// The same seed and options give the same files. Seeds from 900000 on are kept for the
    /// cross-check and are not written out.
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u64).range(..HELD_OUT))]
    seed: u64,
    /// Number of tubes.
    #[arg(long, default_value_t = 75)]
    tubes: usize,
    /// koren, cohen-helie, dempwolf, rydel, child-langmuir, strips, or mix.
    #[arg(long, default_value = "mix")]
    law: String,
    /// Whether grid current is measured.
    #[arg(long, value_enum, default_value_t = Now::Mix)]
    grid_current: Now,
    /// Whether plate families are taken instead of transfer families.
    #[arg(long, value_enum, default_value_t = Now::Mix)]
    plate_families: Now,
    /// Share of sound tubes.
    #[arg(long, default_value_t = 0.4)]
    healthy: f64,
    /// Faults, comma between; all if none is given.
    #[arg(long, value_delimiter = ',')]
    kinds: Vec<String>,
    /// Types, comma between; all if none is given.
    #[arg(long, value_delimiter = ',')]
    types: Vec<String>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Now {
    Yes,
    No,
    Mix,
}

impl From<Now> for Choice {
    fn from(now: Now) -> Self {
        match now {
            Now::Yes => Self::Yes,
            Now::No => Self::No,
            Now::Mix => Self::Mix,
        }
    }
}

fn run(arguments: Arguments) -> Result<String, String> {
    let law = match arguments.law.as_str() {
        "mix" => None,
        name => Some(LawChoice::from_name(name).ok_or_else(|| format!("no law is called \"{name}\""))?),
    };
    if let Some(unknown) = arguments.kinds.iter().find(|k| !KINDS.contains(&k.as_str())) {
        return Err(format!("no fault is called \"{unknown}\"; there are {}", KINDS.join(", ")));
    }
    let wish = Wish {
        seed: arguments.seed,
        tubes: arguments.tubes,
        law,
        grid_current: arguments.grid_current.into(),
        plate_families: arguments.plate_families.into(),
        healthy: arguments.healthy.clamp(0.0, 1.0),
        kinds: arguments.kinds,
        types: arguments.types,
    };
    let items = make(&wish);
    let write = |name: &str, text: String| {
        let path = arguments.out.join(name);
        fs::write(&path, text).map_err(|e| format!("{}: {e}", path.display()))
    };
    fs::create_dir_all(&arguments.out).map_err(|e| format!("{}: {e}", arguments.out.display()))?;
    for item in &items {
        write(&item.truth.file, item.text.clone())?;
    }
    let truths: Vec<_> = items.iter().map(|i| &i.truth).collect();
    let making: Vec<_> =
        items.iter().map(|i| serde_json::json!({"file": i.truth.file, "tube": i.tube, "bench": i.bench})).collect();
    write("truth.json", pretty(&truths)?)?;
    write("making.json", pretty(&making)?)?;
    let passed = wish.tubes - items.len();
    Ok(format!("{} tubes in {}; {passed} wishes no bench could show", items.len(), arguments.out.display()))
}

fn pretty<T: serde::Serialize>(value: &T) -> Result<String, String> {
    serde_json::to_string_pretty(value).map(|s| s + "\n").map_err(|e| e.to_string())
}

fn main() -> ExitCode {
    end(run(Arguments::parse()))
}
