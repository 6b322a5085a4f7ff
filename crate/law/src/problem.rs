//! What is fitted, at the values where the fit stands.

use fearless_simd::{Simd, dispatch};
use nalgebra::{DMatrix, DVector};

use super::fit::{CORNER, Fit, FitOptions};
use super::lanes::{Pack, level};
use super::model::{PARS, Par, Params};
use super::normal::{self, Packed, Sums};
use super::observed::Observed;
use super::predict::Way;

/// Normal equations at a point.
pub(super) struct Normal {
    /// JᵀJ.
    pub(super) matrix: DMatrix<f64>,
    /// Jᵀr.
    pub(super) gradient: DVector<f64>,
    /// rᵀr.
    pub(super) chi2: f64,
    /// The share of it from the links.
    pub(super) unlike: f64,
    /// Predicted less read at every point, A, a list a section.
    off: Vec<Vec<Pack>>,
}

/// The points, what is free and what was known before, and the values at hand.
pub(super) struct Problem<'a> {
    pub(super) params: Vec<Params>,
    slots: Vec<[Option<usize>; PARS]>,
    /// The same, a list a section: (parameter, slot).
    pub(super) used: Vec<Vec<(usize, usize)>>,
    /// (slot, mean, sd)
    priors: Vec<(usize, f64, f64)>,
    /// Slots of one parameter over all sections, and 1/sd² of their differences.
    links: Vec<(Vec<usize>, f64)>,
    /// The points with their weights, a section each.
    pub(super) points: Vec<Packed<'a>>,
    sums: Sums,
    pub(super) x: DVector<f64>,
}

