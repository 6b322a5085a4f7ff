//! Merging two copies.

use super::*;
use crate::notebook::Change;

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn merging_does_not_depend_on_order_nor_on_how_often(events in events()) {
        let [a, b, c] = copies(&events);
        prop_assert_eq!(merged(&a, &b), merged(&b, &a));
        prop_assert_eq!(merged(&merged(&a, &b), &c), merged(&a, &merged(&b, &c)));
        prop_assert_eq!(merged(&a, &a), a.clone());
        let all = merged(&merged(&a, &b), &c);
        prop_assert_eq!(all.shown(), merged(&merged(&c, &b), &a).shown());
        prop_assert_eq!(merged(&all, &b), all);
    }

    #[test]
    fn merging_loses_nothing(events in events()) {
        let [a, b, _] = copies(&events);
        let both = merged(&a, &b);
        let texts: Vec<&str> = both.changes().map(Change::text).collect();
        for change in a.changes().chain(b.changes()) {
            prop_assert!(texts.contains(&change.text()));
        }
        prop_assert!(both.changes().all(|c| a.changes().chain(b.changes()).any(|own| own == c)));
        prop_assert_eq!(both.history().len(), both.changes().len());
    }

    #[test]
    fn changes_arrive_one_by_one_in_any_order(events in events(), seed in any::<u64>()) {
        let [a, b, _] = copies(&events);
        let both = merged(&a, &b);
        let mut texts: Vec<String> = both.changes().map(|c| c.text().to_owned()).collect();
        let turn = if texts.is_empty() { 0 } else { (seed % texts.len() as u64) as usize };
        texts.rotate_left(turn);
        texts.reverse();
        let mut other = empty();
        for text in &texts {
            prop_assert!(other.take(Change::read(text).unwrap()).unwrap());
            prop_assert!(!other.take(Change::read(text).unwrap()).unwrap());
        }
        prop_assert_eq!(other, both);
    }

    #[test]
    fn a_change_comes_after_all_that_its_device_knew(events in events(), d in 0..3usize) {
        let mut all = copies(&events);
        let before = all[d].changes().map(|c| c.after).max().unwrap_or(0);
        let id = one(&mut all[d], ["a", "b", "c"][d], add_tube("x"));
        let last = all[d].changes().last().unwrap().clone();
        prop_assert_eq!((last.id, last.after), (id, before + 1));
    }
}

#[test]
fn what_two_devices_say_at_once_is_both_kept() {
    let mut here = empty();
    let lot = one(&mut here, "a", What::AddLot { name: "Lot 1".into() });
    let seller = |lot: &ChangeId, to: &str| What::SetLot { lot: lot.clone(), field: LotField::Seller, to: to.into() };
    one(&mut here, "a", seller(&lot, "Mayer"));
    let mut there = here.clone();
    one(&mut here, "a", seller(&lot, "Meyer"));
    one(&mut there, "b", seller(&lot, "Maier"));
    here.merge(&there).unwrap();
    let said = |n: &Notebook| n.shown().lots[0].fields[&LotField::Seller].clone();
    let also = |n: &Notebook| said(n).also.into_iter().map(|a| a.value).collect::<Vec<_>>();
    // Device b is the later at the same clock. What both knew is not said any more.
    assert_eq!((said(&here).value.as_str(), also(&here)), ("Maier", vec!["Meyer".to_owned()]));
    // Who sees both and says one has settled it, everywhere.
    one(&mut here, "a", seller(&lot, "Meyer"));
    assert_eq!((said(&here).value.as_str(), also(&here)), ("Meyer", vec![]));
    there.merge(&here).unwrap();
    assert_eq!(said(&there), said(&here));
    assert_eq!(here.history().len(), 5);
    // Taken back, the question is open again.
    here.undo("a", AT).unwrap();
    assert_eq!(also(&here), ["Meyer"]);
}

#[test]
fn a_tube_moves_and_a_lot_that_is_gone_leaves_its_tubes() {
    let mut n = empty();
    let first = one(&mut n, "a", What::AddLot { name: "1".into() });
    let second = one(&mut n, "a", What::AddLot { name: "2".into() });
    let what = What::AddTube { lot: Some(first.clone()), label: "B-17".into(), kind: Some("6SN7GTB".into()) };
    let tube = one(&mut n, "a", what);
    let lot = |n: &Notebook| n.shown().tubes[0].lot.clone().map(|l| l.value);
    assert_eq!(lot(&n), Some(first));
    one(&mut n, "a", What::MoveTube { tube: tube.clone(), lot: Some(second.clone()) });
    assert_eq!(lot(&n), Some(second.clone()));
    one(&mut n, "a", What::Remove { entry: second, removed: true });
    assert_eq!((lot(&n), n.shown().lots.len()), (None, 1));
    one(&mut n, "a", What::Remove { entry: tube, removed: true });
    assert!(n.shown().tubes.is_empty());
    n.undo("a", AT).unwrap();
    n.undo("a", AT).unwrap();
    assert_eq!(n.shown().lots.len(), 2);
    assert!(lot(&n).is_some());
}

#[test]
fn a_decision_against_the_sweep_needs_a_reason() {
    let mut n = empty();
    let tube = one(&mut n, "a", add_tube("B-17"));
    let decide = |decision, reason: &str| What::Decide {
        tube: tube.clone(),
        decision: Some(decision),
        reason: reason.into(),
        said: Some(Verdict::Reject),
    };
    let refused = n.record("a", AT, &[decide(Verdict::Accept, " \n")]).unwrap_err();
    assert!(refused.to_string().contains("no reason") && refused.mend().contains("why"));
    assert_eq!(n.changes().len(), 1, "nothing of it is taken");
    one(&mut n, "a", decide(Verdict::Reject, ""));
    one(&mut n, "a", decide(Verdict::Accept, "Cleaned the base; it leaks no more."));
    let shown = n.shown().tubes[0].decision.clone().unwrap().value;
    assert_eq!((shown.decision, shown.said), (Some(Verdict::Accept), Some(Verdict::Reject)));
}
