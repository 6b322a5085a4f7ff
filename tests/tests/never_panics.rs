//! Whatever points a table holds, a diagnosis comes back: no panic, no NaN in the
//! report, confidences that are probabilities.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use proptest::prelude::*;
use sweepbook_core::report::TubeReport;
use sweepbook_core::sweep::{Bench, Points, Section, Tube};
use sweepbook_core::triage;

fn tube(sections: Vec<Points>, rs: f64) -> Tube {
    Tube {
        name: "t".into(),
        source: vec!["t.csv".into()],
        kind: Some("12AX7".into()),
        notes: Vec::new(),
        bench: Bench { grid_source_resistance: Some(rs), ..Bench::default() },
        sections: sections
            .into_iter()
            .enumerate()
            .map(|(i, points)| Section { name: (i + 1).to_string(), points })
            .collect(),
    }
}

fn sane(report: &TubeReport) {
    // serde_json writes NaN and infinity as null: a number that vanished is one of them.
    let json = serde_json::to_value(report).unwrap();
    for finding in &report.findings {
        assert!((0.0..=1.0).contains(&finding.confidence), "{finding:?}");
        for alternative in &finding.alternatives {
            assert!((0.0..=1.0).contains(&alternative.confidence), "{finding:?}");
        }
        if let Some(value) = &finding.value {
            assert!(value.estimate.is_finite(), "{finding:?}");
            assert!(value.low.is_none_or(f64::is_finite) && value.high.is_none_or(f64::is_finite), "{finding:?}");
        }
    }
    for section in &report.sections {
        let f = &section.figures;
        for figure in [&f.gm, &f.mu, &f.rp, &f.ia].into_iter().flatten() {
            assert!(figure.estimate.is_finite() && figure.low.is_finite() && figure.high.is_finite(), "{figure:?}");
        }
    }
    for limit in &report.limits {
        assert!(limit.smallest.estimate.is_finite(), "{limit:?}");
    }
    assert!(!report.reasons.is_empty());
    assert!(json.is_object());
}

fn points(n: usize) -> impl Strategy<Value = Points> {
    let volts = prop_oneof![Just(0.0), Just(100.0), -1000.0..2000.0f64];
    let grid = prop_oneof![Just(0.0), Just(-1.0), -200.0..50.0f64];
    let amps = prop_oneof![Just(0.0), Just(1e-3), -1e-3..0.2f64, 0.0..1e-9f64];
    let row = (volts, grid, amps.clone(), amps);
    (prop::collection::vec(row, 0..n), any::<bool>()).prop_map(|(rows, with_ig)| Points {
        va: rows.iter().map(|r| r.0).collect(),
        vg: rows.iter().map(|r| r.1).collect(),
        ia: rows.iter().map(|r| r.2).collect(),
        ig: with_ig.then(|| rows.iter().map(|r| r.3).collect()),
        ..Points::default()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn scattered_points(sections in prop::collection::vec(points(60), 0..4), rs in prop_oneof![Just(0.0), 1.0..1e7f64]) {
        sane(&triage(&tube(sections, rs)));
    }

    #[test]
    fn families_of_nonsense(
        levels in prop::collection::vec(0.0..400.0f64, 1..5), readings in prop::collection::vec(-1e-3..0.05f64, 4..40),
        twice in any::<bool>(),
    ) {
        let mut p = Points::default();
        for va in levels {
            for (k, ia) in readings.iter().enumerate() {
                p.va.push(va);
                p.vg.push(-0.5 * k as f64);
                p.ia.push(*ia);
            }
        }
        let sections = if twice { vec![p.clone(), p] } else { vec![p] };
        sane(&triage(&tube(sections, 0.0)));
    }
}

#[test]
fn the_least_and_the_dullest() {
    let one = Points { va: vec![100.0], vg: vec![-1.0], ia: vec![1e-3], ..Points::default() };
    sane(&triage(&tube(vec![one], 0.0)));
    let same = Points { va: vec![100.0; 50], vg: vec![-1.0; 50], ia: vec![1e-3; 50], ..Points::default() };
    sane(&triage(&tube(vec![same.clone(), same], 1e4)));
    let zero = Points { va: vec![0.0; 50], vg: vec![0.0; 50], ia: vec![0.0; 50], ..Points::default() };
    sane(&triage(&tube(vec![zero], 0.0)));
    sane(&triage(&tube(Vec::new(), 0.0)));
}
