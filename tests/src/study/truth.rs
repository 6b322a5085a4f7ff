//! Whether a finding is true of a simulated tube and bench: the fault that was built in,
//! or one that came with it (a short trips the limit that was set for it).

use sweepbook_core::handbook;
use sweepbook_core::lesson::{Resolution, mismatch};
use sweepbook_core::report::Finding;

use super::score::Told;
use crate::corpus::Item;

/// Sections further apart than this are not matched (reference 3.6).
const MATCHED: f64 = 0.10;
/// A curve that comes down to this share of the top has reached cutoff.
const CUT_OFF: f64 = 0.01;
/// An offset named is the true one within this factor.
const SAME_OFFSET: f64 = 2.0;
/// A step of more than this share of the top is coarse: the corpus's weakest level.
const COARSE: f64 = 1.0 / 150.0;

/// Whether what a finding says is so, in the section where it says so.
pub fn is_true(item: &Item, told: &Told, finding: &Finding) -> bool {
    if finding.fault == told.kind {
        return told.is_there(finding);
    }
    match finding.fault.as_str() {
        "current-limit" => item.bench.current_limit.is_some_and(|limit| demand(item) > limit),
        "section-mismatch" => {
            handbook::find(&item.truth.really).and_then(|t| mismatch(t, &item.tube)).is_some_and(|m| m > MATCHED)
        }
        "short-range" => lowest_share(item) > CUT_OFF,
        "zero-offset" => finding.value.as_ref().is_some_and(|v| {
            let share = v.estimate / item.bench.plate_meter.offset;
            share > 1.0 / SAME_OFFSET && share < SAME_OFFSET
        }),
        "coarse-resolution" => {
            matches!(item.bench.plate_meter.resolution, Resolution::Step(step) if step > COARSE * demand(item))
        }
        _ => false,
    }
}

/// Largest current that the sweep asks of a sound section and its plate–cathode path, A.
fn demand(item: &Item) -> f64 {
    let of = |s: &sweepbook_core::lesson::VirtualSection| {
        let path = s.defects.plate_cathode.map_or(0.0, |ohm| 1.0 / ohm);
        item.bench
            .visits()
            .iter()
            .map(|v| s.form.current(v.va, v.vg) * s.defects.perveance.unwrap_or(1.0) + v.va * path)
            .fold(0.0, f64::max)
    };
    item.tube.sections.iter().map(of).fold(0.0, f64::max)
}

/// Lowest over highest current of the plan, of the section that comes down furthest.
fn lowest_share(item: &Item) -> f64 {
    let of = |s: &sweepbook_core::lesson::VirtualSection| {
        let currents: Vec<f64> = item.bench.visits().iter().map(|v| s.form.current(v.va, v.vg)).collect();
        let top = currents.iter().copied().fold(0.0, f64::max);
        currents.iter().copied().fold(f64::INFINITY, f64::min) / top.max(f64::MIN_POSITIVE)
    };
    item.tube.sections.iter().map(of).fold(f64::INFINITY, f64::min)
}
