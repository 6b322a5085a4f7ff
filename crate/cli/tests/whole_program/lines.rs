//! A stock, a tube a line.

use std::process::Stdio;

use super::contract;
use super::program::{command, run, sweep, write};

#[test]
fn each_tube_and_each_file_that_is_not_read_has_its_line_in_the_order_given() {
    let dir = tempfile::tempdir().unwrap();
    for name in ["a", "b", "d"] {
        write(dir.path(), &format!("{name}.csv"), sweep(name));
    }
    write(dir.path(), "c.csv", "nothing of use");
    let lines = run(dir.path(), &["triage", "--json-lines", "."]);
    assert_eq!(lines.code, Some(1));
    assert!(lines.stderr.contains("c.csv"), "{}", lines.stderr);
    let reports: Vec<_> = lines.stdout.lines().map(contract::read).collect();
    let said: Vec<(usize, usize)> = reports.iter().map(|r| (r.tubes.len(), r.unread.len())).collect();
    assert_eq!(said, [(1, 0), (1, 0), (0, 1), (1, 0)]);
    // What the whole report says of the same files.
    let whole = contract::read(&run(dir.path(), &["triage", "--json", "."]).stdout);
    let of_lines: Vec<_> = reports.iter().flat_map(|r| &r.tubes).map(|t| format!("{t:?}")).collect();
    assert_eq!(of_lines, whole.tubes.iter().map(|t| format!("{t:?}")).collect::<Vec<_>>());
}

#[test]
fn a_line_is_the_same_in_any_part_of_the_stock() {
    let dir = tempfile::tempdir().unwrap();
    for name in ["a", "b", "c"] {
        // The same tube's name in every file: files know nothing of each other.
        write(dir.path(), &format!("{name}.csv"), sweep("one"));
    }
    let lines = |files: &[&str]| {
        let arguments: Vec<&str> = ["triage", "--json-lines"].iter().chain(files).copied().collect();
        run(dir.path(), &arguments).stdout
    };
    assert_eq!(lines(&["a.csv", "b.csv", "c.csv"]), lines(&["a.csv"]) + &lines(&["b.csv", "c.csv"]));
}

#[test]
fn a_reader_that_goes_away_ends_it_quietly() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "a.csv", sweep("a"));
    let mut child = command(dir.path())
        .args(["triage", "--json-lines", "a.csv"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let ended = child.wait_with_output().unwrap();
    assert_eq!((ended.status.code(), ended.stderr.len()), (Some(0), 0));
}
