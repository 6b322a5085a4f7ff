//! Current limit.

use crate::evidence::{Evidence, Plateau, State};
use crate::faults::shared::say;
use crate::faults::{Described, Fault, fault};
use crate::lesson::{Scene, Sizes};
use crate::numerics::{Estimate, logistic};
use crate::report::{Blind, Finding, Mark, Value};

fault! {
    /// # What it is
    /// The bench stopped the current: a limit of the plate supply or the end of the meter's
    /// range. The readings above it are the instrument's, not the tube's.
    ///
    /// # On the curves
    /// Curves rise as they should and then run flat, with a sharp corner, at one and the
    /// same current for every plate voltage, usually in both sections.
    ///
    /// # What looks like it
    /// A worn cathode bends over gradually and never becomes quite flat. A short that trips
    /// the supply is at the limit from the first point on.
    ///
    /// # How to settle it
    /// Raise the limit within the tube's ratings, or stop the sweep earlier, and repeat: the
    /// flat part moves with the limit.
    ///
    /// # In a stage
    /// Nothing: it says nothing about the tube. What the curves show below the limit stands.
    ///
    /// # Sources
    /// Table of signatures in this project's reference notes, section 4.4 (computed there);
    /// otherwise common practice, no source.
    bench CurrentLimit = "current-limit", "Current limit of the bench";
}

/// ln odds of a limit before looking (common practice, no source).
const PRIOR_LOG_ODDS: f64 = -3.0;
/// What each further equal reading adds to the ln odds at most: a rising curve
/// repeats a reading by chance less than once in ten, and neighbours may share
/// their error.
const PER_READING: f64 = 1.5;
/// What a second curve that stops at the same level adds: two plate voltages
/// stop at one level to half a per cent by chance about once in a hundred.
const PER_CURVE: f64 = 4.5;
/// Levels of two sections within this share are one limit.
const SAME: f64 = 0.01;

impl Fault for CurrentLimit {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        let flat: Vec<(usize, &Plateau)> = evidence
            .sections
            .iter()
            .enumerate()
            .filter(|(_, s)| s.state == State::Controlled)
            .filter_map(|(i, s)| s.plateau.as_ref().map(|p| (i, p)))
            .collect();
        let Some((_, largest)) = flat.iter().max_by_key(|(_, p)| p.points.len()) else { return Vec::new() };
        let level = largest.level;
        let at_level: Vec<&(usize, &Plateau)> =
            flat.iter().filter(|(_, p)| (p.level - level).abs() <= SAME * level).collect();
        let readings: usize = at_level.iter().map(|(_, p)| p.points.len()).sum();
        let curves: usize = at_level.iter().map(|(_, p)| p.curves).sum();
        let stated = evidence.tube.bench.current_limit.is_some_and(|l| (l - level).abs() <= SAME * level);
        let log_odds = PRIOR_LOG_ODDS
            + PER_READING * readings.saturating_sub(1) as f64
            + PER_CURVE * curves.saturating_sub(1) as f64
            + if stated { PER_CURVE } else { 0.0 };
        let noise = evidence.sections[at_level[0].0].noise.sd(level);
        vec![Finding {
            fault: self.name().into(),
            section: None,
            confidence: logistic(log_odds),
            value: Some(crate::faults::shared::value("current limit", "A", Estimate::new(level, noise))),
            evidence: format!(
                "{readings} readings on {curves} {} are cut off flat at {}{}.",
                if curves == 1 { "curve" } else { "curves" },
                say(level, "A"),
                if at_level.len() > 1 { ", in both sections" } else { "" }
            ),
            confirm: "Raise the bench's current limit within the tube's ratings, or end the sweep earlier, and repeat."
                .into(),
            alternatives: crate::faults::shared::alternatives([("low-emission", logistic(-log_odds))]),
            marks: at_level.iter().map(|(s, p)| Mark { section: *s, points: p.points.clone() }).collect(),
        }]
    }

    fn smallest(&self, _evidence: &Evidence<'_>) -> Option<Value> {
        None
    }

    fn blind(&self, _evidence: &Evidence<'_>) -> Option<Blind> {
        // A limit above the highest reading has touched nothing.
        None
    }

    fn inject(&self, scene: &mut Scene, _section: usize, size: f64) {
        scene.bench.current_limit = Some(size);
        // A bench that spared the plate would never come to its limit.
        scene.bench.most_watts = None;
    }

    fn sizes(&self, scene: &Scene) -> Option<Sizes> {
        let top = scene.largest_current();
        Some(Sizes { quantity: "current limit", unit: "A", mild: 0.75 * top, severe: 0.2 * top })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::ZeroOffset;
    use crate::faults::proof::*;
    use crate::faults::{ElectrodeShort, LowEmission, PlateCathodeLeakage, UnevenGrid};

    proved!(
        CurrentLimit,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).severe(&CurrentLimit, 0, 0.3).within(0.01),
                on(Dempwolf, "12AX7", 12).severe(&CurrentLimit, 0, 0.7).within(0.01),
                on(ChildLangmuir, "6SN7GTB", 13).severe(&CurrentLimit, 0, 0.5).within(0.01),
            ],
            silent: sound(&CurrentLimit),
            look_alikes: vec![
                // A ceiling is never quite flat, and in one section.
                on(Strips, "12AU7", 14).severe(&LowEmission, 1, 0.7),
                // In both sections, and still not flat.
                on(Dempwolf, "12AX7", 15).severe(&LowEmission, 0, 0.7).severe(&LowEmission, 1, 0.7),
                // A short that trips the supply.
                on(ChildLangmuir, "12AU7", 16).with(&ElectrodeShort, 0, 200.0),
            ],
            together: vec![
                on(Strips, "12AU7", 17).severe(&CurrentLimit, 0, 0.4).with(&PlateCathodeLeakage, 1, 3e6),
                on(Dempwolf, "12AX7", 18).severe(&CurrentLimit, 0, 0.3).with(&UnevenGrid, 0, 0.15),
                on(ChildLangmuir, "6SN7GTB", 19).severe(&CurrentLimit, 0, 0.4).with(&ZeroOffset, 0, 50e-6),
            ],
            larger: vec![
                on(Strips, "12AU7", 20).growing(&CurrentLimit, 0),
                on(Dempwolf, "12AX7", 21).growing(&CurrentLimit, 0),
                on(ChildLangmuir, "6SN7GTB", 22).growing(&CurrentLimit, 0),
            ],
        }
    );
}
