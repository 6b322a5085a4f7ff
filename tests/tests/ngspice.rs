//! A bench circuit of our own, solved by ngspice with the leak as a real
//! resistor, sent the whole way from text to finding.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::fmt::Write;

use sweepbook_core::report::TubeReport;
use sweepbook_tests::{ask_ngspice, imperfect, whole_way};

const NONE: &str = "1e15";

/// Sweeps two sections: the first with the given elements, the second sound.
fn measure(rs: f64, rak: &str, rag: &str, rgk: &str, with_grid_current: bool) -> TubeReport {
    let mut text = format!(
        "# tube: bench\n# type: 6SN7GTB\n# grid_source_resistance: {rs} ohm\n# current_meter: plate lead\nsection,Va [V],Vg [V],Ia [mA]{}\n",
        if with_grid_current { ",Ig [uA]" } else { "" }
    );
    for (section, (rak, rag, rgk)) in [(1, (rak, rag, rgk)), (2, (NONE, NONE, NONE))] {
        let values = [
            ("rs", format!("{}", rs.max(1e-3))),
            ("rak", rak.to_owned()),
            ("rag", rag.to_owned()),
            ("rgk", rgk.to_owned()),
        ];
        let table = ask_ngspice("leaky-triode.cir", &values).unwrap();
        assert_eq!(table.len(), 159);
        for (i, row) in table.iter().enumerate() {
            let va = [100.0, 200.0, 300.0][i / 53];
            let at = (section * 1000 + i) as u64;
            let ia = imperfect(row[1], at, 0.002, 1e-6) * 1e3;
            write!(text, "{section},{va},{},{ia}", row[0]).unwrap();
            if with_grid_current {
                // The source's current flows out of the grid pin's supply: into the grid is its negative.
                write!(text, ",{}", imperfect(-row[2], at + 500, 0.002, 5e-9) * 1e6).unwrap();
            }
            text.push('\n');
        }
    }
    whole_way("bench.csv", &text).unwrap()
}

#[track_caller]
fn recovered(report: &TubeReport, fault: &str, ohm: f64) {
    let found = report.findings.iter().find(|f| f.fault == fault && f.section.as_deref() == Some("1"));
    let found = found.unwrap_or_else(|| panic!("{fault} not found in {:?}", report.findings));
    assert!(found.confidence > 0.9, "{found:?}");
    let estimate = found.value.as_ref().unwrap().estimate;
    assert!((estimate / ohm - 1.0).abs() < 0.10, "{estimate} against {ohm}");
    assert!(report.findings.iter().all(|f| f.fault == fault || f.confidence < 0.5), "{:?}", report.findings);
}

#[test]
fn a_sound_circuit_is_accepted() {
    let report = measure(0.0, NONE, NONE, NONE, false);
    assert_eq!(report.verdict, sweepbook_core::report::Verdict::Accept, "{report:?}");
}

#[test]
fn a_resistor_from_plate_to_cathode_is_recovered() {
    recovered(&measure(0.0, "2.2meg", NONE, NONE, false), "plate-cathode-leakage", 2.2e6);
}

#[test]
fn a_resistor_from_plate_to_grid_is_recovered_with_and_without_the_grid_meter() {
    recovered(&measure(1e4, NONE, "4.7meg", NONE, false), "plate-grid-leakage", 4.7e6);
    recovered(&measure(1e4, NONE, "4.7meg", NONE, true), "plate-grid-leakage", 4.7e6);
}

#[test]
fn a_resistor_from_grid_to_cathode_is_recovered_with_and_without_the_grid_meter() {
    recovered(&measure(0.0, NONE, NONE, "10meg", true), "grid-cathode-leakage", 10e6);
    recovered(&measure(1e4, NONE, NONE, "33k", false), "grid-cathode-leakage", 33e3);
}
