//! Helpers shared by the outside checks: where things are, and the programs that
//! answer independently of this project.

pub mod circuit;
pub mod corpus;
pub mod in_browser;
pub mod kin_training;
pub mod lots;
pub mod promise;
pub mod rand_index;
pub mod samples;
pub mod study;
pub mod workloads;

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};

use sweepbook_core::report::TubeReport;
use sweepbook_core::{intake, triage};

/// The folder of this package.
pub fn here() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Says on standard error how a program ended; its exit code.
pub fn end(result: Result<String, String>) -> ExitCode {
    match result {
        Ok(said) => {
            eprintln!("{said}");
            ExitCode::SUCCESS
        }
        Err(wrong) => {
            eprintln!("{wrong}");
            ExitCode::FAILURE
        }
    }
}

/// The Python that `tests/run` set up, else the one on the path.
pub fn python() -> PathBuf {
    let own = here().join(".venv/bin/python");
    if own.exists() { own } else { PathBuf::from("python3") }
}

/// Runs a script of `tests/outside` with a JSON document on its standard input
/// and returns the one it prints.
///
/// # Errors
/// What went wrong, with the script's own words.
pub fn ask_python(script: &str, question: &serde_json::Value) -> Result<serde_json::Value, String> {
    let path = here().join("outside").join(script);
    let mut child = Command::new(python())
        .arg(&path)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(|e| format!("no Python: {e}; run tests/run, which installs it"))?;
    let mut stdin = child.stdin.take().ok_or("no standard input")?;
    stdin.write_all(question.to_string().as_bytes()).map_err(|e| e.to_string())?;
    drop(stdin);
    let output = child.wait_with_output().map_err(|e| e.to_string())?;
    if !output.status.success() {
        return Err(format!("{script}: {}", String::from_utf8_lossy(&output.stderr)));
    }
    serde_json::from_slice(&output.stdout).map_err(|e| format!("{script} printed no JSON: {e}"))
}

/// Fills in a netlist of `tests/netlists` (each `{name}` by its value) and lets
/// ngspice solve it. Returns the table it writes, a row a step.
///
/// # Errors
/// What went wrong, with ngspice's own words.
pub fn ask_ngspice(netlist: &str, values: &[(&str, String)]) -> Result<Vec<Vec<f64>>, String> {
    let path = here().join("netlists").join(netlist);
    let mut text = std::fs::read_to_string(&path).map_err(|e| format!("{}: {e}", path.display()))?;
    let folder = tempfile::tempdir().map_err(|e| e.to_string())?;
    let table = folder.path().join("table.txt");
    text = text.replace("{out}", &table.display().to_string());
    for (name, value) in values {
        text = text.replace(&format!("{{{name}}}"), value);
    }
    let circuit = folder.path().join("circuit.cir");
    std::fs::write(&circuit, text).map_err(|e| e.to_string())?;
    let output = Command::new("ngspice")
        .arg("-b")
        .arg(&circuit)
        .output()
        .map_err(|e| format!("no ngspice: {e}; run tests/run, which installs it"))?;
    let said = || format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    let written = std::fs::read_to_string(&table).map_err(|_| format!("ngspice wrote nothing: {}", said()))?;
    written
        .lines()
        .map(|line| line.split_whitespace().map(|cell| cell.parse().map_err(|_| line.to_owned())).collect())
        .collect()
}

/// Sends the text of a file the whole way, from bytes to a report.
///
/// # Errors
/// What intake said.
pub fn whole_way(name: &str, text: &str) -> Result<TubeReport, String> {
    let tubes = intake::read(name, text.as_bytes()).map_err(|e| e.to_string())?;
    tubes.first().map(triage).ok_or_else(|| "no tube in the file".to_owned())
}

/// A bench's imperfection, the same on every machine: a relative error of about
/// `relative` and a rounding to `step`, from a small multiplicative congruence.
pub fn imperfect(current: f64, at: u64, relative: f64, step: f64) -> f64 {
    let scrambled = (at.wrapping_add(1)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    let mixed = (scrambled ^ (scrambled >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    // A sum of four uniform numbers is close to a normal one; its variance is 1/3.
    let uniform = |k: u32| f64::from(u16::try_from((mixed >> (16 * k)) & 0xffff).unwrap_or(0)) / 65536.0 - 0.5;
    let normal = (0..4).map(uniform).sum::<f64>() * 3f64.sqrt();
    ((current * (1.0 + relative * normal)) / step).round() * step
}
