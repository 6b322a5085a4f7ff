//! Nonlinear least squares of the model to the points of one or more sections.
//!
//! Parameters may be shared between sections; what was to be expected of a
//! parameter before looking enters as a Gaussian prior, which also keeps a poor
//! sweep from running away; weights let wild points go.

use nalgebra::DMatrix;

use super::descend::{USUAL, Until, descend};
use super::model::{PARS, Par, Params};
use super::observed::Observed;
use super::problem::Problem;
use crate::numerics::Estimate;

/// What was to be expected of a parameter of a section before looking.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// The parameter.
    pub par: Par,
    /// Expected value.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// What is fitted and how.
#[derive(Debug, Clone, PartialEq)]
pub struct FitOptions {
    /// Parameters with one value for all sections.
    pub shared: Vec<Par>,
    /// Parameters of each section on their own: one list a section.
    pub own: Vec<Vec<Par>>,
    /// Priors, held for every section (once for a shared parameter).
    pub priors: Vec<Prior>,
    /// How alike the sections were expected to be: parameter and standard
    /// deviation of the difference from their mean.
    pub links: Vec<(Par, f64)>,
    /// Rounds of reweighting wild points; 0 trusts every point.
    pub reweight: usize,
    /// Whether points that are off where most of the way is gone have less weight from there on:
    /// there may be some that would lead the fit astray.
    pub wary: bool,
    /// The fit is given up as soon as χ² clearly will not fall below this; infinite where it
    /// is wanted in any case.
    pub hopeless_above: f64,
    /// Most steps before any point is given less weight.
    pub steps: usize,
    /// Settled when a step promises less than this of χ², over its excess.
    pub settled: f64,
    /// Whether the start may be far off: most of the way is then gone on some of the points.
    pub far: bool,
}

impl FitOptions {
    /// Nothing known before, every point trusted, and fitted to the end from a start that may
    /// be far off.
    pub fn to_the_end(shared: Vec<Par>, own: Vec<Vec<Par>>) -> Self {
        Self {
            shared,
            own,
            priors: Vec::new(),
            links: Vec::new(),
            reweight: 0,
            wary: false,
            hopeless_above: f64::INFINITY,
            steps: ENOUGH_STEPS,
            settled: SETTLED,
            far: true,
        }
    }
}

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Parameters of each section.
    pub params: Vec<Params>,
    /// Residual over sigma, a list a section, unweighted.
    pub residuals: Vec<Vec<f64>>,
    /// Weighted sum of squares over points and priors.
    pub chi2: f64,
    /// The same before any point was given less weight.
    pub trusting: f64,
    /// The share of it that comes from the links between sections.
    pub unlike: f64,
    /// Points of all sections.
    pub rows: usize,
    /// Number of free parameters.
    pub free: usize,
    pub(super) covariance: DMatrix<f64>,
    pub(super) slots: Vec<[Option<usize>; PARS]>,
}

impl Fit {
    /// χ² over degrees of freedom, at least 1: what the errors are widened by.
    pub fn excess(&self) -> f64 {
        (self.chi2 / self.rows.saturating_sub(self.free).max(1) as f64).max(1.0)
    }

    /// A parameter's estimate; standard deviation 0 where it was held.
    pub fn estimate(&self, section: usize, par: Par) -> Estimate {
        let value = self.params[section].get(par);
        let sd = self.slots[section][par as usize].map_or(0.0, |s| (self.covariance[(s, s)] * self.excess()).sqrt());
        Estimate { value, sd }
    }

    /// Covariance of two parameters, widened like [`Fit::estimate`].
    pub fn covariance(&self, a: (usize, Par), b: (usize, Par)) -> f64 {
        match (self.slots[a.0][a.1 as usize], self.slots[b.0][b.1 as usize]) {
            (Some(i), Some(j)) => self.covariance[(i, j)] * self.excess(),
            _ => 0.0,
        }
    }

    /// Whether a section's parameter of this index was fitted.
    pub fn is_free(&self, section: usize, par: usize) -> bool {
        self.slots[section][par].is_some()
    }

    /// Variance of a function of one section's parameters with this gradient.
    pub fn variance(&self, section: usize, gradient: &[f64; PARS]) -> f64 {
        let slots = &self.slots[section];
        let used: Vec<(usize, f64)> =
            slots.iter().zip(gradient).filter_map(|(s, g)| s.map(|s| (s, *g))).filter(|(_, g)| *g != 0.0).collect();
        let mut sum = 0.0;
        for &(i, gi) in &used {
            for &(j, gj) in &used {
                sum += gi * gj * self.covariance[(i, j)];
            }
        }
        (sum * self.excess()).max(0.0)
    }
}

