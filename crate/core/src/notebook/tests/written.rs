//! Reading and writing as one file.

use super::*;
use crate::notebook::{Document, Hash, NamedBench, NotebookError};
use serde_json::{Value, json};

fn document(notebook: Notebook, files: &[&[u8]]) -> Document {
    Document { notebook, files: files.iter().map(|b| (Hash::of(b), b.to_vec())).collect() }
}

fn refused(text: &str) -> NotebookError {
    let error = Document::read(text.as_bytes()).unwrap_err();
    assert!(!error.what.is_empty() && !error.mend.is_empty());
    error
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_written_reads_back_equal(events in events(), bytes in prop::collection::vec(any::<u8>(), 0..40)) {
        let [a, b, _] = copies(&events);
        let written = document(merged(&a, &b), &[&bytes, b"x"]);
        let text = written.write().unwrap();
        let back = Document::read(text.as_bytes()).unwrap();
        prop_assert_eq!(&back, &written);
        prop_assert_eq!(back.notebook.shown(), written.notebook.shown());
        prop_assert_eq!(back.write().unwrap(), text);
    }

    #[test]
    fn bytes_that_are_no_notebook_are_refused_and_nothing_stops(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let error = Document::read(&bytes).unwrap_err();
        prop_assert!(!error.mend.is_empty());
    }
}

#[test]
fn every_kind_of_change_survives() {
    let mut n = empty();
    let lot = one(&mut n, "a", What::AddLot { name: "Lot 1".into() });
    let tube = one(&mut n, "a", What::AddTube { lot: Some(lot.clone()), label: "B-17".into(), kind: None });
    let bench = Some(NamedBench { name: "Workshop".into(), text: "{\"schema\":\"sweepbook/bench/1\"}".into() });
    let reading = vec!["decimal=comma".to_owned()];
    let hash = Hash::of(b"sweep");
    let what = What::AddSource { file: "b.csv".into(), hash: hash.clone(), bytes: 5, reading, bench, sample: true };
    let source = one(&mut n, "a", what);
    let named = "B-17".to_owned();
    one(&mut n, "a", What::TieSource { tube: tube.clone(), source: source.clone(), named, tied: true });
    one(&mut n, "a", What::ReadSource { source: source.clone(), reading: Vec::new(), bench: None });
    let caption = "The base".to_owned();
    let what = What::AddPhoto { of: tube.clone(), hash, bytes: 5, width: 4, height: 3, caption };
    let photo = one(&mut n, "a", what);
    one(&mut n, "a", What::SetPhoto { photo, caption: "The getter".into() });
    let shown = n.shown();
    assert_eq!(shown.tubes[0].sources[0].source, source);
    assert_eq!(shown.sources[0].read.value.reading, Vec::<String>::new());
    assert!(shown.sources[0].sample);
    assert_eq!(shown.photos[0].caption.value, "The getter");
    assert_eq!(shown.lots[0].id, lot);
    let back = Document::read(document(n, &[b"sweep"]).write().unwrap().as_bytes()).unwrap();
    assert_eq!((back.notebook.shown(), back.files.len()), (shown, 1));
}

#[test]
fn what_a_later_version_writes_is_kept_untouched() {
    let change = |number: u64, what: &Value| json!({ "device": "z", "number": number, "after": number, "at": "", "later": [1, { "b": 2.5e-7, "a": null }], "what": what });
    let document = json!({ "schema": "sweepbook/notebook/2", "notebook": "shed", "changes": [
        change(1, &json!({ "do": "add-tube", "label": "1", "weight": "9 g" })),
        change(2, &json!({ "do": "weigh-tube", "tube": "z/1", "grams": 9 })),
        change(3, &json!({ "do": "observe", "tube": "z/1", "seen": { "kind": "smell", "of": "ozone" } })),
    ] });
    let mut read = Document::read(document.to_string().as_bytes()).unwrap();
    assert_eq!((read.notebook.shown().tubes.len(), read.notebook.shown().not_understood), (1, 1));
    one(&mut read.notebook, "a", add_tube("2"));
    let written: Value = serde_json::from_str(&read.write().unwrap()).unwrap();
    for i in 0..3 {
        assert_eq!(written["changes"][i], document["changes"][i]);
    }
    // Also on the way through another copy.
    let mut copy = empty();
    copy.merge(&read.notebook).unwrap();
    assert_eq!(copy.changes().nth(1).unwrap().text(), serde_json::to_string(&document["changes"][1]).unwrap());
}

