//! What the search for departures works on: the points, the models, and how each is fitted
//! and scored.

use crate::law::{COMPARED, Fit, FitOptions, Observed, Par, Params, Prior, SETTLED, fit};

use super::Laws;
use super::climb::Outcome;
use super::departure::{About, Departure, Seat};
use super::law_error;
use super::observe::{Input, Seen};
use crate::evidence::drive::Connection;
use crate::evidence::start::start;

/// Priors of the law's shape. Exponent: real triodes fit 1.2 to 1.6 (physics.md).
/// Spread: mu·w1 of eleven published Koren sets lies between 0.05 and 0.31
/// (reference 1.4). Bend: kT/e of an oxide cathode is 0.09 V, its shot of initial
/// velocities adds up to a few tenths. Hold: kVB of published sets, mostly 300 V², a few 7 to 1500; kVB2
/// of Cohen and Hélie's 12AX7 is 18.8 V.
/// Contact potential: −0.5 to 0.5 V in published sets, more with shifts of the bench.
const PRIORS: [Prior; 10] = [
    Prior { par: Par::X, mean: 1.4, sd: 0.12 },
    Prior { par: Par::Spread, mean: 0.15, sd: 0.08 },
    Prior { par: Par::W0, mean: 0.05, sd: 0.12 },
    Prior { par: Par::Kvb, mean: 300.0, sd: 400.0 },
    Prior { par: Par::Kvl, mean: 2.0, sd: 8.0 },
    Prior { par: Par::Phi, mean: 0.2, sd: 0.5 },
    Prior { par: Par::LnSharp, mean: 1.25, sd: 0.4 },
    Prior { par: Par::LnRatio, mean: -0.8, sd: 0.35 },
    Prior { par: Par::Share, mean: 0.1, sd: 0.2 },
    Prior { par: Par::Deficit, mean: 0.2, sd: 0.3 },
];
/// mu of the control grid against the screen: at a single screen voltage the
/// points say little of it. Eleven published pentode sets have 7.9 to 44
/// (reference 1.4), in logarithms 2.7 ± 0.6.
/// And the plate's own pull: rp of the sheets (reference 2.2) is 10 to 100 times
/// the plate voltage over the current for small pentodes, 4 to 10 for power types.
const OF_PENTODES: [Prior; 2] =
    [Prior { par: Par::LnMu, mean: 2.7, sd: 0.6 }, Prior { par: Par::Plate, mean: 3e-4, sd: 6e-4 }];
/// How alike two sections of one tube are before looking: ln perveance, ln mu,
/// contact potential (V), from their mean. Loose: a mismatch of a factor of two
/// costs as much as one reading three standard deviations off (no source gives
/// the spread within one envelope; reference 3.6 that of trade).
const LINKS: [(Par, f64); 3] = [(Par::LnP, 0.15), (Par::LnMu, 0.05), (Par::Phi, 0.15)];
/// ln odds of a departure before looking: about one used tube in twenty shows
/// it (common practice, no source).
pub(super) const PRIOR_LOG_ODDS: f64 = -3.0;
const SHAPE: [Par; 5] = [Par::X, Par::W0, Par::Spread, Par::Kvb, Par::Kvl];
const OWN: [Par; 3] = [Par::LnP, Par::LnMu, Par::Phi];

/// χ² of a reading above which a fit leaves much to be explained. Sound tubes stay below it
/// when the law's error is counted.
const MUCH_LEFT: f64 = 3.0;
/// χ² of the links above which the sections are unlike enough for a departure to pay for itself by
/// making them alike: as much as one costs before looking.
const UNLIKE: f64 = -2.0 * PRIOR_LOG_ODDS;

/// Steps after which the starts of a fit are compared: the way to a good one may begin uphill,
/// but not for long.
const TRIED: usize = 8;
/// Points of a section on which starts are tried, at least: five for each parameter.
const TRIED_ON: usize = 40;
/// A start that stands further behind than this factor after those steps is left.
pub(super) const FAR_BEHIND: f64 = 30.0;

/// One model: which departures, and where.
pub(super) type Model = Vec<(Seat, Departure)>;

pub(super) struct Search<'a> {
    pub(super) inputs: &'a [Input<'a>],
    seen: &'a [Seen],
    pub(super) observed: Vec<Observed>,
    /// Some of the same points, evenly.
    sparse: Vec<Observed>,
    pub(super) law_error: f64,
    start: Vec<Params>,
    /// Every section with the law of the one that a healthy law fits best.
    template: Vec<Params>,
    pub(super) about: Vec<About>,
    pub(super) rows: f64,
}

