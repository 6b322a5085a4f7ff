//! Whether the sources of the page changed.

use std::path::Path;

use sha2::{Digest, Sha256};

use super::PageError;
use super::files::{below, read, walk};

/// Everything that the page is made of, and what makes it, below the workspace.
const SOURCES: [&str; 12] = [
    "crate/rows",
    "crate/law",
    "crate/core",
    "crate/sheets",
    "crate/sheets-page",
    "crate/page",
    "crate/cli/src/page",
    "web",
    "samples",
    "Cargo.toml",
    "Cargo.lock",
    "rust-toolchain.toml",
];
/// What is made from them, and what only tests them.
const NOT_SOURCES: [&str; 1] = ["web/dist"];

/// A number that changes with any of the sources, in hexadecimal.
///
/// # Errors
/// One of them cannot be read.
pub(super) fn fingerprint(root: &Path) -> Result<String, PageError> {
    let skip = |path: &Path| NOT_SOURCES.iter().any(|n| path == root.join(n));
    let mut hash = Sha256::new();
    for source in SOURCES.map(|s| root.join(s)) {
        let files = match source {
            folder if folder.is_dir() => walk(&folder, &skip)?,
            file if file.is_file() => vec![file],
            _ => Vec::new(),
        };
        for file in files {
            add(&mut hash, &below(root, &file), &read(&file)?);
        }
    }
    Ok(hex(hash, 32))
}

/// Adds a file so that no other set of files gives the same sum.
pub(super) fn add(hash: &mut Sha256, name: &str, content: &[u8]) {
    for part in [name.as_bytes(), content] {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part);
    }
}

/// The first `bytes` of a sum in hexadecimal.
pub(super) fn hex(hash: Sha256, bytes: usize) -> String {
    hash.finalize().iter().take(bytes).map(|b| format!("{b:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::super::files::write;
    use super::*;

    #[test]
    fn only_sources_count() {
        let dir = tempfile::tempdir().unwrap();
        let root = dir.path();
        write(&root.join("web/index.html"), "page").unwrap();
        write(&root.join("samples/1.csv"), "1").unwrap();
        let before = fingerprint(root).unwrap();
        write(&root.join("web/dist/index.html"), "built").unwrap();
        write(&root.join("crate/cli/src/main.rs"), "terminal").unwrap();
        assert_eq!(fingerprint(root).unwrap(), before);
        write(&root.join("samples/1.csv"), "2").unwrap();
        assert_ne!(fingerprint(root).unwrap(), before);
    }

    #[test]
    fn a_byte_moved_from_one_file_to_the_next_is_a_change() {
        let sum = |files: [(&str, &str); 2]| {
            let mut hash = Sha256::new();
            files.iter().for_each(|(name, content)| add(&mut hash, name, content.as_bytes()));
            hex(hash, 32)
        };
        assert_ne!(sum([("a", "xy"), ("b", "z")]), sum([("a", "x"), ("b", "yz")]));
    }
}
