//! Laws of the notebook: merging, undoing, reading and writing, weighing.

mod first;
mod laws;
mod undo;
mod weighing;
mod written;

use super::observe::{Electrode, Lamp, Seen};
use super::{ChangeId, LotField, Notebook, TubeField, What};
use crate::report::Verdict;
use proptest::prelude::*;

/// The time that tests pass in.
const AT: &str = "2026-11-26T08:00:00Z";

fn empty() -> Notebook {
    Notebook::new("shed").unwrap()
}

/// Records one thing and returns its name.
fn one(notebook: &mut Notebook, device: &str, what: What) -> ChangeId {
    notebook.record(device, AT, &[what]).unwrap().remove(0).id
}

fn add_tube(label: &str) -> What {
    What::AddTube { lot: None, label: label.into(), kind: None }
}

/// A name that something in the notebook may or may not go by.
fn some_id() -> impl Strategy<Value = ChangeId> {
    (0..3usize, 1..12u64).prop_map(|(d, number)| ChangeId { device: ["a", "b", "c"][d].into(), number })
}

fn some_what() -> impl Strategy<Value = What> {
    let text = || "[a-zé \"\\\\]{0,4}x";
    let verdict = || prop::sample::select(vec![Verdict::Accept, Verdict::Restrict, Verdict::Retest, Verdict::Reject]);
    let seen = prop_oneof![
        any::<bool>().prop_map(|lit| Seen::Lamp { lamp: Lamp::Shorts, lit }),
        (1e3..1e12f64).prop_map(|ohm| Seen::Insulation {
            between: [Electrode::Plate, Electrode::Pin(3)],
            ohm,
            more: false
        }),
        (-1e-3..1e-3f64).prop_map(|ampere| Seen::HeaterCathode { ampere, volt: 0.1 + 0.2 }),
    ];
    prop_oneof![
        text().prop_map(|name| What::NameNotebook { name }),
        text().prop_map(|name| What::AddLot { name }),
        (some_id(), text()).prop_map(|(lot, to)| What::SetLot { lot, field: LotField::Seller, to }),
        (prop::option::of(some_id()), text(), prop::option::of(text())).prop_map(|(lot, label, kind)| What::AddTube {
            lot,
            label,
            kind
        }),
        (some_id(), text()).prop_map(|(tube, to)| What::SetTube { tube, field: TubeField::Label, to }),
        (some_id(), prop::option::of(some_id())).prop_map(|(tube, lot)| What::MoveTube { tube, lot }),
        (some_id(), some_id(), any::<bool>()).prop_map(|(tube, source, tied)| What::TieSource {
            tube,
            source,
            named: "1".into(),
            tied
        }),
        (prop::option::of(some_id()), text()).prop_map(|(of, text)| What::AddNote { of, text }),
        (some_id(), text()).prop_map(|(note, text)| What::SetNote { note, text }),
        (some_id(), prop::option::of(verdict()), text(), prop::option::of(verdict()))
            .prop_map(|(tube, decision, reason, said)| What::Decide { tube, decision, reason, said }),
        (some_id(), seen).prop_map(|(tube, seen)| What::Observe { tube, section: None, seen }),
        (0..9u32, 0..5u32).prop_map(|(number, score)| What::Exercise { number, level: 1, score, of: 5 }),
        (1.0..4.0f64).prop_map(|ratio| What::SetLamp { lamp: Lamp::Grid, ratio }),
        (some_id(), any::<bool>()).prop_map(|(entry, removed)| What::Remove { entry, removed }),
        prop::collection::vec(some_id(), 0..3).prop_map(|changes| What::Withdraw { changes }),
    ]
}

/// What happens to three copies of a notebook.
#[derive(Debug, Clone)]
enum Event {
    Record(usize, Vec<What>),
    Undo(usize),
    Redo(usize),
    /// One copy takes in another.
    Merge(usize, usize),
}

fn events() -> impl Strategy<Value = Vec<Event>> {
    let event = prop_oneof![
        6 => (0..3usize, prop::collection::vec(some_what(), 1..4)).prop_map(|(d, w)| Event::Record(d, w)),
        1 => (0..3usize).prop_map(Event::Undo),
        1 => (0..3usize).prop_map(Event::Redo),
        2 => (0..3usize, 0..3usize).prop_map(|(a, b)| Event::Merge(a, b)),
    ];
    prop::collection::vec(event, 0..25)
}

/// Three copies on devices of their own, after those events.
fn copies(events: &[Event]) -> [Notebook; 3] {
    let mut all = [empty(), empty(), empty()];
    for event in events {
        let device = |d: usize| ["a", "b", "c"][d];
        match event {
            Event::Record(d, what) => drop(all[*d].record(device(*d), AT, what).unwrap()),
            Event::Undo(d) => drop(all[*d].undo(device(*d), AT).unwrap()),
            Event::Redo(d) => drop(all[*d].redo(device(*d), AT).unwrap()),
            Event::Merge(a, b) => {
                let copy = all[*b].clone();
                all[*a].merge(&copy).unwrap();
            }
        }
    }
    all
}

fn merged(a: &Notebook, b: &Notebook) -> Notebook {
    let mut both = a.clone();
    both.merge(b).unwrap();
    both
}

#[test]
fn results_of_exercises_are_kept_merged_and_taken_back() {
    let (mut a, mut b) = (empty(), empty());
    let done = |number, score| What::Exercise { number, level: 0, score, of: 5 };
    a.record("a", AT, &[done(1, 5)]).unwrap();
    b.record("b", AT, &[done(2, 3)]).unwrap();
    a.merge(&b).unwrap();
    let told: Vec<(u32, u32)> = a.shown().exercises.iter().map(|e| (e.number, e.score)).collect();
    assert_eq!(told, [(1, 5), (2, 3)]);
    a.undo("a", AT).unwrap();
    assert_eq!(a.shown().exercises.len(), 1);
    assert!(a.record("a", AT, &[done(3, 6)]).is_err());
}