impl<'a> Search<'a> {
    /// `None` where a section has too few points to begin with.
    pub(super) fn new(inputs: &'a [Input<'a>], seen: &'a [Seen], law_error: f64) -> Option<Self> {
        let observed: Vec<Observed> = seen.iter().map(|s| s.with(law_error)).collect();
        let largest = |values: &[f64]| values.iter().copied().fold(0.0, f64::max);
        let about: Vec<About> = observed
            .iter()
            .zip(inputs)
            .map(|(o, i)| About { top: largest(&o.ia), plate: largest(&o.va), points: i.points.len() as f64 })
            .collect();
        let begin: Option<Vec<Params>> = observed
            .iter()
            .zip(inputs)
            .map(|(o, i)| start(o, i.mu_hint, i.drive.connection == Connection::Diode))
            .collect();
        let rows = observed.iter().map(Observed::len).sum::<usize>().max(2) as f64;
        let begin = begin?;
        let sparse = observed.iter().map(sparse).collect();
        let mut search =
            Self { inputs, seen, observed, sparse, law_error, template: begin.clone(), start: begin, about, rows };
        search.template = search.find_template();
        Some(search)
    }

    /// The same search with another error of the law, begun with these values.
    pub(super) fn with_law_error(&self, law_error: f64, start: &[Params]) -> Self {
        let observed: Vec<Observed> = self.seen.iter().map(|s| s.with(law_error)).collect();
        Self {
            inputs: self.inputs,
            seen: self.seen,
            sparse: observed.iter().map(sparse).collect(),
            observed,
            law_error,
            start: start.to_vec(),
            template: self.template.clone(),
            about: self.about.clone(),
            rows: self.rows,
        }
    }

    /// Where an outcome ended, its departures left out.
    pub(super) fn without(&self, outcome: &Outcome) -> Vec<Params> {
        let mut params = outcome.fit.params.clone();
        for &(seat, departure) in &outcome.model {
            for s in self.seated(seat) {
                params[s].set(departure.size(), 0.0);
            }
        }
        params
    }

    /// The healthy law alone, on points some of which may be no part of the curve.
    pub(super) fn wary(&self) -> Option<Fit> {
        let options = FitOptions { wary: true, ..self.options(&Model::new(), f64::INFINITY) };
        fit(&self.observed, &self.start, &options)
    }

    /// The healthy law alone.
    pub(super) fn plain(&self) -> Option<Fit> {
        self.run(&Model::new(), &self.start, f64::INFINITY, false)
    }

    pub(super) fn finish(self, mut outcome: Outcome, wild: Vec<Vec<usize>>) -> Laws {
        let options = FitOptions { settled: SETTLED, far: false, ..self.options(&outcome.model, f64::INFINITY) };
        if let Some(settled) = fit(&self.observed, &outcome.fit.params, &options) {
            outcome.fit = settled;
        }
        let shown = self.shown(&outcome);
        let found = self.found(&outcome);
        let misfit = misfit(&self, &outcome.fit);
        let strangeness = self.strangeness(&outcome.fit);
        Laws {
            sections: self.inputs.iter().map(|i| i.section).collect(),
            observed: self.observed,
            fit: outcome.fit,
            found,
            misfit,
            law_error: self.law_error,
            strangeness,
            wild,
            shown,
        }
    }

    /// Squared distance of the law's shape from what was to be expected, in
    /// standard deviations, the worst section counted.
    fn strangeness(&self, fit: &Fit) -> f64 {
        let distance = |params: &Params, par: &Par| {
            PRIORS.iter().find(|p| p.par == *par).map_or(0.0, |p| ((params.get(*par) - p.mean) / p.sd).powi(2))
        };
        let of = |params: &Params| SHAPE.iter().chain(&[Par::Phi]).map(|par| distance(params, par)).sum::<f64>();
        fit.params.iter().map(of).fold(0.0, f64::max)
    }

    /// What χ² is divided by: its excess over the degrees of freedom, and what
    /// neighbours that share their error count for less.
    pub(super) fn scale(&self, fit: &Fit) -> f64 {
        fit.excess() * law_error::dependence(&self.observed, fit)
    }

    pub(super) fn options(&self, model: &Model, worth: f64) -> FitOptions {
        let mut priors = PRIORS.to_vec();
        // A filament is its own cathode: fed with direct current, half its voltage
        // adds to the grid's or takes from it (reference 2.2, trap 5).
        let filament = self.inputs.iter().map(|i| i.filament).fold(0.0, f64::max);
        for prior in priors.iter_mut().filter(|p| p.par == Par::Phi) {
            prior.sd = libm::hypot(prior.sd, 0.5 * filament);
        }
        // A floor is bounded by what is left at the bottom of the curves; the
        // prior only keeps the three terms from running against each other.
        let top = self.about.iter().map(|a| a.top).fold(0.0, f64::max);
        priors.push(Prior { par: Par::I0, mean: 0.0, sd: 0.3 * top });
        priors.push(Prior { par: Par::Gak, mean: 0.0, sd: 0.3 * top / 100.0 });
        priors.push(Prior { par: Par::Gga, mean: 0.0, sd: 0.3 * top / 100.0 });
        if self.inputs.iter().any(|i| i.drive.connection == Connection::Pentode) {
            priors.extend(OF_PENTODES);
        }
        let own = (0..self.inputs.len())
            .map(|s| {
                let connection = self.inputs[s].drive.connection;
                // A diode's plate is its own grid: mu is 1 and nothing to be fitted.
                let mut own: Vec<Par> =
                    OWN.into_iter().filter(|p| connection != Connection::Diode || *p != Par::LnMu).collect();
                if connection == Connection::Pentode {
                    own.push(Par::Plate);
                }
                if self.inputs[s].floors {
                    own.extend(Par::FLOOR);
                }
                own.extend(model.iter().filter(|(at, _)| *at == Seat::Section(s)).flat_map(|(_, d)| d.pars()));
                own
            })
            .collect();
        let mut shared = SHAPE.to_vec();
        shared.extend(model.iter().filter(|(at, _)| *at == Seat::All).flat_map(|(_, d)| d.pars()));
        FitOptions {
            priors,
            links: LINKS.to_vec(),
            reweight: 2,
            hopeless_above: worth,
            settled: COMPARED,
            ..FitOptions::to_the_end(shared, own)
        }
    }

    /// Fits a model from the values given and, where much is left to be explained, from the
    /// template: a section bent by a fault has dragged the law along, and the best fit without
    /// the departure may be far from the best one with it.
    pub(super) fn run(&self, model: &Model, from: &[Params], worth: f64, open: bool) -> Option<Fit> {
        if !open || model.is_empty() || self.inputs.len() < 2 {
            return self.run_from(model, from, worth, true);
        }
        self.run_on(model, &self.tried(model, from).in_order(), worth)
    }

    /// Fits a model on from where its starts stand, the best of them first.
    pub(super) fn run_on<'s>(
        &self,
        model: &Model,
        starts: impl IntoIterator<Item = &'s Start>,
        worth: f64,
    ) -> Option<Fit> {
        let mut best: Option<Fit> = None;
        for start in starts {
            let below = best.as_ref().map_or(worth, |b| b.trusting.min(worth));
            if start.chi2 > FAR_BEHIND * below {
                break;
            }
            let next = self.run_from(model, &start.params, below, false);
            best = match (best, next) {
                (Some(a), Some(b)) => Some(if b.chi2 < a.chi2 { b } else { a }),
                (a, b) => a.or(b),
            };
        }
        best
    }

    /// The same for a start that is `far` off, or not.
    pub(super) fn run_from(&self, model: &Model, from: &[Params], worth: f64, far: bool) -> Option<Fit> {
        let begin = self.begun(model, from);
        let fit = fit(&self.observed, &begin, &FitOptions { far, ..self.options(model, worth) })?;
        let sensible =
            |&(seat, d): &(Seat, Departure)| self.seated(seat).all(|s| d.sensible(&fit.params[s], &self.about[s]));
        model.iter().all(sensible).then_some(fit)
    }

    /// How far a few steps lead a model from the values given and from the template, on some of
    /// the points.
    pub(super) fn tried(&self, model: &Model, from: &[Params]) -> Starts {
        let options = FitOptions { reweight: 0, steps: TRIED, far: false, ..self.options(model, f64::INFINITY) };
        let few = if self.inputs.len() < 2 { &[from][..] } else { &[from, &self.template][..] };
        let tried = |from: &&[Params]| {
            let fit = fit(&self.sparse, &self.begun(model, from), &options)?;
            // As if of all points.
            Some(Start { chi2: fit.chi2 * self.rows / fit.rows as f64, model: model.clone(), params: fit.params })
        };
        Starts(few.iter().filter_map(tried).collect())
    }

    /// Values to begin a model with: its departures are felt.
    fn begun(&self, model: &Model, from: &[Params]) -> Vec<Params> {
        let mut begin = from.to_vec();
        for &(seat, d) in model {
            for s in self.seated(seat) {
                if begin[s].get(d.size()) == 0.0 {
                    d.begin(&mut begin[s], &self.about[s]);
                }
            }
        }
        begin
    }

    /// The sections that a seat stands for.
    pub(super) fn seated(&self, seat: Seat) -> std::ops::Range<usize> {
        match seat {
            Seat::Section(s) => s..s + 1,
            Seat::All => 0..self.inputs.len(),
        }
    }

    /// What may be added to a model.
    pub(super) fn candidates(&self, model: &Model) -> Vec<(Seat, Departure)> {
        let of_sections =
            (0..self.inputs.len()).flat_map(|s| Departure::OF_SECTION.into_iter().map(move |d| (Seat::Section(s), d)));
        let mut out: Vec<(Seat, Departure)> = of_sections.filter(|c| !model.contains(c)).collect();
        // The sweep has one beginning.
        if !model.iter().any(|(_, d)| d.is_warm_up()) {
            out.push((Seat::All, Departure::WarmUp));
            if self.inputs.len() > 1 {
                out.push((Seat::All, Departure::WarmUpOnce));
            }
        }
        out
    }

    /// Whether a fit leaves much to be explained, so that the way to a better one may begin uphill.
    pub(super) fn is_open(&self, fit: &Fit) -> bool {
        // Of twins that came out unlike, that is not divided by what no model explains.
        fit.chi2 > MUCH_LEFT * self.rows || fit.unlike > UNLIKE
    }

    fn find_template(&self) -> Vec<Params> {
        if self.inputs.len() < 2 {
            return self.start.clone();
        }
        let alone = (0..self.inputs.len()).filter_map(|s| {
            let mut options = self.options(&Vec::new(), f64::INFINITY);
            options.own = vec![options.own.swap_remove(s)];
            options.reweight = 0;
            fit(&self.observed[s..=s], &self.start[s..=s], &options)
        });
        let best = alone.min_by(|a, b| (a.chi2 / a.rows as f64).total_cmp(&(b.chi2 / b.rows as f64)));
        match best {
            Some(fit) => vec![fit.params[0].without_floor(); self.inputs.len()],
            None => self.start.clone(),
        }
    }

    pub(super) fn score(&self, fit: &Fit, departures: usize, scale: f64) -> f64 {
        // The law's error makes readings say less, not what is known of twin sections.
        let chi2 = (fit.chi2 - fit.unlike) / scale + fit.unlike;
        -0.5 * chi2 - 0.5 * fit.free as f64 * libm::log(self.rows) + departures as f64 * PRIOR_LOG_ODDS
    }
}

