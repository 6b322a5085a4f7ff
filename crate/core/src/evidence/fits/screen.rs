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
use super::search::{Model, Search};

/// What a departure may gain over what the probes tell: a mixture of them gains more than one
/// departure can. Measured on 1225 candidates of 96 tubes: the first departure of a tube
/// gained at most 1.05 times as much; a second one up to 2.4 times, but then far more than
/// it had to.
const BEYOND: f64 = 1.25;

/// How many times a probe a departure is begun with, at least and at most: beyond, the
/// neighbourhood is no longer linear.
const FEWEST_TIMES: f64 = 0.1;
const MOST_TIMES: f64 = 10.0;

/// Values from which the fit of a departure beside a model begins.
pub(super) struct Promise {
    pub(super) begin: Vec<Params>,
    /// Whether they may be far off.
    pub(super) far: bool,
}

/// The linear neighbourhood of a model's fit.
pub(super) struct Nearby<'s> {
    search: &'s Search<'s>,
    leftover: Leftover<'s>,
    /// What the readings lack of the fit, as far as they count in it.
    lacking: Change,
    params: &'s [Params],
    /// Sum of the squares of all residuals.
    here: f64,
    without: Without,
}

impl<'s> Nearby<'s> {
    /// `None` where the normal equations have no solution.
    pub(super) fn of(search: &'s Search<'s>, model: &Model, fit: &'s Fit) -> Option<Self> {
        let leftover = Leftover::new(&search.observed, &fit.params, &search.options(model, f64::INFINITY))?;
        let lacking = |(r, sigma): (&f64, &f64)| -r.clamp(-CORNER, CORNER) * sigma;
        let of_section = |(o, r): (&Observed, &Vec<f64>)| r.iter().zip(&o.sigma).map(lacking).collect();
        let lacking: Vec<Vec<f64>> = search.observed.iter().zip(&fit.residuals).map(of_section).collect();
        let lacking = leftover.change(&lacking);
        let here = fit.residuals.iter().flatten().map(|r| r * r).sum();
        Some(Self { search, leftover, lacking, params: &fit.params, here, without: Without::of(search, &fit.params) })
    }

    /// Where the fit of a departure begins; `None` where what χ² may lose by it, at most, is not
    /// enough.
    pub(super) fn promise(&self, what: (Seat, Departure), enough: impl Fn(f64) -> bool) -> Option<Promise> {
        let effect = Effect::of(self.search, &self.without, what);
        let probes: Vec<Change> = (0..Departure::PROBES).map(|k| self.leftover.change(&effect.probe(k))).collect();
        if !enough(BEYOND * self.leftover.gain(&self.lacking, &probes)) {
            return None;
        }
        let best = |probe| self.leftover.best(&self.lacking, probe);
        let best = probes.iter().enumerate().map(|(k, probe)| (k, best(probe))).filter(|(_, (times, _))| *times > 0.0);
        let best = best.max_by(|a, b| a.1.1.total_cmp(&b.1.1)).map(|(k, (times, _))| {
            let times = times.clamp(FEWEST_TIMES, MOST_TIMES);
            let mut begin = self.leftover.moved(&self.lacking, &probes[k], times);
            effect.put(k, times, &mut begin);
            begin
        });
        // So far off the neighbourhood may not be linear any more.
        let near = best.filter(|begin| self.chi2(begin) < self.here);
        let far = near.is_none();
        Some(Promise { begin: near.unwrap_or_else(|| self.params.to_vec()), far })
    }

    fn chi2(&self, params: &[Params]) -> f64 {
        self.search.observed.iter().zip(params).map(|(o, p)| o.chi2(p)).sum()
    }
}

impl Search<'_> {
    /// The departures that may gain something beside a model.
    pub(super) fn promising(&self, here: &Outcome) -> Vec<((Seat, Departure), Promise)> {
        let nearby = Nearby::of(self, &here.model, &here.fit);
        let promise = |what: (Seat, Departure)| {
            let enough = |gain| gain >= self.need(what.1) * self.least_scale(here, gain);
            let promise = match &nearby {
                Some(nearby) => nearby.promise(what, enough)?,
                None => Promise { begin: here.fit.params.clone(), far: true },
            };
            Some((what, promise))
        };
        self.candidates(&here.model).into_iter().filter_map(promise).collect()
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
