//! The bench profile that a command line names.

use std::fs::File;
use std::io::Read;

use sweepbook_core::intake::{LARGEST_PROFILE, Profile, Unread};

/// Reads the profile in a file; what is wrong with it is wrong usage.
pub fn profile(path: &str) -> Result<Profile, Unread> {
    let unopened = |e: std::io::Error| Unread::unopened(path, &crate::lot::reason(Some(e.kind()), &e));
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(unopened)?;
    file.take(LARGEST_PROFILE as u64 + 1).read_to_end(&mut bytes).map_err(unopened)?;
    Profile::read(path, &String::from_utf8_lossy(&bytes))
}
