//! What a departure does to the readings, over its size.

use std::cell::OnceCell;

use crate::law::{Par, Params};

use super::departure::{Departure, RESISTANCES, Seat};
use super::search::Search;

/// The currents of every section as the law has them, A, beside which departures are seen.
pub(super) struct Without {
    /// The parameters, floors left out: what a departure acts on.
    params: Vec<Params>,
    currents: Vec<Vec<f64>>,
}

impl Without {
    pub(super) fn of(search: &Search<'_>, params: &[Params]) -> Self {
        let params: Vec<Params> = params.iter().map(|p| p.without_floor()).collect();
        let currents = params.iter().zip(&search.observed).map(|(p, o)| p.currents_of(o)).collect();
        Self { params, currents }
    }
}

/// What one departure does to every reading.
pub(super) struct Effect<'e> {
    search: &'e Search<'e>,
    without: &'e Without,
    pub(super) departure: Departure,
    seat: Seat,
    /// The size at which a search begins.
    pub(super) begin: f64,
    /// Change of every current at that size, A, once it is asked for.
    change: OnceCell<Vec<Vec<f64>>>,
}

impl<'e> Effect<'e> {
    pub(super) fn of(search: &'e Search<'e>, without: &'e Without, (seat, departure): (Seat, Departure)) -> Self {
        let mut effect = Self { search, without, departure, seat, begin: 0.0, change: OnceCell::new() };
        effect.begin = search.seated(seat).next().map_or(0.0, |s| effect.begun(s).get(departure.size()));
        effect
    }

    /// Whether twice the size does twice as much.
    pub(super) fn is_in_proportion(&self) -> bool {
        !matches!(self.departure, Departure::Ceiling | Departure::Degeneration)
    }

    /// What it does at `times` the size at which a search begins, A, a list a section; empty
    /// for a section that it leaves alone.
    pub(super) fn at(&self, times: f64) -> Vec<Vec<f64>> {
        self.each(|s| {
            if self.departure == Departure::Ceiling {
                let mut with = self.begun(s);
                with.set(Par::Ceiling, times * with.get(Par::Ceiling));
                return self.changed(s, &with);
            }
            let of_reading = |(d, i): (&f64, &f64)| match self.departure {
                // The resistance lowers the current that causes its own drop.
                Departure::Degeneration if *i > 0.0 => times * d / (1.0 - (times * d / i).min(0.0)),
                _ => times * d,
            };
            self.change()[s].iter().zip(&self.without.currents[s]).map(of_reading).collect()
        })
    }

    fn change(&self) -> &[Vec<f64>] {
        self.change.get_or_init(|| self.each(|s| self.changed(s, &self.begun(s))))
    }

    /// One of a few sizes and shapes of it, which together stand for all that it may do: what it
    /// does at every point, A, a list a section.
    pub(super) fn probe(&self, number: usize) -> Vec<Vec<f64>> {
        if self.departure == Departure::Degeneration {
            return self.at(RESISTANCES[number % Departure::PROBES]);
        }
        self.each(|s| self.changed(s, &self.probed(number, s)))
    }

    /// Puts it into sections' parameters, so that it does as much as a probe so many times.
    pub(super) fn put(&self, number: usize, times: f64, params: &mut [Params]) {
        for s in self.search.seated(self.seat) {
            let probe = self.probed(number, s);
            self.departure.put(&probe, times, &mut params[s]);
        }
    }

    fn probed(&self, number: usize, section: usize) -> Params {
        self.departure.probe(number, &self.without.params[section], &self.search.about[section])
    }

    fn begun(&self, section: usize) -> Params {
        let mut with = self.without.params[section];
        self.departure.begin(&mut with, &self.search.about[section]);
        with
    }

    fn each(&self, of: impl Fn(usize) -> Vec<f64>) -> Vec<Vec<f64>> {
        let mut out = vec![Vec::new(); self.without.params.len()];
        self.search.seated(self.seat).for_each(|s| out[s] = of(s));
        out
    }

    /// What it does to a section that has it as these parameters say.
    fn changed(&self, section: usize, with: &Params) -> Vec<f64> {
        let (observed, currents) = (&self.search.observed[section], &self.without.currents[section]);
        let mut changed = match self.departure {
            Departure::Ceiling => with.limited(currents),
            Departure::WarmUp | Departure::WarmUpOnce => with.warming(currents, &observed.time, observed.before),
            Departure::Degeneration | Departure::Unevenness => with.currents_of(observed),
        };
        changed.iter_mut().zip(currents).for_each(|(a, b)| *a -= b);
        changed
    }
}