/// Residuals beyond this many standard deviations lose weight (Huber's function
/// with a generous corner: good points are left alone).
pub const CORNER: f64 = 3.0;
/// Settled so far that no parameter moves by more than a hundredth of its standard deviation.
pub const SETTLED: f64 = 1e-4;
/// A fit that is only compared with others is settled when a step promises less than this of χ²,
/// over its excess: a fortieth in ln odds.
pub const COMPARED: f64 = 0.05;
/// Steps that are enough for any fit before reweighting.
const ENOUGH_STEPS: usize = 60;
/// Steps allowed in each round of reweighting.
const MORE_STEPS: usize = 20;

/// Fits; `start` holds the values to begin with and those that are not free.
///
/// `None` where there are fewer points than free parameters without a prior,
/// where no finite sum of squares is found, or where the fit was given up.
pub fn fit(data: &[Observed], start: &[Params], options: &FitOptions) -> Option<Fit> {
    let (begin, damping) = if options.far { roughly(data, start, options)? } else { (start.to_vec(), USUAL) };
    let mut problem = Problem::new(data, &begin, options);
    if problem.rows() + problem.priors() < problem.x.len() || problem.x.is_empty() {
        return None;
    }
    let mut until =
        Until { steps: options.steps, settled: options.settled, hopeless_above: options.hopeless_above, damping };
    let mut here = problem.room();
    problem.normal(&mut here);
    if options.wary && problem.reweight(&here) {
        problem.normal(&mut here);
    }
    until.damping = descend(&mut problem, &mut here, until)?;
    let trusting = here.chi2;
    (until.steps, until.hopeless_above) = (MORE_STEPS, f64::INFINITY);
    for _ in 0..options.reweight {
        if !problem.reweight(&here) {
            break;
        }
        problem.normal(&mut here);
        until.damping = descend(&mut problem, &mut here, until)?;
    }
    problem.finish(here, trusting)
}

/// Points of a section on which most of the way is gone; more where the law does not describe so
/// few: a reading that jumps weighs much among them.
const ROUGH_POINTS: [usize; 2] = [30, 60];
/// χ² of a reading up to which the law describes them.
const DESCRIBED: f64 = 3.0;

/// Where a fit of some of the points ends, and the damping there; the start where there are too
/// few to choose from. `None` where the fit is given up.
fn roughly(data: &[Observed], start: &[Params], options: &FitOptions) -> Option<(Vec<Params>, f64)> {
    let rows: usize = data.iter().map(Observed::len).sum();
    let mut best = None;
    for points in ROUGH_POINTS {
        let strides: Vec<usize> = data.iter().map(|d| d.len() / points).collect();
        if strides.iter().any(|stride| *stride < 2) {
            break;
        }
        let (chi2, params, damping) = on_some(data, &strides, start, options)?;
        best = Some((params, damping));
        if chi2 <= DESCRIBED * rows as f64 {
            break;
        }
    }
    Some(best.unwrap_or_else(|| (start.to_vec(), USUAL)))
}

/// χ², as if of all points, and values where a fit of every so many-th of them ends, and the
/// damping there.
fn on_some(
    data: &[Observed],
    strides: &[usize],
    start: &[Params],
    options: &FitOptions,
) -> Option<(f64, Vec<Params>, f64)> {
    /// χ² of so few points is within this factor of what it would be of all: three standard
    /// deviations of 120 of them.
    const SURELY: f64 = 1.4;
    let some: Vec<Observed> = data.iter().zip(strides).map(|(d, stride)| d.every(*stride)).collect();
    let mut problem = Problem::new(&some, start, options);
    // So that priors and links keep their weight.
    problem.count_as(strides);
    let until = Until {
        steps: options.steps,
        settled: options.settled.max(ROUGHLY_SETTLED),
        hopeless_above: SURELY * options.hopeless_above,
        damping: USUAL,
    };
    let mut here = problem.room();
    problem.normal(&mut here);
    let mut damping = descend(&mut problem, &mut here, until)?;
    if options.wary && problem.reweight(&here) {
        problem.count_as(strides);
        problem.normal(&mut here);
        damping = descend(&mut problem, &mut here, Until { damping, ..until })?;
    }
    Some((here.chi2, problem.params, damping))
}

/// The way on some of the points ends where a step promises less than this of χ²: they differ
/// from all by as much.
const ROUGHLY_SETTLED: f64 = 0.5;
