//! `match`: like tubes put together.

use super::program::run;

/// The sample lot.
const SAMPLES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../samples");

#[test]
fn the_sample_lot_is_matched_by_type() {
    let dir = tempfile::tempdir().unwrap();
    let json = run(dir.path(), &["match", "--json", "--restricted", SAMPLES]);
    assert_eq!((json.code, json.stderr.as_str()), (Some(0), ""));
    let document: serde_json::Value = serde_json::from_str(&json.stdout).unwrap();
    assert_eq!(document["schema"], "sweepbook/match/1");
    let types = document["types"].as_array().unwrap();
    assert_eq!(types[0]["type"], "6SN7GTB");
    let names: Vec<&str> =
        types[0]["groups"][0]["members"].as_array().unwrap().iter().map(|m| m["name"].as_str().unwrap()).collect();
    assert_eq!(names.len(), 2);
    assert!(!names.contains(&"7-03"), "a rejected tube takes no part");
    let words = run(dir.path(), &["match", "--restricted", SAMPLES]).stdout;
    assert!(words.contains("Differs by") && words.contains("7-03 (its verdict is reject)"), "{words}");
}

#[test]
fn a_batch_is_taken_or_sent_back_as_a_whole() {
    let dir = tempfile::tempdir().unwrap();
    let said = run(dir.path(), &["lot", SAMPLES, "--bought", "100", "--aql", "4"]);
    assert_eq!(said.code, Some(0), "{}", said.stderr);
    let words = said.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("sweep 20 of them, drawn at random; it is taken with up to 2 faulty."), "{words}");
    assert!(words.contains("So far 5 faulty and 6 sound: the batch is sent back."), "{words}");
    let json = run(dir.path(), &["lot", SAMPLES, "--bought", "100", "--json"]).stdout;
    let document: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!((&document["batch"]["outcome"], &document["batch"]["plan"]["accept"]), (&"sent-back".into(), &2.into()));
    let wrong = run(dir.path(), &["lot", SAMPLES, "--bought", "100", "--aql", "5"]);
    assert!(wrong.code == Some(2) && wrong.stderr.contains("the table has 0.65, 1, 1.5"), "{}", wrong.stderr);
}

#[test]
fn a_wrong_point_is_told_how_to_write() {
    let dir = tempfile::tempdir().unwrap();
    let wrong = run(dir.path(), &["match", "--at", "250", "x.csv"]);
    assert_eq!(wrong.code, Some(2));
    assert!(wrong.stderr.contains("write it as va=NUMBER,vg=NUMBER"), "{}", wrong.stderr);
}
