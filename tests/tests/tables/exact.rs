//! What was understood, written as a tidy long table, reads back to the same sweep
//! to the last bit; its JSON is what the published schema says (python-jsonschema,
//! draft 2020-12).

use proptest::prelude::*;
use serde_json::{Value, json};
use sweepbook_core::intake::{SWEEP_SCHEMA, read, write_exact, write_json};
use sweepbook_core::sweep::{Bench, HeaterCathode, MeterPlace, Points, Section, Tube};
use sweepbook_tests::ask_python;

fn amperes() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), -1e-3..0.4f64, 1e-13..1e-9f64, Just(0.1 + 0.2), Just(f64::MIN_POSITIVE)]
}

fn points() -> impl Strategy<Value = Points> {
    let row = (-20.0..900.0f64, -90.0..20.0f64, amperes(), amperes(), any::<bool>());
    (prop::collection::vec(row, 4..30), any::<bool>()).prop_map(|(rows, with_ig)| {
        let mut seen = std::collections::HashSet::new();
        let rows: Vec<_> = rows.into_iter().filter(|r| seen.insert((r.0.to_bits(), r.1.to_bits()))).collect();
        let ig: Vec<f64> = rows.iter().map(|r| if r.4 { r.3 } else { f64::NAN }).collect();
        let measured = with_ig && ig.iter().any(|i| i.is_finite());
        Points {
            va: rows.iter().map(|r| r.0).collect(),
            vg: rows.iter().map(|r| r.1).collect(),
            ia: rows.iter().map(|r| r.2).collect(),
            ig: measured.then_some(ig),
            time: Some((0..rows.len()).map(|i| i as f64 * 0.1).collect()),
            ..Points::default()
        }
    })
}

fn tube() -> impl Strategy<Value = Tube> {
    (points(), points(), 0.0..1e6f64, "[A-Za-z0-9 #,;\"'µ-]{0,8}x").prop_map(|(a, b, rs, name)| Tube {
        name: name.trim().to_owned(),
        source: vec!["t".into()],
        kind: Some("12AX7, \"or so\"".into()),
        notes: vec!["weather: rain".into(), "# hash".into()],
        bench: Bench {
            grid_source_resistance: Some(rs),
            current_meter: Some(MeterPlace::CathodeLead),
            heater_voltage: Some(6.3),
            screen_voltage: Some(0.1 + 0.2),
            current_limit: Some(0.025),
            heater_cathode: vec![HeaterCathode { volts: 100.0, amperes: 1.0 / 3.0 * 1e-6 }],
            current_resolution: Some(1e-7 / 3.0),
        },
        sections: vec![
            Section { name: "1".into(), points: a },
            Section { name: format!("#{}", name.trim()), points: b },
        ],
    })
}

/// Every bit of a tube but where it was read from.
fn bits(tube: &Tube) -> String {
    let column = |c: &[f64]| c.iter().map(|v| if v.is_nan() { "-".into() } else { v.to_bits().to_string() }).collect();
    let sections = tube.sections.iter().map(|s| {
        let p = &s.points;
        let columns: Vec<Vec<String>> = [Some(&p.va), Some(&p.vg), Some(&p.ia), p.ig.as_ref(), p.time.as_ref()]
            .into_iter()
            .map(|c| c.map_or(Vec::new(), |c| column(c)))
            .collect();
        format!("{} {columns:?}", s.name)
    });
    let sections: Vec<String> = sections.collect();
    format!("{} {:?} {:?} {:?} {sections:?}", tube.name, tube.kind, tube.notes, tube.bench)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn csv_reads_back_to_the_last_bit(tube in tube()) {
        let text = write_exact(&tube);
        let back = read("t.csv", text.as_bytes()).map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
        prop_assert_eq!(bits(&back[0]), bits(&tube));
        prop_assert_eq!(write_exact(&back[0]), text);
    }

    #[test]
    fn json_reads_back_to_the_last_bit(a in tube(), b in tube()) {
        let text = write_json(&[a.clone(), b.clone()]).unwrap();
        let back = read("t.json", text.as_bytes()).map_err(|e| TestCaseError::fail(format!("{e}\n{text}")))?;
        prop_assert_eq!(back.len(), 2);
        prop_assert_eq!(bits(&back[0]), bits(&a));
        prop_assert_eq!(bits(&back[1]), bits(&b));
    }
}

fn errors(document: &Value) -> Vec<Value> {
    let schema: Value = serde_json::from_str(SWEEP_SCHEMA).unwrap();
    let answer = ask_python("validate.py", &json!({ "schema": schema, "document": document })).unwrap();
    answer["errors"].as_array().unwrap().clone()
}

#[test]
fn json_is_what_the_schema_says() {
    let text = std::fs::read(sweepbook_tests::here().join("corpus/000.csv")).unwrap();
    let document = |tubes: &[Tube]| serde_json::from_str::<Value>(&write_json(tubes).unwrap()).unwrap();
    let corpus = document(&read("000.csv", &text).unwrap());
    assert_eq!(errors(&corpus), Vec::<Value>::new());
    // The twins: the schema does refuse.
    for (pointer, wrong) in [
        ("/schema", json!("sweepbook/sweep/9")),
        ("/tubes/0/points/0/va", json!("100")),
        ("/tubes/0/points/0/ia", Value::Null),
        ("/tubes/0/bench/current_meter", json!("elsewhere")),
        ("/tubes/0/points", json!([])),
    ] {
        let mut spoilt = corpus.clone();
        *spoilt.pointer_mut(pointer).unwrap() = wrong;
        assert_eq!(errors(&spoilt).len(), 1, "{pointer}");
    }
}

#[test]
fn a_document_that_is_none_is_refused_with_its_place() {
    let refused = |text: &str| read("t.json", text.as_bytes()).unwrap_err();
    let unread = refused("{\"schema\":\"sweepbook/sweep/1\",\n \"tubes\": 7}");
    assert_eq!(unread.line, Some(2));
    assert!(unread.mend.contains("--schema"));
    assert!(refused("{\"schema\":\"sweepbook/sweep/2\",\"tubes\":[]}").what.contains("another version"));
    assert!(refused("{\"schema\":\"sweepbook/sweep/1\",\"tubes\":[]}").what.contains("no points"));
    let deep = format!("{{\"schema\":\"sweepbook/sweep/1\",\"tubes\":{}", "[".repeat(1_000_000));
    assert!(refused(&deep).what.contains("no sweep in JSON"));
}
