//! `stage`: how tubes would work in a stage.

use super::program::run;

const SAMPLES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../samples");

#[test]
fn the_sample_lot_is_put_to_work_and_what_cannot_work_says_why() {
    let dir = tempfile::tempdir().unwrap();
    let stage = ["stage", "--supply", "250V", "--load", "47k", "--cathode", "1k5", "--into", "470k", "--swing", "10"];
    let json = run(dir.path(), &[&stage[..], &["--json", SAMPLES]].concat());
    assert_eq!((json.code, json.stderr.as_str()), (Some(0), ""));
    let document: serde_json::Value = serde_json::from_str(&json.stdout).unwrap();
    assert_eq!(document["schema"], "sweepbook/stage/1");
    let sections = document["sections"].as_array().unwrap();
    let first = &sections[0];
    assert_eq!((&first["tube"], &first["works"]), (&"7-01".into(), &"yes".into()));
    let point = &first["point"];
    let [ia, va, vk] = ["ia", "va", "vk"].map(|name| point[name].as_f64().unwrap());
    assert!((250.0 - ia * 47e3 - va - vk).abs() < 1e-6 && (ia * 1500.0 - vk).abs() < 1e-9, "{point}");
    // One section of tube 7-07 does not conduct.
    assert!(sections.iter().any(|s| s["tube"] == "7-07" && s["works"] == "no"));
    let words = run(dir.path(), &[&stage[..], &[SAMPLES]].concat()).stdout.replace('\n', " ");
    for part in [
        "7-01, section 1: ",
        "gain ",
        "second harmonic ",
        "of its rating",
        "a trimmer that sets",
        "plate supplies kill",
    ] {
        assert!(words.contains(part), "{part}: {words}");
    }
    // The plate-grid leak of tube 7-06 lifts its grid.
    assert!(words.contains("plate grid leakage lifts the grid by"), "{words}");
}

#[test]
fn what_is_no_stage_is_wrong_usage() {
    let dir = tempfile::tempdir().unwrap();
    for wrong in [
        &["stage", "--supply", "250", "--load", "47k", SAMPLES][..],
        &["stage", "--supply", "250", "--load", "47k", "--cathode", "1k5", "--fixed", "-4", SAMPLES],
        &["stage", "--supply", "250", "--load", "coil=2", "--cathode", "1k5", SAMPLES],
        &["stage", "--supply", "many", "--load", "47k", "--cathode", "1k5", SAMPLES],
    ] {
        assert_eq!(run(dir.path(), wrong).code, Some(2), "{wrong:?}");
    }
    // A grid voltage may begin with its sign.
    assert_eq!(run(dir.path(), &["stage", "--supply", "250", "--load", "47k", "--fixed", "-4", SAMPLES]).code, Some(0));
}
