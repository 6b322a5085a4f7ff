//! Nonlinear least squares of the model to the points of one or more sections.
//!
//! The minimiser is the `levenberg-marquardt` crate (a port of MINPACK's lmder).
//! Around it: parameters shared between sections, what was to be expected of a
//! parameter before looking (a Gaussian prior, which also keeps a poor sweep from
//! running away), and weights that let wild points go.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, Owned};

use super::model::{PARS, Par, Params};
use crate::numerics::Estimate;

/// The points of one section, ready to be fitted.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Observed {
    /// Index of each point in its section.
    pub index: Vec<usize>,
    /// Plate voltage, V.
    pub va: Vec<f64>,
    /// Grid voltage at the pin as well as it is known, V.
    pub vg: Vec<f64>,
    /// Plate current, A.
    pub ia: Vec<f64>,
    /// Standard deviation of the current, A.
    pub sigma: Vec<f64>,
}

impl Observed {
    /// Number of points.
    pub fn len(&self) -> usize {
        self.ia.len()
    }

    /// Whether there is no point.
    pub fn is_empty(&self) -> bool {
        self.ia.is_empty()
    }
}

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
    /// Rounds of reweighting wild points; 0 trusts every point.
    pub reweight: usize,
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
const CORNER: f64 = 3.0;
/// Evaluations allowed in a fit, as a multiple of the number of parameters.
const PATIENCE: usize = 12;

/// Fits; `start` holds the values to begin with and those that are not free.
///
/// `None` where there are fewer points than free parameters without a prior, or
/// where the minimiser finds no finite sum of squares.
pub fn fit(data: &[Observed], start: &[Params], options: &FitOptions) -> Option<Fit> {
    let mut problem = Problem::new(data, start, options);
    if problem.rows() + problem.priors.len() < problem.x.len() || problem.x.is_empty() {
        return None;
    }
    for round in 0..=options.reweight {
        let patience = if round == 0 { PATIENCE } else { PATIENCE / 2 };
        let (settled, report) = LevenbergMarquardt::new()
            .with_ftol(1e-10)
            .with_xtol(1e-10)
            .with_gtol(1e-10)
            .with_patience(patience)
            .minimize(problem);
        problem = settled;
        if !report.objective_function.is_finite() {
            return None;
        }
        if round < options.reweight {
            problem.reweight();
        }
    }
    problem.finish()
}

struct Problem<'a> {
    data: &'a [Observed],
    params: Vec<Params>,
    slots: Vec<[Option<usize>; PARS]>,
    /// (slot, mean, sd)
    priors: Vec<(usize, f64, f64)>,
    /// Square roots of the robust weights, a list a section.
    weights: Vec<Vec<f64>>,
    x: DVector<f64>,
}

impl<'a> Problem<'a> {
    fn new(data: &'a [Observed], start: &[Params], options: &FitOptions) -> Self {
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
        let mut problem = Self {
            data,
            params: start.to_vec(),
            slots,
            priors,
            weights: data.iter().map(|d| vec![1.0; d.len()]).collect(),
            x: DVector::from_vec(x),
        };
        problem.spread();
        problem
    }

    fn rows(&self) -> usize {
        self.data.iter().map(Observed::len).sum()
    }

    /// Writes the free values into the sections' parameters.
    fn spread(&mut self) {
        for (params, slots) in self.params.iter_mut().zip(&self.slots) {
            for (value, slot) in params.0.iter_mut().zip(slots) {
                if let Some(slot) = slot {
                    *value = self.x[*slot];
                }
            }
        }
    }

    fn raw(&self, section: usize) -> Vec<f64> {
        let d = &self.data[section];
        let mut unused = [0.0; PARS];
        (0..d.len())
            .map(|i| (self.params[section].predict(d.va[i], d.vg[i], d.ia[i], &mut unused) - d.ia[i]) / d.sigma[i])
            .collect()
    }

    fn reweight(&mut self) {
        for section in 0..self.data.len() {
            self.weights[section] =
                self.raw(section).iter().map(|r| (CORNER / r.abs().max(CORNER)).sqrt()).collect();
        }
    }

    fn finish(self) -> Option<Fit> {
        let residuals: Vec<Vec<f64>> = (0..self.data.len()).map(|s| self.raw(s)).collect();
        let chi2 = self.residuals()?.norm_squared();
        let jacobian = self.jacobian()?;
        let covariance = inverse_normal(&jacobian)?;
        Some(Fit {
            residuals,
            chi2,
            rows: self.rows(),
            free: self.x.len(),
            covariance,
            slots: self.slots,
            params: self.params,
        })
    }
}

/// (JᵀJ)⁻¹ with scaled columns; a direction the data do not determine at all
/// gets a large but finite variance.
fn inverse_normal(jacobian: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let n = jacobian.ncols();
    let normal = jacobian.tr_mul(jacobian);
    let scale: Vec<f64> = (0..n).map(|i| normal[(i, i)].sqrt().max(1e-150)).collect();
    let mut scaled = DMatrix::from_fn(n, n, |i, j| normal[(i, j)] / (scale[i] * scale[j]));
    const RIDGE: f64 = 1e-12;
    for i in 0..n {
        scaled[(i, i)] += RIDGE;
    }
    let inverse = scaled.cholesky()?.inverse();
    let out = DMatrix::from_fn(n, n, |i, j| inverse[(i, j)] / (scale[i] * scale[j]));
    out.iter().all(|v| v.is_finite()).then_some(out)
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, x: &DVector<f64>) {
        self.x.copy_from(x);
        self.spread();
    }

    fn params(&self) -> DVector<f64> {
        self.x.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let mut out = DVector::zeros(self.rows() + self.priors.len());
        let mut unused = [0.0; PARS];
        let mut row = 0;
        for (section, d) in self.data.iter().enumerate() {
            let params = &self.params[section];
            for i in 0..d.len() {
                let predicted = params.predict(d.va[i], d.vg[i], d.ia[i], &mut unused);
                out[row] = (predicted - d.ia[i]) / d.sigma[i] * self.weights[section][i];
                row += 1;
            }
        }
        for &(slot, mean, sd) in &self.priors {
            out[row] = (self.x[slot] - mean) / sd;
            row += 1;
        }
        out.iter().all(|v| v.is_finite()).then_some(out)
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let mut out = DMatrix::zeros(self.rows() + self.priors.len(), self.x.len());
        let mut gradient = [0.0; PARS];
        let mut row = 0;
        for (section, d) in self.data.iter().enumerate() {
            let params = &self.params[section];
            let used: Vec<(usize, usize)> =
                self.slots[section].iter().enumerate().filter_map(|(p, s)| s.map(|s| (p, s))).collect();
            for i in 0..d.len() {
                params.predict(d.va[i], d.vg[i], d.ia[i], &mut gradient);
                let factor = self.weights[section][i] / d.sigma[i];
                for &(par, slot) in &used {
                    out[(row, slot)] = gradient[par] * factor;
                }
                row += 1;
            }
        }
        for &(slot, _, sd) in &self.priors {
            out[(row, slot)] = 1.0 / sd;
            row += 1;
        }
        out.iter().all(|v| v.is_finite()).then_some(out)
    }
}
