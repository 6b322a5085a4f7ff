//! Tubes whose bench circuit was solved by ngspice, with what was built into each.
//! Sixteen of them stand in `tests/corpus`; the whole set is used where it is
//! present (`SWEEPBOOK_CORPUS`, or the place it has in the makers' workshop).

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::path::{Path, PathBuf};

use sweepbook_core::report::{TubeReport, Verdict};
use sweepbook_core::{intake, triage};
use sweepbook_tests::here;
use sweepbook_tests::study::score::{Told, counted};

/// The faults that can be named so far.
const KINDS: [&str; 10] = [
    "plate-cathode-leakage",
    "plate-grid-leakage",
    "grid-cathode-leakage",
    "gas",
    "low-emission",
    "no-conduction",
    "no-grid-control",
    "section-mismatch",
    "zero-offset",
    "current-limit",
];

#[derive(Debug, Default)]
struct Score {
    strong: (usize, usize),
    medium: (usize, usize),
    weak: (usize, usize),
    healthy: usize,
    healthy_accepted_without_finding: usize,
    resistance_errors: Vec<f64>,
    missed: Vec<String>,
}

fn score(folder: &Path) -> Score {
    let truth = std::fs::read_to_string(folder.join("truth.json")).unwrap();
    let truths: Vec<Told> = serde_json::from_str(&truth).unwrap();
    let mut score = Score::default();
    for t in truths {
        if !t.is_healthy() && !KINDS.contains(&t.kind.as_str()) {
            continue;
        }
        let bytes = std::fs::read(folder.join(&t.file)).unwrap();
        let report = triage(&intake::read(&t.file, &bytes).unwrap()[0]);
        if t.is_healthy() {
            score.healthy += 1;
            let clean = report.verdict == Verdict::Accept && report.findings.iter().all(|f| f.confidence <= 0.5);
            score.healthy_accepted_without_finding += usize::from(clean);
            if !clean {
                score.missed.push(format!("{}: healthy, but {:?} {:?}", t.file, report.verdict, report.findings));
            }
            continue;
        }
        let named = named(&report, &t);
        let count = match t.level.as_deref() {
            Some("strong") => &mut score.strong,
            Some("medium") => &mut score.medium,
            _ => &mut score.weak,
        };
        count.1 += 1;
        count.0 += usize::from(named.is_some());
        match named {
            None => score.missed.push(format!("{}: {} {:?}, but {:?}", t.file, t.kind, t.level, report.findings)),
            Some(found) => {
                if let (Some(built), Some(found)) = (t.ohm(), found) {
                    score.resistance_errors.push((found / built).ln().abs());
                }
            }
        }
    }
    score.resistance_errors.sort_by(f64::total_cmp);
    score
}

/// The named fault's size, if it is named itself in the right section.
fn named(report: &TubeReport, t: &Told) -> Option<Option<f64>> {
    let found = counted(report).find(|f| f.fault == t.kind && t.is_there(f));
    found.map(|f| f.value.as_ref().map(|v| v.estimate))
}

fn median_error(score: &Score) -> f64 {
    let middle = score.resistance_errors.len() / 2;
    score.resistance_errors.get(middle).map_or(f64::NAN, |e| e.exp() - 1.0)
}

#[test]
fn the_committed_part_is_named() {
    let score = score(&here().join("corpus"));
    assert!(score.missed.is_empty(), "{:#?}", score.missed);
    assert_eq!((score.strong, score.medium, score.weak, score.healthy), ((8, 8), (2, 2), (2, 2), 4));
    assert!(median_error(&score) < 0.10, "{:?}", score.resistance_errors);
}

#[test]
fn the_whole_corpus_is_named_where_it_is_present() {
    let place = std::env::var_os("SWEEPBOOK_CORPUS").map(PathBuf::from);
    let folder = place.unwrap_or_else(|| here().join("../../shared/oracle/public"));
    if !folder.join("truth.json").exists() {
        eprintln!("no corpus at {}: only the committed part was tested", folder.display());
        return;
    }
    let score = score(&folder);
    eprintln!("{score:?}");
    assert_eq!(score.strong.0, score.strong.1, "{:#?}", score.missed);
    assert!(score.medium.0 as f64 >= 0.95 * score.medium.1 as f64, "{:#?}", score.missed);
    assert!(score.healthy_accepted_without_finding + 1 >= score.healthy, "{:#?}", score.missed);
    assert!(median_error(&score) < 0.10, "{:?}", score.resistance_errors);
}
