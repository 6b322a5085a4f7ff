//! The tables against the values that stand in them, and what is made of them.

use proptest::prelude::*;

use super::*;

#[test]
fn plans_are_those_of_the_table() {
    // MIL-STD-105E, tables I and II-A: batch, AQL, letter, sample, acceptance number.
    for (batch, aql, letter, sample, accept) in [
        (100, 4.0, 'F', 20, 2),
        (100, 2.5, 'F', 20, 1),
        (100, 0.65, 'F', 20, 0),
        (500, 2.5, 'H', 50, 3),
        (500, 6.5, 'H', 50, 7),
        (1000, 1.0, 'J', 80, 2),
        (3000, 4.0, 'K', 125, 10),
        (10_000, 0.65, 'L', 200, 3),
        // Arrows: down to the next plan, up to the one before.
        (100, 1.5, 'G', 32, 1),
        (100, 1.0, 'E', 13, 0),
        (20, 6.5, 'D', 8, 1),
        (20, 4.0, 'B', 3, 0),
        (3000, 15.0, 'J', 80, 21),
    ] {
        let plan = plan(batch, aql).unwrap();
        assert_eq!((plan.letter, plan.sample, plan.accept), (letter, sample, accept), "{batch} at {aql}");
        assert!(!plan.whole);
    }
}

#[test]
fn a_sample_as_large_as_the_batch_is_all_of_it() {
    let plan = plan(12, 0.65).unwrap();
    assert_eq!((plan.sample, plan.accept, plan.whole), (12, 0, true));
    assert_eq!(super::plan(1, 4.0), None);
    assert_eq!(super::plan(100, 5.0), None);
}

#[test]
fn it_is_decided_once_nothing_can_change_it() {
    let plan = plan(100, 4.0).unwrap();
    assert_eq!(plan.outcome(3, 0), Outcome::SentBack);
    assert_eq!(plan.outcome(2, 17), Outcome::Open { missing: 1 });
    assert_eq!(plan.outcome(1, 18), Outcome::Taken);
    assert_eq!(plan.outcome(2, 18), Outcome::Taken);
    assert_eq!(plan.outcome(0, 0), Outcome::Open { missing: 20 });
}

proptest! {
    #[test]
    fn every_batch_has_a_plan_at_every_level_and_worse_batches_are_taken_less(
        batch in 2_usize..2_000_000, level in 0_usize..8, a in 0.0_f64..1.0, b in 0.0_f64..1.0,
    ) {
        let plan = plan(batch, AQLS[level]).unwrap();
        prop_assert!(plan.sample <= batch && plan.accept < 22);
        let (better, worse) = (a.min(b), a.max(b));
        prop_assert!(plan.taken(better) >= plan.taken(worse) - 1e-12);
    }
}
