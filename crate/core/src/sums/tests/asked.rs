//! Sums asked for in text.

use std::collections::BTreeMap;

use proptest::prelude::*;
use serde_json::{Value, json};

use super::sound;
use crate::sums::{answer, asked, forms, known};

fn ask(question: &Value) -> Value {
    serde_json::from_str(&asked(&question.to_string())).unwrap()
}

/// A question of each sum with the examples of its own form.
fn example(sum: &str) -> Value {
    match sum {
        "heaters" => json!({"sum": sum, "supply": "117V", "heaters": "12AX7@12.6V; 2x 35V/150mA; V3=6.3V/150mA"}),
        "supply" => {
            json!({"sum": sum, "secondary": "9V", "reservoir": "10000u", "filter-resistor": "0R47", "filter-capacitor": "10000u", "load-current": "1.2A"})
        }
        "source" => {
            json!({"sum": sum, "current": "5mA", "pinch-off-min": "-1.5V", "pinch-off-max": "−3", "idss-min": "8mA", "idss-max": "20mA", "voltage": "100"})
        }
        _ => json!({"sum": sum, "cathodes": "12AX7=1.5V; V2=150V±40V; V3=90V/180V", "limit": "150V", "supply": 300}),
    }
}

#[test]
fn every_sum_answers_with_all_that_a_page_shows() {
    for form in known() {
        let told = ask(&example(form.sum));
        assert!(told.get("wrong").is_none(), "{told}");
        let figures = told["figures"].as_array().unwrap();
        assert!(figures.len() > 4, "{told}");
        for figure in figures {
            assert!(figure["name"].is_string() && figure["value"].is_number(), "{figure}");
            assert!(figure["unit"].is_string() && figure["says"].is_string(), "{figure}");
        }
        for text in ["formula", "source", "leaves_out"] {
            assert!(told[text].as_str().is_some_and(|t| t.len() > 20), "{text}: {told}");
        }
        assert!(told["cautions"].as_array().is_some_and(|c| !c.is_empty()));
        assert_eq!(told.get("curve").is_some(), form.sum != "elevation");
        if let Some(curve) = told.get("curve") {
            assert!(
                curve["points"]
                    .as_array()
                    .is_some_and(|p| p.len() > 10 && p[0].as_array().is_some_and(|p| p.len() == 2))
            );
            assert!(["x_name", "x_unit", "y_name", "y_unit"].into_iter().all(|k| curve[k].is_string()));
        }
    }
}

#[test]
fn forms_are_data_whose_examples_can_be_read() {
    let told: Value = serde_json::from_str(&forms()).unwrap();
    assert_eq!(told.as_array().unwrap().len(), known().len());
    assert_eq!(told[0]["fields"][0]["name"], "supply");
    for form in known() {
        let mut seen = Vec::new();
        for field in form.fields {
            assert!(!field.label.is_empty() && !field.placeholder.is_empty(), "{}", field.name);
            assert!(!seen.contains(&field.name) && field.name != "sum");
            seen.push(field.name);
            // Its example, and what is no value, in an otherwise sound question.
            let mut question = example(form.sum);
            question[field.name] = "?".into();
            assert_eq!(ask(&question)["wrong"]["field"], field.name, "{}", form.sum);
            let mend = ask(&question)["wrong"]["mend"].as_str().unwrap().to_owned();
            assert!(mend.len() > 5, "{mend}");
            question[field.name] = field.placeholder.into();
            let wrong = &ask(&question)["wrong"];
            assert!(
                wrong.is_null() || !wrong["what"].as_str().unwrap().contains("no value"),
                "{}: {wrong}",
                field.name
            );
            if field.needed {
                question[field.name] = " ".into();
                assert_eq!(ask(&question)["wrong"]["field"], field.name);
            }
        }
    }
}

