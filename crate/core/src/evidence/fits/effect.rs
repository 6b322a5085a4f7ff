//! What a departure does to the readings.

use crate::law::{Par, Params};

use super::departure::Departure;
use super::search::Search;

/// What one departure does to every reading, over its size.
pub(super) struct Effect {
    /// Change at the size at which a search begins, A, a list a section; empty for a
    /// section that it leaves alone.
    change: Vec<Vec<f64>>,
    /// The currents that it acts on, A.
    currents: Vec<Vec<f64>>,
    /// The size at which a search begins, and how it bends.
    pub(super) begin: f64,
    pub(super) departure: Departure,
    /// Exponent with which a ceiling is approached.
    sharp: f64,
}

impl Effect {
    pub(super) fn of(departure: Departure, seated: std::ops::Range<usize>, search: &Search<'_>, params: &[Params]) -> Self {
        let mut begin = 0.0;
        let mut sharp = 0.0;
        let (mut change, mut currents) = (vec![Vec::new(); params.len()], vec![Vec::new(); params.len()]);
        for s in seated {
            let (o, bare) = (&search.observed[s], &params[s]);
            let mut with = *bare;
            departure.begin(&mut with, &search.about[s]);
            begin = with.get(departure.size());
            sharp = libm::exp(with.get(Par::LnSharp));
            currents[s] = bare.currents(o.applied());
            change[s] = with.currents(o.applied()).iter().zip(&currents[s]).map(|(a, b)| a - b).collect();
        }
        Self { change, currents, begin, departure, sharp }
    }

    /// What it does at `times` the size at which a search begins.
    pub(super) fn at(&self, times: f64) -> Vec<Vec<f64>> {
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
