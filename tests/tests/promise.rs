//! The promise behind every limit that is stated, on a sample: the command `promise` tries it in
//! full. A fault of twice the limit is named, one of half of it is not.

use sweepbook_tests::promise::{promised, tried};

/// Tubes a fault.
const TUBES: u64 = 12;
/// Of so few tubes one or two miss even where 96 of 100 keep the promise: more than two of
/// twelve have odds of 1 in 100 (binomial).
const MISSES: usize = 2;

#[test]
fn limits_keep_what_they_promise() {
    let faults = promised();
    assert!(faults.len() >= 12, "{} faults state a limit", faults.len());
    let mut broken = Vec::new();
    for fault in faults {
        let kept = tried(fault, 500..500 + TUBES);
        if kept.tubes < 4 || kept.at_twice + MISSES < kept.tubes || kept.at_half > MISSES {
            broken.push(kept);
        }
    }
    assert!(broken.is_empty(), "{broken:#?}");
}
