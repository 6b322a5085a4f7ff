//! What the fit would have shown of a departure that is not there: the size from which on
//! the search would more likely than not have taken it in.
//!
//! A departure of a size changes the readings; what of that change the law's free
//! parameters (and a rival departure) cannot take up is what the criterion gains. The law
//! is linear enough for that near its optimum; the departures themselves are taken at
//! their full size.

use crate::law::{Change, Leftover};
use crate::numerics::logistic;

use super::climb::Outcome;
use super::departure::{Departure, Seat};
use super::effect::{Effect, Without};
use super::search::{PRIOR_LOG_ODDS, Search};

/// The smallest size of a departure that would have been found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// The departure.
    pub departure: Departure,
    /// Index of the section in the tube; `None` for what acts on all alike.
    pub section: Option<usize>,
    /// Its size, in the unit of its parameter; infinite where no size would.
    pub size: f64,
}

/// From this probability on it is found: more likely than not once it is stated
/// (`stated` in `faults` takes 0.2 off the log-odds).
const FOUND: f64 = 0.55;
/// Halvings of the logarithm of a factor of [`RANGE`]: to within a tenth (by construction).
const HALVINGS: usize = 8;
/// Sizes that are looked at, over the size at which a search begins: from a hundredth to
/// thirty times (by construction: beyond, the departure is no longer one).
const RANGE: (f64, f64) = (0.01, 30.0);

impl Search<'_> {
    /// The smallest size of every departure that is not in the model of an outcome.
    pub(super) fn shown(&self, outcome: &Outcome) -> Vec<Shown> {
        let params = &outcome.fit.params;
        let options = self.options(&outcome.model, f64::INFINITY);
        let Some(leftover) = Leftover::new(&self.observed, params, &options) else { return Vec::new() };
        let scale = self.scale(&outcome.fit);
        let without = Without::of(self, params);
        let candidates = self.candidates(&outcome.model);
        let effects: Vec<Effect<'_>> = candidates.iter().map(|c| Effect::of(self, &without, *c)).collect();
        // Each as its search would begin.
        let begun: Vec<Change> = effects.iter().map(|effect| leftover.change(&effect.at(1.0))).collect();
        let shown = |((effect, as_begun), &(seat, departure)): ((&Effect<'_>, &Change), &(Seat, Departure))| {
            let rivals: Vec<(Departure, &Change)> = candidates
                .iter()
                .zip(&begun)
                .filter(|((at, rival), _)| (*at == seat || *at == Seat::All) && *rival != departure)
                .map(|((_, rival), change)| (*rival, change))
                .collect();
            let gains = |change: &Change| Gains {
                alone: match seat {
                    // As `common_gain`: no more than if every section gained the least.
                    Seat::All if params.len() > 1 => {
                        let least = leftover.by_section(change).into_iter().fold(f64::INFINITY, f64::min);
                        least * params.len() as f64
                    }
                    _ => leftover.of(change),
                },
                beside: rivals.iter().map(|(_, rival)| leftover.beside(change, rival)).collect(),
            };
            let in_proportion = effect.is_in_proportion().then(|| gains(as_begun));
            let cost = |d: Departure| 0.5 * d.pars().len() as f64 * libm::log(self.rows);
            let found = |times: f64| {
                let of_size = || (gains(&leftover.change(&effect.at(times))), 1.0);
                let (gains, factor) = in_proportion.clone().map_or_else(of_size, |g| (g, times * times));
                let alone = 0.5 * factor * gains.alone / scale - cost(departure) + PRIOR_LOG_ODDS;
                let others: f64 = rivals
                    .iter()
                    .zip(&gains.beside)
                    .map(|((rival, _), beside)| {
                        libm::exp(-(0.5 * factor * beside / scale + cost(*rival) - cost(departure)))
                    })
                    .sum();
                logistic(alone) / (1.0 + others) >= FOUND
            };
            let section = match seat {
                Seat::Section(s) => Some(self.inputs[s].section),
                Seat::All => None,
            };
            Shown { departure, section, size: effect.begin * smallest(found) }
        };
        effects.iter().zip(&begun).zip(&candidates).map(shown).collect()
    }
}

/// What χ² gains by a departure of a size, and beside each of its rivals.
#[derive(Clone)]
struct Gains {
    alone: f64,
    beside: Vec<f64>,
}

/// The smallest of [`RANGE`] for which something holds, as it does for all above; infinite
/// where it holds for none.
fn smallest(holds: impl Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (libm::log(RANGE.0), libm::log(RANGE.1));
    if !holds(RANGE.1) {
        return f64::INFINITY;
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if holds(libm::exp(middle)) {
            high = middle;
        } else {
            low = middle;
        }
    }
    libm::exp(high)
}
