//! Undo and redo.

use super::*;
use crate::notebook::Shown;

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn sixty_steps_go_back_and_forth_through_the_same_states(
        acts in prop::collection::vec(prop::collection::vec(some_what().prop_filter(
            "a withdrawal is no act of the user's",
            |w| !matches!(w, What::Withdraw { .. }),
        ), 1..4), 60),
        others in events(),
    ) {
        // Somebody else's changes are there as well, and stay.
        let mut n = copies(&others)[1].clone();
        let me = "me";
        let mut states: Vec<Shown> = vec![n.shown()];
        for act in &acts {
            n.record(me, AT, act).unwrap();
            states.push(n.shown());
        }
        for state in states.iter().rev().skip(1) {
            prop_assert!(n.can_undo(me));
            n.undo(me, AT).unwrap().unwrap();
            prop_assert_eq!(&n.shown(), state);
        }
        prop_assert!(!n.can_undo(me) && n.undo(me, AT).unwrap().is_none());
        for state in states.iter().skip(1) {
            prop_assert!(n.can_redo(me));
            n.redo(me, AT).unwrap().unwrap();
            prop_assert_eq!(&n.shown(), state);
        }
        prop_assert!(!n.can_redo(me) && n.redo(me, AT).unwrap().is_none());
        // Half way, to and fro.
        for _ in 0..3 {
            for _ in 0..25 { n.undo(me, AT).unwrap(); }
            prop_assert_eq!(&n.shown(), &states[35]);
            for _ in 0..25 { n.redo(me, AT).unwrap(); }
            prop_assert_eq!(&n.shown(), &states[60]);
        }
    }
}

#[test]
fn only_the_own_device_is_undone_and_a_new_act_ends_redoing() {
    let mut here = empty();
    one(&mut here, "a", add_tube("1"));
    let mut there = here.clone();
    one(&mut there, "b", add_tube("2"));
    here.merge(&there).unwrap();
    let labels = |n: &Notebook| n.shown().tubes.into_iter().map(|t| t.label.value).collect::<Vec<_>>();
    here.undo("a", AT).unwrap();
    assert_eq!(labels(&here), ["2"]);
    assert!(here.can_redo("a") && !here.can_redo("b"));
    one(&mut here, "a", add_tube("3"));
    assert!(!here.can_redo("a"));
    here.undo("a", AT).unwrap();
    assert!(!here.can_undo("a"), "the first is undone already");
    assert_eq!(labels(&here), ["2"]);
    here.redo("a", AT).unwrap();
    assert_eq!(labels(&here), ["2", "3"]);
    // A copy that has not heard of the undoing takes it in.
    there.merge(&here).unwrap();
    assert_eq!(labels(&there), ["2", "3"]);
}
