//! Nonlinear least squares of the model to the points of one or more sections.
//!
//! Parameters may be shared between sections; what was to be expected of a
//! parameter before looking enters as a Gaussian prior, which also keeps a poor
//! sweep from running away; weights let wild points go.

use nalgebra::{DMatrix, DVector};

use super::lanes::{Lanes, WIDTH, packed};
use super::model::{self, PARS, Par, Params};
use super::normal::{self, Columns, Packed};
use super::observed::Observed;
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
    covariance: DMatrix<f64>,
    slots: Vec<[Option<usize>; PARS]>,
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
/// Steps that are enough for any fit before reweighting.
const ENOUGH_STEPS: usize = 60;
/// Steps allowed in each round of reweighting.
const MORE_STEPS: usize = 20;

/// Fits; `start` holds the values to begin with and those that are not free.
///
/// `None` where there are fewer points than free parameters without a prior,
/// where no finite sum of squares is found, or where the fit was given up.
pub fn fit(data: &[Observed], start: &[Params], options: &FitOptions) -> Option<Fit> {
    let begin = if options.far { roughly(data, start, options)? } else { start.to_vec() };
    let mut problem = Problem::new(data, &begin, options);
    if problem.rows() + problem.priors.len() < problem.x.len() || problem.x.is_empty() {
        return None;
    }
    let mut state = descend(&mut problem, options.steps, options.settled, options.hopeless_above)?;
    let trusting = state.chi2;
    for _ in 0..options.reweight {
        if !problem.reweight() {
            break;
        }
        state = descend(&mut problem, MORE_STEPS, options.settled, f64::INFINITY)?;
    }
    problem.finish(state, trusting)
}

/// Points of a section on which most of the way is gone: five for each parameter.
const ROUGH_POINTS: usize = 60;

/// Where a fit of some of the points ends; the start where there are too few to choose from.
/// `None` where the fit is given up.
fn roughly(data: &[Observed], start: &[Params], options: &FitOptions) -> Option<Vec<Params>> {
    /// χ² of so few points is within this factor of what it would be of all: three standard
    /// deviations of 120 of them.
    const SURELY: f64 = 1.4;
    let strides: Vec<usize> = data.iter().map(|d| d.len() / ROUGH_POINTS).collect();
    if strides.iter().any(|stride| *stride < 2) {
        return Some(start.to_vec());
    }
    let some: Vec<Observed> = data.iter().zip(&strides).map(|(d, stride)| d.every(*stride)).collect();
    let mut problem = Problem::new(&some, start, options);
    // Each stands for its neighbours, so that priors and links keep their weight.
    for (points, stride) in problem.points.iter_mut().zip(&strides) {
        let more = Lanes::splat((*stride as f64).sqrt());
        points.weight.iter_mut().for_each(|w| *w *= more);
    }
    let settled = options.settled.max(ROUGHLY_SETTLED);
    descend(&mut problem, options.steps, settled, SURELY * options.hopeless_above)?;
    Some(problem.params)
}

/// The way on some of the points ends where a step promises less than this of χ²: they differ
/// from all by as much.
const ROUGHLY_SETTLED: f64 = 0.5;

/// Normal equations at a point.
pub(super) struct Normal {
    /// JᵀJ.
    pub(super) matrix: DMatrix<f64>,
    /// Jᵀr.
    gradient: DVector<f64>,
    /// rᵀr.
    chi2: f64,
    /// The share of it from the links.
    unlike: f64,
}

