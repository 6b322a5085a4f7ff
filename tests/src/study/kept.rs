//! Pages that a program writes, and that a check holds to what it writes.

use std::fs;
use std::path::Path;

/// Writes a page, or, to `check`, compares it with the one that is there. Says which.
///
/// # Errors
/// That the page could not be written, or the first line in which it differs.
pub fn keep(path: &Path, text: &str, check: bool) -> Result<String, String> {
    let shown = path.display();
    if !check {
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
        }
        fs::write(path, text).map_err(|e| format!("{shown}: {e}"))?;
        return Ok(format!("{shown} written"));
    }
    let there = fs::read_to_string(path).map_err(|e| format!("{shown}: {e}"))?;
    if there == text {
        return Ok(format!("{shown} is what the program makes"));
    }
    let (mut old, mut new) = (there.lines(), text.lines());
    let mut number = 0;
    loop {
        number += 1;
        let (a, b) = (old.next(), new.next());
        if a != b || a.is_none() {
            let say = |line: Option<&str>| line.unwrap_or("(the end)").to_owned();
            return Err(format!(
                "{shown} differs from line {number} on:\n  there: {}\n  made:  {}\nRun the program without --check and look at what changed.",
                say(a),
                say(b)
            ));
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may fail")]

    use super::*;

    #[test]
    fn a_page_that_differs_is_refused_with_its_line() {
        let folder = tempfile::tempdir().unwrap();
        let page = folder.path().join("study/page.md");
        assert!(keep(&page, "one\ntwo\n", true).is_err());
        keep(&page, "one\ntwo\n", false).unwrap();
        keep(&page, "one\ntwo\n", true).unwrap();
        let wrong = keep(&page, "one\nthree\n", true).unwrap_err();
        assert!(wrong.contains("line 2") && wrong.contains("two") && wrong.contains("three"), "{wrong}");
        assert!(keep(&page, "one\n", true).unwrap_err().contains("(the end)"));
    }
}
