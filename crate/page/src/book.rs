//! The notebook, for the page: the log's logic stays in core, the page keeps and shows.

use std::collections::BTreeMap;
use std::collections::btree_map::IntoValues;

use serde::Serialize;
use serde_json::{Value, json};
use sweepbook_core::faults;
use sweepbook_core::notebook::observe::{self, Lamps, Seen};
use sweepbook_core::notebook::{Change, ChangeId, Document, Hash, Mistake, Notebook, NotebookError, Shown, What};
use sweepbook_core::read_json;
use sweepbook_core::report::{TubeReport, likelihood, percent};
use wasm_bindgen::prelude::wasm_bindgen;

use crate::{json as text_of, words};

/// A change as the page keeps it.
#[derive(Debug, Serialize)]
struct Kept<'c> {
    /// Under which it is kept: two changes have two keys.
    key: String,
    /// The whole of it.
    text: &'c str,
}

impl<'c> Kept<'c> {
    fn new(change: &'c Change) -> Self {
        // Two changes can go by one name where a device was copied.
        let sum = Hash::of(change.text().as_bytes());
        Self { key: format!("{}/{}", change.id, &sum.as_str()[..16]), text: change.text() }
    }
}

/// One notebook, open on a device.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Book {
    notebook: Notebook,
    device: String,
    /// What it shows, until it changes: folding takes a while.
    shown: Option<Shown>,
}

/// What is shown, and whether there is something to take back.
#[derive(Serialize)]
struct WithSteps<'s> {
    #[serde(flatten)]
    shown: &'s Shown,
    undo: bool,
    redo: bool,
}

#[wasm_bindgen]
impl Book {
    /// An empty notebook of that id; nothing where the id is none.
    pub fn open(id: &str, device: String) -> Option<Book> {
        Some(Self { notebook: Notebook::new(id).ok()?, device, shown: None })
    }

    /// Its name among notebooks.
    pub fn id(&self) -> String {
        self.notebook.id().to_owned()
    }

    /// The names that its next changes will get on this device: a JSON list of so many.
    pub fn next(&self, count: u32) -> String {
        let first = self.notebook.next_number(&self.device);
        text_of(&(0..u64::from(count)).map(|i| format!("{}/{}", self.device, first + i)).collect::<Vec<_>>())
    }

    /// Number of its changes.
    pub fn size(&self) -> usize {
        self.notebook.changes().len()
    }

    /// Takes in changes that were kept, or come from another tab or copy (a JSON list of
    /// their texts): JSON with `changes`, those that were new, and `refused`, why the first
    /// that could not be taken was not.
    pub fn take(&mut self, texts: &str) -> String {
        let texts: Vec<String> = read_json(texts).unwrap_or_default();
        self.shown = None;
        let (mut new, mut refused) = (Vec::new(), None);
        for text in texts {
            let taken = Change::read(&text).and_then(|change| Ok((self.notebook.take(change.clone())?, change)));
            match taken {
                Ok((true, change)) => new.push(change),
                Ok((false, _)) => {}
                Err(mistake) => refused = refused.or(Some(NotebookError::from(mistake))),
            }
        }
        text_of(&json!({ "changes": kept(&new), "refused": refused }))
    }

    /// Records what the user did by one act (a JSON list of what changes say) at a time:
    /// JSON with `changes` to be kept, or `refused`.
    pub fn record(&mut self, at: &str, acts: &str) -> String {
        self.shown = None;
        let acts: Result<Vec<What>, _> = read_json(acts);
        let done = acts
            .map_err(|e| Mistake::NotANotebook(e.to_string()))
            .and_then(|acts| self.notebook.record(&self.device, at, &acts));
        answer(done)
    }

    /// Takes back the last act of this device; as [`Book::record`], with no change where
    /// there is none.
    pub fn undo(&mut self, at: &str) -> String {
        self.shown = None;
        answer(self.notebook.undo(&self.device, at).map(Vec::from_iter))
    }