/// Levenberg's and Marquardt's method on the normal equations, the damping led
/// by the gain ratio (Madsen, Nielsen & Tingleff, Methods for Non-Linear Least
/// Squares Problems, 2nd ed., IMM DTU 2004, section 3.2; from memory). The
/// `levenberg-marquardt` crate finds the same optimum (a test holds them
/// together) but factors the whole Jacobian, 480 rows, where a tube's twenty
/// unknowns need a matrix of twenty: that costs ten times the time.
fn descend(problem: &mut Problem<'_>, steps: usize, settled: f64, hopeless_above: f64) -> Option<Normal> {
    /// Damping to begin with, as a share of the diagonal.
    const DAMPING: f64 = 1e-3;
    /// Given up when this many times what the next step promises would not
    /// bring χ² down far enough: the promise is that of the linearised model and
    /// falls fast once the steps succeed.
    const OUT_OF_REACH: f64 = 12.0;
    /// Damping beyond which a step says little of what can be gained, as a share
    /// of the diagonal.
    const DAMPED: f64 = 0.1;
    let n = problem.x.len();
    let mut here = problem.normal();
    if !here.chi2.is_finite() {
        return None;
    }
    let mut scale = DVector::zeros(n);
    let mut from = problem.x.clone();
    let (mut damping, mut growth) = (DAMPING, 2.0);
    for _ in 0..steps {
        for i in 0..n {
            scale[i] = here.matrix[(i, i)].max(0.1 * scale[i]).max(1e-300);
        }
        let step = loop {
            let mut damped = here.matrix.clone();
            for i in 0..n {
                damped[(i, i)] += damping * scale[i];
            }
            match damped.cholesky() {
                Some(c) => break c.solve(&(-&here.gradient)),
                None if damping < 1e12 => damping *= 10.0,
                None => return Some(here),
            }
        };
        let promised = -2.0 * step.dot(&here.gradient) - step.dot(&(&here.matrix * &step));
        let excess = (here.chi2 / problem.rows().saturating_sub(n).max(1) as f64).max(1.0);
        if promised <= settled * excess {
            break;
        }
        // A damped step promises less than the model could give.
        if damping < DAMPED && here.chi2 - OUT_OF_REACH * promised > hopeless_above {
            return None;
        }
        from.copy_from(&problem.x);
        problem.set(&(&from + &step));
        let there = problem.normal();
        let gain = (here.chi2 - there.chi2) / promised;
        if there.chi2.is_finite() && gain > 0.0 {
            let factor = 1.0 - (2.0 * gain - 1.0).powi(3);
            damping = (damping * factor.max(1.0 / 3.0)).max(1e-12);
            growth = 2.0;
            here = there;
        } else {
            problem.set(&from);
            damping *= growth;
            growth *= 2.0;
            if damping > 1e15 {
                break;
            }
        }
    }
    Some(here)
}

pub(super) struct Problem<'a> {
    data: &'a [Observed],
    pub(super) params: Vec<Params>,
    slots: Vec<[Option<usize>; PARS]>,
    /// The same, a list a section: (parameter, slot).
    pub(super) used: Vec<Vec<(usize, usize)>>,
    /// (slot, mean, sd)
    priors: Vec<(usize, f64, f64)>,
    /// Slots of one parameter over all sections, and 1/sd² of their differences.
    links: Vec<(Vec<usize>, f64)>,
    /// The points with their weights, a section each.
    pub(super) points: Vec<Packed>,
    columns: Box<Columns>,
    pub(super) x: DVector<f64>,
}

impl<'a> Problem<'a> {
    pub(super) fn new(data: &'a [Observed], start: &[Params], options: &FitOptions) -> Self {
        let mut slots = vec![[None; PARS]; data.len()];
        let mut x = Vec::new();
        let mut priors = Vec::new();
        let prior = |par: Par| options.priors.iter().find(|p| p.par == par);
        for &par in &options.shared {
            for s in slots.iter_mut() {
                s[par as usize] = Some(x.len());
            }
            if let Some(p) = prior(par) {
                priors.push((x.len(), p.mean, p.sd));
            }
            x.push(start[0].get(par));
        }
        for (section, own) in options.own.iter().enumerate() {
            for &par in own {
                slots[section][par as usize] = Some(x.len());
                if let Some(p) = prior(par) {
                    priors.push((x.len(), p.mean, p.sd));
                }
                x.push(start[section].get(par));
            }
        }
        let links = options
            .links
            .iter()
            .map(|(par, sd)| (slots.iter().filter_map(|s| s[*par as usize]).collect::<Vec<_>>(), sd.powi(-2)))
            .filter(|(slots, _)| slots.len() > 1)
            .collect();
        let used = slots
            .iter()
            .map(|slots| slots.iter().enumerate().filter_map(|(p, s)| s.map(|s| (p, s))).collect())
            .collect();
        let mut problem = Self {
            data,
            params: start.to_vec(),
            slots,
            used,
            priors,
            links,
            points: data.iter().map(pack).collect(),
            columns: normal::columns(),
            x: DVector::zeros(x.len()),
        };
        problem.set(&DVector::from_vec(x));
        problem
    }

    fn rows(&self) -> usize {
        self.data.iter().map(Observed::len).sum()
    }

    /// Takes new values and writes them into the sections' parameters.
    fn set(&mut self, x: &DVector<f64>) {
        self.x.copy_from(x);
        for (params, used) in self.params.iter_mut().zip(&self.used) {
            for &(par, slot) in used {
                params.0[par] = x[slot];
            }
        }
    }

