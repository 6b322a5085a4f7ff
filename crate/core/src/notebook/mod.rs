//! The notebook: what the user writes of lots and tubes, as a log that is only added to.
//!
//! A notebook is a set of [`Change`]s; what is shown is a fold over them in the order of
//! Lamport's clock, device and number (L. Lamport, Time, clocks, and the ordering of events
//! in a distributed system, Communications of the ACM 21, 558, 1978). Two copies are merged
//! by taking the changes of both, so that the order of merging does not matter, merging
//! twice adds nothing, and nothing is lost. What two devices said of one thing without
//! knowing of each other is both kept: the later in order is shown, the other is listed
//! beside it.
//!
//! Times and the names of devices come from outside: core knows no clock.

mod change;
mod document;
mod effect;
mod error;
mod first;
mod fold;
mod id;
mod limits;
pub mod observe;
mod place;
mod shown;
#[cfg(test)]
mod tests;
mod what;

use std::collections::{BTreeSet, HashSet};

pub use change::Change;
pub use document::{Document, FIRST_SCHEMA, NOTEBOOK_SCHEMA, SCHEMA};
pub use error::{Mistake, NotebookError};
pub use id::{ChangeId, Hash};
pub use limits::{LARGEST_NOTEBOOK, LONGEST_LINE, LONGEST_NOTE, MOST_CHANGES};
pub use shown::{
    Also, Decision, Exercise, Lot, Note, Observation, Past, Photo, ReadHow, Said, Shown, Source, Tie, Tube,
};
pub use what::{LotField, NamedBench, TubeField, What};

use limits::{LAST_COUNT, MOST_IN_ACT};

/// A notebook: its name among notebooks, and its changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notebook {
    id: String,
    changes: BTreeSet<Change>,
}

impl Notebook {
    /// An empty notebook. Copies of one notebook share its `id`: letters, digits, `.`, `_`
    /// and `-`, 40 at most.
    ///
    /// # Errors
    /// The id is none.
    pub fn new(id: &str) -> Result<Self, Mistake> {
        if !id::is_name(id) {
            return Err(Mistake::bad("the name of a notebook among others", id));
        }
        Ok(Self { id: id.to_owned(), changes: BTreeSet::new() })
    }

    /// Its name among notebooks.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// Its changes in order.
    pub fn changes(&self) -> impl ExactSizeIterator<Item = &Change> {
        self.changes.iter()
    }

    /// Takes in a change that was made elsewhere; whether it was new.
    ///
    /// # Errors
    /// The notebook is full.
    pub fn take(&mut self, change: Change) -> Result<bool, Mistake> {
        if self.changes.len() >= MOST_CHANGES && !self.changes.contains(&change) {
            return Err(Mistake::ManyChanges);
        }
        Ok(self.changes.insert(change))
    }

    /// Takes in all changes of a copy; how many were new. The name of this one stays.
    ///
    /// # Errors
    /// The notebook would be too full; nothing is taken then.
    pub fn merge(&mut self, copy: &Self) -> Result<usize, Mistake> {
        let count = copy.changes.difference(&self.changes).count();
        if self.changes.len() + count > MOST_CHANGES {
            return Err(Mistake::ManyChanges);
        }
        self.changes.extend(copy.changes.iter().cloned());
        Ok(count)
    }

    /// Records what the user did by one act on a device, at a time (UTC, as text): all of
    /// it, or nothing. The new changes are returned for keeping.
    ///
    /// # Errors
    /// Something of it may not stand in a notebook.
    pub fn record(&mut self, device: &str, at: &str, acts: &[What]) -> Result<Vec<Change>, Mistake> {
        if acts.len() > MOST_IN_ACT {
            return Err(Mistake::ManyAtOnce);
        }
        if self.changes.len() + acts.len() > MOST_CHANGES {
            return Err(Mistake::ManyChanges);
        }
        let first = self.next_number(device);
        let act = (acts.len() > 1).then_some(first);
        let all = effect::in_effect(&self.changes);
        let said = effect::Said::new(&all);
        let clock = self.changes.last().map_or(0, |c| c.after);
        let mut new: Vec<Change> = Vec::with_capacity(acts.len());
        for (what, step) in acts.iter().zip(0..) {
            let count = |from: u64| from.saturating_add(step).min(LAST_COUNT);
            let id = ChangeId { device: device.to_owned(), number: count(first) };
            let mut over: Vec<ChangeId> =
                what.fields(&id).iter().flat_map(|f| said.heads(f)).map(|c| c.id.clone()).collect();
            // The last of them: only a file from outside has so many.
            over.drain(..over.len().saturating_sub(MOST_IN_ACT));
            new.push(Change::new(id, count(clock.saturating_add(1)), at, act, over, what.clone())?);
        }
        self.changes.extend(new.iter().cloned());
        Ok(new)
    }

