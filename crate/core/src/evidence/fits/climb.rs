//! The search for departures: one at a time, the best first, and at last without those that
//! have become idle.

use crate::law::{CORNER, Fit, Params};

use super::Found;
use super::departure::{Departure, Seat};
use super::screen::{Nearby, Promise};
use super::search::{FAR_BEHIND, Model, PRIOR_LOG_ODDS, Search, Start, Starts};

/// Most departures that are looked for in one tube.
const MOST_DEPARTURES: usize = 4;
/// ln odds beyond which it no longer matters how large they are: one in a thousand million.
pub const SURE: f64 = 20.0;

/// A model and its fit.
pub(super) struct Outcome {
    pub(super) model: Model,
    pub(super) fit: Fit,
    /// What the search passed on its way, the healthy law first.
    passed: Vec<Passed>,
}

/// A model that the search passed.
struct Passed {
    model: Model,
    fit: Fit,
    /// Where every model with one more departure stood after a few steps, the best first; empty
    /// where they were not raced.
    starts: Vec<Start>,
}

/// A better model and its fit, and the starts of the race that it won.
struct Better {
    model: Model,
    fit: Fit,
    starts: Vec<Start>,
}

impl Search<'_> {
    /// Adds departures as long as the criterion gains, then drops idle ones;
    /// begins with the healthy law's fit.
    pub(super) fn climb(&self, plain: Fit) -> Outcome {
        let mut here = Outcome { model: Model::new(), fit: plain, passed: Vec::new() };
        while here.model.len() < MOST_DEPARTURES {
            let Some(Better { model, fit, starts }) = self.better(&here) else { break };
            let (model, fit) = (std::mem::replace(&mut here.model, model), std::mem::replace(&mut here.fit, fit));
            here.passed.push(Passed { model, fit, starts });
        }
        // What was taken in early may have become idle: leave it out again.
        while let Some((idle, fit)) = self.idle(&here) {
            here.model.remove(idle);
            here.fit = fit;
        }
        here
    }

    /// The best model with one more departure, where it is better at all.
    fn better(&self, here: &Outcome) -> Option<Better> {
        let (candidates, starts) =
            if self.is_open(&here.fit) { self.raced(here) } else { (self.fitted(here), Vec::new()) };
        let closest = candidates.iter().map(|(_, f)| f).min_by(|a, b| a.chi2.total_cmp(&b.chi2))?;
        let scale = self.scale(if closest.chi2 < here.fit.chi2 { closest } else { &here.fit });
        let least = self.score(&here.fit, here.model.len(), scale);
        candidates
            .into_iter()
            .map(|(m, f)| (self.score(&f, m.len(), scale), m, f))
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .filter(|(score, ..)| *score > least)
            .map(|(_, model, fit)| Better { model, fit, starts })
    }

    /// The candidates that may gain something, fitted from where the search stands.
    fn fitted(&self, here: &Outcome) -> Vec<(Model, Fit)> {
        let fitted = |(what, promise): ((Seat, Departure), Promise)| {
            let next: Model = here.model.iter().copied().chain([what]).collect();
            let worth = here.fit.chi2 - self.need(what.1);
            self.run_from(&next, &promise.begin, worth, promise.far).map(|fit| (next, fit))
        };
        self.promising(here).into_iter().filter_map(fitted).collect()
    }

    /// All candidates where much is left to be explained: each from every start for a few
    /// steps, then on in the order in which they stand, as long as they may still win.
    fn raced(&self, here: &Outcome) -> (Vec<(Model, Fit)>, Vec<Start>) {
        let mut starts = Starts::default();
        for candidate in self.candidates(&here.model) {
            let next: Model = here.model.iter().copied().chain([candidate]).collect();
            starts.extend(self.tried(&next, &here.fit.params));
        }
        // The scale of χ² comes from the closest fit: what no model explains is the law's own
        // error, and counts against none.
        let (mut closest, mut scale) = (here.fit.trusting, self.scale(&here.fit));
        let mut fits: Vec<(Model, Fit)> = Vec::new();
        let starts = starts.in_order();
        for Start { chi2, model, params } in &starts {
            // Nothing that ends above the best so far can be chosen, but for what a parameter
            // less and more alike sections are worth.
            let worth = closest + scale * (libm::log(self.rows) + here.fit.unlike);
            if *chi2 > FAR_BEHIND * worth {
                break;
            }
            let Some(fit) = self.run_from(model, params, worth, false) else { continue };
            if fit.trusting < closest {
                (closest, scale) = (fit.trusting, self.scale(&fit));
            }
            match fits.iter_mut().find(|(m, _)| m == model) {
                Some((_, other)) if fit.chi2 < other.chi2 => *other = fit,
                Some(_) => {}
                None => fits.push((model.clone(), fit)),
            }
        }
        (fits, starts)
    }

    /// What χ² has to lose for a departure to gain anything: it is divided by 1 at least.
    pub(super) fn need(&self, departure: Departure) -> f64 {
        departure.pars().len() as f64 * libm::log(self.rows) - 2.0 * PRIOR_LOG_ODDS
    }

    /// The departure that the data do not ask for after all, with the fit without it.
    fn idle(&self, here: &Outcome) -> Option<(usize, Fit)> {
        (0..here.model.len()).find_map(|at| {
            let (log_odds, rest) = self.log_odds(here, here.model[at]);
            rest.filter(|_| log_odds <= 0.0).map(|fit| (at, fit))
        })
    }

    /// ln odds of the model against the one without a departure, and the fit of that one
    /// where they are not far beyond doubt.
    fn log_odds(&self, here: &Outcome, (seat, departure): (Seat, Departure)) -> (f64, Option<Fit>) {
        let scale = self.scale(&here.fit);
        let (rest, bare) = self.leave_out(here, (seat, departure));
        let passed = here.passed.iter().find(|p| p.model == rest).map(|p| p.fit.clone());
        let fit = if rest.is_empty() {
            passed
        } else {
            let below = here.fit.trusting + scale * (2.0 * SURE + self.need(departure));
            // The way back is as far as the way here was.
            let back = self.run(&rest, &bare, below, true);
            [passed, back].into_iter().flatten().min_by(|a, b| a.chi2.total_cmp(&b.chi2))
        };
        let log_odds = fit.as_ref().map_or(f64::INFINITY, |f| {
            let gain = self.score(&here.fit, here.model.len(), scale) - self.score(f, rest.len(), scale);
            gain.min(self.common_gain(seat, &here.fit, f, scale))
        });
        (log_odds, fit)
    }

    /// The model without one departure, and values to begin its fit with.
    fn leave_out(&self, here: &Outcome, what: (Seat, Departure)) -> (Model, Vec<Params>) {
        let rest = here.model.iter().copied().filter(|m| *m != what).collect();
        let mut bare = here.fit.params.clone();
        for s in self.seated(what.0) {
            bare[s].set(what.1.size(), 0.0);
        }
        (rest, bare)
    }

    /// The departures of an outcome with their odds against the model without each, and
    /// against each rival in its place.
    pub(super) fn found(&self, outcome: &Outcome) -> Vec<Found> {
        outcome.model.iter().map(|&what| self.weighed(outcome, what)).collect()
    }

    fn weighed(&self, here: &Outcome, (seat, departure): (Seat, Departure)) -> Found {
        let scale = self.scale(&here.fit);
        let full = self.score(&here.fit, here.model.len(), scale);
        let (log_odds, without) = self.log_odds(here, (seat, departure));
        let (rest, bare) = self.leave_out(here, (seat, departure));
        let worth = here.fit.trusting + scale * (2.0 * SURE + self.need(departure) + here.fit.unlike);
        // Where little is left without it, what a rival may gain is told from there.
        let close = without.as_ref().filter(|fit| !self.is_open(fit));
        let nearby = close.and_then(|fit| Nearby::of(self, &rest, fit));
        let raced = here.passed.iter().find(|p| p.model == rest && !p.starts.is_empty());
        let rival = |(at, d)| {
            let mut rival = rest.clone();
            rival.push((at, d));
            let fit = match (&nearby, close, raced) {
                (Some(nearby), Some(close), _) => {
                    let promise = nearby.promise((at, d), |gain| close.trusting - gain <= worth)?;
                    self.run_from(&rival, &promise.begin, worth, promise.far)?
                }
                (_, None, Some(raced)) => {
                    self.run_on(&rival, raced.starts.iter().filter(|start| start.model == rival), worth)?
                }
                _ => self.run(&rival, &bare, worth, close.is_none())?,
            };
            Some((d, full - self.score(&fit, rival.len(), scale)))
        };
        let candidates = self.candidates(&here.model).into_iter();
        let rivals = candidates.filter(|(at, _)| *at == seat || *at == Seat::All).filter_map(rival).collect();
        let section = match seat {
            Seat::Section(s) => Some(self.inputs[s].section),
            Seat::All => None,
        };
        Found { section, departure, log_odds, rivals }
    }

    /// What a departure that acts on all sections alike gains: no more than if
    /// every section gained as little as the one that gains least. What helps one
    /// section only is that section's own.
    fn common_gain(&self, seat: Seat, with: &Fit, without: &Fit, scale: f64) -> f64 {
        if seat != Seat::All || self.inputs.len() < 2 {
            return f64::INFINITY;
        }
        let least = (0..self.inputs.len())
            .map(|s| robust_chi2(&without.residuals[s]) - robust_chi2(&with.residuals[s]))
            .fold(f64::INFINITY, f64::min);
        let penalty = 0.5 * with.free.saturating_sub(without.free) as f64 * libm::log(self.rows);
        0.5 * least * self.inputs.len() as f64 / scale - penalty + PRIOR_LOG_ODDS
    }
}

/// Sum of squares of a section's residuals, wild ones counted with Huber's function.
fn robust_chi2(residuals: &[f64]) -> f64 {
    residuals.iter().map(|r| if r.abs() <= CORNER { r * r } else { CORNER * (2.0 * r.abs() - CORNER) }).sum()
}
