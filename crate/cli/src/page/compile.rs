//! The page's two programs: from Rust to WebAssembly and their glue.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use wasm_bindgen_cli_support::Bindgen;

use super::PageError;
use super::error::Doing;
use super::exports;
use super::files::{read, write};
use super::order;

/// A program of the page.
struct Program {
    /// Its package.
    package: &'static str,
    /// Its library's name: of the glue, and of the WebAssembly with `_bg` added.
    name: &'static str,
}

/// The page's own, and the one that takes spreadsheets apart, which is fetched only when
/// a file needs it.
const PROGRAMS: [Program; 2] = [
    Program { package: "sweepbook-page", name: "sweepbook_page" },
    Program { package: "sweepbook-sheets-page", name: "sweepbook_sheets_page" },
];
const TARGET: &str = "wasm32-unknown-unknown";
/// What would make the build another one than the workspace describes.
const SURPRISES: [&str; 6] = [
    "RUSTFLAGS",
    "CARGO_ENCODED_RUSTFLAGS",
    "CARGO_BUILD_RUSTFLAGS",
    "CARGO_BUILD_TARGET",
    "CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUSTFLAGS",
    "RUSTDOCFLAGS",
];
/// Vector instructions, which Chrome and Firefox have had since 2021, Safari since 2023
/// (16.4; from memory): where cells end is found sixteen bytes at a time.
const VECTORS: &str = r#"target.wasm32-unknown-unknown.rustflags=["-Ctarget-feature=+simd128"]"#;
/// Small, but a function with one caller stays itself beyond 20 bytes: inlining
/// made the file 1 % smaller and its gzip 7 % larger (measured here, version 108).
const SMALL: [&str; 3] = ["-Oz", "--one-caller-inline-max-function-size", "20"];
/// Features that rustc 1.95 uses by default for this target and that wasm-opt
/// must be told of; version 108 knows them all.
const FEATURES: [&str; 8] = [
    "--enable-simd",
    "--enable-bulk-memory",
    "--enable-mutable-globals",
    "--enable-nontrapping-float-to-int",
    "--enable-sign-ext",
    "--enable-reference-types",
    "--enable-multivalue",
    "--strip-producers",
];

/// Builds the programs and their glue into a folder.
///
/// # Errors
/// A tool is missing or fails. A missing or failing `wasm-opt` is only said.
pub(super) fn programs(root: &Path, into: &Path, say: &mut dyn FnMut(&str)) -> Result<(), PageError> {
    check_target(root)?;
    let mut said = String::new();
    // The same is true of every program, and is said once.
    let mut once = |line: &str| {
        if said != line {
            said = line.to_owned();
            say(line);
        }
    };
    for (Program { name, .. }, wasm) in PROGRAMS.iter().zip(build(root)?) {
        let mut bindgen = Bindgen::new();
        bindgen
            .input_path(wasm)
            .web(true)
            .map_err(glue)?
            .typescript(false)
            .remove_name_section(true)
            .remove_producers_section(true)
            .out_name(name);
        bindgen.generate(into).map_err(glue)?;
        let wasm = into.join(format!("{name}_bg.wasm"));
        shrink(&wasm, &mut once)?;
        write(&wasm, order::ordered(&read(&wasm)?).map_err(glue)?)?;
    }
    Ok(())
}

fn glue(error: impl std::fmt::Display) -> PageError {
    PageError::Glue(format!("{error:#}"))
}

fn tool(variable: &str, otherwise: &str, root: &Path) -> (Command, String) {
    let program = std::env::var_os(variable).unwrap_or_else(|| otherwise.into());
    let mut command = Command::new(&program);
    // In the workspace, so that its toolchain file counts.
    command.current_dir(root);
    for name in SURPRISES {
        command.env_remove(name);
    }
    (command, program.to_string_lossy().into_owned())
}

fn check_target(root: &Path) -> Result<(), PageError> {
    let (mut rustc, program) = tool("RUSTC", "rustc", root);
    let output = rustc
        .args(["--print", "target-libdir", "--target", TARGET])
        .output()
        .map_err(|source| PageError::NoTool { program, source })?;
    let libraries = PathBuf::from(String::from_utf8_lossy(&output.stdout).trim());
    if output.status.success() && libraries.is_dir() { Ok(()) } else { Err(PageError::NoTarget) }
}

/// Builds and returns the files, in the order of [`PROGRAMS`].
fn build(root: &Path) -> Result<Vec<PathBuf>, PageError> {
    let (mut cargo, program) = tool("CARGO", "cargo", root);
    let mut child = cargo
        .args(["build", "--config", VECTORS, "--profile", "web", "--target", TARGET])
        .args(PROGRAMS.iter().flat_map(|program| ["--package", program.package]))
        .arg("--message-format=json-render-diagnostics")
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|source| PageError::NoTool { program, source })?;
    let mut files = PROGRAMS.map(|_| None);
    if let Some(stdout) = child.stdout.take() {
        for line in BufReader::new(stdout).lines() {
            let line = line.doing("read what cargo says in", root)?;
            for (file, program) in files.iter_mut().zip(&PROGRAMS) {
                *file = artifact(&line, program.name).or(file.take());
            }
        }
    }
    if !child.wait().doing("wait for cargo in", root)?.success() {
        return Err(PageError::Build);
    }
    files.into_iter().map(|file| file.ok_or(PageError::NoProgram)).collect()
}

/// The WebAssembly file of a library that a line of cargo's messages names, if it does.
fn artifact(line: &str, name: &str) -> Option<PathBuf> {
    let message: serde_json::Value = serde_json::from_str(line).ok()?;
    let ours = message["reason"] == "compiler-artifact" && message["target"]["name"] == name;
    let files = message["filenames"].as_array().filter(|_| ours)?;
    files.iter().filter_map(|f| f.as_str()).find(|f| f.ends_with(".wasm")).map(PathBuf::from)
}

/// Makes the program smaller where `wasm-opt` is there; the page works without.
fn shrink(wasm: &Path, say: &mut dyn FnMut(&str)) -> Result<(), PageError> {
    let smaller = wasm.with_extension("small");
    let run = Command::new("wasm-opt").args(SMALL).args(FEATURES).arg(wasm).arg("-o").arg(&smaller).output();
    match run {
        Ok(output) if output.status.success() => {
            let fixed = exports::keep_tables(&read(wasm)?, read(&smaller)?);
            std::fs::remove_file(&smaller).doing("remove", &smaller)?;
            match fixed {
                Some(small) => write(wasm, small),
                None => {
                    say("wasm-opt gave a file that cannot be read, so the page is larger than need be.");
                    Ok(())
                }
            }
        }
        Ok(output) => {
            let why = String::from_utf8_lossy(&output.stderr);
            say(&format!("wasm-opt failed, so the page is larger than need be: {}", why.lines().next().unwrap_or("")));
            Ok(())
        }
        Err(_) => {
            say("wasm-opt (of binaryen) is not installed; the page works, but loads a little more.");
            Ok(())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_our_own_file_is_taken() {
        let line = |name: &str| {
            format!(
                r#"{{"reason":"compiler-artifact","target":{{"name":"{name}"}},"filenames":["/t/x.rlib","/t/x.wasm"]}}"#
            )
        };
        assert_eq!(artifact(&line("sweepbook_page"), "sweepbook_page"), Some(PathBuf::from("/t/x.wasm")));
        assert_eq!(artifact(&line("serde"), "sweepbook_page"), None);
        assert_eq!(artifact("not json", "sweepbook_page"), None);
    }
}
