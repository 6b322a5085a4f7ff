//! Pairs of 200 tubes against networkx 3 (`min_weight_matching`).

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use sweepbook_core::law::SpaceCharge;
use sweepbook_core::lesson::Dice;
use sweepbook_core::pairing::{Candidate, Place, Region, Weights, distance, group};
use sweepbook_tests::ask_python;

const TUBES: usize = 200;

fn lot() -> Vec<Candidate> {
    let mut dice = Dice::new(11, "matching");
    let law = |dice: &mut Dice| SpaceCharge {
        ln_p: (1.3e-3_f64).ln() + 0.12 * dice.normal(),
        mu: 20.0 * (0.05 * dice.normal()).exp(),
        phi: 0.15 + 0.1 * dice.normal(),
        x: 1.4,
        w0: 0.1,
        w1: 0.0065,
        kvb: 256.0,
        kvl: 0.0,
    };
    (0..TUBES)
        .map(|tube| Candidate {
            tube,
            name: tube.to_string(),
            section: None,
            laws: vec![law(&mut dice), law(&mut dice)],
            highest: 300.0,
        })
        .collect()
}

#[test]
fn two_hundred_tubes_are_paired_with_the_same_total() {
    let all = lot();
    // All of them conduct there, so that no point is left out.
    let region =
        Region(vec![Place { va: 250.0, vg: -8.0 }, Place { va: 250.0, vg: -4.0 }, Place { va: 200.0, vg: -4.0 }]);
    let d = |i: usize, j: usize| distance(&all[i], &all[j], &region.0, Weights::default());
    let distances: Vec<Vec<f64>> = (0..TUBES).map(|i| (0..TUBES).map(|j| d(i, j)).collect()).collect();
    let answer = ask_python("matching.py", &serde_json::json!({ "distances": distances })).unwrap();
    let matched = group(&all, &region, Weights::default(), 2);
    let theirs = answer["total"].as_f64().unwrap();
    assert_eq!(answer["pairs"].as_array().unwrap().len(), TUBES / 2);
    assert_eq!(matched.groups.len(), TUBES / 2);
    // Distances are matched in units of 1e-9.
    assert!((matched.total - theirs).abs() < 1e-9 * TUBES as f64, "{} {theirs}", matched.total);
}
