//! Faults of the bench.

use serde_json::{Value, json};
use sweepbook_core::faults::Fault;
use sweepbook_core::faults::bench::{CoarseResolution, CurrentLimit, ShortRange, SupplySag, ZeroOffset};
use sweepbook_core::lesson::{Dice, Family, Oscillation, WarmUp};

use super::benches::step_near;
use super::kinds::{Built, Ladder, Level, Work};
use super::sight::Sight;

/// Builds a fault of the bench in; as [`super::kinds::build`].
pub(super) fn build(kind: &str, level: Level, work: &mut Work, dice: &mut Dice) -> Option<Built> {
    let whole = |value: Value| Some(Built { section: None, value });
    let section = dice.below(work.scene.tube.sections.len());
    match kind {
        "zero-offset" => {
            let sign = if dice.chance(0.75) { 1.0 } else { -1.0 };
            let put = |w: &mut Work, amp: f64| ZeroOffset.inject(&mut w.scene, section, sign * amp);
            let most = 0.1 * work.scene.top_current(section);
            let amp = work.size(section, level, (Ladder::Alone, [0.0; 3], most), false, dice, put)?;
            put(work, amp);
            whole(json!({ "amp": sign * amp }))
        }
        "current-limit" => {
            let (low, high) = level.of([(0.2, 0.35), (0.4, 0.55), (0.65, 0.85)]);
            let limit = dice.between(low, high) * work.scene.largest_current();
            CurrentLimit.inject(&mut work.scene, section, limit);
            whole(json!({ "amp": limit }))
        }
        // By the drop at the largest current.
        "supply-sag" => {
            let (low, high) = level.of([(0.2, 0.35), (0.09, 0.15), (0.04, 0.06)]);
            let ohm = dice.between(low, high) * work.scene.top_plate() / work.scene.top_current(section).max(1e-6);
            SupplySag.inject(&mut work.scene, section, ohm);
            // Where only the set voltage is written down, a sag is another law.
            work.scene.bench.reads_plate_voltage = dice.chance(0.5);
            whole(json!({ "ohm": ohm }))
        }
        // The first curve is hit most; how much of it shows depends on where it starts.
        "warm-up-drift" => {
            let (low, high) = level.of([(0.36, 0.5), (0.22, 0.32), (0.1, 0.15)]);
            let start = dice.between(low, high);
            let points = work.scene.bench.visits().len() as f64 * dice.between(0.3, 1.0);
            let sight = Sight::new(&work.scene.tube, &work.scene.bench, 0, true);
            work.scene.bench.warm_up = Some(WarmUp { deficit: start, points, each_section: dice.chance(0.5) });
            let seen = sight.of(&work.scene.tube, &work.scene.bench, 0);
            (seen >= Ladder::Shape.rungs()[2].0).then_some(Built { section: None, value: json!({ "start": start }) })
        }
        "coarse-resolution" => {
            let (low, high) = level.of([(12.0, 25.0), (35.0, 60.0), (90.0, 150.0)]);
            let step = step_near(work.scene.top_current(section) / dice.between(low, high));
            CoarseResolution.inject(&mut work.scene, section, step);
            whole(json!({ "amp": step }))
        }
        "oscillation" => {
            let from = work.scene.top_gm(section) * dice.between(0.55, 0.8);
            let depth = level.of([0.2, 0.1, 0.05]) * dice.between(0.8, 1.3) * if dice.chance(0.7) { 1.0 } else { -1.0 };
            work.scene.bench.oscillation = Some(Oscillation { from, depth, scatter: 0.3 * depth.abs() });
            whole(json!({ "siemens": from, "depth": depth }))
        }
        "short-range" => short_range(level, work, dice),
        _ => None,
    }
}

/// A sweep that stops well short of cutoff on every curve.
fn short_range(level: Level, work: &mut Work, dice: &mut Dice) -> Option<Built> {
    let (low, high) = level.of([(0.3, 0.5), (0.12, 0.25), (0.05, 0.08)]);
    let share = dice.between(low, high);
    ShortRange.inject(&mut work.scene, 0, share);
    // One curve is another matter.
    let single = |f: &Family| matches!(f, Family::Plate { grids, .. } if grids.len() < 2);
    let value = json!({ "lowest_share": share });
    (!work.scene.bench.plan.iter().any(single)).then_some(Built { section: None, value })
}