    /// Takes back the last [`Book::undo`].
    pub fn redo(&mut self, at: &str) -> String {
        self.shown = None;
        answer(self.notebook.redo(&self.device, at).map(Vec::from_iter))
    }

    /// What it shows, with `undo` and `redo`, whether there is something to take back.
    pub fn shown(&mut self) -> String {
        let (undo, redo) = (self.notebook.can_undo(&self.device), self.notebook.can_redo(&self.device));
        text_of(&WithSteps { shown: self.folded(), undo, redo })
    }

    /// All changes with their keys, in order: a JSON list.
    pub fn changes(&self) -> String {
        text_of(&self.notebook.changes().map(Kept::new).collect::<Vec<_>>())
    }

    /// How what was seen of a tube moves the confidences of its report: JSON with `moved`
    /// (by finding, and what the sweep did not find), `says` and `reconsider` (how the
    /// verdict stands), and `asks` (what would settle an open question, by finding).
    /// Nothing where the report or the tube is none.
    pub fn weighed(&mut self, report: &str, tube: &str) -> Option<String> {
        let report: TubeReport = read_json(report).ok()?;
        let tube: ChangeId = tube.parse().ok()?;
        let shown = self.folded();
        Some(text_of(&weighed(&report, &shown.observed(&tube), &shown.lamps)))
    }
}

impl Book {
    fn folded(&mut self) -> &Shown {
        self.shown.get_or_insert_with(|| self.notebook.shown())
    }
}

/// What would settle an open question of a report without a notebook: as in [`Book::weighed`].
#[wasm_bindgen]
pub fn asked(report: &str) -> Option<String> {
    let report: TubeReport = read_json(report).ok()?;
    Some(text_of(&weighed(&report, &[], &Lamps::default())))
}

fn answer(done: Result<Vec<Change>, Mistake>) -> String {
    text_of(&match done {
        Ok(changes) => json!({ "changes": kept(&changes) }),
        Err(mistake) => json!({ "changes": [], "refused": NotebookError::from(mistake) }),
    })
}

fn kept(changes: &[Change]) -> Vec<Kept<'_>> {
    changes.iter().map(Kept::new).collect()
}

fn weighed(report: &TubeReport, observed: &[(Option<String>, Seen)], lamps: &Lamps) -> Value {
    let weighed = observe::weigh(report, observed, lamps);
    let standing = observe::standing(report, observed, lamps);
    let made: Vec<Seen> = observed.iter().map(|(_, seen)| seen.clone()).collect();
    let title = |name: &str| faults::named(name).map_or_else(|| words::plain(name), |f| f.title().to_owned());
    let moved = weighed.moved.iter().filter(|m| !m.steps.is_empty()).map(|m| {
        json!({
            "finding": m.finding, "title": title(&m.fault), "section": m.section,
            "from": words::tied(&percent(m.from)), "to": words::tied(&percent(m.to)), "sure": likelihood(m.to),
            "steps": m.steps.iter().map(|s| json!({
                "words": s.words, "times": times(s.ratio), "to": words::tied(&percent(s.to)),
            })).collect::<Vec<_>>(),
        })
    });
    let asks = report.findings.iter().enumerate().filter_map(|(i, finding)| {
        let now = |fault: &str| {
            weighed.moved.iter().find(|m| m.finding == Some(i) && m.fault == fault).map_or(0.0, |m| m.to)
        };
        let ask = observe::would_settle(finding, now, &made)?;
        Some(json!({ "finding": i, "words": ask.words, "between": ask.between,
            "says": format!("It would settle whether it is {} or {}.", title(&ask.fault).to_lowercase(), title(&ask.rival).to_lowercase()) }))
    });
    json!({
        "moved": moved.collect::<Vec<_>>(), "asks": asks.collect::<Vec<_>>(),
        "says": (!observed.is_empty()).then_some(standing.says), "reconsider": standing.reconsider,
    })
}

