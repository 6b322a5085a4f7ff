//! `sweepbook page`: the page into a folder, or into one file.

use std::path::PathBuf;

use super::{Ending, Failure};
use crate::{page, screen};

/// Write the page to a folder, to be put on a web server or kept, or as one file that
/// opens by a double click.
#[derive(Debug, clap::Args)]
#[group(required = true, multiple = false)]
pub(super) struct Args {
    /// The folder; it is made where it does not exist.
    #[arg(value_name = "DIR")]
    dir: Option<PathBuf>,
    /// The file; a page that was written there before is replaced.
    #[arg(long, value_name = "FILE")]
    single: Option<PathBuf>,
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    if let Some(dir) = &args.dir {
        page::write_to(dir)?;
        screen::print(&format!("The page is in {}.\n", screen::shown(dir)))?;
    }
    if let Some(file) = &args.single {
        page::write_single(file)?;
        screen::print(&format!("The page is in the one file {}.\n", screen::shown(file)))?;
    }
    Ok(Ending::Done)
}