/// Some of a section's points, evenly.
fn sparse(observed: &Observed) -> Observed {
    observed.every((observed.len() / TRIED_ON).max(1))
}

/// Where a model stood after a few steps.
pub(super) struct Start {
    pub(super) chi2: f64,
    pub(super) model: Model,
    pub(super) params: Vec<Params>,
}

/// Starts of one or more models.
#[derive(Default)]
pub(super) struct Starts(Vec<Start>);

impl Starts {
    pub(super) fn extend(&mut self, more: Self) {
        self.0.extend(more.0);
    }

    /// The best first; of those that came to the same place only one.
    pub(super) fn in_order(mut self) -> Vec<Start> {
        /// Sums of squares that differ by less than this share are of the same place.
        const SAME: f64 = 1e-3;
        self.0.sort_by(|a, b| a.chi2.total_cmp(&b.chi2));
        self.0.dedup_by(|next, kept| next.model == kept.model && next.chi2 - kept.chi2 <= SAME * kept.chi2);
        self.0
    }
}

fn misfit(search: &Search<'_>, fit: &Fit) -> f64 {
    let mut sum = 0.0;
    let mut n = 0.0;
    for (s, o) in search.observed.iter().enumerate() {
        for i in 0..o.len() {
            if o.ia[i] > 0.5 * search.about[s].top {
                sum += (fit.residuals[s][i] * o.sigma[i] / o.ia[i]).powi(2);
                n += 1.0;
            }
        }
    }
    if n > 0.0 { (sum / n).sqrt() } else { f64::NAN }
}
