//! Which departures are worth fitting at all.
//!
//! What one could gain is told beforehand, in the linear neighbourhood of the fit at hand, from
//! how much of the residuals a few probes of it could take up together. On a sound tube that
//! spares nearly all fits.

use crate::law::{CORNER, Change, Fit, Leftover, Observed, Params};

use super::climb::Outcome;
use super::departure::{Departure, Seat};
use super::effect::{Effect, Without};
use super::law_error;
use super::search::Search;

/// What a departure may gain over what the probes tell: a mixture of them gains more than one
/// departure can. Measured on 1225 candidates of 96 tubes: the first departure of a tube
/// gained at most 1.05 times as much; a second one up to 2.4 times, but then far more than
/// it had to.
const BEYOND: f64 = 1.25;

/// A departure that may gain something, and values from which its fit begins.
pub(super) struct Promising {
    pub(super) what: (Seat, Departure),
    pub(super) begin: Vec<Params>,
    /// Whether they may be far off.
    pub(super) far: bool,
}

/// How many times a probe a departure is begun with, at least and at most: beyond, the
/// neighbourhood is no longer linear.
const FEWEST_TIMES: f64 = 0.1;
const MOST_TIMES: f64 = 10.0;

impl Search<'_> {
    /// The departures that may gain something.
    pub(super) fn promising(&self, here: &Outcome) -> Vec<Promising> {
        let candidates = self.candidates(&here.model);
        let options = self.options(&here.model, f64::INFINITY);
        let params = &here.fit.params;
        let Some(leftover) = Leftover::new(&self.observed, params, &options) else {
            return candidates.into_iter().map(|what| Promising { what, begin: params.clone(), far: true }).collect();
        };
        let lacking = leftover.change(&self.lacking(&here.fit));
        let without = Without::of(self, params);
        let promising = |what: (Seat, Departure)| {
            let effect = Effect::of(self, &without, what);
            let probes: Vec<Change> = (0..Departure::PROBES).map(|k| leftover.change(&effect.probe(k))).collect();
            let gain = BEYOND * leftover.gain(&lacking, &probes);
            if gain < self.need(what.1) * self.least_scale(here, gain) {
                return None;
            }
            let begin = self.nearby(&leftover, &lacking, &effect, &probes);
            let far = begin.is_none();
            Some(Promising { what, begin: begin.unwrap_or_else(|| params.clone()), far })
        };
        candidates.into_iter().filter_map(promising).collect()
    }

    /// What the readings lack of a fit, A, as far as they count in it.
    fn lacking(&self, fit: &Fit) -> Vec<Vec<f64>> {
        let lacking = |(r, sigma): (&f64, &f64)| -r.clamp(-CORNER, CORNER) * sigma;
        let of_section = |(o, r): (&Observed, &Vec<f64>)| r.iter().zip(&o.sigma).map(lacking).collect();
        self.observed.iter().zip(&fit.residuals).map(of_section).collect()
    }

    /// Where the probe that gains most would lead, in the linear neighbourhood; `None` where
    /// none gains anything.
    fn nearby(&self, leftover: &Leftover<'_>, lacking: &Change, effect: &Effect<'_>, probes: &[Change]) -> Option<Vec<Params>> {
        let (k, times, _) = probes
            .iter()
            .enumerate()
            .map(|(k, probe)| (k, leftover.best(lacking, probe)))
            .filter(|(_, (times, _))| *times > 0.0)
            .map(|(k, (times, gain))| (k, times, gain))
            .max_by(|a, b| a.2.total_cmp(&b.2))?;
        let times = times.clamp(FEWEST_TIMES, MOST_TIMES);
        let mut begin = leftover.moved(lacking, &probes[k], times);
        effect.put(k, times, &mut begin);
        Some(begin)
    }

    /// The least that χ² would be divided by if it lost so much.
    fn least_scale(&self, here: &Outcome, lost: f64) -> f64 {
        let fit = &here.fit;
        let left = ((fit.chi2 - lost) / (fit.chi2 / fit.excess())).max(1.0);
        let correlation = law_error::correlation(&self.observed, fit);
        // What was lost may all have been what neighbours share, on either side.
        left.min(fit.excess()) * law_error::counting(correlation - 2.0 * lost / fit.chi2)
    }
}
