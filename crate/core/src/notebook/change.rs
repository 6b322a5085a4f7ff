//! One change, as it is kept and written.

use std::cmp::Ordering;

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::{Map, Value};

use super::error::Mistake;
use super::id::{ChangeId, is_name};
use super::limits::{LAST_COUNT, LONGEST_CHANGE, LONGEST_TIME, MOST_IN_ACT};
use super::what::What;
use crate::sorting::{gathered, sort_by};

/// One change. Its text is all of it: what this version does not understand stays in the
/// text and is written back. Two changes are equal if their texts are.
///
/// The order in which changes are folded is that of clock, device, number; the rest only
/// keeps it total where two changes go by one name.
#[derive(Debug, Clone)]
pub struct Change {
    /// Its name.
    pub id: ChangeId,
    /// Lamport's clock: larger than that of every change which its device knew of.
    pub after: u64,
    /// UTC, as the device's own clock had it. Kept to be shown, never used for order.
    pub at: String,
    /// Number of the first of the changes that the user made by one act, on this device.
    pub act: Option<u64>,
    /// The changes whose value it replaces: those that were shown, or also said, when it
    /// was made.
    pub over: Vec<ChangeId>,
    /// What it says, as far as this version understands it.
    pub what: What,
    /// The whole as JSON on one line, names sorted.
    text: String,
}

/// What of a change is understood; other fields are left alone.
#[derive(Debug, Serialize, Deserialize)]
struct Envelope {
    device: String,
    number: u64,
    after: u64,
    #[serde(default)]
    at: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    act: Option<u64>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    over: Vec<ChangeId>,
    what: What,
}

impl Change {
    pub(super) fn new(
        id: ChangeId,
        after: u64,
        at: &str,
        act: Option<u64>,
        over: Vec<ChangeId>,
        what: What,
    ) -> Result<Self, Mistake> {
        let ChangeId { device, number } = id;
        let envelope = Envelope { device, number, after, at: at.to_owned(), act, over, what };
        // Its fields hold nothing that JSON does not have: numbers have been checked.
        envelope.what.check()?;
        let value = serde_json::to_value(&envelope).map_err(|e| Mistake::NotANotebook(e.to_string()))?;
        Self::of(&value)
    }

    /// Takes a change from its JSON.
    fn of(value: &Value) -> Result<Self, Mistake> {
        let text = sorted(value).to_string();
        if text.len() > LONGEST_CHANGE {
            return Err(Mistake::LongChange);
        }
        let no_change = |e: serde_json::Error| Mistake::NotANotebook(crate::intake::clean(&e.to_string()));
        let Envelope { device, number, after, at, act, over, what } =
            Envelope::deserialize(value).map_err(no_change)?;
        if !is_name(&device) {
            return Err(Mistake::bad("the name of a device", &device));
        }
        let counts = |n: u64| (1..=LAST_COUNT).contains(&n);
        if !(counts(number) && counts(after) && act.is_none_or(counts)) {
            return Err(Mistake::bad("the number of a change", &format!("{device}/{number} after {after}")));
        }
        if at.chars().count() > LONGEST_TIME {
            return Err(Mistake::Long { what: "a time", most: LONGEST_TIME });
        }
        if over.len() > MOST_IN_ACT {
            return Err(Mistake::ManyAtOnce);
        }
        what.check()?;
        Ok(Self { id: ChangeId { device, number }, after, at, act, over, what, text })
    }

    /// Reads a change that [`Change::text`] wrote.
    ///
    /// # Errors
    /// It is no change, or goes beyond a bound.
    pub fn read(text: &str) -> Result<Self, Mistake> {
        if text.len() > LONGEST_CHANGE {
            return Err(Mistake::LongChange);
        }
        let value: Value = crate::read_json(text).map_err(|e| Mistake::NotANotebook(e.to_string()))?;
        Self::of(&value)
    }

    /// The whole change as JSON on one line.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The first number of the act that it belongs to.
    pub(super) fn act(&self) -> u64 {
        self.act.unwrap_or(self.id.number)
    }

    fn key(&self) -> (u64, &ChangeId, &str) {
        (self.after, &self.id, &self.text)
    }
}

/// The same value with the names of every object sorted, whatever features the library is
/// built with: the text of a change has to be the same everywhere.
fn sorted(value: &Value) -> Value {
    match value {
        Value::Object(map) => {
            let mut by_name: Vec<(&String, &Value)> = map.iter().collect();
            sort_by(&mut by_name, |a, b| a.0.cmp(b.0));
            Value::Object(gathered::<_, Map<_, _>>(by_name.into_iter().map(|(k, v)| (k.clone(), sorted(v)))))
        }
        Value::Array(list) => Value::Array(list.iter().map(sorted).collect()),
        other => other.clone(),
    }
}

impl PartialEq for Change {
    fn eq(&self, other: &Self) -> bool {
        self.key() == other.key()
    }
}

impl Eq for Change {}

impl PartialOrd for Change {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Change {
    fn cmp(&self, other: &Self) -> Ordering {
        self.key().cmp(&other.key())
    }
}

impl Serialize for Change {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::Error;
        let value: Value = crate::read_json(&self.text).map_err(S::Error::custom)?;
        value.serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for Change {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Self::of(&Value::deserialize(deserializer)?).map_err(|mistake| mistake.placed())
    }
}
