//! Whether the unit that a heading states can be right: currents a thousand times what the
//! type gives, on curves that are otherwise a tube's, are more likely in another unit.

use super::error::Place;
use super::heading::Column;
use super::plan::{Plan, Role};
use super::question::Ask;
use super::sink::Named;
use super::way::{Stop, Way};
use crate::report::engineering;
use crate::sweep::Points;

/// Units of current with their factors to SI.
const UNITS: [(&str, f64); 4] = [("A", 1.0), ("mA", 1e-3), ("uA", 1e-6), ("nA", 1e-9)];
/// Largest current of a sweep over that of typical operation, and smallest, for which the
/// unit is right: from a worn tube's to ten times at zero bias (judgement, no source).
const LIKELY: std::ops::RangeInclusive<f64> = 0.1..=10.0;
/// Factor from which the stated unit is doubted (units are a thousand apart).
const DOUBTED: f64 = 100.0;
/// Largest share of the top current that is left at the lowest for curves that obey their
/// grid: a short or a leak leaves more (judgement, no source).
const CUT_OFF: f64 = 0.05;
/// Share of the steps along the curves that rise with the grid where it is a tube's current
/// and no noise about nought (judgement, no source).
const RISING: f64 = 0.9;
/// Fewest such steps.
const FEWEST_STEPS: usize = 6;

/// Asks where another unit of the plate current than the stated one fits the type. Where
/// the heading states none, that was asked before.
pub(super) fn ask(sections: &[Named], plan: &Plan, stated: bool, way: &mut Way) -> Result<(), Stop> {
    if !stated || way.reading.get(OPTION).is_some() {
        return Ok(());
    }
    let Some(typical) = way.typical_current() else { return Ok(()) };
    let factors = plan.roles.iter().filter_map(|role| match role {
        Role::Number { column: Column::Ia, factor, .. } => Some(*factor),
        _ => None,
    });
    let Some((unit, factor)) = factors.fold(None, |_, f| UNITS.into_iter().find(|u| u.1 == f)) else { return Ok(()) };
    let top = sections.iter().map(|s| s.points.top()).fold(0.0, f64::max);
    let (times, doubted) = (top / typical, |times: f64| !(1.0 / DOUBTED..=DOUBTED).contains(&times));
    if !(doubted(times) && sections.iter().all(|s| obeys(&s.points))) {
        return Ok(());
    }
    let likely = UNITS.iter().find(|(_, other)| LIKELY.contains(&(times * other / factor)));
    let Some((likely, _)) = likely else { return Ok(()) };
    let kind = way.kind.map_or("the type", |k| k.name.as_str());
    way.settle(Ask {
        place: Place::File,
        what: format!(
            "the plate current, in {unit} as the heading says, reaches {}, and a {kind} typically runs at {}",
            engineering(top, "A"),
            engineering(typical, "A")
        ),
        options: vec![
            (format!("{OPTION}={likely}"), format!("it is in {likely}, whatever the heading says")),
            (format!("{OPTION}=as-written"), format!("it is in {unit}, as the heading says")),
        ],
    })?;
    Ok(())
}

/// The key of the option that settles it.
pub(super) const OPTION: &str = "despite.ia";

/// The unit that counts in spite of the heading, as a factor to SI.
pub(super) fn instead(way: &Way, column: Column) -> Option<f64> {
    let unit = way.reading.get(OPTION).filter(|_| column == Column::Ia)?;
    UNITS.iter().find(|u| u.0 == unit).map(|u| u.1)
}

/// Whether `value` settles it.
pub(super) fn known(value: &str) -> bool {
    value == "as-written" || UNITS.iter().any(|u| u.0 == value)
}

/// Whether the current falls to next to nothing and rises with the grid, as a tube's does.
fn obeys(points: &Points) -> bool {
    let top = points.top();
    let lowest = points.ia.iter().copied().fold(f64::INFINITY, f64::min);
    let (mut rising, mut steps) = (0, 0);
    for at in 1..points.len() {
        let held = points.va[at] == points.va[at - 1];
        let further = points.vg[at] - points.vg[at - 1];
        if held && further != 0.0 {
            steps += 1;
            rising += usize::from((points.ia[at] - points.ia[at - 1]) * further > 0.0);
        }
    }
    lowest <= CUT_OFF * top && steps >= FEWEST_STEPS && rising as f64 >= RISING * steps as f64
}
