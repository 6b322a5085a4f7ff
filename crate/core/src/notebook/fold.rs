//! From changes to what is shown.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use super::change::Change;
use super::effect::{self, in_effect};
use super::id::ChangeId;
use super::observe::{Lamp, Lamps};
use super::shown::{Also, Decision, Exercise, Lot, Note, Observation, Photo, ReadHow, Said, Shown, Source, Tie, Tube};
use super::what::{Field, LotField, TubeField, What};
use crate::sorting::gathered;

/// Most values that are listed beside the one shown (by construction: more are no help);
/// the history has all.
const MOST_ALSO: usize = 20;

/// Folds changes into what is shown.
pub(super) fn fold(changes: &BTreeSet<Change>) -> Shown {
    let all = in_effect(changes);
    let said = effect::Said::new(&all);
    let folding = Folding { said: &said };
    let mut shown = Shown {
        name: folding.value(&Field::Name, |w| match w {
            What::NameNotebook { name } => Some(name.clone()),
            _ => None,
        }),
        lots: Vec::new(),
        tubes: Vec::new(),
        sources: Vec::new(),
        notes: Vec::new(),
        observations: Vec::new(),
        photos: Vec::new(),
        exercises: Vec::new(),
        lamps: Lamps {
            shorts: folding.lamp(Lamp::Shorts).unwrap_or(Lamps::default().shorts),
            grid: folding.lamp(Lamp::Grid).unwrap_or(Lamps::default().grid),
        },
        not_understood: all.iter().filter(|(c, _)| matches!(c.what, What::Unknown)).count(),
    };
    let ties = folding.ties();
    // Two changes of one name, as a copied device makes them, show one entry.
    let mut seen = HashSet::new();
    for (change, _) in all.iter().filter(|(_, counts)| *counts) {
        if change.what.fields(&change.id).is_empty()
            && !matches!(change.what, What::Observe { .. } | What::Exercise { .. })
        {
            continue;
        }
        if !folding.removed(&change.id) && !seen.contains(&change.id) && folding.add(change, &ties, &mut shown) {
            seen.insert(&change.id);
        }
    }
    let lots: HashSet<&ChangeId> = shown.lots.iter().map(|l| &l.id).collect();
    for tube in &mut shown.tubes {
        tube.lot = tube.lot.take().filter(|lot| lots.contains(&lot.value));
    }
    shown
}

struct Folding<'f, 'n> {
    said: &'f effect::Said<'n>,
}

impl Folding<'_, '_> {
    /// The value of a field: the last said, with what else is said.
    fn value<T: PartialEq>(&self, field: &Field, of: impl Fn(&What) -> Option<T>) -> Option<Said<T>> {
        let mut heads = self.said.heads(field).into_iter().rev().filter_map(|c| Some((c, of(&c.what)?)));
        let (last, value) = heads.next()?;
        let mut also: Vec<Also<T>> = Vec::new();
        for (change, other) in heads {
            if also.len() < MOST_ALSO && other != value && also.iter().all(|a| a.value != other) {
                also.push(Also { value: other, by: change.id.clone(), at: change.at.clone() });
            }
        }
        Some(Said { value, by: last.id.clone(), at: last.at.clone(), also })
    }

    fn lamp(&self, lamp: Lamp) -> Option<f64> {
        let ratio = self.value(&Field::Lamp(lamp), |w| match w {
            What::SetLamp { ratio, .. } => Some(*ratio),
            _ => None,
        });
        ratio.map(|said| said.value)
    }

    fn removed(&self, id: &ChangeId) -> bool {
        let removed = self.value(&Field::Removed(id.clone()), |w| match w {
            What::Remove { removed, .. } => Some(*removed),
            _ => None,
        });
        removed.is_some_and(|said| said.value)
    }

    fn lot_field(&self, lot: &ChangeId, field: LotField) -> Option<Said<String>> {
        self.value(&Field::Lot(lot.clone(), field), |w| match w {
            What::AddLot { name } => Some(name.clone()),
            What::SetLot { to, .. } => Some(to.clone()),
            _ => None,
        })
    }

    fn tube_field(&self, tube: &ChangeId, field: TubeField) -> Option<Said<String>> {
        self.value(&Field::Tube(tube.clone(), field), |w| match w {
            What::AddTube { label, .. } if field == TubeField::Label => Some(label.clone()),
            What::AddTube { kind, .. } => Some(kind.clone().unwrap_or_default()),
            What::SetTube { to, .. } => Some(to.clone()),
            _ => None,
        })
    }

