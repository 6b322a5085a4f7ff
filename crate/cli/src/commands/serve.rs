//! `sweepbook` without a command: builds the page, serves it, opens it.

use std::io::IsTerminal;
use std::path::PathBuf;

use super::{Ending, Failure};
use crate::server::{self, Listening};
use crate::{page, screen};

/// What the page opens with.
const OPEN_SAMPLES: &str = "?open=samples";

/// How the page is served.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The port to serve the page on; 0 takes any free one. Without it, 6922 or one of the next.
    #[arg(long, value_name = "N")]
    port: Option<u16>,
    /// Do not open a browser; only print the address.
    #[arg(long)]
    no_browser: bool,
    /// Serve this folder, written by `sweepbook page`, instead of building the page.
    #[arg(long, value_name = "DIR")]
    folder: Option<PathBuf>,
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    // The port first: building takes minutes, and a taken port is soon told.
    let listening = server::listen(args.port)?;
    let folder = match &args.folder {
        Some(folder) => folder.clone(),
        None => page::ensure_built(&mut |line| screen::say(line))?,
    };
    let site = server::Site::new(&folder)?;
    let address = format!("http://{}/{OPEN_SAMPLES}", listening.address);
    announce(&listening, &address)?;
    if !args.no_browser && has_desktop() {
        open(address);
    }
    Err(server::run(listening, site).into())
}

fn announce(listening: &Listening, address: &str) -> Result<(), Failure> {
    if let Some(taken) = listening.instead_of {
        screen::say(&format!(
            "Port {taken} is taken, perhaps by a sweepbook that still runs. A browser keeps what you \
             store in the page by its address: what you kept at port {taken} is not seen at this one."
        ));
    }
    screen::print(&format!("The page is at {address}\nStop it with Ctrl-C.\n"))?;
    Ok(())
}

/// Whether somebody sits at a desktop of this machine.
fn has_desktop() -> bool {
    let is_set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    let session = if cfg!(any(windows, target_os = "macos")) {
        !is_set("SSH_CONNECTION")
    } else {
        is_set("DISPLAY") || is_set("WAYLAND_DISPLAY")
    };
    session && std::io::stdout().is_terminal()
}

/// Opens the user's browser on a thread of its own: some of them only return
/// when they are closed. That none opens is no failure.
fn open(address: String) {
    std::thread::spawn(move || {
        if webbrowser::open(&address).is_err() {
            screen::say("No browser could be opened; open the address yourself.");
        }
    });
}