#[test]
fn what_cannot_be_read_is_refused_with_its_place() {
    let head = "{\"schema\":\"sweepbook/notebook/2\",\n\"notebook\":\"shed\",\n\"changes\":[\n";
    let change = |what: &str| format!("{{\"device\":\"a\",\"number\":1,\"after\":1,\"at\":\"\",\"what\":{what}}}");
    let of =
        |what: &str| refused(&format!("{head}{},\n{}]}}", change("{\"do\":\"add-lot\",\"name\":\"1\"}"), change(what)));
    let wrong = of("{\"do\":\"add-lot\",\"name\":\" \"}");
    assert_eq!((wrong.line, wrong.what.as_str()), (Some(5), "the name has to be given"));
    assert!(wrong.column.is_some() && wrong.to_string().starts_with("line 5, column "));
    assert!(
        of("{\"do\":\"decide\",\"tube\":\"a/1\",\"decision\":\"accept\",\"reason\":\"\",\"said\":\"reject\"}")
            .mend
            .contains("why")
    );
    assert!(of("{\"do\":\"set-lot\",\"lot\":\"a\",\"field\":\"name\",\"to\":\"1\"}").what.contains("name of an entry"));
    assert!(of("{\"do\":\"set-lot\",\"lot\":\"a/1\",\"field\":\"bought\",\"to\":\"some\"}").what.contains("how many"));
    assert!(of("{\"do\":\"set-lamp\",\"lamp\":\"grid\",\"ratio\":1000}").what.contains("lamp"));
    assert!(of("{\"do\":\"observe\",\"tube\":\"a/1\",\"seen\":{\"kind\":\"insulation\",\"between\":[\"plate\",\"plate\"],\"ohm\":1}}").what.contains("two electrodes"));
    assert!(
        of(&format!("{{\"do\":\"add-note\",\"text\":\"{}\"}}", "x".repeat(20_001))).what.contains("20000 characters")
    );
    assert!(of(&format!("{{\"do\":\"x\",\"text\":\"{}\"}}", "x".repeat(300_000))).what.contains("longer than may be"));
    assert!(refused(&format!("{head}{}]}}", change("7"))).line.is_some());
    assert!(refused("").what.contains("no notebook"));
    assert!(refused("[1]").what.contains("no notebook"));
    assert!(refused("{\"schema\":\"sweepbook/sweep/1\"}").what.contains("schema"));
    let newer = refused("{\"schema\":\"sweepbook/notebook/3\",\"pages\":[]}");
    assert!(newer.what.contains("later version") && newer.mend.contains("update"));
    assert!(refused(&format!("{head}],\"extra\":1}}")).what.contains("extra"));
    assert!(refused(&format!("{}{}", head, "[".repeat(1_000_000))).what.contains("no notebook"));
    let sum = Hash::of(b"other");
    assert!(refused(&format!("{head}],\"files\":{{\"{}\":\"eA==\"}}}}", sum.as_str())).mend.contains("another copy"));
    assert!(refused(&format!("{head}],\"files\":{{\"{}\":\"e\"}}}}", sum.as_str())).what.contains("bytes of a file"));
}

#[test]
fn counters_at_their_end_stop_nothing() {
    let last = (1u64 << 53) - 1;
    let change = json!({ "device": "a", "number": last, "after": last, "what": { "do": "add-tube", "label": "1" } });
    let document = json!({ "schema": "sweepbook/notebook/2", "notebook": "shed", "changes": [change] });
    let mut read = Document::read(document.to_string().as_bytes()).unwrap();
    one(&mut read.notebook, "a", add_tube("2"));
    read.notebook.undo("a", AT).unwrap();
    let text = read.write().unwrap();
    assert_eq!(Document::read(text.as_bytes()).unwrap(), read);
    let beyond = text.replace(&format!("\"after\":{last}"), &format!("\"after\":{}", last + 1));
    assert!(refused(&beyond).what.contains("number of a change"));
}
