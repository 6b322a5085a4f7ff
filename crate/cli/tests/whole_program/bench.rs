//! `--bench`: what the bench adds, from a profile.

use super::contract;
use super::program::{run, sweep, write};

const WORKSHOP: &str = r#"{
  "schema": "sweepbook/bench/1",
  "name": "Workshop",
  "grid_source_resistance": "10 kohm",
  "current_limit": "25 mA"
}"#;

#[test]
fn a_profile_adds_what_the_files_do_not_say() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "bench.json", WORKSHOP);
    let says = sweep("7");
    write(dir.path(), "says.csv", &says);
    write(
        dir.path(),
        "silent.csv",
        says.replace("# grid_source_resistance: 0 ohm\n", "").replace("tube: 7", "tube: 8"),
    );
    let run = run(dir.path(), &["triage", "--json", "--bench", "bench.json", "says.csv", "silent.csv"]);
    assert_eq!((run.code, run.stderr.as_str()), (Some(0), ""));
    let report = contract::read(&run.stdout);
    let notes = |at: usize| report.tubes[at].notes.join("\n");
    assert!(notes(0).contains("The file's grid_source_resistance 0 Ω was kept; the bench profile says 10.0 kΩ."));
    assert!(notes(0).contains("From the bench profile \"Workshop\": current_limit 25.0 mA."));
    assert!(notes(1).contains("\"Workshop\": grid_source_resistance 10.0 kΩ, current_limit 25.0 mA."));
}

#[test]
fn the_resistor_of_a_profile_is_used() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "bench.json", WORKSHOP);
    write(dir.path(), "a.csv", sweep("7").replace("# grid_source_resistance: 0 ohm\n", ""));
    let seen = |arguments: &[&str]| {
        let report: serde_json::Value = serde_json::from_str(&run(dir.path(), arguments).stdout).unwrap();
        (report["tubes"][0]["blind"].clone(), report["tubes"][0]["limits"].clone())
    };
    // With a resistor in the grid lead a grid current shows in the plate current.
    let without = seen(&["triage", "--json", "a.csv"]);
    let with = seen(&["triage", "--json", "--bench", "bench.json", "a.csv"]);
    assert_ne!(without, with);
}

#[test]
fn convert_and_lot_take_it_too() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "bench.json", WORKSHOP);
    write(dir.path(), "a.csv", sweep("7"));
    let converted = run(dir.path(), &["convert", "--bench", "bench.json", "a.csv"]);
    assert!(converted.stdout.contains("# current_limit: 0.025 A\n"), "{}", &converted.stdout[..400]);
    assert!(converted.stdout.contains("# grid_source_resistance: 0 ohm\n"), "the file's own word counts");
    assert_eq!(run(dir.path(), &["lot", "--bench", "bench.json", "a.csv"]).code, Some(0));
}

#[test]
fn a_profile_that_cannot_be_read_is_wrong_usage() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "a.csv", sweep("7"));
    write(dir.path(), "bad.json", WORKSHOP.replace("10 kohm", "lots"));
    for (file, says) in
        [("bad.json", "bad.json, line 4: "), ("none.json", "there is no such file"), ("a.csv", "no bench profile")]
    {
        let run = run(dir.path(), &["triage", "--bench", file, "a.csv"]);
        assert_eq!((run.code, run.stdout.as_str()), (Some(2), ""));
        assert!(run.stderr.contains(says), "{}", run.stderr);
    }
}
