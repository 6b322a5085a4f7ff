//! Warm-up drift.

use crate::evidence::{Departure, Evidence};
use crate::faults::shared::{bound, value, weighed};
use crate::faults::{Described, Fault, fault};
use crate::law::Par;
use crate::lesson::{Scene, Sizes, WarmUp};
use crate::numerics::normal_below;
use crate::report::{Blind, Finding, Mark, Value};

fault! {
    /// # What it is
    /// The sweep began before tube and bench were warm: the first readings are low and creep
    /// up as the cathode reaches its temperature.
    ///
    /// # On the curves
    /// The curves that were taken first lie too low, most at their beginning, in both
    /// sections; the deficit dies away over the sweep.
    ///
    /// # What looks like it
    /// A worn cathode lacks current at the top, not at the beginning. A tube that fades while
    /// current is drawn drifts the other way.
    ///
    /// # How to settle it
    /// Wait five minutes at the operating point and repeat the first curve: it must not move.
    ///
    /// # In a stage
    /// Nothing: an amplifier is warm when it is listened to.
    ///
    /// # Sources
    /// Preheat of at least five minutes before tests: notes of MIL-PRF-1/1097, /1203, /1330
    /// (seen). Warm-up times of heaters, 11 to 14.5 s to 80 %: KyteLabs glossary (seen).
    bench WarmUpDrift = "warm-up-drift", "Warm-up drift";
}

/// Least deficit of the first lively reading for which it is named: the curve at the
/// lowest plate voltage is usually the first, and a law that is off is off there most;
/// an uneven grid, by the strips' law, leaves up to 7 %, once 8 % (measured on six laws, see
/// DEVELOPERS.md). Its uncertainty, as a share of it.
const LEAST: f64 = 0.075;
const LEAST_SPREAD: f64 = 0.1;
/// Least multiple of the law's own error, or of what the fit leaves where that is more,
/// taken at the reading's own current.
const OVER_LAW_ERROR: f64 = 20.0;
/// The same where only the first section drifts: the other, measured warm, says what the
/// law is, and a law that is off is off in both.
const OVER_LAW_ERROR_ONCE: f64 = 12.0;
/// Least deficit in its own standard deviations: it is one of several departures tried,
/// with a time of its own to choose.
const LEAST_Z: f64 = 3.7;
/// A drift that comes anew with each section and lasts longer than this share of it is as
/// good as another law: nothing in the sweep shows the tube warm.
const LONGEST: f64 = 0.6;
/// A law this far from the shapes of published ones (squared, over six
/// parameters: 12.6 is exceeded by one in twenty, χ² distribution) is bent to fit
/// something else, and a drift beside it proves nothing.
const STRANGE: f64 = 12.6;
/// Fewest points over which the deficit dies away: sweeps dwell for a second or
/// so, cathodes and bulbs warm in tens of seconds (reference 3.8).
const SHORTEST: f64 = 8.0;
/// Readings above this share of the top are lively enough to show a drift.
const LIVELY: f64 = 0.02;

/// A cathode that lacks more than this when the sweep begins does not conduct yet: a limit
/// above it is none.
const MOST: f64 = 0.5;
/// How long a drift usually lasts, as a share of a section's points: a sweep of a minute, and
/// cathodes warm in tens of seconds (reference 3.8).
const USUAL_LENGTH: f64 = 0.5;

