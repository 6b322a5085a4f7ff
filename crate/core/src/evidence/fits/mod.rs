//! The law fitted to the sections of a tube, and which departures from it the
//! points ask for.
//!
//! Sections of one tube share the shape of the law (exponent, bend, hold of the
//! grid) and differ in perveance, mu and contact potential: what one section
//! does and its twin does not stands out even where the law itself is off by a
//! few per cent. Departures are added one at a time, the best first, as long as
//! the information criterion gains by more than their prior odds.

mod departure;
mod law_error;
mod observe;
mod search;
mod wild;

use crate::law::{Fit, Observed};

pub use departure::{Departure, Seat};
pub(super) use observe::Input;
use search::Search;

/// A departure found, with the odds for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Index of the section in the tube; `None` for what acts on all alike.
    pub section: Option<usize>,
    /// What was found.
    pub departure: Departure,
    /// ln odds of the model with it against the same model without it.
    pub log_odds: f64,
    /// ln odds of it against each rival in its place.
    pub rivals: Vec<(Departure, f64)>,
}

/// The fitted sections of a tube.
#[derive(Debug, Clone)]
pub struct Laws {
    /// Indices of the fitted sections in the tube.
    pub sections: Vec<usize>,
    /// The points fitted, a set a section.
    pub observed: Vec<Observed>,
    /// The chosen model.
    pub fit: Fit,
    /// Departures in the chosen model.
    pub found: Vec<Found>,
    /// Root mean square of the residuals relative to the current, over the upper
    /// half of the current: how well the law describes these curves.
    pub misfit: f64,
    /// The law's own relative error at the top of the curves, as estimated.
    pub law_error: f64,
    /// How far the fitted shape is from that of published laws: the squared
    /// distance in standard deviations over six parameters.
    pub strangeness: f64,
    /// Readings that jump off their curve, a list a fitted section: indices in
    /// the section.
    pub wild: Vec<Vec<usize>>,
}

impl Laws {
    /// The law's own relative error at a share of the top current.
    pub fn law_error_at(&self, share: f64) -> f64 {
        law_error::at(self.law_error, share)
    }
}

/// Fits the sections together and looks for departures.
///
/// The first round takes the law to be as wrong as it is for the worse of the
/// published forms, and leaves out readings that jump off their own curve; how
/// wrong the law is for this tube is then read off what is left, and a second
/// round looks as closely as that allows.
pub(super) fn search(mut inputs: Vec<Input<'_>>) -> Option<Laws> {
    /// A second round is worth its time where the error differs by this factor.
    const WORTH_IT: f64 = 1.4;
    let plain = Search::new(&inputs, law_error::USUAL)?.plain()?;
    let wild: Vec<Vec<usize>> = inputs.iter().zip(&plain.params).map(|(i, p)| wild::wild(i, p)).collect();
    for (input, wild) in inputs.iter_mut().zip(&wild) {
        input.left_out.extend(wild);
    }
    let first = Search::new(&inputs, law_error::USUAL)?;
    let outcome = first.climb()?;
    let error = law_error::estimate(&first.observed, &inputs, &outcome.fit);
    if (error / law_error::USUAL).ln().abs() < WORTH_IT.ln() {
        return Some(first.finish(outcome, wild));
    }
    let second = Search::new(&inputs, error)?.starting_from(&outcome);
    let closer = second.climb()?;
    Some(second.finish(closer, wild))
}
