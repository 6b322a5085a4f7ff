//! Two sweeps of one tube, used together, on the virtual bench: what neither
//! sweep shows by itself.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use sweepbook_core::handbook;
use sweepbook_core::lesson::{Ceiling, Defects, Intermittent, LawChoice, VirtualBench, measure, specimen};
use sweepbook_core::report::{Finding, TubeReport};
use sweepbook_core::sweep::{Lot, Tube};
use sweepbook_core::{triage, triage_lot};

fn sweep(kind: &str, law: LawChoice, defects: &Defects, change: impl Fn(&mut VirtualBench), seed: u64) -> Tube {
    let kind = handbook::find(kind).unwrap();
    let mut tube = specimen(kind, law, 5).unwrap();
    tube.sections[0].defects = defects.clone();
    let mut bench = VirtualBench::usual(kind).unwrap();
    bench.plate_meter.relative = 5e-4;
    change(&mut bench);
    measure(&tube, &bench, seed)
}

fn together(a: Tube, b: Tube) -> TubeReport {
    triage_lot(&Lot { tubes: vec![a, b] }).remove(0)
}

fn found<'r>(report: &'r TubeReport, fault: &str, section: &str) -> Option<&'r Finding> {
    report.findings.iter().find(|f| f.fault == fault && f.section.as_deref() == Some(section) && f.confidence > 0.5)
}

const LAWS: [LawChoice; 3] = [LawChoice::Koren, LawChoice::Strips, LawChoice::Dempwolf];

#[test]
fn two_grid_resistors_show_gas_without_a_grid_meter() {
    for law in LAWS {
        let gas = Defects { gas: Some(1e-3), ..Defects::default() };
        let stiff = sweep("12AU7", law, &gas, |_| (), 1);
        let soft = sweep("12AU7", law, &gas, |b| b.grid_source_resistance = 47e3, 2);
        assert!(found(&triage(&stiff), "gas", "1").is_none());
        let report = together(stiff, soft);
        let gas = found(&report, "gas", "1").unwrap_or_else(|| panic!("{law:?}: {:?}", report.findings));
        let ratio = gas.value.as_ref().unwrap().estimate;
        assert!((0.6e-3..1.4e-3).contains(&ratio), "{law:?}: {ratio}");
        assert!(report.findings.iter().all(|f| f.section.as_deref() != Some("2") || f.confidence < 0.5), "{report:?}");
    }
}

#[test]
fn two_grid_resistors_show_a_path_from_grid_to_cathode() {
    for law in LAWS {
        let leak = Defects { grid_cathode: Some(1e6), ..Defects::default() };
        let stiff = sweep("12AX7", law, &leak, |_| (), 3);
        let soft = sweep("12AX7", law, &leak, |b| b.grid_source_resistance = 100e3, 4);
        let report = together(stiff, soft);
        let leak =
            found(&report, "grid-cathode-leakage", "1").unwrap_or_else(|| panic!("{law:?}: {:?}", report.findings));
        let ohm = leak.value.as_ref().unwrap().estimate;
        assert!((ohm / 1e6 - 1.0).abs() < 0.2, "{law:?}: {ohm}");
    }
}

#[test]
fn sound_tubes_stay_sound_with_a_second_sweep() {
    for law in LAWS {
        for rs in [0.0, 100e3] {
            let a = sweep("12AU7", law, &Defects::default(), |_| (), 5);
            let b = sweep("12AU7", law, &Defects::default(), |b| b.grid_source_resistance = rs, 6);
            let report = together(a, b);
            assert!(report.findings.iter().all(|f| f.confidence < 0.5), "{law:?} {rs}: {:?}", report.findings);
        }
    }
}

#[test]
fn a_cooler_heater_shows_a_cathode_without_reserve() {
    for law in LAWS {
        // The ceiling lies above everything that the usual sweep asks for.
        let kind = handbook::find("6SN7GTB").unwrap();
        let top = {
            let t = sweep("6SN7GTB", law, &Defects::default(), |_| (), 7);
            t.sections[0].points.top()
        };
        let worn = Ceiling { current: 1.5 * top, sharpness: 4.0, schottky: 0.0 };
        let worn = Defects { ceiling: Some(worn), ..Defects::default() };
        let full = sweep(&kind.name, law, &worn, |_| (), 8);
        let cool = sweep(&kind.name, law, &worn, |b| b.heater = 0.9, 9);
        let report = together(full, cool);
        assert!(found(&report, "low-emission", "1").is_some(), "{law:?}: {:?}", report.findings);
        assert!(found(&report, "low-emission", "2").is_none(), "{law:?}: {:?}", report.findings);
    }
}

#[test]
fn a_repeat_shows_a_contact_that_comes_and_goes() {
    let loose = Intermittent { share: 0.04, run: 1.0, factor: 0.4 };
    let loose = Defects { intermittent: Some(loose), ..Defects::default() };
    let a = sweep("12AU7", LawChoice::Koren, &loose, |_| (), 10);
    let b = sweep("12AU7", LawChoice::Koren, &loose, |_| (), 11);
    let report = together(a, b);
    assert!(found(&report, "intermittent", "1").is_some(), "{:?}", report.findings);
    assert!(!report.blind.iter().any(|b| b.fault == "intermittent"));
}
