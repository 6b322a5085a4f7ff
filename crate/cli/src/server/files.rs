//! From the path in a request to a file inside the page's folder.

use std::path::{Component, Path, PathBuf};

use percent_encoding::percent_decode_str;

/// Types by the ending of a file's name (IANA media types; JavaScript and
/// WebAssembly must have exactly these for a browser to run them).
const TYPES: [(&str, &str); 15] = [
    ("html", "text/html; charset=utf-8"),
    ("js", "text/javascript; charset=utf-8"),
    ("mjs", "text/javascript; charset=utf-8"),
    ("css", "text/css; charset=utf-8"),
    ("csv", "text/csv; charset=utf-8"),
    ("tsv", "text/tab-separated-values; charset=utf-8"),
    ("txt", "text/plain; charset=utf-8"),
    ("md", "text/markdown; charset=utf-8"),
    ("json", "application/json"),
    ("webmanifest", "application/manifest+json"),
    ("wasm", "application/wasm"),
    ("svg", "image/svg+xml"),
    ("png", "image/png"),
    ("ico", "image/x-icon"),
    ("woff2", "font/woff2"),
];

/// The type of a file; that of plain bytes where its ending is not known.
pub(super) fn content_type(path: &Path) -> &'static str {
    let ending = path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_ascii_lowercase();
    TYPES.iter().find(|(known, _)| *known == ending).map_or("application/octet-stream", |(_, kind)| kind)
}

/// The file that a request's target names: inside `root`, which has no links
/// in it, and there. A folder stands for its index.html.
///
/// `None` for whatever leads outside, by dots in any encoding or by a link, and
/// for hidden files.
pub(super) fn locate(root: &Path, target: &str) -> Option<PathBuf> {
    let path = target.split(['?', '#']).next()?.strip_prefix('/')?;
    let mut file = root.to_owned();
    for segment in path.split('/').filter(|s| !s.is_empty()) {
        let segment = percent_decode_str(segment).decode_utf8().ok()?;
        if segment.starts_with('.') || segment.contains(['/', '\\', '\0', ':']) {
            return None;
        }
        // One ordinary name, on whatever system.
        let mut parts = Path::new(segment.as_ref()).components();
        let (Some(Component::Normal(name)), None) = (parts.next(), parts.next()) else { return None };
        file.push(name);
    }
    let mut file = file.canonicalize().ok()?;
    if file.is_dir() {
        file = file.join("index.html").canonicalize().ok()?;
    }
    (file.starts_with(root) && file.is_file()).then_some(file)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn site() -> (tempfile::TempDir, PathBuf) {
        let dir = tempfile::tempdir().unwrap();
        let root = dir.path().join("dist");
        std::fs::create_dir_all(root.join("samples")).unwrap();
        for name in ["dist/index.html", "dist/a b.csv", "dist/samples/1.csv", "dist/.hidden", "secret.txt"] {
            std::fs::write(dir.path().join(name), "x").unwrap();
        }
        let root = root.canonicalize().unwrap();
        (dir, root)
    }

    #[test]
    fn files_of_the_page_are_found() {
        let (_dir, root) = site();
        for (target, file) in [
            ("/", "index.html"),
            ("/?open=samples", "index.html"),
            ("/a%20b.csv", "a b.csv"),
            ("/samples/1.csv#x", "samples/1.csv"),
            ("//samples//1.csv", "samples/1.csv"),
        ] {
            assert_eq!(locate(&root, target), Some(root.join(file)), "{target}");
        }
    }

    #[test]
    fn nothing_else_is() {
        let (_dir, root) = site();
        for target in [
            "/../secret.txt",
            "/%2e%2e/secret.txt",
            "/%2E%2E%2Fsecret.txt",
            "/..%2fsecret.txt",
            "/samples/../../secret.txt",
            "/samples/%2e%2e/%2e%2e/secret.txt",
            "/..%5csecret.txt",
            "/..\\secret.txt",
            "/%252e%252e/secret.txt",
            "/.hidden",
            "/%00",
            "/index.html%00.txt",
            "/%ff",
            "/samples",
            "/none.html",
            "secret.txt",
            "http://127.0.0.1/index.html",
            "*",
            "",
        ] {
            assert_eq!(locate(&root, target), None, "{target}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_link_that_leads_outside_is_not_followed() {
        let (dir, root) = site();
        std::os::unix::fs::symlink(dir.path().join("secret.txt"), root.join("link.txt")).unwrap();
        assert_eq!(locate(&root, "/link.txt"), None);
    }

    #[test]
    fn types_are_those_a_browser_insists_on() {
        for (name, kind) in [
            ("a.wasm", "application/wasm"),
            ("a.js", "text/javascript; charset=utf-8"),
            ("a.CSS", "text/css; charset=utf-8"),
            ("a.svg", "image/svg+xml"),
            ("a.webmanifest", "application/manifest+json"),
            ("a.csv", "text/csv; charset=utf-8"),
            ("a", "application/octet-stream"),
        ] {
            assert_eq!(content_type(Path::new(name)), kind);
        }
    }
}
