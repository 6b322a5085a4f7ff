//! Pentodes, triode-connected pentodes, directly heated triodes and rectifiers,
//! the whole way from text, made from published laws of the handbook (its data
//! files name fit and sheet of each).

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::fmt::Write;

use sweepbook_core::handbook;
use sweepbook_core::report::{Finding, TubeReport, Verdict};
use sweepbook_tests::{imperfect, whole_way};

/// What is done to the ideal currents of a pentode at a point.
#[derive(Clone, Copy)]
struct Spoilt {
    /// Ceiling of the cathode, A.
    ceiling: f64,
    /// Plate–cathode path, ohm.
    leak: f64,
    /// Ion ratio.
    gas: f64,
}

const SOUND: Spoilt = Spoilt { ceiling: f64::INFINITY, leak: f64::INFINITY, gas: 0.0 };

/// A pentode with its screen at `screen`: transfer curves at three plate voltages.
fn pentode(name: &str, screen: f64, deepest: f64, spoilt: Spoilt) -> TubeReport {
    let law = handbook::find(name).unwrap().section(0).unwrap().law.clone().unwrap();
    let mut text = format!(
        "# tube: p\n# type: {name}\n# grid_source_resistance: 0 ohm\nVa [V],Vg2 [V],Vg [V],Ia [mA],Ig2 [mA],Ig [uA]\n"
    );
    let mut at = 0;
    for va in [150.0, 200.0, 250.0] {
        for k in 0..=60 {
            let vg = deepest * (1.0 - f64::from(k) / 60.0);
            let plate = law.plate_current(va, vg, Some(screen));
            // The screen takes a tenth of the plate's share (common practice for power pentodes).
            let (ia, ig2) = (plate, 0.1 * plate);
            let cathode = ia + ig2;
            let kept =
                if spoilt.ceiling.is_finite() { (1.0 + (cathode / spoilt.ceiling).powi(4)).powf(-0.25) } else { 1.0 };
            at += 3;
            let read_ia = imperfect(ia * kept + va / spoilt.leak, at, 0.002, 2e-6) * 1e3;
            let read_ig2 = imperfect(ig2 * kept, at + 1, 0.002, 2e-6) * 1e3;
            let read_ig = imperfect(-spoilt.gas * cathode * kept, at + 2, 0.01, 1e-8) * 1e6;
            writeln!(text, "{va},{screen},{vg:.3},{read_ia},{read_ig2},{read_ig}").unwrap();
        }
    }
    whole_way("p.csv", &text).unwrap()
}

fn found<'r>(report: &'r TubeReport, fault: &str) -> &'r Finding {
    let finding = report.findings.iter().find(|f| f.fault == fault && f.confidence > 0.8);
    finding.unwrap_or_else(|| panic!("{fault} not in {:?}", report.findings))
}

fn nothing_else(report: &TubeReport, fault: &str) {
    assert!(report.findings.iter().all(|f| f.fault == fault || f.confidence < 0.5), "{:?}", report.findings);
}

#[test]
fn a_sound_pentode_is_accepted_and_its_gm_is_the_sheets() {
    for (name, screen, deepest, vg) in [("EL84", 250.0, -36.0, -7.3), ("6V6GT", 250.0, -60.0, -12.5)] {
        let report = pentode(name, screen, deepest, SOUND);
        nothing_else(&report, "");
        assert_eq!(report.verdict, Verdict::Accept, "{name}: {:?}", report.reasons);
        let figures = &report.sections[0].figures;
        let gm = figures.gm.as_ref().unwrap();
        assert_eq!((gm.at.va, gm.at.vg), (250.0, vg));
        let point = handbook::find(name).unwrap().section(0).unwrap().points[0].clone();
        let sheet = point.gm.unwrap().value;
        // The published fit's own gm at the point, by differences.
        let law = handbook::find(name).unwrap().section(0).unwrap().law.clone().unwrap();
        let slope = (law.plate_current(250.0, vg + 0.01, Some(screen))
            - law.plate_current(250.0, vg - 0.01, Some(screen)))
            / 0.02;
        assert!((gm.estimate / slope - 1.0).abs() < 0.05, "{name}: {} against the fit's {slope}", gm.estimate);
        assert!((gm.estimate / sheet - 1.0).abs() < 0.2, "{name}: {} against the sheet's {sheet}", gm.estimate);
        assert!(figures.mu.is_none() && figures.rp.is_none());
    }
}

#[test]
fn faults_of_a_pentode_are_named() {
    let worn = pentode("EL84", 250.0, -36.0, Spoilt { ceiling: 0.06, ..SOUND });
    found(&worn, "low-emission");
    nothing_else(&worn, "low-emission");
    let leaky = pentode("EL84", 250.0, -36.0, Spoilt { leak: 5e6, ..SOUND });
    let ohm = found(&leaky, "plate-cathode-leakage").value.as_ref().unwrap().estimate;
    assert!((ohm / 5e6 - 1.0).abs() < 0.1, "{ohm}");
    nothing_else(&leaky, "plate-cathode-leakage");
    let gassy = pentode("6V6GT", 250.0, -60.0, Spoilt { gas: 5e-4, ..SOUND });
    let ratio = found(&gassy, "gas").value.as_ref().unwrap().estimate;
    assert!((ratio / 5e-4 - 1.0).abs() < 0.1, "{ratio}");
    nothing_else(&gassy, "gas");
}

