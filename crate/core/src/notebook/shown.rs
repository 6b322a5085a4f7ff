//! What a notebook shows: the shapes that its fold gives.

use std::collections::BTreeMap;

use serde::Serialize;

use super::id::{ChangeId, Hash};
use super::observe::{Lamps, Seen};
use super::what::{LotField, NamedBench};
use crate::report::Verdict;

/// A value with who said it, and what others said without knowing of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Said<T> {
    /// What is shown: the last in the order of changes.
    pub value: T,
    /// The change that said it.
    pub by: ChangeId,
    /// When, as that device's clock had it.
    pub at: String,
    /// What else was said at the same time, last first, 20 at most; another value than what is
    /// shown.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<Also<T>>,
}

/// Something that was said at the same time as what is shown.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Also<T> {
    /// What was said.
    pub value: T,
    /// The change that said it.
    pub by: ChangeId,
    /// When.
    pub at: String,
}

/// Everything that a notebook shows, in the order in which it was added.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shown {
    /// Its name, once somebody named it.
    pub name: Option<Said<String>>,
    /// The lots.
    pub lots: Vec<Lot>,
    /// The tubes, also those of no lot.
    pub tubes: Vec<Tube>,
    /// The files of sweeps.
    pub sources: Vec<Source>,
    /// The notes.
    pub notes: Vec<Note>,
    /// What was seen beside the sweeps.
    pub observations: Vec<Observation>,
    /// The photos.
    pub photos: Vec<Photo>,
    /// Results of the lessons' exercises.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub exercises: Vec<Exercise>,
    /// How much the lamps of a yes/no tester count.
    pub lamps: Lamps,
    /// Changes of a later version, which are kept and not shown.
    pub not_understood: usize,
}

/// A lot of tubes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lot {
    /// Its name among changes.
    pub id: ChangeId,
    /// What is written of it.
    pub fields: BTreeMap<LotField, Said<String>>,
}

/// A tube.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tube {
    /// Its name among changes.
    pub id: ChangeId,
    /// The lot that it is in; `None` for none, or for one that is not shown.
    pub lot: Option<Said<ChangeId>>,
    /// What its owner calls it.
    pub label: Said<String>,
    /// The type on the label.
    #[serde(rename = "type")]
    pub kind: Option<Said<String>>,
    /// Where its sweeps come from.
    pub sources: Vec<Tie>,
    /// The user's decision.
    pub decision: Option<Said<Decision>>,
}

/// That sweeps of a tube come from a file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tie {
    /// The file.
    pub source: ChangeId,
    /// What the file calls the tube.
    pub named: String,
}

/// The user's decision on a tube.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Decision {
    /// What to do with it; `None` where a decision was taken back.
    pub decision: Option<Verdict>,
    /// Why.
    pub reason: String,
    /// The sweep's verdict at that moment.
    pub said: Option<Verdict>,
}

/// A file of sweeps.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Source {
    /// Its name among changes.
    pub id: ChangeId,
    /// Its file name.
    pub file: String,
    /// Of its bytes.
    pub hash: Hash,
    /// Number of bytes.
    pub bytes: u64,
    /// How it is read.
    pub read: Said<ReadHow>,
    /// Whether it is of the sample lot, which is invented.
    pub sample: bool,
}

/// How a file is read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadHow {
    /// The options of a [`crate::intake::Reading`].
    pub reading: Vec<String>,
    /// The bench profile that fills in what it does not say.
    pub bench: Option<NamedBench>,
}

/// A note.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Note {
    /// Its name among changes.
    pub id: ChangeId,
    /// On a lot or a tube; `None` for the notebook.
    pub of: Option<ChangeId>,
    /// The note.
    pub text: Said<String>,
}

/// What was seen of a tube beside its sweep.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Observation {
    /// Its name among changes.
    pub id: ChangeId,
    /// The tube.
    pub tube: ChangeId,
    /// The section by its name; `None` for the whole tube.
    pub section: Option<String>,
    /// What was seen.
    pub seen: Seen,
    /// The same in words.
    pub words: String,
    /// When it was written down.
    pub at: String,
}

/// A photo.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Photo {
    /// Its name among changes.
    pub id: ChangeId,
    /// Of a tube or a lot.
    pub of: ChangeId,
    /// Of its bytes.
    pub hash: Hash,
    /// Number of bytes.
    pub bytes: u64,
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// What it shows.
    pub caption: Said<String>,
}

/// The result of an exercise.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Exercise {
    /// Its name among changes.
    pub id: ChangeId,
    /// Its number.
    pub number: u32,
    /// Its level, from 0.
    pub level: u32,
    /// Points.
    pub score: u32,
    /// Of so many.
    pub of: u32,
    /// When, as that device's clock had it.
    pub at: String,
}

/// One line of the history.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Past {
    /// The change.
    pub id: ChangeId,
    /// When, as that device's clock had it.
    pub at: String,
    /// Whether it counts: whether it is not withdrawn.
    pub counts: bool,
    /// What it says: its JSON.
    pub what: serde_json::Value,
}

impl Shown {
    /// The observations of a tube, in order, as [`super::observe::weigh`] takes them.
    pub fn observed(&self, tube: &ChangeId) -> Vec<(Option<String>, Seen)> {
        let of_tube = self.observations.iter().filter(|o| o.tube == *tube);
        of_tube.map(|o| (o.section.clone(), o.seen.clone())).collect()
    }
}