    fn place(&self, tube: &ChangeId) -> Option<Said<ChangeId>> {
        let said = self.value(&Field::Place(tube.clone()), |w| match w {
            What::AddTube { lot, .. } | What::MoveTube { lot, .. } => Some(lot.clone()),
            _ => None,
        })?;
        let also = said.also.into_iter();
        let also = also.filter_map(|a| Some(Also { value: a.value?, by: a.by, at: a.at })).collect();
        Some(Said { value: said.value?, by: said.by, at: said.at, also })
    }

    fn text(&self, field: &Field) -> Option<Said<String>> {
        self.value(field, |w| match w {
            What::AddNote { text, .. } | What::SetNote { text, .. } => Some(text.clone()),
            What::AddPhoto { caption, .. } | What::SetPhoto { caption, .. } => Some(caption.clone()),
            _ => None,
        })
    }

    fn decision(&self, tube: &ChangeId) -> Option<Said<Decision>> {
        self.value(&Field::Decision(tube.clone()), |w| match w {
            What::Decide { decision, reason, said, .. } => {
                Some(Decision { decision: *decision, reason: reason.clone(), said: *said })
            }
            _ => None,
        })
    }

    fn read(&self, source: &ChangeId) -> Option<Said<ReadHow>> {
        self.value(&Field::Reading(source.clone()), |w| match w {
            What::AddSource { reading, bench, .. } | What::ReadSource { reading, bench, .. } => {
                Some(ReadHow { reading: reading.clone(), bench: bench.clone() })
            }
            _ => None,
        })
    }

    /// Where the sweeps of each tube come from.
    fn ties(&self) -> BTreeMap<ChangeId, Vec<Tie>> {
        let mut ties: BTreeMap<ChangeId, Vec<Tie>> = BTreeMap::new();
        for field in self.said.fields() {
            let Field::Tie(tube, source) = field else { continue };
            let named = self.value(field, |w| match w {
                What::TieSource { named, tied, .. } => Some(tied.then(|| named.clone())),
                _ => None,
            });
            if let Some(named) = named.and_then(|said| said.value) {
                ties.entry(tube.clone()).or_default().push(Tie { source: source.clone(), named });
            }
        }
        ties
    }

    /// Shows what a change adds; whether it adds anything.
    fn add(&self, change: &Change, ties: &BTreeMap<ChangeId, Vec<Tie>>, shown: &mut Shown) -> bool {
        let id = change.id.clone();
        match &change.what {
            What::AddLot { .. } => {
                let fields = gathered(LotField::ALL.into_iter().filter_map(|f| Some((f, self.lot_field(&id, f)?))));
                shown.lots.push(Lot { id, fields });
            }
            What::AddTube { .. } => {
                let Some(label) = self.tube_field(&id, TubeField::Label) else { return false };
                let kind = self.tube_field(&id, TubeField::Type).filter(|k| !k.value.is_empty() || !k.also.is_empty());
                let sources = ties.get(&id).cloned().unwrap_or_default();
                let (lot, decision) = (self.place(&id), self.decision(&id));
                shown.tubes.push(Tube { id, lot, label, kind, sources, decision });
            }
            What::AddSource { file, hash, bytes, sample, .. } => {
                let Some(read) = self.read(&id) else { return false };
                let (file, hash, bytes, sample) = (file.clone(), hash.clone(), *bytes, *sample);
                shown.sources.push(Source { id, file, hash, bytes, read, sample });
            }
            What::AddNote { of, .. } => {
                let Some(text) = self.text(&Field::Text(id.clone())) else { return false };
                shown.notes.push(Note { id, of: of.clone(), text });
            }
            What::AddPhoto { of, hash, bytes, width, height, .. } => {
                let Some(caption) = self.text(&Field::Caption(id.clone())) else { return false };
                let (of, hash) = (of.clone(), hash.clone());
                shown.photos.push(Photo { id, of, hash, bytes: *bytes, width: *width, height: *height, caption });
            }
            What::Observe { tube, section, seen } => shown.observations.push(Observation {
                id,
                tube: tube.clone(),
                section: section.clone(),
                seen: seen.clone(),
                words: seen.words(),
                at: change.at.clone(),
            }),
            What::Exercise { number, level, score, of } => shown.exercises.push(Exercise {
                id,
                number: *number,
                level: *level,
                score: *score,
                of: *of,
                at: change.at.clone(),
            }),
            _ => return false,
        }
        true
    }
}
