//! The law fitted to the sections of a tube, and which departures from it the
//! points ask for.
//!
//! Sections of one tube share the shape of the law (exponent, bend, hold of the
//! grid) and differ in perveance, mu and contact potential: what one section
//! does and its twin does not stands out even where the law itself is off by a
//! few per cent. Departures are added one at a time, the best first, as long as
//! the information criterion gains by more than their prior odds.

use crate::law::{Fit, FitOptions, Observed, Par, Params, Prior, fit};
use crate::sweep::Points;

use super::noise::Noise;
use super::start::start;

/// A departure from the healthy law in one section.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Departure {
    /// The current bends towards a ceiling.
    Ceiling,
    /// A resistance in the cathode lead.
    Degeneration,
    /// Part of the cathode lies under a coarser grid.
    Unevenness,
}

impl Departure {
    /// All of them, in the order in which they are tried.
    pub const ALL: [Self; 3] = [Self::Ceiling, Self::Degeneration, Self::Unevenness];

    fn pars(self) -> &'static [Par] {
        match self {
            Self::Ceiling => &[Par::Ceiling, Par::LnSharp],
            Self::Degeneration => &[Par::Ri],
            Self::Unevenness => &[Par::Share, Par::LnRatio],
        }
    }

    /// Where the fit starts from: an effect that is felt.
    fn begin(self, params: &mut Params, top: f64, gm: f64) {
        match self {
            Self::Ceiling => params.set(Par::Ceiling, 1.0 / (1.3 * top)),
            Self::Degeneration => params.set(Par::Ri, 0.1 / gm.max(1e-6)),
            Self::Unevenness => {
                params.set(Par::Share, 0.1);
                params.set(Par::LnRatio, 0.45f64.ln());
            }
        }
    }

    /// Whether the fitted size makes sense: a ceiling above zero, a resistance
    /// above zero, a share between none and half (above half the roles swap).
    fn sensible(self, params: &Params, top: f64) -> bool {
        match self {
            // Ceilings far above anything measured are no finding.
            Self::Ceiling => (1e-9..).contains(&params.get(Par::Ceiling)) && params.get(Par::Ceiling) * top > 0.05,
            Self::Degeneration => params.get(Par::Ri) > 0.0,
            Self::Unevenness => (0.0..=0.5).contains(&params.get(Par::Share)) && params.get(Par::LnRatio) < -0.1,
        }
    }
}

/// A departure found in a section, with the odds for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Index of the section in the tube.
    pub section: usize,
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
}

/// What the measured section gives to the fit.
pub(super) struct Input<'a> {
    pub(super) section: usize,
    pub(super) points: &'a Points,
    pub(super) noise: Noise,
    /// Points that are no part of the tube's curve (clipped).
    pub(super) left_out: &'a [usize],
    /// Grid voltage at the pin, V.
    pub(super) pin: Vec<f64>,
    /// Points with the grid more positive than this are left out, V.
    pub(super) most_positive: f64,
    /// Whether the curves come down far enough for a floor to be told from the law.
    pub(super) floors: bool,
    /// Amplification factor to begin with where the points give none.
    pub(super) mu_hint: Option<f64>,
}

/// Relative disagreement between the law and a healthy tube at the top of the
/// curves: published laws fitted to one tube differ by about this (measured
/// here on the laws of reference section 1, see DEVELOPERS.md).
const LAW_ERROR: f64 = 0.007;
/// The same grows towards cutoff as the current to this power: published fits
/// of one type disagree by tens of per cent at 1 % of the top and tenfold below
/// (reference section 1.4).
const LAW_ERROR_GROWTH: f64 = 0.5;
/// Points of a section that are fitted at most; more are thinned evenly. The
/// law has seven parameters: beyond this, more points gain nothing but time.
const MOST_POINTS: usize = 240;

