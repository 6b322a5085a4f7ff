//! What a finding does to the operating point, and the largest grid resistor with it.

use serde::Serialize;

use super::point::{EXACT, lifted, root};
use super::{Point, Stage};
use crate::law::SpaceCharge;
use crate::report::{Finding, TubeReport};

/// Change of plate current that a grid current may cause through the grid resistor
/// (physics.md: 10 % is usual, practice).
pub const ALLOWED: f64 = 0.10;
/// How far a grid is lifted at most before a stage is beyond repair, V (by construction).
const HIGHEST: f64 = 100.0;

/// What a finding does to the point.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shift {
    /// The fault's name.
    pub fault: String,
    /// Current into the grid resistor, A; 0 for a path that does not touch the grid.
    pub grid_current: f64,
    /// How far that lifts the grid, V.
    pub lifts: f64,
    /// The plate current then, A; `None` where the stage no longer works.
    pub ia: Option<f64>,
    /// The grid resistor with which the plate current changes by [`ALLOWED`], ohm; `None`
    /// where it is not the grid's.
    pub largest_grid_resistor: Option<f64>,
    /// What of a rise of the grid comes back by way of the ions: from 1 on the stage runs
    /// away (gm of the stage, direct current, times grid resistor times ion ratio). `None`
    /// for what does not feed itself.
    pub loop_gain: Option<f64>,
}

/// What the findings of a section do: of a leak to the grid in proportion to the voltage
/// across it, of ions in proportion to the plate current that they raise, of emission as it
/// was measured; a leak from plate to cathode adds its current, and what is left of gm with
/// a resistance in the cathode is the signal's affair.
pub fn shifts(report: &TubeReport, section: &str, law: &SpaceCharge, stage: &Stage, at: &Point) -> Vec<Shift> {
    let here = |f: &&Finding| f.confidence > 0.5 && f.section.as_deref().is_none_or(|s| s == section);
    report.findings.iter().filter(here).filter_map(|f| shift(f, law, stage, at)).collect()
}

fn shift(f: &Finding, law: &SpaceCharge, stage: &Stage, at: &Point) -> Option<Shift> {
    let value = f.value.as_ref()?;
    let rg = stage.grid_resistor;
    let through = |grid_current: f64, resistor: Option<f64>| {
        let lifts = grid_current * rg;
        let ia = lifted(law, stage, lifts).ok().map(|p| p.ia);
        Shift { fault: f.fault.clone(), grid_current, lifts, ia, largest_grid_resistor: resistor, loop_gain: None }
    };
    match (f.fault.as_str(), value.unit.as_str()) {
        ("plate-grid-leakage", "ohm") => {
            let across = at.va + at.vk;
            let shift = through(across / (value.estimate + rg), None);
            // A divider from the plate: the part of it that is allowed.
            let part = allowed_lift(law, stage, at)? / across;
            let largest = (part < 1.0).then(|| value.estimate * part / (1.0 - part));
            Some(Shift { largest_grid_resistor: largest, ..shift })
        }
        ("grid-emission", "A") => {
            let current = value.estimate.abs();
            Some(through(current, Some(allowed_lift(law, stage, at)? / current)))
        }
        ("gas", "1") => {
            let ratio = value.estimate;
            let slope = slope(law, stage, at);
            // Where the grid is lifted by as much as the ions of that very current lift it.
            let over = |lift: f64| lifted(law, stage, lift).map_or(f64::INFINITY, |p| rg * ratio * p.ia) - lift;
            let settles = over(HIGHEST) < 0.0;
            let lifts = if settles { root(0.0, HIGHEST, EXACT, |lift| -over(lift)) } else { f64::INFINITY };
            let ia = lifted(law, stage, lifts.min(HIGHEST)).ok().map(|p| p.ia).filter(|_| settles);
            Some(Shift {
                fault: f.fault.clone(),
                grid_current: ratio * ia.unwrap_or(at.ia),
                lifts: lifts.min(HIGHEST),
                ia,
                largest_grid_resistor: Some(allowed_lift(law, stage, at)? / (ratio * (1.0 + ALLOWED) * at.ia)),
                loop_gain: Some(slope * rg * ratio),
            })
        }
        ("plate-cathode-leakage", "ohm") => Some(Shift {
            fault: f.fault.clone(),
            grid_current: 0.0,
            lifts: 0.0,
            ia: Some(at.ia + at.va / value.estimate),
            largest_grid_resistor: None,
            loop_gain: None,
        }),
        _ => None,
    }
}

/// By how much the plate current of the stage rises with the grid, direct current, S.
fn slope(law: &SpaceCharge, stage: &Stage, at: &Point) -> f64 {
    /// Step, V: small against any bias, large against rounding.
    const STEP: f64 = 1e-4;
    lifted(law, stage, STEP).map_or(0.0, |p| (p.ia - at.ia) / STEP)
}

/// The lift of the grid at which the plate current has changed by [`ALLOWED`], V; `None`
/// where it never does, as with a current source.
fn allowed_lift(law: &SpaceCharge, stage: &Stage, at: &Point) -> Option<f64> {
    let more = |lift: f64| lifted(law, stage, lift).map_or(f64::INFINITY, |p| p.ia) - (1.0 + ALLOWED) * at.ia;
    (more(HIGHEST) > 0.0).then(|| root(0.0, HIGHEST, EXACT, more))
}
