//! `sweepbook page`: the page into a folder.

use std::path::PathBuf;

use super::{Ending, Failure};
use crate::{page, screen};

/// Write the page to a folder, to be put on a web server or kept.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The folder; it is made where it does not exist.
    #[arg(value_name = "DIR")]
    dir: PathBuf,
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    page::write_to(&args.dir)?;
    screen::print(&format!("The page is in {}.\n", screen::shown(&args.dir)))?;
    Ok(Ending::Done)
}
