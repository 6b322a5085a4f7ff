//! The page written to a place where it must not be: refused before anything is built.

use crate::program::run;

#[test]
fn what_is_there_already_is_left_alone() {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(dir.path().join("thesis.html"), "<p>mine").unwrap();
    for (file, why) in [
        (".", ". is a folder; name the file, such as ./sweepbook.html"),
        ("thesis.html", "thesis.html is there already and is no page of sweepbook in one file; name a new file"),
        ("thesis.html/page.html", "could not"),
    ] {
        let run = run(dir.path(), &["page", "--single", file]);
        assert_eq!((run.code, run.stdout.as_str()), (Some(1), ""), "{file}");
        assert!(run.stderr.starts_with("sweepbook: ") && run.stderr.contains(why), "{}", run.stderr);
    }
    assert_eq!(std::fs::read_to_string(dir.path().join("thesis.html")).unwrap(), "<p>mine");
    assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 1);
}
