//! The corpora: repeatable, complete, read back as they were measured.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeMap;

use sweepbook_core::intake;
use sweepbook_core::lesson::LawChoice;
use sweepbook_tests::corpus::kinds::{KINDS, Level};
use sweepbook_tests::corpus::{Choice, Wish, make};

fn wish(tubes: usize) -> Wish {
    Wish {
        seed: 5,
        tubes,
        law: None,
        grid_current: Choice::Mix,
        plate_families: Choice::Mix,
        healthy: 0.25,
        kinds: Vec::new(),
        types: Vec::new(),
    }
}

#[test]
fn the_same_wish_gives_the_same_corpus_and_a_longer_one_begins_alike() {
    let (once, again, longer) = (make(&wish(12)), make(&wish(12)), make(&wish(16)));
    for (a, b) in once.iter().zip(&again).chain(once.iter().zip(&longer)) {
        assert_eq!((&a.text, &a.truth), (&b.text, &b.truth));
    }
}

#[test]
fn every_kind_comes_at_every_level_and_reads_back() {
    let items = make(&wish(4 * KINDS.len() * Level::ALL.len() / 3));
    let mut seen: BTreeMap<(String, Option<&str>), usize> = BTreeMap::new();
    for item in &items {
        *seen.entry((item.truth.kind.clone(), item.truth.level)).or_default() += 1;
        let back = intake::read(&item.truth.file, item.text.as_bytes()).unwrap();
        assert_eq!(back.len(), 1);
        assert_eq!(back[0].bench, item.sweep.bench);
        for (a, b) in back[0].sections.iter().zip(&item.sweep.sections) {
            // Rows equal to the last digit may be dropped on reading; there are few.
            assert!(a.points.len() * 10 >= b.points.len() * 9, "{:?}", item.truth);
        }
        assert_eq!(item.truth.grid_current, back[0].sections[0].points.ig.is_some());
    }
    for kind in KINDS {
        for level in Level::ALL {
            assert!(seen.contains_key(&(kind.to_owned(), Some(level.name()))), "{kind} {}", level.name());
        }
    }
    assert!(seen[&("healthy".to_owned(), None)] >= items.len() / 5);
}

#[test]
fn levels_are_ordered_for_each_leak() {
    for kind in ["plate-cathode-leakage", "gas", "grid-emission", "cathode-interface"] {
        let mut by_level: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
        let items = make(&Wish {
            kinds: vec![kind.to_owned()],
            types: vec!["12AU7".to_owned()],
            law: Some(LawChoice::Strips),
            grid_current: Choice::Yes,
            healthy: 0.0,
            ..wish(45)
        });
        for item in &items {
            let value = item.truth.value.as_ref().unwrap().as_object().unwrap().values().next().unwrap();
            by_level.entry(item.truth.level.unwrap()).or_default().push(value.as_f64().unwrap());
        }
        let middle = |level: &str| {
            let mut v = by_level[level].clone();
            v.sort_by(f64::total_cmp);
            v[v.len() / 2]
        };
        let (strong, medium, weak) = (middle("strong"), middle("medium"), middle("weak"));
        let falling = if kind == "plate-cathode-leakage" { -1.0 } else { 1.0 };
        assert!(
            falling * (strong - medium) > 0.0 && falling * (medium - weak) > 0.0,
            "{kind}: {strong} {medium} {weak}"
        );
    }
}
