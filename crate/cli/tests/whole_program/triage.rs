//! `sweepbook triage` on a lot: what is printed where, and the exit code.

use std::process::Stdio;

use super::contract;
use super::program::{command, finish, run, sweep, write};

fn lot(tubes: usize) -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    for i in 0..tubes {
        write(dir.path(), &format!("{i:03}.csv"), sweep(&format!("T-{i}")));
    }
    dir
}

#[test]
fn a_lot_is_reported_tube_by_tube_and_as_a_table() {
    let dir = lot(3);
    let run = run(dir.path(), &["triage", "000.csv", "001.csv", "002.csv"]);
    assert_eq!((run.code, run.stderr.as_str()), (Some(0), ""));
    for i in 0..3 {
        assert_eq!(run.stdout.matches(&format!("T-{i}, 6SN7GTB")).count(), 1, "{}", run.stdout);
        assert_eq!(run.stdout.matches(&format!("00{i}.csv\n")).count(), 1);
    }
    for part in ["Why\n", "Found\n", "Figures (95 % interval)\n", "\n3 tubes: ", "First finding\n"] {
        assert!(run.stdout.contains(part), "{part}: {}", run.stdout);
    }
    assert!(run.stdout.lines().all(|line| line.chars().count() <= 80), "{}", run.stdout);
}

#[test]
fn in_brief_there_is_only_the_table() {
    let dir = lot(3);
    let run = run(dir.path(), &["triage", "--brief", "."]);
    assert_eq!(run.code, Some(0));
    assert!(run.stdout.starts_with("3 tubes: ") && !run.stdout.contains("Why"), "{}", run.stdout);
}

#[test]
fn colour_is_for_terminals_and_for_who_asks() {
    let dir = lot(1);
    let escapes = |name: &str| {
        let mut command = command(dir.path());
        if !name.is_empty() {
            command.env("CLICOLOR_FORCE", "1").env(name, "1");
        }
        finish(command.args(["triage", "000.csv"])).stdout.matches('\u{1b}').count()
    };
    assert_eq!(escapes(""), 0);
    assert!(escapes("CLICOLOR_FORCE") > 0);
    assert_eq!(escapes("NO_COLOR"), 0);
}

#[test]
fn a_folder_stands_for_its_tables_in_order() {
    let dir = lot(3);
    std::fs::create_dir(dir.path().join("more")).unwrap();
    write(dir.path(), "more/x.TSV", sweep("X").replace(',', "\t"));
    write(dir.path(), "readme.md", "no table");
    let tubes = |arguments: &[&str]| {
        let run = run(dir.path(), arguments);
        assert_eq!(run.code, Some(0), "{}", run.stderr);
        let report = contract::read(&run.stdout);
        report.tubes.into_iter().map(|t| t.tube).collect::<Vec<_>>()
    };
    assert_eq!(tubes(&["triage", "--json", "."]), ["T-0", "T-1", "T-2"]);
    assert_eq!(tubes(&["triage", "--json", "-r", "."]), ["T-0", "T-1", "T-2", "X"]);
    assert_eq!(tubes(&["triage", "--json", "002.csv", ".", "more"]), ["T-2", "T-0", "T-1", "X"]);
}

#[test]
fn json_is_the_contract_and_nothing_else() {
    let dir = lot(2);
    let run = run(dir.path(), &["triage", "--json", "."]);
    assert_eq!((run.code, run.stderr.as_str()), (Some(0), ""));
    let report = contract::read(&run.stdout);
    assert_eq!(report.tubes.len(), 2);
    let tube = &report.tubes[1];
    assert_eq!((tube.tube.as_str(), tube.kind.as_deref()), ("T-1", Some("6SN7GTB")));
    assert_eq!(tube.source, ["./001.csv"]);
    let sections: Vec<&str> = tube.sections.iter().map(|s| s.section.as_str()).collect();
    assert_eq!(sections, ["1", "2"]);
}

#[test]
fn the_rest_is_reported_when_some_input_cannot_be_read() {
    let dir = lot(2);
    write(dir.path(), "bad.csv", "Va,Vg,Ia [mA]\n100,-1,much\n");
    let arguments = ["000.csv", "bad.csv", "missing.csv", "001.csv"];
    let run_json = run(dir.path(), &[&["triage", "--json"], &arguments[..]].concat());
    assert_eq!(run_json.code, Some(1));
    let report = contract::read(&run_json.stdout);
    assert_eq!(report.tubes.iter().map(|t| t.tube.as_str()).collect::<Vec<_>>(), ["T-0", "T-1"]);
    let bad = &report.unread[0];
    assert_eq!((bad.source.as_str(), bad.line, bad.column), ("bad.csv", Some(2), Some(3)));
    assert_eq!((report.unread[1].source.as_str(), report.unread[1].line), ("missing.csv", None));

    let run = run(dir.path(), &[&["triage"], &arguments[..]].concat());
    assert_eq!((run.code, run.stderr), (Some(1), run_json.stderr));
    assert!(run.stdout.contains("2 inputs could not be read"), "{}", run.stdout);
}

#[test]
fn a_folder_without_tables_is_an_unread_input() {
    let dir = tempfile::tempdir().unwrap();
    let run = run(dir.path(), &["triage", "."]);
    assert_eq!(run.code, Some(1));
    assert!(run.stderr.contains("holds no .csv"), "{}", run.stderr);
}

#[test]
fn wrong_usage_is_told_apart() {
    let dir = lot(1);
    for arguments in [
        &["triage"][..],
        &["triage", "--nonsense", "000.csv"],
        &["triage", "--json", "--brief", "000.csv"],
        &["nonsense"],
        &["page"],
        &["page", "dist", "--single", "page.html"],
        &["--port", "many"],
        &["--port", "1", "triage", "000.csv"],
    ] {
        let run = run(dir.path(), arguments);
        assert_eq!((run.code, run.stdout.as_str()), (Some(2), ""), "{arguments:?}");
        assert!(!run.stderr.is_empty());
    }
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let dir = lot(40);
    for arguments in [&["triage", "."][..], &["triage", "--json", "."]] {
        let mut child =
            command(dir.path()).args(arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        assert_eq!(output.status.code(), Some(0));
        assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    }
}

#[cfg(unix)]
#[test]
fn a_path_does_not_steer_the_terminal() {
    let dir = tempfile::tempdir().unwrap();
    let name = "evil\u{1b}]0;owned\u{7}\u{9b}2J\u{202e}.csv";
    write(dir.path(), name, "Va,Vg,Ia [mA]\n100,-1,0.5\n100,-2,0.4\n100,-3,0.3\n");
    let missing = format!("missing{name}");
    let steers = |text: &str| text.chars().any(|c| (c.is_control() && c != '\n') || c == '\u{202e}');
    for arguments in [&["triage", name, &missing][..], &["triage", "--brief", name, &missing]] {
        let run = run(dir.path(), arguments);
        assert_eq!(run.code, Some(1));
        assert!(run.stdout.contains("evil\u{fffd}]0;owned") && !steers(&run.stdout), "{:?}", run.stdout);
        assert!(run.stderr.contains("missingevil") && !steers(&run.stderr), "{:?}", run.stderr);
    }
    let run = run(dir.path(), &["triage", "--json", name, &missing]);
    assert!(!steers(&run.stdout), "{:?}", run.stdout);
    let report = contract::read(&run.stdout);
    assert_eq!(report.tubes[0].source, [name]);
    assert_eq!(report.unread[0].source, missing);
}
