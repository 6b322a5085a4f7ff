//! Groups against trying all ways.

use proptest::prelude::*;

use super::*;

/// A candidate like a 6SN7 that differs in current and mu.
fn candidate(tube: usize, current: f64, mu: f64) -> Candidate {
    let law = SpaceCharge {
        ln_p: libm::log(1.3e-3 * current),
        mu: 20.0 * mu,
        phi: 0.15,
        x: 1.4,
        w0: 0.1,
        w1: 0.0065,
        kvb: 256.0,
        kvl: 0.0,
    };
    Candidate { tube, name: tube.to_string(), section: None, laws: vec![law], highest: 300.0 }
}

fn region() -> Region {
    Region::around(Place { va: 250.0, vg: -8.0 })
}

/// The least sum of all ways to make groups of `size`, as many as there are.
fn least(all: &[Candidate], size: usize) -> f64 {
    fn go(free: &[usize], spare: usize, size: usize, d: &dyn Fn(usize, usize) -> f64) -> f64 {
        let Some((&first, rest)) = free.split_first() else { return 0.0 };
        let mut best = if spare > 0 { go(rest, spare - 1, size, d) } else { f64::INFINITY };
        // Every choice of mates of the first one.
        for mask in 0_u32..1 << rest.len() {
            if mask.count_ones() as usize != size - 1 {
                continue;
            }
            let group: Vec<usize> =
                std::iter::once(first).chain((0..rest.len()).filter(|k| mask >> k & 1 == 1).map(|k| rest[k])).collect();
            let others: Vec<usize> = (0..rest.len()).filter(|k| mask >> k & 1 == 0).map(|k| rest[k]).collect();
            let own: f64 =
                (0..size).flat_map(|i| (0..i).map(move |j| (i, j))).map(|(i, j)| d(group[i], group[j])).sum();
            best = best.min(own + go(&others, spare, size, d));
        }
        best
    }
    let places = region().conducting(all);
    let d = |i: usize, j: usize| distance(&all[i], &all[j], &places, Weights::default());
    go(&(0..all.len()).collect::<Vec<_>>(), all.len() % size, size, &d)
}

fn lot(most: usize) -> impl Strategy<Value = Vec<Candidate>> {
    proptest::collection::vec((0.7_f64..1.3, 0.9_f64..1.1), 0..=most)
        .prop_map(|v| v.iter().enumerate().map(|(i, (c, m))| candidate(i, *c, *m)).collect())
}

proptest! {
    #[test]
    fn pairs_have_the_least_sum_of_all_ways(all in lot(10)) {
        let matched = group(&all, &region(), Weights::default(), 2);
        prop_assert!((matched.total - least(&all, 2)).abs() < 1e-7, "{} {}", matched.total, least(&all, 2));
        prop_assert_eq!(matched.bound, matched.total);
        prop_assert_eq!(matched.groups.len(), all.len() / 2);
    }

    #[test]
    fn larger_groups_lie_between_the_bound_and_what_all_ways_give(all in lot(9), size in 3_usize..5) {
        let matched = group(&all, &region(), Weights::default(), size);
        if all.len() >= size {
            let least = least(&all, size);
            prop_assert!(matched.bound <= least + 1e-7 && least <= matched.total + 1e-7);
        }
        let mut seen: Vec<usize> = matched.groups.iter().flat_map(|g| g.members.clone()).chain(matched.left.clone()).collect();
        seen.sort_unstable();
        prop_assert_eq!(seen, (0..all.len()).collect::<Vec<_>>());
        prop_assert!(matched.groups.iter().all(|g| g.members.len() == size));
    }

    #[test]
    fn a_tube_is_no_distance_from_itself_and_the_way_back_is_as_long(a in 0.7_f64..1.3, b in 0.7_f64..1.3) {
        let (a, b) = (candidate(0, a, 1.0), candidate(1, b, 1.0));
        let places = region().0;
        prop_assert_eq!(distance(&a, &a, &places, Weights::default()), 0.0);
        let there = distance(&a, &b, &places, Weights::default());
        prop_assert!((there - distance(&b, &a, &places, Weights::default())).abs() < 1e-12);
    }
}

