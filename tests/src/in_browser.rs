//! The package `sweepbook-timed` compiled as the page's program is, and run in Chromium.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde::{Deserialize, Serialize};
use wasm_bindgen_cli_support::Bindgen;

use crate::here;

/// Compiles it and puts program and glue (`timed.js`) into a folder.
///
/// # Errors
/// A tool is missing or fails.
pub fn compiled(into: &Path) -> Result<(), String> {
    let target = "wasm32-unknown-unknown";
    let made = into.join("cargo");
    let done = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
        .current_dir(here())
        // As `crate/cli/src/page/compile.rs` has it.
        .args([
            "build",
            "--quiet",
            "--config",
            r#"target.wasm32-unknown-unknown.rustflags=["-Ctarget-feature=+simd128"]"#,
        ])
        .args(["--profile", "web", "--target", target, "--package", "sweepbook-timed"])
        .env("CARGO_TARGET_DIR", &made)
        .status()
        .map_err(|e| format!("no cargo: {e}"))?;
    if !done.success() {
        return Err("the program for the browser does not compile".into());
    }
    let mut bindgen = Bindgen::new();
    bindgen
        .input_path(made.join(target).join("web/sweepbook_timed.wasm"))
        .web(true)
        .and_then(|b| b.typescript(false).out_name("timed").generate(into))
        .map_err(|e| format!("{e:#}"))
}

/// What is to be timed: a function of the package, or a work of its bench.
#[derive(Debug, Clone, Serialize)]
pub struct Planned {
    /// Its name, `Bench.` before it where it is one of the bench.
    pub what: String,
    /// The file that it is given.
    pub file: PathBuf,
    /// What every run must give.
    pub expected: usize,
    /// How often it runs.
    pub runs: usize,
}

/// Seconds that it took.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
pub struct Took {
    /// In the fastest run.
    pub fastest: f64,
    /// In the middle one.
    pub middle: f64,
}

/// Times what is planned in a worker of Chromium, with the program that [`compiled`] put
/// into the folder.
///
/// # Errors
/// There is no Node or Chromium, or something gave another number.
pub fn timed(folder: &Path, plan: &[Planned]) -> Result<Vec<Took>, String> {
    let planned = folder.join("plan.json");
    let text = serde_json::to_string(plan).map_err(|e| e.to_string())?;
    std::fs::write(&planned, text).map_err(|e| e.to_string())?;
    let output = Command::new("node")
        .arg(here().join("browser/timed.mjs"))
        .args([folder, &planned])
        .stderr(Stdio::inherit())
        .output()
        .map_err(|e| format!("no Node: {e}"))?;
    serde_json::from_slice(&output.stdout)
        .map_err(|_| format!("the browser gave no times: {}", String::from_utf8_lossy(&output.stdout)))
}