    /// The names that the next changes of a device get begin with this number.
    pub fn next_number(&self, device: &str) -> u64 {
        let own = self.changes.iter().filter(|c| c.id.device == device).map(|c| c.id.number);
        own.max().unwrap_or(0).saturating_add(1).min(LAST_COUNT)
    }

    /// Takes back the last act of a device that is not taken back yet; the change that does,
    /// or `None` where nothing is left. What other devices did stays.
    ///
    /// # Errors
    /// The notebook is full.
    pub fn undo(&mut self, device: &str, at: &str) -> Result<Option<Change>, Mistake> {
        match self.to_undo(device) {
            Some(changes) => Ok(self.record(device, at, &[What::Withdraw { changes }])?.pop()),
            None => Ok(None),
        }
    }

    /// Takes back the last undo of a device, as long as it has done nothing else since.
    ///
    /// # Errors
    /// The notebook is full.
    pub fn redo(&mut self, device: &str, at: &str) -> Result<Option<Change>, Mistake> {
        match self.to_redo(device) {
            Some(undo) => Ok(self.record(device, at, &[What::Withdraw { changes: vec![undo] }])?.pop()),
            None => Ok(None),
        }
    }

    /// Whether there is something that [`Notebook::undo`] would take back.
    pub fn can_undo(&self, device: &str) -> bool {
        self.to_undo(device).is_some()
    }

    /// Whether there is something that [`Notebook::redo`] would bring back.
    pub fn can_redo(&self, device: &str) -> bool {
        self.to_redo(device).is_some()
    }

    fn to_undo(&self, device: &str) -> Option<Vec<ChangeId>> {
        let all = effect::in_effect(&self.changes);
        let own = |c: &Change| c.id.device == device && !matches!(c.what, What::Withdraw { .. });
        let done: Vec<&Change> = all.into_iter().filter(|(c, counts)| *counts && own(c)).map(|(c, _)| c).collect();
        let act = done.last()?.act();
        let mut ids: Vec<ChangeId> = done.iter().filter(|c| c.act() == act).map(|c| c.id.clone()).collect();
        ids.dedup();
        Some(ids)
    }

    fn to_redo(&self, device: &str) -> Option<ChangeId> {
        let all = effect::in_effect(&self.changes);
        let is_withdrawal = |c: &Change| matches!(c.what, What::Withdraw { .. });
        let withdrawals: HashSet<&ChangeId> =
            all.iter().filter(|(c, _)| is_withdrawal(c)).map(|(c, _)| &c.id).collect();
        // From the last: once the device did something else, what was undone before stays so.
        let own = all.iter().rev().filter(|(c, _)| c.id.device == device);
        own.take_while(|(c, _)| is_withdrawal(c))
            .filter(|(_, counts)| *counts)
            // An undo, and not a redo.
            .find(|(c, _)| match &c.what {
                What::Withdraw { changes } => changes.iter().all(|id| !withdrawals.contains(id)),
                _ => false,
            })
            .map(|(c, _)| c.id.clone())
    }

    /// What it shows.
    pub fn shown(&self) -> Shown {
        fold::fold(&self.changes)
    }

    /// Every change with whether it counts, last first.
    pub fn history(&self) -> Vec<Past> {
        let past = |(change, counts): (&Change, bool)| Past {
            id: change.id.clone(),
            at: change.at.clone(),
            counts,
            // The text is JSON: it was made of one.
            what: serde_json::from_str::<serde_json::Value>(change.text())
                .ok()
                .and_then(|mut whole| whole.get_mut("what").map(serde_json::Value::take))
                .unwrap_or_default(),
        };
        effect::in_effect(&self.changes).into_iter().rev().map(past).collect()
    }
}
