//! Sweeps made from published re-fits to named sheets, sent the whole way from
//! text to figures, against the sheets' typical points.
//!
//! Parameters: Koren_Tubes.lib (N. Koren, extended by S. Malcolm-Brown), as listed
//! in reference notes 1.4; points: reference notes 2.1 and sources.md.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::fmt::Write;

use sweepbook_core::report::Figure;
use sweepbook_tests::{imperfect, whole_way};

struct Case {
    kind: &'static str,
    /// mu, ex, kg1, kp, kvb, vct of the fit.
    set: [f64; 6],
    vas: [f64; 3],
    vgs: (f64, f64),
    /// Operating point: Va, Vg, V.
    at: (f64, f64),
    /// gm S, mu, rp ohm on the sheet.
    sheet: [f64; 3],
    /// Figures that the fit itself misses by more than 20 %, with the reason.
    excepted: &'static [(&'static str, &'static str)],
}

const CASES: [Case; 4] = [
    Case {
        kind: "6SN7GTB", // fitted to Sylvania
        set: [21.54, 1.316, 1261.1, 156.78, 296.4, 0.0],
        vas: [150.0, 250.0, 350.0],
        vgs: (-30.0, 0.0),
        at: (250.0, -8.0),
        sheet: [2.6e-3, 20.0, 7700.0],
        excepted: &[],
    },
    Case {
        kind: "12AU7", // fitted to Mullard 1969
        set: [19.98, 1.291, 1359.0, 87.34, 300.0, 0.0],
        vas: [150.0, 250.0, 350.0],
        vgs: (-36.0, 0.0),
        at: (250.0, -8.5),
        sheet: [2.2e-3, 17.0, 7700.0],
        excepted: &[],
    },
    Case {
        kind: "12AX7", // fitted to Mullard 1970
        set: [99.95, 1.431, 1659.3, 688.57, 284.1, 0.5],
        vas: [150.0, 250.0, 300.0],
        vgs: (-6.0, 0.0),
        at: (250.0, -2.0),
        sheet: [1.6e-3, 100.0, 62500.0],
        excepted: &[],
    },
    Case {
        kind: "6DJ8", // E88CC set fitted to Mullard 1968
        set: [35.56, 1.134, 196.7, 278.19, 300.0, 0.0],
        vas: [60.0, 90.0, 130.0],
        vgs: (-9.0, 0.0),
        at: (90.0, -1.3),
        sheet: [12.5e-3, 33.0, 2640.0],
        excepted: &[],
    },
];

fn koren(set: &[f64; 6], va: f64, vg: f64) -> f64 {
    let [mu, ex, kg1, kp, kvb, vct] = *set;
    let z = kp * (1.0 / mu + (vg + vct) / (kvb + va * va).sqrt());
    let softplus = if z > 30.0 { z } else { z.exp().ln_1p() };
    2.0 * (va / kp * softplus).powf(ex) / kg1
}

#[test]
fn figures_agree_with_the_sheets() {
    for case in &CASES {
        let step = if case.at.1 < -5.0 { 0.5 } else { 0.1 };
        let mut text = format!(
            "# tube: t\n# type: {}\n# grid_source_resistance: 0 ohm\nsection,Va [V],Vg [V],Ia [mA]\n",
            case.kind
        );
        let mut at = 0;
        for section in [1, 2] {
            for va in case.vas {
                let mut vg = case.vgs.0;
                while vg <= case.vgs.1 + 1e-9 {
                    at += 1;
                    let ia = imperfect(koren(&case.set, va, vg), at, 0.003, 1e-6) * 1e3;
                    writeln!(text, "{section},{va},{vg:.2},{ia}").unwrap();
                    vg += step;
                }
            }
        }
        let report = whole_way("t.csv", &text).unwrap();
        assert!(report.findings.iter().all(|f| f.confidence < 0.5), "{}: {:?}", case.kind, report.findings);
        for section in &report.sections {
            let f = &section.figures;
            let figures: [(&str, &Option<Figure>); 3] = [("gm", &f.gm), ("mu", &f.mu), ("rp", &f.rp)];
            for ((name, figure), sheet) in figures.into_iter().zip(case.sheet) {
                let figure = figure.as_ref().unwrap();
                assert_eq!((figure.at.va, figure.at.vg), case.at, "{}", case.kind);
                let excepted = case.excepted.iter().any(|(e, _)| *e == name);
                let off = figure.estimate / sheet - 1.0;
                eprintln!("{} {name}: {:.4e} against {sheet:.4e} ({:+.1} %)", case.kind, figure.estimate, 100.0 * off);
                assert!(excepted || off.abs() < 0.20, "{} {name}: {} against {sheet}", case.kind, figure.estimate);
            }
        }
    }
}
