//! Which changes count, and which values are said for one field.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use super::change::Change;
use super::id::ChangeId;
use super::what::{Field, What};

/// The changes in their order, each with whether it counts: whether no withdrawal that
/// counts names it. A withdrawal only reaches changes before it, so that this is settled
/// from the last change to the first.
pub(super) fn in_effect(changes: &BTreeSet<Change>) -> Vec<(&Change, bool)> {
    let mut withdrawn: HashSet<&ChangeId> = HashSet::new();
    let mut all: Vec<(&Change, bool)> = Vec::with_capacity(changes.len());
    for change in changes.iter().rev() {
        let counts = !withdrawn.contains(&change.id);
        if let (true, What::Withdraw { changes }) = (counts, &change.what) {
            withdrawn.extend(changes.iter().filter(|id| **id != change.id));
        }
        all.push((change, counts));
    }
    all.reverse();
    all
}

/// The changes that count, by the field that they set, in order.
pub(super) struct Said<'n> {
    fields: BTreeMap<Field, Vec<&'n Change>>,
    /// What each change replaces, also of changes that do not count: a value that was
    /// replaced by one that was replaced in turn is not said any more.
    over: HashMap<&'n ChangeId, &'n [ChangeId]>,
}

impl<'n> Said<'n> {
    pub(super) fn new(all: &[(&'n Change, bool)]) -> Self {
        let mut fields: BTreeMap<Field, Vec<&'n Change>> = BTreeMap::new();
        for (change, _) in all.iter().filter(|(_, counts)| *counts) {
            for field in change.what.fields(&change.id) {
                fields.entry(field).or_default().push(change);
            }
        }
        let over = all.iter().filter(|(c, _)| !c.over.is_empty()).map(|(c, _)| (&c.id, c.over.as_slice())).collect();
        Self { fields, over }
    }

    /// The values that are said for a field and that nobody has replaced knowingly: the
    /// last in order is shown. None where nothing is said.
    pub(super) fn heads(&self, field: &Field) -> Vec<&'n Change> {
        let Some(said) = self.fields.get(field) else { return Vec::new() };
        let mut replaced: HashSet<&ChangeId> = HashSet::new();
        let mut to_see: Vec<&ChangeId> = said.iter().flat_map(|c| &c.over).collect();
        while let Some(id) = to_see.pop() {
            if replaced.insert(id) {
                to_see.extend(self.over.get(id).into_iter().flat_map(|ids| ids.iter()));
            }
        }
        // The last is shown whatever a file from outside says.
        let last = said.len() - 1;
        said.iter().enumerate().filter(|(i, c)| *i == last || !replaced.contains(&c.id)).map(|(_, c)| *c).collect()
    }

    pub(super) fn fields(&self) -> impl Iterator<Item = &Field> {
        self.fields.keys()
    }
}
