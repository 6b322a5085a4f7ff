//! The page as one file: the same modules, styles and programs, within the document.
//!
//! Modules of `web/single/` stand in for those of `web/src/` of the same name: they
//! get from the file what others fetch from a server. `web/single/loader.js` starts it.

mod document;
mod modules;

use std::io::Read;
use std::path::{Path, PathBuf};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use super::PageError;
use super::error::Doing;
use super::files::{below, read, walk, write};
use super::lean::lean;
use modules::{BYTES_OF, Files};

/// Folder of what the single file has instead, below the page's sources.
pub(super) const INSTEAD: &str = "single";
/// Starts the page there.
const LOADER: &str = "loader.js";
/// The module that holds the sample lot.
const SAMPLES: &str = "samples.js";
/// The first module.
const START: &str = "src/start.js";
/// Marks a file as written here, so that a later one may replace it.
const MARK: &str = "<meta name=\"generator\" content=\"sweepbook page --single\">";
/// Bytes of a file in which the mark is looked for: it is in the head.
const MARK_WITHIN: u64 = 4096;

/// The page of a built folder, as the text of one file.
///
/// # Errors
/// A file cannot be read, or something in the page needs a server.
pub(super) fn page(root: &Path, dist: &Path) -> Result<String, PageError> {
    let mut placed = Files::new();
    for path in walk(dist, &|_| false)? {
        placed.insert(below(dist, &path), read(&path)?);
    }
    take_apart(&mut placed, super::assemble::sources(root)?);
    let mut instead = Files::new();
    let folder = root.join("web").join(INSTEAD);
    for path in walk(&folder, &|_| false)? {
        instead.insert(below(&folder, &path), read(&path)?);
    }
    let mut samples = super::assemble::samples(root)?;
    samples.retain(|(name, _)| name != super::assemble::INDEX);
    whole(&placed, instead, &samples).map_err(PageError::NotOneFile)
}

/// Puts the page's modules back in the place of those that were joined: some of them have
/// another that stands in for them.
fn take_apart(placed: &mut Files, sources: Vec<(String, Vec<u8>)>) {
    let Some(build) = placed.keys().find_map(|name| name.strip_suffix(START)).map(str::to_owned) else { return };
    for (name, content) in sources.into_iter().filter(|(name, _)| name.ends_with(".js")) {
        let content = lean(&name, content);
        placed.insert(format!("{build}{name}"), content);
    }
}

/// Puts it together, or says why it cannot be.
fn whole(placed: &Files, mut instead: Files, samples: &[(String, Vec<u8>)]) -> Result<String, String> {
    let text = |files: &Files, name: &str| match files.get(name) {
        Some(content) => String::from_utf8(content.clone()).map_err(|_| format!("{name} is not UTF-8")),
        None => Err(format!("there is no {name}")),
    };
    let index = text(placed, "index.html")?;
    let loader = text(&instead, LOADER)?;
    instead.remove(LOADER);
    let build = placed
        .keys()
        .find_map(|name| name.strip_suffix(START))
        .filter(|build| build.ends_with('/'))
        .ok_or_else(|| format!("there is no {START}"))?;

    let mut parts: Files = placed
        .iter()
        .filter_map(|(name, content)| Some((name.strip_prefix(build)?.to_owned(), content.clone())))
        .collect();
    for (name, content) in instead {
        // What stands in for nothing would never be looked at.
        parts
            .insert(format!("src/{name}"), content)
            .ok_or_else(|| format!("{INSTEAD}/{name} stands in for nothing"))?;
    }
    parts.insert(SAMPLES.to_owned(), samples_module(samples).into_bytes());

    let parts = modules::parts(&parts, START)?;
    let parts = serde_json::to_string(&parts).map_err(|error| error.to_string())?;
    document::whole(&index, &document::Within { files: placed, parts: &parts, loader: &loader, mark: MARK })
}

/// A module that gives the samples, `[name, bytes]`: as bytes, to be read as any file is.
fn samples_module(samples: &[(String, Vec<u8>)]) -> String {
    let list: Vec<String> = samples
        .iter()
        .map(|(name, content)| format!("[{}, bytes('{}')]", serde_json::Value::from(name.as_str()), base64(content)))
        .collect();
    format!("{BYTES_OF}export default [{}];\n", list.join(",\n"))
}

fn base64(bytes: &[u8]) -> String {
    STANDARD.encode(bytes)
}