#[test]
fn the_handbook_gives_ratings_and_limits_and_says_whence() {
    let heaters = ask(&example("heaters"));
    let said = heaters["cautions"].to_string();
    assert!(said.contains("The rating of the 12AX7 is the handbook's: 12AX7 data sheet"), "{said}");
    let elevated = ask(&example("elevation"));
    assert!(elevated["cautions"].to_string().contains("The limit of 180 V for 12AX7 is the handbook's"), "{elevated}");
}

#[test]
fn two_of_what_excludes_itself_is_wrong_and_half_of_a_pair() {
    for (sum, change, field) in [
        ("supply", json!({"load-resistance": "5"}), "load-resistance"),
        ("supply", json!({"load-current": ""}), "load-current"),
        ("supply", json!({"filter-resistor": ""}), "filter-resistor"),
        ("supply", json!({"filter-capacitor": null}), "filter-capacitor"),
        ("supply", json!({"reservoir": "100mF"}), "reservoir"),
        ("elevation", json!({"upper": "220k"}), "lower"),
        ("elevation", json!({"lower": "47k"}), "upper"),
        ("elevation", json!({"upper": "220k", "lower": "47k", "elevation": "60"}), "elevation"),
        ("elevation", json!({"upper": "220k", "lower": "47k", "supply": ""}), "supply"),
        ("elevation", json!({"limit": ""}), "limit"),
        ("source", json!({"fall": "100%"}), "fall"),
        ("heaters", json!({"shunts": "perhaps"}), "shunts"),
        ("heaters", json!({"supply": ["117V"]}), "supply"),
        ("heaters", json!({"supply": "9".repeat(10_000)}), "supply"),
    ] {
        let mut question = example(sum);
        question.as_object_mut().unwrap().extend(change.as_object().unwrap().clone());
        let told = ask(&question);
        assert_eq!(told["wrong"]["field"], field, "{change}: {told}");
    }
}

#[test]
fn what_is_no_question_is_told_too() {
    for bad in ["", "[]", "3", "{", "null", "{}", r#"{"sum": "soup"}"#, r#"{"sum": 3}"#] {
        let told: Value = serde_json::from_str(&asked(bad)).unwrap();
        assert_eq!(told["wrong"]["field"], "sum", "{bad}: {told}");
        assert!(told["wrong"]["mend"].as_str().is_some_and(|m| m.contains("heaters")), "{told}");
    }
    let told = ask(&json!({"sum": "heaters", "<b>\u{1b}[31m": "1"}));
    assert_eq!(told["wrong"]["field"], "<b>\u{fffd}[31m");
}

/// Texts a field may hold, sound and not.
fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[-0-9.,kKmuµnpMVAFRΩ%/=;@±× x]{0,12}",
        (-12.0..12.0_f64).prop_map(|e| format!("{:e}", libm::exp10(e))),
        Just("6SN7".to_owned()),
        Just("12AX7=1V".to_owned()),
        Just("6.3V/0.3A".to_owned()),
        "\\PC{0,8}",
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn whatever_is_written_is_answered_or_refused(which in 0_usize..4, texts in prop::collection::vec((0_usize..10, text()), 0..4)) {
        let form = &known()[which];
        let question = example(form.sum);
        let mut given: BTreeMap<String, String> = question.as_object().unwrap().iter()
            .filter(|(name, _)| *name != "sum")
            .map(|(name, value)| (name.clone(), value.as_str().map_or_else(|| value.to_string(), str::to_owned)))
            .collect();
        for (field, text) in texts {
            given.insert(form.fields[field % form.fields.len()].name.to_owned(), text);
        }
        match answer(form.sum, &given) {
            Ok(answer) => sound(&answer),
            Err(wrong) => prop_assert!(form.fields.iter().any(|f| f.name == wrong.field) && !wrong.mend.is_empty(), "{}", wrong),
        }
    }

    #[test]
    fn no_text_at_all_breaks_it(json in "\\PC{0,80}") {
        prop_assert!(serde_json::from_str::<Value>(&asked(&json)).is_ok());
    }
}
