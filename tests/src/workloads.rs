//! What is timed: twin triodes as a bench writes them, two sections at three plate voltages
//! with a hundred points each, sound and with the faults that take longest to find.

use std::fmt::Write as _;

use sweepbook_core::faults;
use sweepbook_core::handbook;
use sweepbook_core::intake;
use sweepbook_core::lesson::{Family, LawChoice, Meter, Range, Resolution, Scene};

use crate::imperfect;

/// Points of one curve.
const POINTS: usize = 100;
/// Types that take turns.
const TYPES: [&str; 4] = ["12AX7", "12AU7", "6SN7GTB", "6DJ8"];
/// Laws that take turns: two that the fitted law holds, two that it does not.
const LAWS: [LawChoice; 4] = [LawChoice::Koren, LawChoice::CohenHelie, LawChoice::Strips, LawChoice::Dempwolf];
/// Every second tube is sound; the others take turns with these, at half their severity.
const FAULTS: [&str; 6] =
    ["low-emission", "plate-cathode-leakage", "cathode-interface", "gas", "uneven-grid", "grid-cathode-leakage"];

/// One tube: what it is, in words, and its file.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// Type, law and fault.
    pub name: String,
    /// Its table.
    pub text: String,
}

/// The tube of this number. `None` only if the handbook lost a type.
pub fn twin_triode(number: usize) -> Option<Work> {
    let kind = handbook::find(TYPES[number / 2 % TYPES.len()])?;
    let law = LAWS[number / 2 / TYPES.len() % LAWS.len()];
    let fault = (number % 2 == 1).then(|| FAULTS[number / 2 % FAULTS.len()]);
    let seed = number as u64;
    let mut scene = Scene::usual(kind, law, seed)?;
    for family in &mut scene.bench.plan {
        if let Family::Transfer { grid, .. } = family {
            *grid = hundred(*grid);
        }
    }
    scene.bench.grid_source_resistance = 1e3;
    scene.bench.grid_meter =
        Some(Meter { noise: 5e-9, relative: 1e-3, resolution: Resolution::Step(1e-8), ..Meter::IDEAL });
    scene.tube.name = format!("stock {number}");
    if let Some(fault) = fault.and_then(faults::named) {
        let size = fault.sizes(&scene)?.at(0.5);
        fault.inject(&mut scene, 1, size);
    }
    let name = format!("{} {} {}", kind.name, law.name(), fault.unwrap_or("sound"));
    Some(Work { name, text: intake::write(&scene.measure(seed)) })
}

/// A range of so many points that ends where it did.
fn hundred(range: Range) -> Range {
    let step = (range.to - range.from) / (POINTS - 1) as f64;
    // In millivolts, as a bench sets it.
    let step = (step * 1e3).ceil() / 1e3;
    Range { from: range.to - step * (POINTS - 1) as f64, to: range.to, step }
}

/// A long table as a bench writes it: section, plate and grid voltage, two currents.
pub fn long_table(rows: usize) -> String {
    let mut text = String::from("# tube: speed\nsection,Va [V],Vg [V],Ia [mA],Ig [uA]\n");
    for i in 0..rows {
        let (section, curve, step) = (1 + i * 2 / rows, i / 5000 % 100, i % 5000);
        let (va, vg) = (50.0 + 3.0 * curve as f64, -20.0 + 0.004 * step as f64);
        let ia = imperfect(10.0 * ((vg + va / 20.0).max(0.0) / 20.0).powf(1.5), i as u64, 0.003, 1e-4);
        let ig = imperfect(-0.01, i as u64, 0.1, 1e-4);
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{section},{va},{vg:.3},{ia:.4},{ig:.4}");
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tube_has_two_sections_of_three_hundred_points_and_its_fault() {
        for number in 0..12 {
            let work = twin_triode(number).unwrap();
            let tube = intake::read("x.csv", work.text.as_bytes()).unwrap().remove(0);
            assert_eq!(tube.sections.iter().map(|s| s.points.len()).collect::<Vec<_>>(), [300, 300], "{}", work.name);
            assert_ne!(twin_triode(number + 1), Some(work));
        }
    }
}
