//! Files that leave something open: refused with the exact option that settles it,
//! and read with it.

use super::contract;
use super::program::{run, write};

const OPEN: &str = "# tube: 7\nVa;Vg;Ia [uA]\n100;-1;1,234\n100;-2;1,111\n100;-3;1,001\n";

#[test]
fn the_refusal_names_the_options_and_each_settles_it() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "open.csv", OPEN);
    let refused = run(dir.path(), &["triage", "--json", "open.csv"]);
    assert_eq!(refused.code, Some(1));
    let unread = contract::read(&refused.stdout).unread.remove(0);
    assert_eq!((unread.source.as_str(), unread.line), ("open.csv", None));
    assert!(unread.what.contains("may be a decimal comma or set thousands apart"), "{}", unread.what);
    for (option, first) in [("decimal=comma", "0.000001234"), ("decimal=point", "0.001234")] {
        assert!(unread.mend.contains(&format!("--read '{option}'")), "{}", unread.mend);
        let run = run(dir.path(), &["convert", "--read", option, "open.csv"]);
        assert_eq!((run.code, run.stderr.as_str()), (Some(0), ""));
        assert!(run.stdout.contains(&format!("1,100,-1,{first}\n")), "{}", run.stdout);
    }
}

#[test]
fn columns_can_be_named_by_hand() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "raw.txt", "100 -1 9 0.5\n100 -2 9 0.25\n");
    let refused = run(dir.path(), &["convert", "raw.txt"]);
    assert_eq!(refused.code, Some(1));
    assert!(refused.stderr.contains("--read 'columns="), "{}", refused.stderr);
    let arguments = [
        "convert",
        "--read",
        "columns=Va [V];Vg [V];-;Ia [mA]",
        "--read",
        "section=2",
        "--read",
        "tube=B 3",
        "raw.txt",
    ];
    let run = run(dir.path(), &arguments);
    assert_eq!((run.code, run.stderr.as_str()), (Some(0), ""));
    let lines: Vec<&str> =
        run.stdout.lines().filter(|l| !l.starts_with("# sweep") && !l.starts_with("# note")).collect();
    assert_eq!(lines, ["# tube: B 3", "section,Va [V],Vg [V],Ia [A]", "2,100,-1,0.0005", "2,100,-2,0.00025"]);
}

#[test]
fn an_option_that_is_none_is_wrong_usage() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "open.csv", OPEN);
    for option in ["decimal=dot", "colour=blue", ""] {
        let run = run(dir.path(), &["triage", "--read", option, "open.csv"]);
        assert_eq!((run.code, run.stdout.as_str()), (Some(2), ""));
        assert!(run.stderr.contains("decimal=comma"), "{}", run.stderr);
    }
}
