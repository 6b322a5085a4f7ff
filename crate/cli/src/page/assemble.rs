//! The files of the page, put together.

use std::path::Path;

use sha2::{Digest, Sha256};

use super::PageError;
use super::files::{below, read, walk, write};
use super::joined::joined;
use super::lean::lean;
use super::sources::{add, hex};

/// Folder of the program while the page is put together.
pub(super) const PROGRAM: &str = "program";
/// Files whose place must not change: what addresses point at, and what a
/// browser asks for by a fixed name.
const FIXED: [&str; 5] = ["index.html", "learn.html", "sw.js", "manifest.webmanifest", "icon.svg"];
/// Below the page's sources: what is made of them, and what only the single file has.
const NOT_PLACED: [&str; 2] = ["dist", super::single::INSTEAD];
/// Stands in the sources for the folder of this build.
const BUILD: &str = "__BUILD__";
/// Stands in the service worker for the list of all files.
const FILES: &str = "\"__FILES__\"";
/// The names of the samples, as JSON.
pub(super) const INDEX: &str = "index.json";
/// Bytes of the sum that names the build.
const NAME_BYTES: usize = 6;

/// Puts the page together in a folder that already holds [`PROGRAM`].
///
/// # Errors
/// A file cannot be read or written.
pub(super) fn page(root: &Path, into: &Path) -> Result<(), PageError> {
    let program = into.join(PROGRAM);
    let mut parts = sources(root)?;
    for file in walk(&program, &|_| false)? {
        parts.push((below(&program, &file), read(&file)?));
    }
    let parts: Vec<(String, Vec<u8>)> = joined(parts)
        .map_err(PageError::NotJoined)?
        .into_iter()
        .map(|(name, content)| (name.clone(), lean(&name, content)))
        .collect();
    let samples = samples(root)?;

    let mut hash = Sha256::new();
    parts.iter().chain(&samples).for_each(|(name, content)| add(&mut hash, name, content));
    let build = format!("build-{}", hex(hash, NAME_BYTES));

    let mut placed: Vec<(String, Vec<u8>)> = Vec::new();
    for (name, content) in parts {
        if FIXED.contains(&name.as_str()) {
            placed.push((name, content));
        } else {
            placed.push((format!("{build}/{name}"), content));
        }
    }
    placed.extend(samples.into_iter().map(|(name, content)| (format!("samples/{name}"), content)));

    let mut names: Vec<String> = placed.iter().map(|(name, _)| name.clone()).filter(|n| n != "sw.js").collect();
    names.sort();
    let list = serde_json::Value::from(names).to_string();
    for (name, content) in placed {
        let content = match name.as_str() {
            "index.html" | "learn.html" | "sw.js" => fill(content, &build, &list),
            _ => content,
        };
        write(&into.join(&name), content)?;
    }
    std::fs::remove_dir_all(&program).map_err(|source| PageError::File {
        doing: "remove",
        path: program.clone(),
        source,
    })
}

/// The page's sources by name, as they were written.
pub(super) fn sources(root: &Path) -> Result<Vec<(String, Vec<u8>)>, PageError> {
    let web = root.join("web");
    let files = walk(&web, &|path| NOT_PLACED.iter().any(|name| path == web.join(name)))?;
    files.into_iter().map(|file| Ok((below(&web, &file), read(&file)?))).collect()
}

fn fill(content: Vec<u8>, build: &str, list: &str) -> Vec<u8> {
    String::from_utf8_lossy(&content).replace(BUILD, build).replace(FILES, list).into_bytes()
}

/// The sample lot and its index, by name.
pub(super) fn samples(root: &Path) -> Result<Vec<(String, Vec<u8>)>, PageError> {
    let folder = root.join("samples");
    let mut samples = Vec::new();
    if folder.is_dir() {
        for file in walk(&folder, &|_| false)? {
            if file.extension().is_some_and(|e| e == "csv") && file.parent() == Some(&folder) {
                samples.push((below(&folder, &file), read(&file)?));
            }
        }
    }
    let names: Vec<&str> = samples.iter().map(|(name, _)| name.as_str()).collect();
    let index = serde_json::Value::from(names).to_string();
    samples.push((INDEX.to_owned(), index.into_bytes()));
    Ok(samples)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A workspace with a page, a program and a sample; the page put together.
    fn put_together(sample: &str) -> tempfile::TempDir {
        let dir = tempfile::tempdir().unwrap();
        let (root, into) = (dir.path().join("root"), dir.path().join("dist"));
        for (name, content) in [
            ("web/index.html", "<script src=\"./__BUILD__/src/main.js\">"),
            ("web/sw.js", "const BUILD = \"__BUILD__\"; const FILES = \"__FILES__\";"),
            ("web/src/main.js", "import '../x.js';\n"),
            ("web/dist/stale.js", "old"),
            ("web/single/loader.js", "single"),
            ("samples/1.csv", sample),
            ("samples/README.md", "truth"),
        ] {
            write(&root.join(name), content).unwrap();
        }
        write(&into.join(PROGRAM).join("x.js"), "glue").unwrap();
        page(&root, &into).unwrap();
        dir
    }

    fn names(dir: &tempfile::TempDir) -> Vec<String> {
        let dist = dir.path().join("dist");
        walk(&dist, &|_| false).unwrap().iter().map(|p| below(&dist, p)).collect()
    }

    #[test]
    fn every_file_is_in_its_place_and_in_the_list() {
        let dir = put_together("1");
        let names = names(&dir);
        let build = names[0].split('/').next().unwrap().to_owned();
        assert!(build.starts_with("build-") && build.len() == 6 + 2 * NAME_BYTES);
        let [joined, main] = ["joined", "main"].map(|name| format!("{build}/src/{name}.js"));
        assert_eq!(names, [joined.as_str(), &main, "index.html", "samples/1.csv", "samples/index.json", "sw.js"]);
        let text = |name: &str| std::fs::read_to_string(dir.path().join("dist").join(name)).unwrap();
        assert_eq!(text("index.html"), format!("<script src=\"./{main}\">"));
        assert_eq!(text("samples/index.json"), "[\"1.csv\"]");
        let sw = text("sw.js");
        for name in names.iter().filter(|n| *n != "sw.js") {
            assert!(sw.contains(&format!("\"{name}\"")), "{name} is not in {sw}");
        }
    }

    #[test]
    fn a_changed_sample_is_another_build() {
        assert_ne!(names(&put_together("1"))[0], names(&put_together("2"))[0]);
    }
}
