//! A notebook as one file is what its published schema says (python-jsonschema, draft
//! 2020-12).

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use serde_json::{Value, json};
use sweepbook_core::notebook::{Document, NOTEBOOK_SCHEMA};
use sweepbook_tests::ask_python;

fn seed(name: &str) -> Vec<u8> {
    std::fs::read(sweepbook_tests::here().join("fuzz/seeds/notebook").join(name)).unwrap()
}

fn written(name: &str) -> Value {
    serde_json::from_str(&Document::read(&seed(name)).unwrap().write().unwrap()).unwrap()
}

fn errors(document: &Value) -> Vec<Value> {
    let schema: Value = serde_json::from_str(NOTEBOOK_SCHEMA).unwrap();
    let answer = ask_python("validate.py", &json!({ "schema": schema, "document": document })).unwrap();
    answer["errors"].as_array().unwrap().clone()
}

#[test]
fn a_notebook_is_what_the_schema_says() {
    for name in ["all-kinds.json", "empty.json", "odd-order.json", "first.json"] {
        assert_eq!(errors(&written(name)), Vec::<Value>::new(), "{name}");
    }
}

#[test]
fn what_the_schema_refuses_is_refused_by_the_program_too() {
    let sound = written("all-kinds.json");
    let at = |what: &str| sound["changes"].as_array().unwrap().iter().position(|c| c["what"]["do"] == what).unwrap();
    let in_change = |what: &str, path: &str| format!("/changes/{}/{path}", at(what));
    for (pointer, wrong) in [
        ("/schema".to_owned(), json!("sweepbook/notebook/9")),
        ("/notebook".into(), json!("my shed")),
        (in_change("add-lot", "what/name"), json!("")),
        (in_change("add-lot", "number"), json!(0)),
        (in_change("add-lot", "after"), json!("1")),
        (in_change("add-lot", "device"), json!("a/b")),
        (in_change("set-lot", "what/lot"), json!("Lot 1")),
        (in_change("set-lot", "what/field"), json!("colour")),
        (in_change("decide", "what/decision"), json!("perhaps")),
        (in_change("add-source", "what/hash"), json!("00")),
        (in_change("observe", "what/seen/ohm"), json!(-1)),
        (in_change("observe", "what/seen/between"), json!(["plate", "plate"])),
        (in_change("set-lamp", "what/ratio"), json!(100)),
        (in_change("withdraw", "what/changes"), json!("a/1")),
        (in_change("remove", "what/removed"), json!(1)),
    ] {
        let mut spoilt = sound.clone();
        *spoilt.pointer_mut(&pointer).unwrap() = wrong;
        assert_eq!(errors(&spoilt).len(), 1, "{pointer}");
        assert!(Document::read(spoilt.to_string().as_bytes()).is_err(), "{pointer}");
    }
    // And takes what a later version may add.
    let mut later = sound.clone();
    later["changes"][0]["later"] = json!([1]);
    later["changes"][1]["what"] = json!({ "do": "weigh-tube", "grams": 9 });
    assert_eq!(errors(&later), Vec::<Value>::new());
    assert!(Document::read(later.to_string().as_bytes()).is_ok());
}
