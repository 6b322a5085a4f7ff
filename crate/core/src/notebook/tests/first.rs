//! The simple form.

use super::*;
use crate::notebook::Document;

const SHED: &str = r#"{"schema": "sweepbook/notebook/1", "name": "Shed",
 "lots": [{"name": "Lot 1", "seller": "Mayer", "price": 40.5, "currency": "EUR", "bought": 10}],
 "tubes": [
  {"lot": "Lot 1", "label": "B-17", "type": "6SN7GTB"},
  {"lot": "Lot 2", "label": 18}],
 "notes": [{"tube": "B-17", "text": "Bent pin."}, {"lot": "Lot 2", "text": "Damp box."}, {"text": "Begun in May."}],
 "decisions": [{"tube": "18", "decision": "reject", "reason": "Cracked.", "at": "2026-05-01"}]}
"#;

fn read(text: &str) -> Notebook {
    Document::read(text.as_bytes()).unwrap_or_else(|e| panic!("{e}")).notebook
}

#[test]
fn the_simple_form_becomes_changes_that_are_always_the_same() {
    let notebook = read(SHED);
    let shown = notebook.shown();
    assert_eq!(shown.name.as_ref().unwrap().value, "Shed");
    assert_eq!(shown.lots.len(), 2, "a lot that only a tube names is there too");
    let lot = shown.lots.iter().find(|l| l.fields[&LotField::Name].value == "Lot 1").unwrap();
    assert_eq!(lot.fields[&LotField::Price].value, "40.5");
    assert_eq!(lot.fields[&LotField::Bought].value, "10");
    let tube = |label: &str| shown.tubes.iter().find(|t| t.label.value == label).unwrap();
    assert_eq!(tube("B-17").lot.as_ref().unwrap().value, lot.id);
    let decision = &tube("18").decision.as_ref().unwrap();
    assert_eq!((decision.value.decision, decision.at.as_str()), (Some(Verdict::Reject), "2026-05-01"));
    assert_eq!(shown.notes.len(), 3);
    assert!(notebook.changes().all(|c| c.id.device == "imported"));
    let again = read(SHED);
    assert_eq!(again, notebook);
    assert_eq!(merged(&notebook, &again), notebook);
    // It goes on as any other notebook, and comes back as the second schema.
    let mut on = notebook.clone();
    one(&mut on, "a", add_tube("19"));
    let text = Document { notebook: on.clone(), files: Default::default() }.write().unwrap();
    assert_eq!(read(&text), on);
    assert_eq!(on.merge(&again).unwrap(), 0);
}

#[test]
fn a_file_that_was_added_to_brings_only_what_is_new() {
    let mut notebook = read(SHED);
    let longer = SHED.replace("\"notes\": [", "\"notes\": [{\"tube\": \"B-17\", \"text\": \"Straightened.\"}, ");
    assert_eq!(notebook.merge(&read(&longer)).unwrap(), 1);
    let other = read(&SHED.replace("Mayer", "Meyer"));
    assert_eq!(notebook.id(), other.id());
    assert_eq!(notebook.merge(&other).unwrap(), 1);
    let shown = notebook.shown();
    let lot = shown.lots.iter().find(|l| l.fields.contains_key(&LotField::Seller)).unwrap();
    // Which of the two is right the files do not say: both are shown.
    assert_eq!(lot.fields[&LotField::Seller].also.len(), 1);
}

#[test]
fn what_is_wrong_with_it_is_said_with_its_line() {
    let refused = |text: String| Document::read(text.as_bytes()).unwrap_err();
    let gone = refused(SHED.replace("\"tube\": \"18\"", "\"tube\": \"81\""));
    assert_eq!((gone.line, gone.column), (Some(7), Some(16)), "{gone}");
    assert!(gone.what.contains("\"81\"") && gone.mend.contains("tubes"));
    let twice = refused(SHED.replace("\"label\": 18", "\"label\": \"B-17\""));
    assert_eq!(twice.line, Some(6));
    assert!(twice.mend.contains("lot"));
    let unknown = refused(SHED.replace("\"label\": 18", "\"lable\": 18"));
    assert_eq!(unknown.line, Some(5));
    assert!(unknown.what.contains("lable") && unknown.what.contains("label"));
    let empty = refused(SHED.replace("\"B-17\", \"type\"", "\"\", \"type\""));
    assert_eq!(empty.line, Some(4));
    let bought = refused(SHED.replace("\"bought\": 10", "\"bought\": \"ten\""));
    assert_eq!(bought.line, Some(2));
}
