//! Spreadsheets, archives, and one tube over several files.

use std::path::Path;

use super::contract;
use super::program::{run, sweep, write};

fn seed(name: &str) -> Vec<u8> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/fuzz/seeds/spreadsheet");
    std::fs::read(folder.join(name)).unwrap()
}

#[test]
fn a_folder_stands_for_spreadsheets_and_archives_too() {
    let dir = tempfile::tempdir().unwrap();
    for name in ["sheet.xlsx", "sections.ods", "lot.zip"] {
        write(dir.path(), name, seed(name));
    }
    let run = run(dir.path(), &["triage", "--json", "."]);
    assert_eq!((run.code, run.stderr.as_str()), (Some(0), ""));
    let report = contract::read(&run.stdout);
    let tubes: Vec<(&str, &str)> = report.tubes.iter().map(|t| (t.tube.as_str(), t.source[0].as_str())).collect();
    assert_eq!(
        tubes,
        [("a", "./lot.zip/a.csv"), ("sections", "./sections.ods [section 1]"), ("sheet", "./sheet.xlsx [B-17]"),]
    );
}

#[test]
fn a_damaged_spreadsheet_is_refused_with_a_mend() {
    let dir = tempfile::tempdir().unwrap();
    let whole = seed("sheet.xlsx");
    write(dir.path(), "cut.xlsx", &whole[..whole.len() / 2]);
    let run = run(dir.path(), &["triage", "--json", "cut.xlsx"]);
    assert_eq!(run.code, Some(1));
    let unread = contract::read(&run.stdout).unread.remove(0);
    assert!(unread.what.contains("damaged") && unread.mend.contains("save it again"), "{unread:?}");
}

#[test]
fn pieces_of_a_tube_are_told_of_and_joined_when_asked() {
    let dir = tempfile::tempdir().unwrap();
    for (name, section, other) in [("a.csv", "1", "2"), ("b.csv", "2", "1")] {
        let rows: String =
            sweep("B-17").lines().filter(|l| !l.starts_with(&format!("{other},"))).map(|l| format!("{l}\n")).collect();
        assert!(rows.contains(&format!("\n{section},")));
        write(dir.path(), name, rows);
    }
    let apart = run(dir.path(), &["convert", "--format", "json", "a.csv", "b.csv"]);
    assert_eq!(apart.code, Some(0));
    assert!(apart.stderr.contains("B-17 may be one tube, with --join, of a.csv (section 1) and b.csv (section 2)"));
    assert_eq!(apart.stdout.matches("\"tube\":").count(), 2);
    let joined = run(dir.path(), &["convert", "--join", "a.csv", "b.csv"]);
    assert_eq!(joined.code, Some(0));
    assert!(joined.stderr.contains("B-17 is put together of a.csv (section 1) and b.csv (section 2)"));
    assert!(joined.stdout.contains("\n1,100,") && joined.stdout.contains("\n2,100,"));
}
