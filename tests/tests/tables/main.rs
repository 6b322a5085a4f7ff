//! Whatever table people have: small files of every kind that intake accepts, each
//! with its wrong twin, and what is expected of them; and any sweep in any layout.
//!
//! All files are invented.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod case;
mod exact;
mod hostile;
mod layouts;
mod marks;
mod questions;
mod render;
mod round_trip;

use case::Case;

fn all() -> Vec<Case> {
    [layouts::long(), layouts::wide(), layouts::sections(), marks::text(), marks::numbers(), questions::all()].concat()
}

#[test]
fn each_small_file_is_read_or_asked_about_as_expected() {
    let cases = all();
    assert!(cases.len() >= 60, "{}", cases.len());
    let failures: Vec<String> = cases.iter().filter_map(|c| c.check().err()).collect();
    assert!(failures.is_empty(), "{} of {}:\n{}", failures.len(), cases.len(), failures.join("\n"));
}

#[test]
fn every_answer_to_a_question_settles_it() {
    for case in all() {
        case.answers_settle();
    }
}

#[test]
fn names_are_told_apart() {
    let mut names: Vec<&str> = all().iter().map(|c| c.name).collect();
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count);
}
