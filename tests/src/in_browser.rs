//! The package `sweepbook-timed` compiled as the page's program is, and run in Chromium.

use std::path::Path;
use std::process::{Command, Stdio};

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

/// Seconds of the fastest of several runs of one of its functions on a file, in a worker
/// of Chromium, after it gave `expected` in each.
///
/// # Errors
/// There is no Node or Chromium, or it gave something else.
pub fn fastest(folder: &Path, what: &str, file: &Path, expected: usize, runs: usize) -> Result<f64, String> {
    let output = Command::new("node")
        .arg(here().join("browser/timed.mjs"))
        .args([folder, file])
        .args([what, &expected.to_string(), &runs.to_string()])
        .stderr(Stdio::inherit())
        .output()
        .map_err(|e| format!("no Node: {e}"))?;
    let said = String::from_utf8_lossy(&output.stdout);
    said.trim().parse().map_err(|_| format!("the browser gave no time: {said}"))
}
