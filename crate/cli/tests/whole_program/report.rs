//! `report`: the report to print.

use super::program::{run, sweep, write};

#[test]
fn a_report_is_written_once_and_never_over_another() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "a.csv", sweep("7"));
    write(dir.path(), "b.csv", sweep("8"));
    let first = run(dir.path(), &["report", "a.csv", "b.csv", "-o", "r.html", "--seller", "<i>Shop</i>"]);
    assert_eq!(first.code, Some(0), "{}", first.stderr);
    let page = std::fs::read_to_string(dir.path().join("r.html")).unwrap();
    assert!(page.contains("Tube 7") && page.contains("Tube 8") && page.contains("&lt;i&gt;Shop&lt;/i&gt;"));
    assert_eq!(page.matches("<article").count(), 3);
    let second = run(dir.path(), &["report", "a.csv", "-o", "r.html"]);
    assert_eq!(second.code, Some(1));
    assert!(second.stderr.contains("r.html could not be written"), "{}", second.stderr);
    assert_eq!(std::fs::read_to_string(dir.path().join("r.html")).unwrap(), page);
}

#[test]
fn one_tube_by_name_as_html_csv_and_json() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "a.csv", sweep("7"));
    write(dir.path(), "b.csv", sweep("8"));
    let of = |more: &[&str]| run(dir.path(), &[&["report", "a.csv", "b.csv", "--tube", "8"], more].concat());
    let page = of(&[]);
    assert!(page.stdout.starts_with("<!DOCTYPE html>") && !page.stdout.contains("Tube 7"));
    let table = of(&["--format", "csv"]).stdout;
    assert!(table.starts_with("tube,type,verdict,") && table.lines().skip(1).all(|l| l.starts_with("8,")), "{table}");
    let json = of(&["--format", "json"]).stdout;
    assert_eq!(super::contract::read(&json).tubes[0].tube, "8");
    let none = run(dir.path(), &["report", "a.csv", "--tube", "9"]);
    assert_eq!(none.code, Some(2));
    assert!(none.stderr.contains("there is no tube 9 in these files. There are: 7."), "{}", none.stderr);
}

#[test]
fn what_could_not_be_read_is_said_beside_the_report() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "a.csv", sweep("7"));
    write(dir.path(), "bad.csv", "nothing");
    let run = run(dir.path(), &["report", "a.csv", "bad.csv"]);
    assert_eq!(run.code, Some(1));
    assert!(run.stdout.contains("Tube 7") && run.stderr.contains("bad.csv"));
}
