//! Packs the data that people edit as JSON for the program.
//!
//! What is wrong with a file is told here, with its place, to whoever edits it. The program
//! takes in the packed form, whose values follow each other without names: that needs half
//! of the code, and less room.

use std::error::Error;
use std::path::Path;
use std::{env, fs};

use serde::Serialize;
use serde::de::DeserializeOwned;

#[path = "src/handbook/files.rs"]
mod files;
#[path = "src/kin/model_file.rs"]
mod model_file;
#[path = "src/handbook/raw.rs"]
mod raw;

fn main() -> Result<(), Box<dyn Error>> {
    let handbook: Vec<raw::File> =
        files::NAMES.iter().map(|name| read(&format!("src/handbook/data/{name}.json"))).collect::<Result<_, _>>()?;
    pack("handbook.bin", &handbook)?;
    pack("model.bin", &read::<model_file::Model>("src/kin/model.json")?)
}

fn read<T: DeserializeOwned>(file: &str) -> Result<T, Box<dyn Error>> {
    println!("cargo::rerun-if-changed={file}");
    let text = fs::read_to_string(file).map_err(|error| format!("{file}: {error}"))?;
    serde_json::from_str(&text).map_err(|error| format!("{file}: {error}").into())
}

fn pack<T: Serialize>(name: &str, data: &T) -> Result<(), Box<dyn Error>> {
    let folder = env::var_os("OUT_DIR").ok_or("cargo names no folder for what is built")?;
    Ok(fs::write(Path::new(&folder).join(name), postcard::to_allocvec(data)?)?)
}
