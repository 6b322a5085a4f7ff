//! Bench circuits of our own, solved by ngspice with each fault as a circuit element, sent
//! the whole way from text to finding: named surely, in its section, nothing else at even
//! odds, and its size recovered within a tenth.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use sweepbook_core::report::{Finding, TubeReport, Verdict};
use sweepbook_tests::circuit::{Bench, Elements};

const DIRECT: Bench = Bench { rs: 0.0, grid_current: false, cathode_lead: false, reads_plate: false, heater_bias: 0.0 };
const WITH_GRID_METER: Bench = Bench { grid_current: true, ..DIRECT };
const THROUGH_10K: Bench = Bench { rs: 1e4, ..DIRECT };
const THROUGH_10K_WITH_GRID_METER: Bench = Bench { rs: 1e4, grid_current: true, ..DIRECT };
const CATHODE_LEAD: Bench = Bench { cathode_lead: true, heater_bias: 60.0, ..DIRECT };
const READS_PLATE: Bench = Bench { reads_plate: true, ..DIRECT };

/// First section with the elements, second sound.
fn first(bench: Bench, elements: Elements<'_>) -> TubeReport {
    bench.report(&[elements, &[]]).unwrap()
}

/// Both sections with the elements.
fn both(bench: Bench, elements: Elements<'_>) -> TubeReport {
    bench.report(&[elements, elements]).unwrap()
}

/// What is named surely has more than this confidence.
const SURE: f64 = 0.9;

/// Named with more than this confidence where it is, and nothing else at even odds.
#[track_caller]
fn found<'a>(report: &'a TubeReport, fault: &str, section: Option<&str>, least: f64) -> &'a Finding {
    let found = report.findings.iter().find(|f| f.fault == fault && f.section.as_deref() == section);
    let found = found.unwrap_or_else(|| panic!("{fault} not found in {:#?}", report.findings));
    assert!(found.confidence > least, "{found:#?}");
    assert!(report.findings.iter().all(|f| f.fault == fault || f.confidence < 0.5), "{:#?}", report.findings);
    found
}

#[track_caller]
fn named(report: &TubeReport, fault: &str, section: Option<&str>) {
    found(report, fault, section, SURE);
}

#[track_caller]
fn within_a_tenth(found: &Finding, size: f64) {
    let estimate = found.value.as_ref().unwrap().estimate;
    assert!((estimate / size - 1.0).abs() < 0.10, "{estimate} against {size}: {found:#?}");
}

#[track_caller]
fn recovered(report: &TubeReport, fault: &str, section: Option<&str>, size: f64) {
    within_a_tenth(found(report, fault, section, SURE), size);
}

const ONE: Option<&str> = Some("1");

#[test]
fn a_sound_circuit_is_accepted_on_every_bench() {
    for bench in [DIRECT, WITH_GRID_METER, THROUGH_10K, THROUGH_10K_WITH_GRID_METER, CATHODE_LEAD, READS_PLATE] {
        let report = both(bench, &[]);
        assert_eq!(report.verdict, Verdict::Accept, "{bench:?} {report:#?}");
        assert!(report.findings.iter().all(|f| f.confidence < 0.5), "{bench:?} {:#?}", report.findings);
    }
}

#[test]
fn a_resistor_from_plate_to_cathode() {
    recovered(&first(DIRECT, &[("rak", 2.2e6)]), "plate-cathode-leakage", ONE, 2.2e6);
    recovered(&first(DIRECT, &[("rak", 10e6)]), "plate-cathode-leakage", ONE, 10e6);
    // Read as 24.7 MΩ: what the law leaves past cutoff is of the size of this current.
    named(&first(DIRECT, &[("rak", 22e6)]), "plate-cathode-leakage", ONE);
}

#[test]
fn a_resistor_from_plate_to_grid_with_and_without_the_grid_meter() {
    recovered(&first(THROUGH_10K, &[("rag", 4.7e6)]), "plate-grid-leakage", ONE, 4.7e6);
    recovered(&first(THROUGH_10K_WITH_GRID_METER, &[("rag", 4.7e6)]), "plate-grid-leakage", ONE, 4.7e6);
}

#[test]
fn a_resistor_from_grid_to_cathode_with_and_without_the_grid_meter() {
    recovered(&first(WITH_GRID_METER, &[("rgk", 10e6)]), "grid-cathode-leakage", ONE, 10e6);
    recovered(&first(THROUGH_10K, &[("rgk", 33e3)]), "grid-cathode-leakage", ONE, 33e3);
}

#[test]
fn ions_from_plate_to_grid() {
    recovered(&first(WITH_GRID_METER, &[("gas", 2e-4)]), "gas", ONE, 2e-4);
    recovered(&first(THROUGH_10K_WITH_GRID_METER, &[("gas", 5e-4)]), "gas", ONE, 5e-4);
}

#[test]
fn a_grid_that_emits() {
    recovered(&first(WITH_GRID_METER, &[("emission", 2e-6)]), "grid-emission", ONE, 2e-6);
    recovered(&first(THROUGH_10K_WITH_GRID_METER, &[("emission", 5e-6)]), "grid-emission", ONE, 5e-6);
}

#[test]
fn a_cathode_that_cannot_give_more() {
    recovered(&first(DIRECT, &[("ceiling", 12e-3)]), "low-emission", ONE, 12e-3);
}

#[test]
fn a_resistor_between_coating_and_sleeve() {
    recovered(&first(DIRECT, &[("ri", 150.0)]), "cathode-interface", ONE, 150.0);
}

#[test]
fn part_of_the_cathode_under_a_coarser_grid() {
    recovered(&first(DIRECT, &[("share", 0.1)]), "uneven-grid", ONE, 0.1);
}

#[test]
fn a_hard_path_from_plate_to_cathode() {
    recovered(&first(DIRECT, &[("rak", 2e3)]), "electrode-short", ONE, 2e3);
}

#[test]
fn sections_of_unlike_perveance() {
    recovered(&first(DIRECT, &[("perveance", 0.75)]), "section-mismatch", None, 0.75);
}

#[test]
fn a_path_from_heater_to_cathode_on_a_cathode_lead_meter() {
    let report = first(CATHODE_LEAD, &[("rhk", 2e6)]);
    // A constant in one section is the meter's own after all in one case of four.
    within_a_tenth(found(&report, "heater-cathode-leakage", ONE, 0.5), 60.0 / 2e6);
}

#[test]
fn a_meter_that_does_not_read_zero() {
    recovered(&both(DIRECT, &[("offset", 25e-6)]), "zero-offset", None, 25e-6);
}

#[test]
fn a_supply_that_gives_no_more() {
    recovered(&both(DIRECT, &[("limit", 15e-3)]), "current-limit", None, 15e-3);
}

#[test]
fn a_supply_that_sags_with_the_plate_voltage_read() {
    recovered(&both(READS_PLATE, &[("sag", 1500.0)]), "supply-sag", None, 1500.0);
}

#[test]
fn an_open_cathode_and_an_open_grid() {
    named(&first(DIRECT, &[("ri", 1e12)]), "no-conduction", ONE);
    named(&first(WITH_GRID_METER, &[("rgi", 1e16)]), "no-grid-control", ONE);
}
