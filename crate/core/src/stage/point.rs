//! The operating point: where the section's law and what is around it agree.

use super::{Bias, Load, Point, Stage, Unworkable};
use crate::law::SpaceCharge;

/// Halvings after which a voltage or a current is known to the last digits of a double.
pub(super) const EXACT: usize = 60;
/// Smallest current at which a section works and is not cut off, A: what a healthy section
/// still draws past cutoff is below it (reference 4.4).
const LEAST: f64 = 1e-6;

/// Where a section works in a stage.
///
/// # Errors
/// The stage cannot work with it.
pub fn point(law: &SpaceCharge, stage: &Stage) -> Result<Point, Unworkable> {
    lifted(law, stage, 0.0)
}

/// The same with the grid so much higher, V: by what flows through its resistor.
pub(super) fn lifted(law: &SpaceCharge, stage: &Stage, by: f64) -> Result<Point, Unworkable> {
    stage.check()?;
    let (rk, grid) = (stage.cathode(), stage.grid() + by);
    let at = |ia: f64, va: f64, vk: f64| Point { ia, va, vg: grid - vk, vk, dissipation: ia * va };
    let found = match (stage.load, stage.bias) {
        (Load::CurrentSource { .. }, Bias::Sink { .. }) => return Err(Unworkable::TwoSources),
        (Load::CurrentSource { ampere }, _) => {
            // The plate goes where the section draws what the source gives.
            let vk = ampere * rk;
            let most = stage.supply - vk;
            if most <= 0.0 || law.current(most, grid - vk) < ampere {
                return Err(Unworkable::TooLittle);
            }
            let va = root(0.0, most, EXACT, |va| law.current(va, grid - vk) - ampere);
            at(ampere, va, vk)
        }
        (Load::Resistor { ohm } | Load::Choke { ohm }, Bias::Sink { ampere }) => {
            // The cathode goes where the section draws what the source takes.
            let room = stage.supply - ampere * ohm;
            if room <= 0.0 || law.current(room, grid) < ampere {
                return Err(Unworkable::TooLittle);
            }
            let vk = root(0.0, room, EXACT, |vk| ampere - law.current(room - vk, grid - vk));
            at(ampere, room - vk, vk)
        }
        (Load::Resistor { ohm } | Load::Choke { ohm }, _) => {
            let (all, current) =
                (ohm + rk, |ia: f64| law.current((stage.supply - ia * (ohm + rk)).max(0.0), grid - ia * rk));
            let ia = if all > 0.0 { root(0.0, stage.supply / all, EXACT, |ia| ia - current(ia)) } else { current(0.0) };
            at(ia, stage.supply - ia * all, ia * rk)
        }
    };
    if found.ia < LEAST { Err(Unworkable::CutOff) } else { Ok(found) }
}

/// Where a rising function is nought, between two places, after so many halvings.
pub(super) fn root(mut low: f64, mut high: f64, halvings: usize, rising: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..halvings {
        let middle = 0.5 * (low + high);
        if rising(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}
