//! The committed sample lot is what its program makes, and reads as fourteen tubes.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeSet;
use std::fs;

use sweepbook_core::intake;
use sweepbook_tests::{here, samples};

#[test]
fn the_committed_lot_is_what_the_program_makes() {
    let folder = here().join("../samples");
    let made = samples::files();
    assert_eq!(made.len(), 15);
    for (name, text) in &made {
        let committed = fs::read_to_string(folder.join(name)).unwrap();
        assert!(committed == *text, "{name} differs; run make-samples and look at what changed");
    }
    let names: BTreeSet<_> = made.iter().map(|(name, _)| name.clone()).collect();
    let there: BTreeSet<_> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    assert_eq!(there, names);
}

#[test]
fn every_sample_reads_as_one_twin_triode() {
    for (name, text) in samples::files().iter().filter(|(name, _)| name.ends_with(".csv")) {
        let tubes = intake::read(name, text.as_bytes()).unwrap();
        assert_eq!(tubes.len(), 1, "{name}");
        assert_eq!(tubes[0].sections.len(), 2, "{name}");
        assert!(tubes[0].notes.len() == 1 && tubes[0].bench.grid_source_resistance.is_some(), "{name}");
    }
}
