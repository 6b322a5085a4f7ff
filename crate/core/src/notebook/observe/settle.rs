//! Which observation would settle an open question.

use serde::Serialize;

use super::{Electrode, Lamps, Seen};
use crate::report::Finding;
use crate::sorting::sort_by;

/// A question is open where both causes are at least this likely (a judgement: one chance
/// in ten is worth a measurement).
const OPEN: f64 = 0.1;
/// Odds between the two by which a measurement has to part them, to be called settling:
/// from even to nine in ten (by construction).
const SETTLES: f64 = 9.0;

/// A measurement that would settle which of two causes it is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ask {
    /// The likelier cause.
    pub fault: String,
    /// Its rival.
    pub rival: String,
    /// The two electrodes between which to measure, cold.
    pub between: [Electrode; 2],
    /// What to do, one sentence.
    pub words: String,
}

/// Paths that a meter can be put on. Tapping and whatever takes the heater off its rating
/// is never asked for: a bench may be live.
const PATHS: [[Electrode; 2]; 4] = [
    [Electrode::Plate, Electrode::Cathode],
    [Electrode::Plate, Electrode::Grid],
    [Electrode::Grid, Electrode::Cathode],
    [Electrode::Heater, Electrode::Cathode],
];
/// What a meter shows on a path that leaks, ohm (by construction: any value that counts).
const LEAK: f64 = 1e6;

/// The observation that would settle the open question of a finding: which of it and its
/// likeliest alternative it is. `None` where nothing is open, or nothing that has not been
/// observed (`made`) would settle it. Confidences as they stand now: `now(fault)`.
pub fn would_settle(finding: &Finding, now: impl Fn(&str) -> f64, made: &[Seen]) -> Option<Ask> {
    let mut causes: Vec<(&str, f64)> = std::iter::once(finding.fault.as_str())
        .chain(finding.alternatives.iter().map(|a| a.fault.as_str()))
        .map(|fault| (fault, now(fault)))
        .filter(|(_, p)| *p >= OPEN)
        .collect();
    sort_by(&mut causes, |a, b| b.1.total_cmp(&a.1));
    let (fault, rival) = (causes.first()?.0, causes.get(1)?.0);
    let parts = |between: [Electrode; 2]| {
        let seen = Seen::Insulation { between, ohm: LEAK, more: false };
        if made.iter().any(|m| m.same_measurement(&seen)) {
            return 1.0;
        }
        let ratios = seen.ratios(&Lamps::default(), None);
        let of = |fault: &str| ratios.iter().find(|r| r.fault == fault).map_or(1.0, |r| r.ratio);
        let parted = of(fault) / of(rival);
        parted.max(parted.recip())
    };
    // The first of equals: the path of the likelier cause.
    let own = |between: &[Electrode; 2]| super::ratios::path(*between) == Some(fault);
    let mut paths = PATHS.to_vec();
    paths.sort_by_key(|between| !own(between));
    let between = paths.into_iter().find(|between| parts(*between) >= SETTLES)?;
    let words = format!(
        "Measure the insulation from {} to {} cold, tube out of its socket.",
        between[0].word(),
        between[1].word()
    );
    Some(Ask { fault: fault.to_owned(), rival: rival.to_owned(), between, words })
}
