//! How time and memory of `sweepbook triage --json-lines` go with the number of tubes and of
//! cores. Makes a stock of twin triodes, a file each, and runs the release build on parts of it.
//!
//!     cargo build --release && cargo run --release -p sweepbook-tests --bin stock -- --tubes 10000

use std::fmt::Write as _;
use std::path::Path;
use std::process::{Command, ExitCode, Stdio};
use std::time::{Duration, Instant};

use clap::Parser;
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use sweepbook_tests::{end, here, workloads};

/// How the program does on a whole stock.
#[derive(Debug, Parser)]
struct Args {
    /// Tubes of the largest stock.
    #[arg(long, default_value_t = 10_000)]
    tubes: usize,
}

/// Different tubes that are made; beyond, they come again under other names.
const DIFFERENT: usize = 960;
/// How often the program's memory is looked at.
const LOOK: Duration = Duration::from_millis(20);

/// Writes a stock into a folder, a file a tube.
fn make(folder: &Path, tubes: usize) -> Result<(), String> {
    let texts: Vec<String> = (0..tubes.min(DIFFERENT))
        .into_par_iter()
        .map(|number| workloads::twin_triode(number).map(|w| w.text).ok_or("the handbook lost a type"))
        .collect::<Result<_, _>>()?;
    for number in 0..tubes {
        let path = folder.join(format!("{number:06}.csv"));
        std::fs::write(&path, &texts[number % texts.len()]).map_err(|e| format!("{}: {e}", path.display()))?;
    }
    Ok(())
}

/// What a run took.
struct Run {
    seconds: f64,
    /// Most memory at once, MB.
    memory: f64,
    lines: usize,
}

fn run(program: &Path, files: &[std::path::PathBuf], cores: usize, out: &Path) -> Result<Run, String> {
    let file = std::fs::File::create(out).map_err(|e| e.to_string())?;
    let start = Instant::now();
    let mut child = Command::new(program)
        .args(["triage", "--json-lines"])
        .args(files)
        .env("RAYON_NUM_THREADS", cores.to_string())
        .stdout(file)
        .stderr(Stdio::inherit())
        .spawn()
        .map_err(|e| format!("{}: {e}", program.display()))?;
    let status = format!("/proc/{}/status", child.id());
    let mut memory = 0.0_f64;
    loop {
        if let Ok(text) = std::fs::read_to_string(&status) {
            let peak = text.lines().find_map(|l| l.strip_prefix("VmHWM:"));
            let kb = peak.and_then(|l| l.trim().trim_end_matches(" kB").parse::<f64>().ok());
            memory = memory.max(kb.unwrap_or(0.0) / 1e3);
        }
        if child.try_wait().map_err(|e| e.to_string())?.is_some() {
            break;
        }
        std::thread::sleep(LOOK);
    }
    let seconds = start.elapsed().as_secs_f64();
    let lines = std::fs::read_to_string(out).map_err(|e| e.to_string())?.lines().count();
    Ok(Run { seconds, memory, lines })
}

fn all(args: &Args) -> Result<String, String> {
    let program = here().join("../target/release/sweepbook");
    let folder = tempfile::tempdir().map_err(|e| e.to_string())?;
    make(folder.path(), args.tubes)?;
    let out = folder.path().join("lines.jsonl");
    let mut said = String::from("| tubes | cores | time | per tube | most memory |\n|---:|---:|---:|---:|---:|\n");
    for (tubes, cores) in [(args.tubes / 4, 1), (args.tubes / 2, 1), (args.tubes, 1), (args.tubes, 2)] {
        let files: Vec<_> = (0..tubes).map(|n| folder.path().join(format!("{n:06}.csv"))).collect();
        let run = run(&program, &files, cores, &out)?;
        if run.lines != tubes {
            return Err(format!("{} lines of {tubes} tubes", run.lines));
        }
        // Writing to a string cannot fail.
        let _ = writeln!(
            said,
            "| {tubes} | {cores} | {:.2} s | {:.2} ms | {:.0} MB |",
            run.seconds,
            1e3 * run.seconds / tubes as f64,
            run.memory
        );
    }
    Ok(said)
}

fn main() -> ExitCode {
    end(all(&Args::parse()))
}