/// Priors of the law's shape. Exponent: real triodes fit 1.2 to 1.6 (physics.md).
/// Spread: mu·w1 of eleven published Koren sets lies between 0.05 and 0.31
/// (reference 1.4). Bend: kT/e of an oxide cathode is 0.09 V, its shot of initial
/// velocities adds up to a few tenths. Hold: √kVB of published sets, 2 to 40 V.
/// Contact potential: −0.5 to 0.5 V in published sets, more with shifts of the bench.
const PRIORS: [Prior; 8] = [
    Prior { par: Par::X, mean: 1.4, sd: 0.12 },
    Prior { par: Par::Spread, mean: 0.15, sd: 0.08 },
    Prior { par: Par::W0, mean: 0.1, sd: 0.15 },
    Prior { par: Par::Vk, mean: 12.0, sd: 12.0 },
    Prior { par: Par::Phi, mean: 0.2, sd: 0.5 },
    Prior { par: Par::LnSharp, mean: 1.25, sd: 0.4 },
    Prior { par: Par::LnRatio, mean: -0.8, sd: 0.35 },
    Prior { par: Par::Share, mean: 0.1, sd: 0.2 },
];
/// ln odds of a departure before looking: about one used tube in twenty shows
/// it (common practice, no source).
const PRIOR_LOG_ODDS: f64 = -3.0;
const SHAPE: [Par; 4] = [Par::X, Par::W0, Par::Spread, Par::Vk];
const OWN: [Par; 3] = [Par::LnP, Par::LnMu, Par::Phi];
const FLOORS: [Par; 3] = [Par::I0, Par::Gak, Par::Gga];
/// Most departures that are looked for in one tube.
const MOST_DEPARTURES: usize = 4;

pub(super) fn observe(input: &Input<'_>) -> Observed {
    let points = input.points;
    let top = points.top();
    let dropped: std::collections::HashSet<usize> = input.left_out.iter().copied().collect();
    let usable: Vec<usize> = (0..points.len())
        .filter(|i| !dropped.contains(i) && input.pin[*i] <= input.most_positive && points.va[*i] > 0.0)
        .collect();
    let stride = usable.len().div_ceil(MOST_POINTS).max(1);
    let mut out = Observed::default();
    for i in usable.into_iter().step_by(stride) {
        let current = points.ia[i].max(0.0);
        let share = (current / top).clamp(1e-6, 1.0);
        let law = LAW_ERROR * share.powf(-LAW_ERROR_GROWTH);
        out.index.push(i);
        out.va.push(points.va[i]);
        out.vg.push(input.pin[i]);
        out.ia.push(points.ia[i]);
        out.sigma.push(input.noise.sd(current).hypot(law * current));
    }
    out
}

/// One model: which departures in which section.
type Model = Vec<(usize, Departure)>;

struct Search<'a> {
    inputs: &'a [Input<'a>],
    observed: Vec<Observed>,
    start: Vec<Params>,
    tops: Vec<f64>,
    rows: f64,
}

impl Search<'_> {
    fn options(&self, model: &Model) -> FitOptions {
        let mut priors = PRIORS.to_vec();
        // A floor is bounded by what is left at the bottom of the curves; the
        // prior only keeps the three terms from running against each other.
        let top = self.tops.iter().copied().fold(0.0, f64::max);
        priors.push(Prior { par: Par::I0, mean: 0.0, sd: 0.3 * top });
        priors.push(Prior { par: Par::Gak, mean: 0.0, sd: 0.3 * top / 100.0 });
        priors.push(Prior { par: Par::Gga, mean: 0.0, sd: 0.3 * top / 100.0 });
        let own = (0..self.inputs.len())
            .map(|s| {
                let mut own = OWN.to_vec();
                if self.inputs[s].floors {
                    own.extend(FLOORS);
                }
                own.extend(model.iter().filter(|(at, _)| *at == s).flat_map(|(_, d)| d.pars()));
                own
            })
            .collect();
        FitOptions { shared: SHAPE.to_vec(), own, priors, reweight: 2 }
    }

    fn run(&self, model: &Model, from: &[Params]) -> Option<Fit> {
        let mut begin = from.to_vec();
        for (s, d) in model {
            let absent = match d {
                Departure::Ceiling => begin[*s].get(Par::Ceiling) == 0.0,
                Departure::Degeneration => begin[*s].get(Par::Ri) == 0.0,
                Departure::Unevenness => begin[*s].get(Par::Share) == 0.0,
            };
            if absent {
                let law = begin[*s].law();
                let gm = law.slopes(150.0, -0.3 * 150.0 / law.mu).gm;
                d.begin(&mut begin[*s], self.tops[*s], gm);
            }
        }
        let fit = fit(&self.observed, &begin, &self.options(model))?;
        model.iter().all(|(s, d)| d.sensible(&fit.params[*s], self.tops[*s])).then_some(fit)
    }

    fn score(&self, fit: &Fit, departures: usize, scale: f64) -> f64 {
        -0.5 * fit.chi2 / scale - 0.5 * fit.free as f64 * self.rows.ln() + departures as f64 * PRIOR_LOG_ODDS
    }
}

