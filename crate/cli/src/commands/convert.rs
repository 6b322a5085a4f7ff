//! `sweepbook convert`: from files to a tidy long table.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use sweepbook_core::intake::{SWEEP_SCHEMA, write_exact, write_json};
use sweepbook_core::sweep::Tube;

use super::{Ending, Failure};
use crate::screen;

/// Longest file name made from a tube's name, characters: leaves room for a number
/// and an ending within the 255 bytes that file systems allow (by construction).
const LONGEST_NAME: usize = 50;

/// Write what was understood of files as a tidy long table.
///
/// A row a point, SI units, what is known of tube and bench with it; it reads back to
/// the same sweep exactly. JSON holds all tubes in one document; CSV one tube a file.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Files, or folders: a folder stands for the tables, spreadsheets and archives in it.
    #[arg(required_unless_present = "schema", value_name = "PATH")]
    paths: Vec<PathBuf>,
    #[command(flatten)]
    reading: super::ReadArgs,
    /// What to write.
    #[arg(long, value_enum, default_value_t = Format::Csv)]
    format: Format,
    /// Write into this folder, a file a tube, and not on standard output. Nothing that is
    /// there is written over.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Look into the folders within folders too.
    #[arg(short, long)]
    recursive: bool,
    /// Print the JSON Schema of the documents and do nothing else.
    #[arg(long)]
    schema: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    Csv,
    Json,
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    if args.schema {
        screen::print_json(SWEEP_SCHEMA.trim_end())?;
        return Ok(Ending::Done);
    }
    let (tubes, unread) = args.reading.read(&args.paths, args.recursive);
    let ending = super::told(&unread);
    match (&args.out, args.format) {
        _ if tubes.is_empty() => {}
        (Some(folder), format) => into(folder, &tubes, format)?,
        (None, Format::Json) => screen::print_json(write_json(&tubes)?.trim_end())?,
        (None, Format::Csv) if tubes.len() > 1 => {
            let count = tubes.len();
            screen::say(&format!(
                "sweepbook: these are {count} tubes, and a CSV file holds one. Add --out DIR for a file each, or --format json."
            ));
            return Ok(Ending::WrongUsage);
        }
        (None, Format::Csv) => screen::print_table(&write_exact(&tubes[0]))?,
    }
    Ok(ending)
}

fn into(folder: &Path, tubes: &[Tube], format: Format) -> Result<(), Failure> {
    std::fs::create_dir_all(folder)?;
    let mut taken = HashSet::new();
    for tube in tubes {
        let (ending, text) = match format {
            Format::Csv => ("csv", write_exact(tube)),
            Format::Json => ("json", write_json(std::slice::from_ref(tube))?),
        };
        let name = plain(&tube.name);
        let mut path = folder.join(format!("{name}.{ending}"));
        for number in 2.. {
            if !taken.contains(&path) && !path.exists() {
                break;
            }
            path = folder.join(format!("{name}-{number}.{ending}"));
        }
        std::fs::write(&path, text)?;
        screen::say(&format!("sweepbook: tube {} → {}", tube.name, path.display()));
        taken.insert(path);
    }
    Ok(())
}

/// A tube's name as a file name: letters, digits, dots, dashes.
fn plain(name: &str) -> String {
    let kept = |c: char| if c.is_alphanumeric() || matches!(c, '-' | '_') { c } else { '-' };
    let plain: String = name.chars().take(LONGEST_NAME).map(kept).collect();
    if plain.is_empty() { "tube".into() } else { plain }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_a_file_name_whatever_it_holds() {
        assert_eq!(plain("B-17"), "B-17");
        assert_eq!(plain("../../x"), "------x");
        assert_eq!(plain(""), "tube");
        assert_eq!(plain(&"ü".repeat(300)).chars().count(), LONGEST_NAME);
    }
}