impl Fault for WarmUpDrift {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        let Some(laws) = &evidence.laws else { return Vec::new() };
        let Some(f) = laws.found.iter().find(|f| f.departure.is_warm_up()) else { return Vec::new() };
        let params = &laws.fit.params[0];
        let observed = &laws.observed[0];
        let tau = libm::exp(params.get(Par::LnTau));
        let deficit = laws.fit.estimate(0, Par::Deficit);
        let top = observed.ia.iter().copied().fold(0.0, f64::max);
        // The reading at which the deficit stands out most from the law's error.
        let strongest = (0..observed.len())
            .filter(|&i| observed.ia[i] > LIVELY * top)
            .map(|i| {
                let time = observed.time[i] + params.get(Par::Continued) * observed.before;
                let missing = deficit.value * libm::exp(-time / tau);
                let share = observed.ia[i] / top;
                (missing / laws.law_error_not_below(laws.misfit, share), missing)
            })
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let Some((ratio, seen)) = strongest else { return Vec::new() };
        if tau < SHORTEST {
            return Vec::new();
        }
        let (confidence, alternatives) = weighed(f);
        let once = f.departure == Departure::WarmUpOnce;
        let over = if once { OVER_LAW_ERROR_ONCE } else { OVER_LAW_ERROR };
        let told_from_law = if once {
            1.0
        } else {
            let lasts = tau / observed.len() as f64;
            normal_below((STRANGE - laws.strangeness) / (0.2 * STRANGE))
                * normal_below((LONGEST - lasts) / (0.2 * LONGEST))
        };
        // A deficit that its own error reaches to zero is none.
        let confidence = normal_below(deficit.z() - LEAST_Z) * confidence;
        let confidence = normal_below((seen - LEAST) / (LEAST_SPREAD * LEAST)) * confidence;
        let confidence = told_from_law * confidence * normal_below((ratio - over) / (0.2 * over));
        let early = |at: usize| -> Vec<usize> {
            let o = &laws.observed[at];
            (0..o.len()).filter(|&i| o.time[i] < 2.0 * tau && o.ia[i] > LIVELY * top).map(|i| o.index[i]).collect()
        };
        let marks = laws.sections.iter().enumerate().map(|(at, s)| Mark { section: *s, points: early(at) });
        vec![Finding {
            fault: self.name().into(),
            section: None,
            confidence,
            value: Some(value("share of the current missing at the start", "1", deficit)),
            evidence: format!(
                "The first readings of the sweep lack {:.0} % of their current and the deficit dies away over about {:.0} points, in all sections alike.",
                100.0 * seen,
                tau
            ),
            confirm: "Let the tube run for five minutes and repeat the first curve: it must not move.".into(),
            alternatives,
            marks: marks.filter(|m| !m.points.is_empty()).collect(),
        }]
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        let laws = evidence.laws.as_ref()?;
        // A single section has nothing that shows it warm.
        if laws.sections.len() < 2 {
            return None;
        }
        let seen = laws.smallest(Departure::WarmUpOnce)?;
        // What is left of a drift of the usual length when the section first draws enough
        // current to show it, over what is asked of it there: each a little more than even.
        let observed = laws.observed.first()?;
        let (top, points) = (observed.ia.iter().copied().fold(0.0, f64::max), observed.len() as f64);
        let asked = (0..observed.len())
            .filter(|&i| observed.ia[i] > LIVELY * top)
            .map(|i| {
                let left = libm::exp(-observed.time[i] / (USUAL_LENGTH * points));
                let error = laws.law_error_not_below(laws.misfit, observed.ia[i] / top);
                (LEAST * (1.0 + LEAST_SPREAD)).max(1.2 * OVER_LAW_ERROR_ONCE * error) / left
            })
            .fold(f64::INFINITY, f64::min);
        let share = seen.max(asked);
        (share <= MOST).then(|| bound("share of the current missing at the start", "1", share))
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        let laws = evidence.laws.as_ref()?;
        let alone = laws.sections.len() < 2;
        (alone || self.smallest(evidence).is_none()).then(|| Blind {
            fault: self.name().into(),
            why: if alone {
                "a single section has no other that was measured warm: a drift looks like another law".into()
            } else {
                "a drift would be lost in how far the law is off for these curves".into()
            },
            smallest: None,
            measure: "Repeat the first curve at the end of the sweep: it must not have moved.".into(),
        })
    }

    fn inject(&self, scene: &mut Scene, _section: usize, size: f64) {
        // Dies away within the first section.
        let points = USUAL_LENGTH * scene.bench.visits().len() as f64;
        scene.bench.warm_up = Some(WarmUp { deficit: size, points, each_section: false });
    }

    fn sizes(&self, _scene: &Scene) -> Option<Sizes> {
        Some(Sizes { quantity: "share of the current missing at the start", unit: "1", mild: 0.2, severe: 0.5 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::proof::*;
    use crate::faults::{CathodeInterface, LowEmission, PlateCathodeLeakage, SectionMismatch};

    proved!(
        WarmUpDrift,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).severe(&WarmUpDrift, 0, 0.8).within(0.1),
                on(Koren, "6DJ8", 12).severe(&WarmUpDrift, 0, 0.5).within(0.15),
                on(CohenHelie, "6SN7GTB", 13).severe(&WarmUpDrift, 0, 0.5).within(0.1),
            ],
            silent: sound(&WarmUpDrift),
            look_alikes: vec![
                // Lacks current at the top.
                on(Strips, "12AU7", 14).severe(&LowEmission, 0, 0.5),
                // Straighter curves in one section.
                on(CohenHelie, "6SN7GTB", 15).severe(&CathodeInterface, 1, 0.6),
                // Sections that differ.
                on(Dempwolf, "12AX7", 16).with(&SectionMismatch, 0, 0.6),
            ],
            together: vec![
                on(Strips, "12AU7", 17).severe(&WarmUpDrift, 0, 0.8).with(&PlateCathodeLeakage, 1, 3e6),
                on(CohenHelie, "6SN7GTB", 18).severe(&WarmUpDrift, 0, 0.8).severe(&LowEmission, 1, 0.7),
            ],
            larger: vec![
                on(Strips, "12AU7", 19).growing(&WarmUpDrift, 0),
                on(CohenHelie, "6SN7GTB", 20).growing(&WarmUpDrift, 0),
            ],
        }
    );
}
