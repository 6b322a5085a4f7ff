//! Swapped columns and reversed signs.

use crate::evidence::Evidence;
use crate::faults::{Described, Fault, fault};
use crate::lesson::{Scene, Sizes, Slip};
use crate::report::{Blind, Finding, Value};
use crate::sweep::Points;

fault! {
    /// # What it is
    /// The table says something else than was measured: plate and grid voltage are swapped,
    /// or a sign was left out.
    ///
    /// # On the curves
    /// A plate that is negative and a grid of some hundreds of volts; a plate current that is
    /// negative throughout; a current that falls as the grid is said to become more positive.
    ///
    /// # What looks like it
    /// Nothing in a tube: no triode conducts with a negative plate.
    ///
    /// # How to settle it
    /// Look at the headings and at one row that you remember. Correct the heading or the sign
    /// in the file; nothing is turned round silently.
    ///
    /// # In a stage
    /// Nothing: it says nothing about the tube.
    ///
    /// # Sources
    /// Sign conventions of this project's reference notes: currents into the terminal,
    /// voltages against the cathode.
    bench SwappedColumns = "swapped-columns", "Swapped columns or signs";
}

/// It is read off the table.
const CERTAIN: f64 = 0.97;
/// Share of the rows that must speak for it.
const NEARLY_ALL: f64 = 0.9;
/// A positive grid above this is no grid voltage of a small tube in a sweep, V.
const NO_GRID: f64 = 40.0;

impl Fault for SwappedColumns {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        evidence
            .sections
            .iter()
            .filter_map(|section| {
                let why = wrong(section.points)?;
                Some(Finding {
                    fault: self.name().into(),
                    section: Some(section.name.into()),
                    confidence: CERTAIN,
                    value: None,
                    evidence: format!("Section {}: {why}.", section.name),
                    confirm: "Compare the headings with one row that you remember, and correct the file.".into(),
                    alternatives: Vec::new(),
                    marks: Vec::new(),
                })
            })
            .collect()
    }

    fn smallest(&self, _evidence: &Evidence<'_>) -> Option<Value> {
        None
    }

    fn blind(&self, _evidence: &Evidence<'_>) -> Option<Blind> {
        // Signs and columns are read off the table.
        None
    }

    fn inject(&self, scene: &mut Scene, _section: usize, _size: f64) {
        scene.bench.slip = Some(Slip::SwappedVoltages);
    }

    fn sizes(&self, _scene: &Scene) -> Option<Sizes> {
        None
    }
}

/// What is wrong with the table's voltages or signs; `None` for a sound one.
fn wrong(points: &Points) -> Option<&'static str> {
    let n = points.len() as f64;
    if points.len() < 4 {
        return None;
    }
    let share = |test: &dyn Fn(usize) -> bool| (0..points.len()).filter(|&i| test(i)).count() as f64 / n;
    let top = points.ia.iter().map(|i| i.abs()).fold(0.0, f64::max);
    let lively = |i: usize| points.ia[i].abs() > 0.01 * top;
    if share(&|i| points.va[i] <= 0.0) >= NEARLY_ALL && share(&|i| points.vg[i] > NO_GRID) > 0.5 {
        return Some(
            "the plate is said to be negative and the grid to be at hundreds of volts: the two columns look swapped",
        );
    }
    let conducting = (0..points.len()).filter(|&i| lively(i)).count();
    let reversed = (0..points.len()).filter(|&i| lively(i) && points.ia[i] < 0.0).count();
    if top > 0.0 && conducting > 4 && reversed as f64 >= NEARLY_ALL * conducting as f64 {
        return Some("the plate current is negative throughout: its sign looks reversed");
    }
    (share(&|i| points.vg[i] >= 0.0) >= 1.0 && falls_with_grid(points)).then_some(
        "the current falls as the grid is said to become more positive: the minus signs of the grid look left out",
    )
}

/// Whether on most pairs of neighbours at one plate voltage the current falls as
/// the grid rises.
fn falls_with_grid(points: &Points) -> bool {
    let top = points.top();
    let (mut falling, mut rising) = (0, 0);
    for w in 1..points.len() {
        let step = points.vg[w] - points.vg[w - 1];
        let same_plate = (points.va[w] - points.va[w - 1]).abs() < 0.01 * points.va[w].abs().max(1.0);
        let change = (points.ia[w] - points.ia[w - 1]) * step.signum();
        if same_plate && step != 0.0 && change.abs() > 0.002 * top {
            if change < 0.0 { falling += 1 } else { rising += 1 }
        }
    }
    falling > 4 && falling > 10 * rising
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::ZeroOffset;
    use crate::faults::proof::*;
    use crate::faults::{NoConduction, NoGridControl, PlateCathodeLeakage};
    use crate::sweep::Tube;

    proved!(
        SwappedColumns,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).with(&SwappedColumns, 0, f64::NAN),
                on(Dempwolf, "12AX7", 12).set(|s| s.bench.slip = Some(Slip::ReversedCurrent)).being(&SwappedColumns, 0),
                on(ChildLangmuir, "6SN7GTB", 13)
                    .set(|s| s.bench.slip = Some(Slip::UnsignedGrid))
                    .being(&SwappedColumns, 0),
            ],
            silent: sound(&SwappedColumns),
            look_alikes: vec![
                // Readings below zero by the meter's offset.
                on(Strips, "12AU7", 14).with(&ZeroOffset, 0, -50e-6),
                // A current that the grid does not turn up.
                on(Dempwolf, "12AX7", 15).with(&NoGridControl, 0, f64::NAN),
                // A dead section reads either sign.
                on(ChildLangmuir, "6SN7GTB", 16).with(&NoConduction, 1, f64::NAN),
            ],
            // Beside a table that says something else than was measured nothing is looked for.
            together: vec![
                on(Strips, "12AU7", 17).with(&PlateCathodeLeakage, 1, 2e6).hidden().with(&SwappedColumns, 0, f64::NAN),
                on(Dempwolf, "12AX7", 18).with(&NoConduction, 1, f64::NAN).hidden().with(&SwappedColumns, 0, f64::NAN),
            ],
            larger: vec![
                // The sign was left out in a part of the rows.
                [0.3, 0.6, 0.8, 0.92, 1.0].map(|share| reversed(on(Strips, "12AU7", 19), share)).to_vec(),
            ],
        }
    );

    fn reversed(case: Case, share: f64) -> Case {
        let slip = move |tube: &mut Tube| {
            for section in &mut tube.sections {
                let n = section.points.len();
                let from = n - (share * n as f64) as usize;
                section.points.ia[from..].iter_mut().for_each(|i| *i = -*i);
            }
        };
        case.written(slip).being(&SwappedColumns, 0)
    }
}