/// Values to begin a fit with, free of the departure.
fn without(params: &[Params], section: usize, departure: Departure) -> Vec<Params> {
    let mut out = params.to_vec();
    match departure {
        Departure::Ceiling => out[section].set(Par::Ceiling, 0.0),
        Departure::Degeneration => out[section].set(Par::Ri, 0.0),
        Departure::Unevenness => out[section].set(Par::Share, 0.0),
    }
    out
}

/// Fits the sections together and looks for departures.
pub(super) fn search(inputs: &[Input<'_>]) -> Option<Laws> {
    let observed: Vec<Observed> = inputs.iter().map(observe).collect();
    let tops: Vec<f64> = observed.iter().map(|o| o.ia.iter().copied().fold(0.0, f64::max)).collect();
    let start: Option<Vec<Params>> = observed.iter().zip(inputs).map(|(o, i)| start(o, i.mu_hint)).collect();
    let rows = observed.iter().map(Observed::len).sum::<usize>().max(2) as f64;
    let search = Search { inputs, observed, start: start?, tops, rows };

    let mut model: Model = Vec::new();
    let mut best = search.run(&model, &search.start)?;
    while model.len() < MOST_DEPARTURES {
        let mut candidates: Vec<(Model, Fit)> = Vec::new();
        for s in 0..inputs.len() {
            for d in Departure::ALL {
                if model.iter().any(|(at, have)| *at == s && *have == d) {
                    continue;
                }
                let mut next = model.clone();
                next.push((s, d));
                if let Some(fit) = search.run(&next, &best.params) {
                    candidates.push((next, fit));
                }
            }
        }
        // The scale of χ² comes from the best of them: what no model explains is
        // the law's own error, and counts against none.
        let lowest = candidates.iter().map(|(_, f)| f.excess()).fold(best.excess(), f64::min);
        let here = search.score(&best, model.len(), lowest);
        let Some((next, fit)) = candidates
            .into_iter()
            .map(|(m, f)| (search.score(&f, m.len(), lowest), m, f))
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .filter(|(score, ..)| *score > here)
            .map(|(_, m, f)| (m, f))
        else {
            break;
        };
        model = next;
        best = fit;
    }

    let scale = best.excess();
    let full = search.score(&best, model.len(), scale);
    let found = model
        .iter()
        .map(|&(section, departure)| {
            let rest: Model = model.iter().copied().filter(|m| *m != (section, departure)).collect();
            let bare = without(&best.params, section, departure);
            let log_odds =
                search.run(&rest, &bare).map_or(f64::INFINITY, |f| full - search.score(&f, rest.len(), scale));
            let rivals = Departure::ALL
                .into_iter()
                .filter(|d| *d != departure && !model.contains(&(section, *d)))
                .filter_map(|d| {
                    let mut rival = rest.clone();
                    rival.push((section, d));
                    let fit = search.run(&rival, &bare)?;
                    Some((d, full - search.score(&fit, rival.len(), scale)))
                })
                .collect();
            Found { section: inputs[section].section, departure, log_odds, rivals }
        })
        .collect();
    let misfit = misfit(&search, &best);
    Some(Laws {
        sections: inputs.iter().map(|i| i.section).collect(),
        observed: search.observed,
        fit: best,
        found,
        misfit,
    })
}

fn misfit(search: &Search<'_>, fit: &Fit) -> f64 {
    let mut sum = 0.0;
    let mut n = 0.0;
    for (s, o) in search.observed.iter().enumerate() {
        for i in 0..o.len() {
            if o.ia[i] > 0.5 * search.tops[s] {
                sum += (fit.residuals[s][i] * o.sigma[i] / o.ia[i]).powi(2);
                n += 1.0;
            }
        }
    }
    if n > 0.0 { (sum / n).sqrt() } else { f64::NAN }
}