/// A ratio of odds in words: `odds 100 times up`.
fn times(ratio: f64) -> String {
    let (by, way) = if ratio >= 1.0 { (ratio, "up") } else { (1.0 / ratio, "down") };
    let by = if by < 9.95 { format!("{by:.1}") } else { format!("{by:.0}") };
    format!("odds {by} times {way}")
}

/// Bytes by their sum, one added after the other, and a notebook's changes: for writing.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Packer(Document);

#[wasm_bindgen]
impl Packer {
    /// For the notebook of that id, with changes (a JSON list of their texts); nothing
    /// where the id is none.
    #[wasm_bindgen(js_name = "of")]
    pub fn of_changes(id: &str, texts: &str) -> Option<Packer> {
        let mut book = Book::open(id, "packer".to_owned())?;
        book.take(texts);
        Some(Self(Document { notebook: book.notebook, files: Default::default() }))
    }

    /// Adds the bytes of a file.
    pub fn add(&mut self, bytes: Vec<u8>) {
        self.0.files.insert(Hash::of(&bytes), bytes);
    }

    /// The whole as one file; JSON with `refused` where it is too large.
    pub fn write(&self) -> String {
        self.0.write().unwrap_or_else(|mistake| text_of(&json!({ "refused": NotebookError::from(mistake) })))
    }
}

/// A notebook that was read from a file.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Unpacked {
    read: Result<Notebook, NotebookError>,
    /// The files that were not taken out yet, in the order of their sums.
    files: IntoValues<Hash, Vec<u8>>,
}

#[wasm_bindgen]
impl Unpacked {
    /// Reads a file of any schema.
    #[wasm_bindgen(constructor)]
    pub fn new(bytes: &[u8]) -> Self {
        let (read, files) = match Document::read(bytes) {
            Ok(Document { notebook, files }) => (Ok(notebook), files),
            Err(error) => (Err(error), BTreeMap::new()),
        };
        Self { read, files: files.into_values() }
    }

    /// JSON with `id`, and the texts of `changes` with their keys; or `refused`.
    pub fn said(&self) -> String {
        text_of(&match &self.read {
            Ok(notebook) => json!({
                "id": notebook.id(),
                "name": notebook.shown().name.map(|said| said.value),
                "changes": notebook.changes().map(Kept::new).collect::<Vec<_>>(),
            }),
            Err(error) => json!({ "refused": error }),
        })
    }

    /// Takes out the bytes of one file; nothing once all are out.
    pub fn take_file(&mut self) -> Option<Vec<u8>> {
        self.files.next()
    }
}

/// A quantity as a person writes it, in `ohm`, `ampere` or `volt`; nothing for what is none.
#[wasm_bindgen]
pub fn quantity(text: &str, unit: &str) -> Option<f64> {
    let unit = serde_json::from_value(Value::from(unit)).ok()?;
    observe::quantity(text, unit)
}

