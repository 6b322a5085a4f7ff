//! Writes the sample lot to `samples/`, or to the folder that is named.

use std::fs;
use std::path::PathBuf;
use std::process::ExitCode;

use sweepbook_tests::{end, here, samples};

fn run() -> Result<String, String> {
    let folder = std::env::args_os().nth(1).map_or_else(|| here().join("../samples"), PathBuf::from);
    let files = samples::files();
    if files.is_empty() {
        return Err("the handbook has not all the types of the lot".to_owned());
    }
    fs::create_dir_all(&folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    for (name, text) in &files {
        let path = folder.join(name);
        fs::write(&path, text).map_err(|e| format!("{}: {e}", path.display()))?;
    }
    Ok(format!("{} files in {}", files.len(), folder.display()))
}

fn main() -> ExitCode {
    end(run())
}
