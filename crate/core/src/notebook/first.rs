//! Schema `sweepbook/notebook/1`: the simple form, and its migration into changes.
//!
//! Names of changes come from what they say, so that a file gives the same changes whenever
//! it is read, and one that was added to gives those and the new ones: reading it again
//! changes only what it changed.

use std::collections::{BTreeMap, BTreeSet};

use serde::Deserialize;
use sha2::{Digest, Sha256};

use super::change::Change;
use super::error::{Mistake, NotebookError};
use super::id::ChangeId;
use super::limits::{LAST_COUNT, MOST_CHANGES};
use super::what::{LotField, What};
use super::{Notebook, place};
use crate::report::Verdict;

/// The device whose changes they become.
const DEVICE: &str = "imported";
/// Clocks: what is added comes before what is said of it.
const LOTS: u64 = 1;
const TUBES: u64 = 2;
const SAID: u64 = 3;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct First {
    #[serde(rename = "schema")]
    _schema: String,
    /// Its name among notebooks; made of its title where it has none.
    notebook: Option<String>,
    name: String,
    #[serde(default)]
    lots: Vec<FirstLot>,
    #[serde(default)]
    tubes: Vec<FirstTube>,
    #[serde(default)]
    notes: Vec<FirstNote>,
    #[serde(default)]
    decisions: Vec<FirstDecision>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FirstLot {
    name: String,
    seller: Option<String>,
    reference: Option<Plain>,
    price: Option<Plain>,
    currency: Option<String>,
    bought_on: Option<String>,
    bought: Option<Plain>,
    note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FirstTube {
    lot: Option<String>,
    label: Plain,
    #[serde(rename = "type")]
    kind: Option<Plain>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FirstNote {
    lot: Option<String>,
    tube: Option<Plain>,
    text: String,
    #[serde(default)]
    at: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FirstDecision {
    lot: Option<String>,
    tube: Plain,
    decision: Verdict,
    #[serde(default)]
    reason: String,
    #[serde(default)]
    at: String,
}

/// A text, or a number as a spreadsheet writes it.
#[derive(Deserialize)]
#[serde(untagged, expecting = "a text or a number")]
enum Plain {
    Text(String),
    Number(serde_json::Number),
}

impl Plain {
    fn text(self) -> String {
        match self {
            Self::Text(text) => text,
            Self::Number(number) => number.to_string(),
        }
    }
}

/// Reads the simple form.
pub(super) fn read(bytes: &[u8]) -> Result<Notebook, NotebookError> {
    let first: First = serde_json::from_slice(bytes).map_err(|e| NotebookError::of_json(&e))?;
    migrated(first).map_err(|(place, mistake)| {
        let at = place.and_then(|(list, index)| place::of_element(bytes, list, index));
        NotebookError { line: at.map(|a| a.0), column: at.map(|a| a.1), ..mistake.into() }
    })
}

/// A list of the file, and an element of it.
type At = Option<(&'static str, usize)>;

/// A number that depends on nothing but the texts: 52 bits of their SHA-256, and one.
fn number(of: &[&str]) -> u64 {
    let mut sum = Sha256::new();
    for text in of {
        sum.update((text.len() as u64).to_be_bytes());
        sum.update(text.as_bytes());
    }
    let digest = sum.finalize();
    let bits = digest.iter().take(8).fold(0u64, |n, byte| n << 8 | u64::from(*byte));
    ((bits >> 12) + 1).min(LAST_COUNT)
}

/// Changes as they are made of the lists.
#[derive(Default)]
struct Made {
    changes: BTreeSet<Change>,
    /// The tubes that go by a label, by their lot: the last one, and how many there are.
    tubes: BTreeMap<String, BTreeMap<Option<String>, (ChangeId, usize)>>,
}

fn entry(of: &[&str]) -> ChangeId {
    ChangeId { device: DEVICE.to_owned(), number: number(of) }
}

fn lot_id(name: &str) -> ChangeId {
    entry(&["lot", name])
}

impl Made {
    fn add(&mut self, id: ChangeId, after: u64, at: &str, what: What) -> Result<(), Mistake> {
        if self.changes.len() >= MOST_CHANGES {
            return Err(Mistake::ManyChanges);
        }
        self.changes.insert(Change::new(id, after, at, None, Vec::new(), what)?);
        Ok(())
    }

    fn lot(&mut self, name: &str) -> Result<ChangeId, Mistake> {
        let id = lot_id(name);
        // The same change once more where it is there.
        self.add(id.clone(), LOTS, "", What::AddLot { name: name.to_owned() })?;
        Ok(id)
    }

    fn written_lot(&mut self, lot: FirstLot) -> Result<(), Mistake> {
        let id = self.lot(&lot.name)?;
        let fields = [
            (LotField::Seller, lot.seller),
            (LotField::Reference, lot.reference.map(Plain::text)),
            (LotField::Price, lot.price.map(Plain::text)),
            (LotField::Currency, lot.currency),
            (LotField::BoughtOn, lot.bought_on),
            (LotField::Bought, lot.bought.map(Plain::text)),
            (LotField::Note, lot.note),
        ];
        for (field, to) in fields.into_iter().filter_map(|(f, to)| Some((f, to.filter(|t| !t.is_empty())?))) {
            let own = entry(&["set", &lot.name, &format!("{field:?}"), &to]);
            self.add(own, SAID, "", What::SetLot { lot: id.clone(), field, to })?;
        }
        Ok(())
    }

    fn written_tube(&mut self, tube: FirstTube) -> Result<(), Mistake> {
        let lot = tube.lot.as_deref().map(|name| self.lot(name)).transpose()?;
        let (label, kind) = (tube.label.text(), tube.kind.map(Plain::text));
        let named = self.tubes.entry(label.clone()).or_default();
        let same = named.get(&tube.lot).map_or(0, |(_, same)| *same);
        let id = entry(&["tube", tube.lot.as_deref().unwrap_or_default(), &label, &same.to_string()]);
        named.insert(tube.lot, (id.clone(), same + 1));
        self.add(id, TUBES, "", What::AddTube { lot, label, kind })
    }

    fn note(&mut self, note: FirstNote) -> Result<(), Mistake> {
        let of = match (&note.lot, note.tube) {
            (lot, Some(label)) => Some(self.tube(lot.as_deref(), &label.text())?),
            (Some(lot), None) => Some(self.lot(lot)?),
            (None, None) => None,
        };
        let own = entry(&["note", &of.as_ref().map(ToString::to_string).unwrap_or_default(), &note.text]);
        self.add(own, SAID, &note.at, What::AddNote { of, text: note.text })
    }

    fn decision(&mut self, decided: FirstDecision) -> Result<(), Mistake> {
        let tube = self.tube(decided.lot.as_deref(), &decided.tube.text())?;
        let said = format!("{:?}", decided.decision);
        let own = entry(&["decision", &tube.to_string(), &said, &decided.reason, &decided.at]);
        let what = What::Decide { tube, decision: Some(decided.decision), reason: decided.reason, said: None };
        self.add(own, SAID, &decided.at, what)
    }

    /// The tube that a note or a decision is on.
    fn tube(&self, lot: Option<&str>, label: &str) -> Result<ChangeId, Mistake> {
        let named = self.tubes.get(label).ok_or_else(|| Mistake::NotThere(said(lot, label)))?;
        let fit = match lot {
            Some(_) => named.get(&lot.map(str::to_owned)).ok_or_else(|| Mistake::NotThere(said(lot, label)))?,
            None if named.len() > 1 => return Err(Mistake::Unclear(said(lot, label))),
            None => named.values().next().ok_or_else(|| Mistake::NotThere(said(lot, label)))?,
        };
        match fit {
            (id, 1) => Ok(id.clone()),
            _ => Err(Mistake::Unclear(said(lot, label))),
        }
    }
}

fn said(lot: Option<&str>, label: &str) -> String {
    let shown = crate::intake::excerpt;
    lot.map_or_else(|| format!("\"{}\"", shown(label)), |lot| format!("\"{}\" in lot \"{}\"", shown(label), shown(lot)))
}

fn migrated(first: First) -> Result<Notebook, (At, Mistake)> {
    let whole = |mistake| (None, mistake);
    let id = first.notebook.unwrap_or_else(|| format!("{DEVICE}-{}", number(&["notebook", &first.name])));
    let mut notebook = Notebook::new(&id).map_err(whole)?;
    let mut made = Made::default();
    let what = What::NameNotebook { name: first.name.clone() };
    made.add(entry(&["name", &first.name]), LOTS, "", what).map_err(whole)?;
    for (i, lot) in first.lots.into_iter().enumerate() {
        made.written_lot(lot).map_err(|mistake| (Some(("lots", i)), mistake))?;
    }
    for (i, tube) in first.tubes.into_iter().enumerate() {
        made.written_tube(tube).map_err(|mistake| (Some(("tubes", i)), mistake))?;
    }
    for (i, note) in first.notes.into_iter().enumerate() {
        made.note(note).map_err(|mistake| (Some(("notes", i)), mistake))?;
    }
    for (i, decision) in first.decisions.into_iter().enumerate() {
        made.decision(decision).map_err(|mistake| (Some(("decisions", i)), mistake))?;
    }
    notebook.changes = made.changes;
    Ok(notebook)
}