#[test]
fn plate_curves_of_a_pentode_are_flat_by_nature_and_a_tetrodes_kink_is_normal() {
    let law = handbook::find("6L6GC").unwrap().section(0).unwrap().law.clone().unwrap();
    let mut text =
        "# tube: b\n# type: 6L6GC\n# screen_voltage: 250 V\n# grid_source_resistance: 0 ohm\nVa [V],Vg [V],Ia [mA]\n"
            .to_owned();
    let mut at = 0;
    for k in 0..9 {
        let vg = -40.0 + 4.0 * f64::from(k);
        for j in 1..=80 {
            let va = 5.0 * f64::from(j);
            at += 1;
            // A dip of secondary emission between 60 and 100 V.
            let dip = 1.0 - 0.35 * (-((va - 85.0) / 15.0).powi(2)).exp();
            let ia = imperfect(law.plate_current(va, vg, Some(250.0)) * dip, at, 0.001, 1e-6) * 1e3;
            writeln!(text, "{va},{vg},{ia}").unwrap();
        }
    }
    let report = whole_way("b.csv", &text).unwrap();
    nothing_else(&report, "");
    assert!(report.notes.iter().any(|n| n.contains("secondary emission")), "{:?}", report.notes);
}

#[test]
fn a_pentode_with_its_screen_at_the_plate_is_a_triode() {
    let law = handbook::find("EL84").unwrap().section(0).unwrap().law.clone().unwrap();
    let mut text =
        "# tube: t\n# type: EL84\n# grid_source_resistance: 0 ohm\nVa [V],Vg2 [V],Vg [V],Ia [mA]\n".to_owned();
    let mut at = 0;
    for va in [150.0, 200.0, 250.0] {
        for k in 0..=56 {
            let vg = -28.0 + 0.5 * f64::from(k);
            at += 1;
            let ia = imperfect(1.1 * law.plate_current(va, vg, Some(va)), at, 0.002, 1e-6) * 1e3;
            writeln!(text, "{va},{va},{vg},{ia}").unwrap();
        }
    }
    let report = whole_way("t.csv", &text).unwrap();
    nothing_else(&report, "");
    // mu of the first grid against the screen: 21.29 in the fit (reference 1.4).
    let mu = report.sections[0].figures.mu.as_ref().unwrap().estimate;
    assert!((mu / 21.3 - 1.0).abs() < 0.2, "{mu}");
}

#[test]
fn a_directly_heated_triode_is_accepted() {
    let kind = handbook::find("300B").unwrap();
    let law = kind.section(0).unwrap().law.clone().unwrap();
    let mut text = "# tube: d\n# type: 300B\n# grid_source_resistance: 0 ohm\nVa [V],Vg [V],Ia [mA]\n".to_owned();
    let mut at = 0;
    for va in [200.0, 300.0, 400.0] {
        for k in 0..=70 {
            let vg = -140.0 + 2.0 * f64::from(k);
            at += 1;
            // Half the filament's 5 V on the grid: fed with direct current (reference 2.2).
            let ia = imperfect(law.plate_current(va, vg - 2.5, None), at, 0.002, 2e-6) * 1e3;
            writeln!(text, "{va},{vg},{ia}").unwrap();
        }
    }
    let report = whole_way("d.csv", &text).unwrap();
    nothing_else(&report, "");
    assert_eq!(report.verdict, Verdict::Accept, "{:?}", report.reasons);
}

/// A rectifier of two plates; `second` scales the second one's current, `ceiling` bounds it.
fn rectifier(second: f64, ceiling: f64) -> TubeReport {
    let mut text = "# tube: r\n# type: 5AR4\nsection,Va [V],Ia [mA]\n".to_owned();
    let perveance = 225e-3 / 17f64.powf(1.5);
    let mut at = 0;
    for (section, factor, limit) in [(1, 1.0, f64::INFINITY), (2, second, ceiling)] {
        for k in 1..=40 {
            let va = 0.5 * f64::from(k);
            at += 1;
            // Child and Langmuir through the handbook's usual drop, 17 V at 225 mA (memory there).
            let ideal = factor * perveance * va.powf(1.5);
            let kept = if limit.is_finite() { (1.0 + (ideal / limit).powi(3)).powf(-1.0 / 3.0) } else { 1.0 };
            writeln!(text, "{section},{va},{}", imperfect(ideal * kept, at, 0.002, 1e-5) * 1e3).unwrap();
        }
    }
    whole_way("r.csv", &text).unwrap()
}

#[test]
fn rectifiers_are_judged_by_emission_and_match() {
    let sound = rectifier(1.0, f64::INFINITY);
    nothing_else(&sound, "");
    assert_eq!(sound.verdict, Verdict::Accept, "{:?}", sound.reasons);
    let worn = rectifier(1.0, 0.15);
    assert_eq!(found(&worn, "low-emission").section.as_deref(), Some("2"));
    nothing_else(&worn, "low-emission");
    let unmatched = rectifier(0.7, f64::INFINITY);
    found(&unmatched, "section-mismatch");
    nothing_else(&unmatched, "section-mismatch");
    for report in [&sound, &worn, &unmatched] {
        assert!(report.blind.iter().all(|b| b.fault != "gas" && b.fault != "grid-cathode-leakage"));
    }
}
