//! The law fitted to the sections of a tube, and which departures from it the
//! points ask for.
//!
//! Sections of one tube share the shape of the law (exponent, bend, hold of the
//! grid) and differ in perveance, mu and contact potential: what one section
//! does and its twin does not stands out even where the law itself is off by a
//! few per cent. Departures are added one at a time, the best first, as long as
//! the information criterion gains by more than their prior odds.

mod climb;
mod departure;
mod effect;
mod law_error;
mod observe;
mod screen;
mod search;
mod shown;
mod wild;

use crate::law::{Fit, Observed};

pub use climb::SURE;
pub use departure::{Departure, Seat};
pub(super) use observe::Input;
use observe::Seen;
use search::Search;
pub use shown::Shown;

/// A departure found, with the odds for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Index of the section in the tube; `None` for what acts on all alike.
    pub section: Option<usize>,
    /// What was found.
    pub departure: Departure,
    /// ln odds of the model with it against the same model without it; infinite where they
    /// are beyond doubt.
    pub log_odds: f64,
    /// ln odds of it against each rival in its place, those left out that are beyond doubt
    /// the worse.
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
    /// What would have been found of each departure that was not, a section or all.
    pub shown: Vec<Shown>,
}

impl Laws {
    /// The smallest size of a departure that would have been found in every section in
    /// which it was not; `None` where there is none such, infinite where one hides any.
    pub fn smallest(&self, departure: Departure) -> Option<f64> {
        let sizes = self.shown.iter().filter(|s| s.departure == departure).map(|s| s.size);
        sizes.reduce(f64::max)
    }

    /// The law's own relative error at a share of the top current.
    pub fn law_error_at(&self, share: f64) -> f64 {
        self.law_error_not_below(0.0, share)
    }

    /// The same where the law's error is taken to be at least this at the top current.
    pub fn law_error_not_below(&self, least: f64, share: f64) -> f64 {
        law_error::at(self.law_error.max(least), share)
    }
}

/// Fits the sections together and looks for departures.
///
/// How wrong the law is for this tube is read off the healthy law's residuals
/// first: where it fits better than the published forms usually do, the search
/// looks as closely as that allows. Where it fits worse, that may be a fault's
/// doing: the search begins with the usual error, and only what the departures
/// it finds leave over is put down to the law. Readings that jump off their own
/// curve are left out.
pub(super) fn search(mut inputs: Vec<Input<'_>>) -> Option<Laws> {
    /// Another round is worth its time where the error differs by this factor.
    const WORTH_IT: f64 = 1.4;
    let differs = |a: f64, b: f64| libm::log(a / b).abs() > libm::log(WORTH_IT);
    let mut seen: Vec<Seen> = inputs.iter().map(Seen::of).collect();
    let mut first = Search::new(&inputs, &seen, law_error::USUAL)?;
    let mut plain = first.wary()?;
    let wild: Vec<Vec<usize>> = inputs.iter().zip(&plain.params).map(|(i, p)| wild::wild(i, p)).collect();
    if wild.iter().any(|w| !w.is_empty()) {
        for (input, wild) in inputs.iter_mut().zip(&wild) {
            input.left_out.extend(wild);
        }
        seen = inputs.iter().map(Seen::of).collect();
        first = Search::new(&inputs, &seen, law_error::USUAL)?;
        plain = first.plain()?;
    }
    let closer = law_error::estimate(&first.observed, &inputs, &plain);
    if closer < law_error::USUAL && differs(closer, law_error::USUAL) {
        first = first.with_law_error(closer, &plain.params);
        plain = first.plain()?;
    }
    let outcome = first.climb(plain);
    let error = law_error::estimate(&first.observed, &inputs, &outcome.fit);
    if !differs(error, first.law_error) {
        return Some(first.finish(outcome, wild));
    }
    let second = first.with_law_error(error, &first.without(&outcome));
    let plain = second.plain()?;
    let closer = second.climb(plain);
    Some(second.finish(closer, wild))
}
