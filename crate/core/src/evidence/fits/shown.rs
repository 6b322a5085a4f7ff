//! What the fit would have shown of a departure that is not there: the size from which on
//! the search would more likely than not have taken it in.
//!
//! A departure of a size changes the readings; what of that change the law's free
//! parameters (and a rival departure) cannot take up is what the criterion gains. The law
//! is linear enough for that near its optimum; the departures themselves are taken at
//! their full size.

use crate::law::{Change, Leftover, Params};
use crate::numerics::logistic;

use super::departure::{Departure, Seat};
use super::search::{Outcome, PRIOR_LOG_ODDS, Search};

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

/// What one departure does to every reading, over its size.
struct Effect {
    /// Change at the size at which a search begins, A, a list a section; empty for a
    /// section that it leaves alone.
    change: Vec<Vec<f64>>,
    /// The currents that it acts on, A.
    currents: Vec<Vec<f64>>,
    /// The size at which a search begins, and how it bends.
    begin: f64,
    departure: Departure,
    /// Exponent with which a ceiling is approached.
    sharp: f64,
}

impl Effect {
    fn of(departure: Departure, seated: std::ops::Range<usize>, search: &Search<'_>, params: &[Params]) -> Self {
        let mut begin = 0.0;
        let mut sharp = 0.0;
        let (mut change, mut currents) = (vec![Vec::new(); params.len()], vec![Vec::new(); params.len()]);
        for s in seated {
            let (o, bare) = (&search.observed[s], &params[s]);
            let mut with = *bare;
            departure.begin(&mut with, &search.about[s]);
            begin = with.get(departure.size());
            sharp = libm::exp(with.get(crate::law::Par::LnSharp));
            currents[s] = bare.currents(o.applied());
            change[s] = with.currents(o.applied()).iter().zip(&currents[s]).map(|(a, b)| a - b).collect();
        }
        Self { change, currents, begin, departure, sharp }
    }

    /// What it does at `times` the size at which a search begins.
    fn at(&self, times: f64) -> Vec<Vec<f64>> {
        let of_section = |(change, currents): (&Vec<f64>, &Vec<f64>)| {
            let of_reading = |(d, i): (&f64, &f64)| match self.departure {
                Departure::Ceiling => ceiling(*i, times * self.begin, self.sharp),
                // The resistance lowers the current that causes its own drop.
                Departure::Degeneration if *i > 0.0 => times * d / (1.0 - (times * d / i).min(0.0)),
                _ => times * d,
            };
            change.iter().zip(currents).map(of_reading).collect()
        };
        self.change.iter().zip(&self.currents).map(of_section).collect()
    }
}

/// What a ceiling with this reciprocal takes from a current, A.
fn ceiling(i: f64, reciprocal: f64, sharp: f64) -> f64 {
    let load = i * reciprocal;
    if load <= 1e-9 { 0.0 } else { i * (libm::exp(-libm::log1p(libm::exp(sharp * libm::log(load))) / sharp) - 1.0) }
}

impl Search<'_> {
    /// The smallest size of every departure that is not in the model of an outcome.
    pub(super) fn shown(&self, outcome: &Outcome) -> Vec<Shown> {
        let params = &outcome.fit.params;
        let options = self.options(&outcome.model, f64::INFINITY);
        let Some(leftover) = Leftover::new(&self.observed, params, &options) else { return Vec::new() };
        let scale = self.scale(&outcome.fit);
        let effects: Vec<(Seat, Effect)> = self
            .candidates(&outcome.model)
            .into_iter()
            .map(|(seat, d)| (seat, Effect::of(d, self.seated(seat), self, params)))
            .collect();
        // Each as its search would begin.
        let begun: Vec<Change> = effects.iter().map(|(_, effect)| leftover.change(&effect.at(1.0))).collect();
        let shown = |(seat, effect): &(Seat, Effect)| {
            let rivals: Vec<(Departure, &Change)> = effects
                .iter()
                .zip(&begun)
                .filter(|((at, rival), _)| (*at == *seat || *at == Seat::All) && rival.departure != effect.departure)
                .map(|((_, rival), change)| (rival.departure, change))
                .collect();
            let found = |times: f64| {
                let change = leftover.change(&effect.at(times));
                let cost = |d: Departure| 0.5 * d.pars().len() as f64 * libm::log(self.rows);
                let gain = match seat {
                    // As `common_gain`: no more than if every section gained the least.
                    Seat::All if params.len() > 1 => {
                        let least = leftover.by_section(&change).into_iter().fold(f64::INFINITY, f64::min);
                        least * params.len() as f64
                    }
                    _ => leftover.of(&change),
                };
                let alone = 0.5 * gain / scale - cost(effect.departure) + PRIOR_LOG_ODDS;
                let others: f64 = rivals
                    .iter()
                    .map(|(rival, begun)| {
                        let more = 0.5 * leftover.beside(&change, begun) / scale;
                        libm::exp(-(more + cost(*rival) - cost(effect.departure)))
                    })
                    .sum();
                logistic(alone) / (1.0 + others) >= FOUND
            };
            let section = match seat {
                Seat::Section(s) => Some(self.inputs[*s].section),
                Seat::All => None,
            };
            Shown { departure: effect.departure, section, size: effect.begin * smallest(found) }
        };
        effects.iter().map(shown).collect()
    }
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