#[test]
fn what_remains_is_said_in_percent_and_in_volts_of_bias() {
    // 4 % more perveance: 4 % more current and transconductance everywhere.
    let all = [candidate(0, 1.0, 1.0), candidate(1, 1.04, 1.0)];
    let matched = group(&all, &region(), Weights::default(), 2);
    let (d, m) = (matched.groups[0].distance, matched.groups[0].mismatch);
    let apart = 0.04 / 1.02;
    assert!((d - apart).abs() < 1e-6 && (m.current - apart).abs() < 1e-6 && (m.transconductance - apart).abs() < 1e-6);
    let slopes = all[0].laws[0].slopes(250.0, -8.0);
    let bias = 0.04 * slopes.ia / (1.02 * slopes.gm);
    assert!((m.bias - bias).abs() < 1e-9, "{} {bias}", m.bias);
}

#[test]
fn weights_choose_what_counts() {
    // The same current at the operating point with another mu, and another current with the same mu.
    let same = candidate(0, 1.0, 1.0);
    let other = candidate(1, 1.1, 1.0);
    let only = |current, transconductance| {
        distance(&same, &other, &[Place { va: 250.0, vg: -8.0 }], Weights { current, transconductance })
    };
    let slopes = [&same, &other].map(|c| c.laws[0].slopes(250.0, -8.0));
    let apart = |a: f64, b: f64| 2.0 * (a - b).abs() / (a + b);
    assert!((only(1.0, 0.0) - apart(slopes[0].ia, slopes[1].ia)).abs() < 1e-12);
    assert!((only(0.0, 1.0) - apart(slopes[0].gm, slopes[1].gm)).abs() < 1e-12);
}

#[test]
fn few_are_left_and_none_fails() {
    for n in 0..4 {
        let all: Vec<Candidate> = (0..n).map(|i| candidate(i, 1.0, 1.0)).collect();
        let matched = group(&all, &region(), Weights::default(), 4);
        assert_eq!((matched.groups.len(), matched.left.len()), (0, n));
    }
}

#[test]
fn a_lot_is_matched_type_by_type_and_says_who_took_no_part() {
    use crate::lesson::{self, LawChoice, VirtualBench};
    let judged: Vec<Judged> =
        [("12AX7", None), ("12AU7", None), ("12AX7", Some(2e5)), ("12AX7", None), ("12AU7", None)]
            .iter()
            .enumerate()
            .map(|(i, (kind, leak))| {
                let known = crate::handbook::find(kind).unwrap();
                let mut specimen = lesson::specimen(known, LawChoice::Koren, i as u64 + 1).unwrap();
                specimen.sections[0].defects.plate_cathode = *leak;
                let mut tube = lesson::measure(&specimen, &VirtualBench::usual(known).unwrap(), i as u64);
                tube.name = format!("t{i}");
                tube.kind = Some((*kind).to_owned());
                crate::judge_among(&tube, &[])
            })
            .collect();
    let types = match_lot(&judged.iter().collect::<Vec<_>>(), &Wanted::default());
    let of =
        |t: &OfType| t.groups.iter().map(|g| g.members.iter().map(|m| m.tube).collect()).collect::<Vec<Vec<usize>>>();
    assert_eq!((types[0].kind.as_deref(), of(&types[0])), (Some("12AX7"), vec![vec![0, 3]]));
    assert_eq!((types[0].left_out[0].name.as_str(), types[0].left_out[0].tube), ("t2", 2));
    assert_eq!((types[1].kind.as_deref(), of(&types[1])), (Some("12AU7"), vec![vec![1, 4]]));
    let sections = match_lot(&judged.iter().collect::<Vec<_>>(), &Wanted { of: Of::Sections, ..Wanted::default() });
    assert_eq!(sections[0].groups.len(), 2);
    assert!(sections[0].groups.iter().all(|g| g.members.iter().all(|m| m.section.is_some())));
}
