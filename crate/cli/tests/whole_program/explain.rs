//! `sweepbook explain`.

use std::path::Path;

use super::program::run;

#[test]
fn every_fault_is_explained_part_by_part() {
    let list = run(Path::new("."), &["explain"]);
    assert_eq!((list.code, list.stderr.as_str()), (Some(0), ""));
    for of in sweepbook_core::faults::explanations() {
        assert!(list.stdout.contains(&format!("  {} ", of.name)), "{}", list.stdout);
        let run = run(Path::new("."), &["explain", &of.name]);
        assert_eq!((run.code, run.stderr.as_str()), (Some(0), ""));
        assert!(run.stdout.starts_with(&of.title), "{}", run.stdout);
        for part in &of.parts {
            assert!(run.stdout.contains(&format!("\n{}\n", part.heading)), "{}", run.stdout);
        }
        assert!(run.stdout.contains("Plate supplies kill"));
    }
}

#[test]
fn an_unknown_name_is_wrong_usage_and_answered_with_the_names() {
    let run = run(Path::new("."), &["explain", "plate\u{1b}[2J leak"]);
    assert_eq!((run.code, run.stdout.as_str()), (Some(2), ""));
    assert!(run.stderr.starts_with("sweepbook: no fault is called \"plate\u{fffd}[2J leak\"."), "{:?}", run.stderr);
    assert!(!run.stderr.contains('\u{1b}'));
    for of in sweepbook_core::faults::explanations() {
        assert!(run.stderr.contains(&format!("  {}\n", of.name)), "{}", run.stderr);
    }
}