    pub(super) fn normal(&mut self) -> Normal {
        let n = self.x.len();
        let mut matrix = DMatrix::zeros(n, n);
        let mut gradient = DVector::zeros(n);
        let mut chi2 = 0.0;
        for ((points, params), used) in self.points.iter().zip(&self.params).zip(&self.used) {
            let sums = normal::sums(points, params, used, &mut self.columns);
            chi2 += sums.chi2;
            for (a, &(_, i)) in used.iter().enumerate() {
                gradient[i] += sums.gradient[a];
                for (b, &(_, j)) in used.iter().enumerate().take(a + 1) {
                    matrix[(i, j)] += sums.matrix[a][b];
                    if i != j {
                        matrix[(j, i)] += sums.matrix[a][b];
                    }
                }
            }
        }
        for &(slot, mean, sd) in &self.priors {
            let r = (self.x[slot] - mean) / sd;
            chi2 += r * r;
            gradient[slot] += r / sd;
            matrix[(slot, slot)] += 1.0 / (sd * sd);
        }
        let mut unlike = 0.0;
        for (slots, weight) in &self.links {
            // Σ (x − mean)²/sd²: its curvature is 1 − 1/n on the diagonal, −1/n off it.
            let n = slots.len() as f64;
            let mean = slots.iter().map(|&s| self.x[s]).sum::<f64>() / n;
            for &i in slots {
                let r = self.x[i] - mean;
                unlike += r * r * weight;
                gradient[i] += r * weight;
                for &j in slots {
                    matrix[(i, j)] += weight * (f64::from(u8::from(i == j)) - 1.0 / n);
                }
            }
        }
        Normal { matrix, gradient, chi2: chi2 + unlike, unlike }
    }

    /// Residual over sigma, without robust weights.
    fn raw(&self, section: usize) -> Vec<f64> {
        let d = &self.data[section];
        let mut raw = self.params[section].currents(d.applied());
        for ((r, ia), sigma) in raw.iter_mut().zip(&d.ia).zip(&d.sigma) {
            *r = (*r - ia) / sigma;
        }
        raw
    }

    /// Whether any weight changed.
    fn reweight(&mut self) -> bool {
        let mut changed = false;
        for section in 0..self.data.len() {
            let raw = self.raw(section);
            let new = |(r, sigma): (&f64, &f64)| (CORNER / r.abs().max(CORNER)).sqrt() / sigma;
            let weights: Vec<f64> = raw.iter().zip(&self.data[section].sigma).map(new).collect();
            let weights = packed(&weights, 0.0);
            changed |= weights != self.points[section].weight;
            self.points[section].weight = weights;
        }
        changed
    }

    fn finish(self, state: Normal, trusting: f64) -> Option<Fit> {
        let residuals: Vec<Vec<f64>> = (0..self.data.len()).map(|s| self.raw(s)).collect();
        let covariance = inverse(&state.matrix)?;
        Some(Fit {
            residuals,
            chi2: state.chi2,
            trusting,
            unlike: state.unlike,
            rows: self.rows(),
            free: self.x.len(),
            covariance,
            slots: self.slots,
            params: self.params,
        })
    }
}

/// A section's points and weights, before any is robust.
fn pack(data: &Observed) -> Packed {
    let weights: Vec<f64> = data.sigma.iter().map(|s| 1.0 / s).collect();
    let mut applied = Vec::with_capacity(data.len().div_ceil(WIDTH));
    applied.extend(model::packed(data.applied()));
    Packed { applied, ia: packed(&data.ia, 0.0), weight: packed(&weights, 0.0) }
}

/// (JᵀJ)⁻¹ with scaled columns; a direction the data do not determine at all
/// gets a large but finite variance.
pub(super) fn inverse(normal: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let n = normal.ncols();
    let scale: Vec<f64> = (0..n).map(|i| normal[(i, i)].sqrt().max(1e-150)).collect();
    let scaled = DMatrix::from_fn(n, n, |i, j| normal[(i, j)] / (scale[i] * scale[j]));
    /// Added to the diagonal, the least that lets the matrix be factored: sums of a thousand
    /// products are good to about the first of these.
    const RIDGES: [f64; 4] = [1e-12, 1e-10, 1e-8, 1e-6];
    let inverse = RIDGES.into_iter().find_map(|ridge| {
        let mut ridged = scaled.clone();
        for i in 0..n {
            ridged[(i, i)] += ridge;
        }
        ridged.cholesky().map(|c| c.inverse())
    })?;
    let out = DMatrix::from_fn(n, n, |i, j| inverse[(i, j)] / (scale[i] * scale[j]));
    out.iter().all(|v| v.is_finite()).then_some(out)
}