/// The SHA-256 of bytes, as they are named in a notebook.
#[wasm_bindgen]
pub fn sum_of(bytes: &[u8]) -> String {
    Hash::of(bytes).as_str().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    const AT: &str = "2026-11-26T08:00:00Z";

    fn parsed(text: &str) -> Value {
        serde_json::from_str(text).unwrap()
    }

    fn texts(answer: &str) -> String {
        let changes = parsed(answer)["changes"].as_array().unwrap().clone();
        text_of(&changes.iter().map(|c| c["text"].clone()).collect::<Vec<_>>())
    }

    #[test]
    fn what_one_tab_records_another_takes_in() {
        let mut here = Book::open("shed", "a".into()).unwrap();
        let mut there = Book::open("shed", "b".into()).unwrap();
        let done = here.record(AT, r#"[{"do":"add-tube","label":"B-17"},{"do":"add-note","text":"Bent pin."}]"#);
        assert_eq!(parsed(&there.take(&texts(&done)))["changes"].as_array().unwrap().len(), 2);
        assert_eq!(parsed(&there.take(&texts(&done)))["changes"].as_array().unwrap().len(), 0);
        let shown = parsed(&there.shown());
        assert_eq!(shown["tubes"][0]["label"]["value"], "B-17");
        assert_eq!((&shown["undo"], &parsed(&here.shown())["undo"]), (&json!(false), &json!(true)));
        let undone = here.undo(AT);
        there.take(&texts(&undone));
        assert_eq!(parsed(&there.shown())["tubes"].as_array().unwrap().len(), 0, "one act is undone as one");
        here.redo(AT);
        assert_eq!(parsed(&here.shown())["notes"].as_array().unwrap().len(), 1);
        let keys = parsed(&here.changes());
        assert!(keys[0]["key"].as_str().unwrap().starts_with("a/1/"));
    }

    #[test]
    fn what_may_not_stand_is_refused_with_its_mend() {
        let mut book = Book::open("shed", "a".into()).unwrap();
        let refused = |answer: String| parsed(&answer)["refused"]["mend"].as_str().unwrap().to_owned();
        let decide = r#"[{"do":"decide","tube":"a/1","decision":"accept","reason":"","said":"reject"}]"#;
        assert!(refused(book.record(AT, decide)).contains("why"));
        assert!(!refused(book.record(AT, "nonsense")).is_empty());
        assert!(!refused(book.take(r#"["nonsense"]"#)).is_empty());
        assert_eq!((book.size(), Book::open("my shed", "a".into()).is_none()), (0, true));
    }

    #[test]
    fn a_file_carries_changes_and_bytes() {
        let mut book = Book::open("shed", "a".into()).unwrap();
        let done = book.record(AT, r#"[{"do":"name-notebook","name":"Shed"}]"#);
        let mut packer = Packer::of_changes("shed", &texts(&done)).unwrap();
        packer.add(b"sweep".to_vec());
        let mut unpacked = Unpacked::new(packer.write().as_bytes());
        let said = parsed(&unpacked.said());
        assert_eq!((&said["id"], &said["name"]), (&json!("shed"), &json!("Shed")));
        assert_eq!(unpacked.take_file().as_deref(), Some(&b"sweep"[..]));
        assert_eq!(unpacked.take_file(), None);
        assert!(parsed(&Unpacked::new(b"x").said())["refused"]["what"].is_string());
    }

    #[test]
    fn observations_are_weighed_in_words() {
        let mut book = Book::open("shed", "a".into()).unwrap();
        book.record(AT, r#"[{"do":"add-tube","label":"B-17"}]"#);
        let seen = r#"{"kind":"insulation","between":["plate","cathode"],"ohm":1e6}"#;
        book.record(AT, &format!(r#"[{{"do":"observe","tube":"a/1","seen":{seen}}}]"#));
        let report = json!({
            "tube": "B-17", "source": [], "type": null, "verdict": "retest", "reasons": [], "sections": [], "blind": [],
            "findings": [{ "fault": "plate-cathode-leakage", "section": null, "confidence": 0.48, "value": null, "evidence": "",
                "confirm": "", "alternatives": [{ "fault": "plate-grid-leakage", "confidence": 0.47 }] }],
        });
        let open = parsed(&asked(&report.to_string()).unwrap());
        assert!(open["asks"][0]["words"].as_str().unwrap().contains("plate to cathode cold"));
        assert_eq!((&open["says"], open["moved"].as_array().unwrap().len()), (&Value::Null, 0));
        let said = parsed(&book.weighed(&report.to_string(), "a/1").unwrap());
        assert_eq!((&said["moved"][0]["to"], &said["moved"][0]["from"]), (&json!("99\u{a0}%"), &json!("48\u{a0}%")));
        assert_eq!(said["moved"][0]["steps"][0]["times"], "odds 100 times up");
        assert_eq!((&said["reconsider"], said["asks"].as_array().unwrap().len()), (&json!(true), 0));
        assert_eq!(book.weighed("{}", "a/1"), None);
    }
}