/// Where the file will be. It is written beside its place and put there whole; dropped
/// before that, nothing is left.
pub(super) struct Place {
    file: PathBuf,
    fresh: PathBuf,
}

impl Place {
    /// Finds out that a file can be written there.
    ///
    /// # Errors
    /// A folder or a file of another kind is there, or nothing can be written.
    pub(super) fn at(file: &Path) -> Result<Self, PageError> {
        if file.is_dir() {
            return Err(PageError::Folder { folder: file.to_owned() });
        }
        if file.exists() && !marked(file)? {
            return Err(PageError::Taken { file: file.to_owned() });
        }
        let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let fresh = file.with_file_name(format!(".{name}-new-{}", std::process::id()));
        write(&fresh, "").map_err(|error| match error {
            // Of the place that was asked for, not of the one beside it.
            PageError::File { doing: "write", source, .. } => {
                PageError::File { doing: "write", path: file.to_owned(), source }
            }
            other => other,
        })?;
        Ok(Self { file: file.to_owned(), fresh })
    }

    /// Writes it.
    pub(super) fn fill(self, text: &str) -> Result<(), PageError> {
        write(&self.fresh, text)?;
        std::fs::rename(&self.fresh, &self.file).doing("write", &self.file)
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        // Gone already where it took its place.
        let _ = std::fs::remove_file(&self.fresh);
    }
}

/// Whether a file was written here before.
fn marked(file: &Path) -> Result<bool, PageError> {
    let mut start = Vec::new();
    std::fs::File::open(file)
        .and_then(|opened| opened.take(MARK_WITHIN).read_to_end(&mut start))
        .doing("read", file)?;
    Ok(start.windows(MARK.len()).any(|part| part == MARK.as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    const INDEX: &str = "<head>
  <meta http-equiv=\"Content-Security-Policy\" content=\"script-src 'self'\">
  <script type=\"module\" src=\"build-1/src/start.js\"></script>
</head><body></body>";

    fn files(all: &[(&str, &str)]) -> Files {
        all.iter().map(|&(name, text)| (name.to_owned(), text.as_bytes().to_vec())).collect()
    }

    fn placed() -> Files {
        files(&[
            ("index.html", INDEX),
            ("build-1/src/start.js", "import { a } from './samples.js';"),
            ("build-1/src/samples.js", "export const a = await fetch('samples/index.json');"),
        ])
    }

    #[test]
    fn what_stands_in_takes_the_place_and_has_the_samples() {
        let instead = files(&[("loader.js", "go();"), ("samples.js", "export { default as a } from '../samples.js';")]);
        let text = whole(&placed(), instead, &[("1 \"x\".csv".to_owned(), vec![0, 255])]).unwrap();
        // A name in a text in JSON.
        assert!(text.contains(r#"[\"1 \\\"x\\\".csv\", bytes('AP8=')]"#), "{text}");
        assert!(text.contains("src/samples.js") && !text.contains("fetch("), "{text}");
        assert!(text.contains("go();"));
    }

    #[test]
    fn what_is_missing_or_stands_in_for_nothing_is_told() {
        let loader = ("loader.js", "go();");
        for (instead, why) in [
            (files(&[]), "there is no loader.js"),
            (files(&[loader]), "fetch('samples/index.json')"),
            (files(&[loader, ("other.js", "")]), "single/other.js stands in for nothing"),
        ] {
            let said = whole(&placed(), instead, &[]).unwrap_err();
            assert!(said.contains(why), "{said}");
        }
        let said = whole(&files(&[("index.html", INDEX)]), files(&[loader]), &[]).unwrap_err();
        assert_eq!(said, "there is no src/start.js");
    }

    #[test]
    fn only_a_page_of_ours_is_replaced_and_only_by_a_whole_one() {
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("new/page.html");
        drop(Place::at(&file).unwrap());
        assert!(!file.exists());
        Place::at(&file).unwrap().fill(&format!("<head>{MARK}")).unwrap();
        Place::at(&file).unwrap().fill("thesis").unwrap();
        assert!(matches!(Place::at(&file), Err(PageError::Taken { .. })));
        assert_eq!(std::fs::read_to_string(&file).unwrap(), "thesis");
        assert!(matches!(Place::at(dir.path()), Err(PageError::Folder { .. })));
        assert!(matches!(Place::at(&file.join("below.html")), Err(PageError::File { .. })));
        assert_eq!(std::fs::read_dir(dir.path().join("new")).unwrap().count(), 1, "nothing is left beside it");
    }
}