impl Normal {
    /// Takes over χ² and the residuals of another, and leaves the equations as they are.
    pub(super) fn take_residuals(&mut self, other: &mut Self) {
        (self.chi2, self.unlike) = (other.chi2, other.unlike);
        std::mem::swap(&mut self.off, &mut other.off);
    }
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
        let used: Vec<Vec<_>> = slots
            .iter()
            .map(|slots| slots.iter().enumerate().filter_map(|(p, s)| s.map(|s| (p, s))).collect())
            .collect();
        let mut problem = Self {
            params: start.to_vec(),
            slots,
            sums: Sums::room(used.iter().map(Vec::len).max().unwrap_or(0)),
            used,
            priors,
            links,
            points: data.iter().map(Packed::new).collect(),
            x: DVector::zeros(x.len()),
        };
        problem.set(&DVector::from_vec(x));
        problem
    }

    pub(super) fn rows(&self) -> usize {
        self.points.iter().map(|points| points.data.len()).sum()
    }

    /// What was known before: so many priors.
    pub(super) fn priors(&self) -> usize {
        self.priors.len()
    }

    /// Takes new values and writes them into the sections' parameters.
    pub(super) fn set(&mut self, x: &DVector<f64>) {
        self.x.copy_from(x);
        for (params, used) in self.params.iter_mut().zip(&self.used) {
            for &(par, slot) in used {
                params.0[par] = x[slot];
            }
        }
    }

    /// Every point of a section counts as so many.
    pub(super) fn count_as(&mut self, many: &[usize]) {
        for (points, many) in self.points.iter_mut().zip(many) {
            let more = (*many as f64).sqrt();
            points.weight.as_flattened_mut().iter_mut().for_each(|w| *w *= more);
        }
    }

    /// Room for the equations.
    pub(super) fn room(&self) -> Normal {
        let n = self.x.len();
        let off = self.points.iter().map(|p| Vec::with_capacity(p.weight.len())).collect();
        Normal { matrix: DMatrix::zeros(n, n), gradient: DVector::zeros(n), chi2: 0.0, unlike: 0.0, off }
    }

    /// The equations at the values where the problem stands.
    pub(super) fn normal(&mut self, out: &mut Normal) {
        dispatch!(level(), simd => self.of_points(simd, out));
        for &(slot, _, sd) in &self.priors {
            out.matrix[(slot, slot)] += 1.0 / (sd * sd);
        }
        for (slots, weight) in &self.links {
            // Σ (x − mean)²/sd²: its curvature is 1 − 1/n on the diagonal, −1/n off it.
            let n = slots.len() as f64;
            for &i in slots {
                for &j in slots {
                    out.matrix[(i, j)] += weight * (f64::from(u8::from(i == j)) - 1.0 / n);
                }
            }
        }
        let known = self.known(Some(&mut out.gradient));
        out.unlike = known.unlike;
        out.chi2 += known.priors + known.unlike;
    }

    /// The equations of the points alone.
    #[inline(always)]
    fn of_points<S: Simd>(&mut self, simd: S, out: &mut Normal) {
        // As slices: matrices go through their places one by one.
        out.matrix.as_mut_slice().fill(0.0);
        out.gradient.as_mut_slice().fill(0.0);
        out.chi2 = 0.0;
        let mut way = Way::of_block(simd);
        for (s, off) in out.off.iter_mut().enumerate() {
            let (used, sums) = (&self.used[s], &mut self.sums);
            sums.make(simd, &self.points[s], &self.params[s], used, &mut way, off);
            let free = used.len();
            let residuals = sums.row(free, free);
            out.chi2 += residuals[free];
            for (a, (&(_, i), pull)) in used.iter().zip(residuals).enumerate() {
                out.gradient[i] += pull;
                for (&(_, j), product) in used.iter().zip(sums.row(free, a)).take(a + 1) {
                    out.matrix[(i, j)] += product;
                    if i != j {
                        out.matrix[(j, i)] += product;
                    }
                }
            }
        }
    }

    /// χ² of what was known before, which pulls at the values.
    fn known(&self, mut gradient: Option<&mut DVector<f64>>) -> Known {
        let mut pull = |slot: usize, by: f64| {
            if let Some(gradient) = &mut gradient {
                gradient[slot] += by;
            }
        };
        let mut known = Known { priors: 0.0, unlike: 0.0 };
        for &(slot, mean, sd) in &self.priors {
            let r = (self.x[slot] - mean) / sd;
            known.priors += r * r;
            pull(slot, r / sd);
        }
        for (slots, weight) in &self.links {
            let mean = slots.iter().map(|&s| self.x[s]).sum::<f64>() / slots.len() as f64;
            for &slot in slots {
                let r = self.x[slot] - mean;
                known.unlike += r * r * weight;
                pull(slot, r * weight);
            }
        }
        known
    }

    /// Gives points that are off by much less weight; whether any weight changed.
    pub(super) fn reweight(&mut self, state: &Normal) -> bool {
        let mut changed = false;
        for (points, off) in self.points.iter_mut().zip(&state.off) {
            let weights = points.weight.as_flattened_mut().iter_mut().zip(points.per_sigma.as_flattened());
            for ((weight, per_sigma), off) in weights.zip(off.as_flattened()) {
                let now = (CORNER / (off * per_sigma).abs().max(CORNER)).sqrt() * per_sigma;
                changed |= now != *weight;
                *weight = now;
            }
        }
        changed
    }

    /// χ² and the residuals at the values where the problem stands; the equations are left as they
    /// are.
    pub(super) fn look(&self, out: &mut Normal) {
        let known = self.known(None);
        let sections = self.points.iter().zip(&self.params).zip(&mut out.off);
        let of_points: f64 = sections.map(|((points, params), off)| normal::look(points, params, off)).sum();
        out.unlike = known.unlike;
        out.chi2 = of_points + known.priors + known.unlike;
    }

    /// The fit at the values where the problem stands.
    pub(super) fn finish(self, state: Normal, trusting: f64) -> Option<Fit> {
        let residuals = state.off.iter().zip(&self.points).map(|(off, points)| {
            let mut residuals = normal::times(off, &points.per_sigma).into_flattened();
            residuals.truncate(points.data.len());
            residuals
        });
        let residuals = residuals.collect();
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

/// χ² of what was known before.
struct Known {
    priors: f64,
    /// Of the links between sections.
    unlike: f64,
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
