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

/// The same readings at every plate voltage, half a volt of grid apart.
fn family(levels: &[f64], readings: &[f64]) -> Points {
    let mut p = Points::default();
    for va in levels {
        for (k, ia) in readings.iter().enumerate() {
            p.va.push(*va);
            p.vg.push(-0.5 * k as f64);
            p.ia.push(*ia);
        }
    }
    p
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: ProptestConfig::default().cases.max(300),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn scattered_points(sections in prop::collection::vec(points(60), 0..4), rs in prop_oneof![Just(0.0), 1.0..1e7f64]) {
        sane(&triage(&tube(sections, rs)));
    }

    #[test]
    fn families_of_nonsense(
        levels in prop::collection::vec(0.0..400.0f64, 1..5), readings in prop::collection::vec(-1e-3..0.05f64, 4..40),
        twice in any::<bool>(),
    ) {
        let p = family(&levels, &readings);
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

/// Readings on which a step that promised little led to a current of 10¹³⁴ A.
#[test]
fn a_step_into_the_void_is_not_taken() {
    let readings = [
        0.02590691240320134,
        0.03983116777865142,
        0.013815501357992628,
        0.02532208564413872,
        0.024628582421224315,
        0.000759178576307785,
        0.021673612071393074,
        0.01896293384051639,
        0.007224507667654532,
        0.006754576696297283,
        0.037018892416286496,
        0.02179853399247374,
        0.006057552987955511,
        0.02429648712336003,
        0.025262911755624087,
        0.006285424184134313,
        0.0005539979128952299,
        0.018878789369831065,
        0.03239384510588908,
        0.03890798519173985,
        0.04480048572721317,
        0.041413905974218436,
        0.009641259648617477,
        0.027394492107329742,
        0.0228688619562789,
    ];
    sane(&triage(&tube(
        vec![family(&[108.940_102_265_890_59, 211.376_456_031_507_7, 8.558_204_955_263_26], &readings)],
        0.0,
    )));
}

/// Readings that leave the amplification of the law so open that it is beyond what a number holds.
#[test]
fn an_amplification_without_bounds_makes_no_resistance() {
    let readings = [
        0.01637143305835805,
        0.023201670383770315,
        0.0037292124735000954,
        0.04260561762676974,
        0.0,
        0.043136682692455554,
        0.020057829474014525,
        0.0,
        0.02891913394634691,
        0.023458611750424872,
        0.0,
        0.0473026147348476,
        0.002417389862392319,
        0.021989098226117994,
        0.013655647813350094,
        0.0,
        0.02091824815864919,
        0.0,
        0.02204477317270537,
        0.02537962837849077,
        0.0,
        0.04850283762339525,
        0.011096053520701078,
        0.03837590666586615,
        0.013029677512870172,
        0.047525964631433396,
        0.011279643385078135,
        0.017125485167756097,
        0.0016144652089880274,
        -0.0005894464176129743,
    ];
    let p = family(&[115.14939466808713, 2.41837834740182], &readings);
    sane(&triage(&tube(vec![p.clone(), p], 0.0)));
}
