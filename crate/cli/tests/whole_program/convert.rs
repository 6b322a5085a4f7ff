//! `sweepbook convert`: what was understood, as a tidy long table.

use super::contract;
use super::program::{run, sweep, write};

#[test]
fn what_it_writes_is_diagnosed_as_the_file_itself() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "a.csv", sweep("A"));
    let csv = run(dir.path(), &["convert", "a.csv"]);
    assert_eq!((csv.code, csv.stderr.as_str()), (Some(0), ""));
    assert!(csv.stdout.contains("\nsection,Va [V],Vg [V],Ia [A]\n1,100,-20,0\n"), "{}", csv.stdout);
    let json = run(dir.path(), &["convert", "--format", "json", "a.csv"]);
    assert_eq!((json.code, json.stderr.as_str()), (Some(0), ""));
    write(dir.path(), "tidy.csv", &csv.stdout);
    write(dir.path(), "tidy.json", &json.stdout);
    let report = |file: &str| run(dir.path(), &["triage", "--json", file]).stdout.replace(file, "FILE");
    let expected = report("a.csv");
    assert_eq!(contract::read(&expected).tubes.len(), 1);
    assert_eq!(report("tidy.csv"), expected);
    assert_eq!(report("tidy.json"), expected);
    // And again is the same file.
    assert_eq!(run(dir.path(), &["convert", "tidy.csv"]).stdout, csv.stdout);
}

#[test]
fn several_tubes_go_into_a_folder_or_one_document() {
    let dir = tempfile::tempdir().unwrap();
    for name in ["a", "b"] {
        write(dir.path(), &format!("{name}.csv"), sweep("same/../name"));
    }
    let refused = run(dir.path(), &["convert", "a.csv", "b.csv"]);
    assert_eq!((refused.code, refused.stdout.as_str()), (Some(2), ""));
    assert!(refused.stderr.contains("--out DIR"), "{}", refused.stderr);
    let written = run(dir.path(), &["convert", "a.csv", "b.csv", "--out", "tidy"]);
    assert_eq!((written.code, written.stdout.as_str()), (Some(0), ""));
    let mut names: Vec<String> = std::fs::read_dir(dir.path().join("tidy"))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort_unstable();
    assert_eq!(names, ["same----name-2.csv", "same----name.csv"]);
    let json = run(dir.path(), &["convert", "--format", "json", "a.csv", "b.csv"]);
    assert_eq!(json.stdout.matches("\"tube\":").count(), 2);
}

#[test]
fn the_rest_is_written_when_some_input_cannot_be_read() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "a.csv", sweep("A"));
    write(dir.path(), "bad.csv", "no table");
    let run = run(dir.path(), &["convert", "a.csv", "bad.csv"]);
    assert_eq!(run.code, Some(1));
    assert!(run.stdout.starts_with("# tube: A\n") && run.stderr.contains("bad.csv"), "{}", run.stderr);
}

#[test]
fn the_schema_is_printed() {
    let dir = tempfile::tempdir().unwrap();
    let run = run(dir.path(), &["convert", "--schema"]);
    assert_eq!(run.code, Some(0));
    let schema: serde_json::Value = serde_json::from_str(&run.stdout).unwrap();
    assert_eq!(schema["$id"], "sweepbook/sweep/1");
}
