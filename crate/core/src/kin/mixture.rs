//! A mixture of normal distributions, evaluated by logarithms.
//!
//! Far from every component all densities are zero in floating point while their
//! logarithms are not: everything here stays in logarithms until the last step. Features
//! that are missing in a row are marginalised: their rows and columns are left out of the
//! mean and the covariance, which for a normal distribution is exact.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use crate::numerics::{factored, log_sum_exp};

/// A row of features; `None` where one is missing.
pub type Row = Vec<Option<f64>>;

/// One component.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Its share, 0 to 1.
    pub weight: f64,
    /// Its middle.
    pub mean: DVector<f64>,
    /// Its covariance.
    pub covariance: DMatrix<f64>,
}

/// The mixture.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixture {
    /// Its components, of one length.
    pub components: Vec<Component>,
}

/// How a fit is to run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitting {
    /// Added to the diagonal of each covariance, in the features' units squared.
    pub ridge: f64,
    /// Whether all components share one covariance.
    pub tied: bool,
    /// Most rounds.
    pub rounds: usize,
    /// The fit is done when the mean log-likelihood grows by less than this.
    pub settled: f64,
}

/// A fitted mixture.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// The mixture.
    pub mixture: Mixture,
    /// Sum of the rows' log-densities.
    pub log_likelihood: f64,
}

/// Which features a row has.
pub fn present(row: &[Option<f64>]) -> Vec<usize> {
    (0..row.len()).filter(|&j| row[j].is_some()).collect()
}

/// ln of the determinant of a factored covariance of so many features.
pub fn ln_determinant(factor: &Cholesky<f64, Dyn>, features: usize) -> f64 {
    let l = factor.l_dirty();
    (0..features).map(|i| 2.0 * libm::log(l[(i, i)])).sum()
}

/// ln of the normal density of a deviation under a factored covariance.
fn log_normal(deviation: DVector<f64>, factor: &Cholesky<f64, Dyn>) -> f64 {
    let n = deviation.len();
    let mut z = deviation;
    factor.l_dirty().solve_lower_triangular_mut(&mut z);
    -0.5 * (z.norm_squared() + ln_determinant(factor, n) + n as f64 * libm::log(std::f64::consts::TAU))
}

impl Component {
    /// The part of it that a row can see: deviation and factored covariance.
    fn seen(&self, row: &[Option<f64>], at: &[usize]) -> Option<(DVector<f64>, Cholesky<f64, Dyn>)> {
        let deviation = DVector::from_iterator(at.len(), at.iter().map(|&j| row[j].unwrap_or(0.0) - self.mean[j]));
        let part = DMatrix::from_fn(at.len(), at.len(), |i, j| self.covariance[(at[i], at[j])]);
        Some((deviation, factored(part)?))
    }
}

impl Mixture {
    /// ln(weight × density) of each component at a row. A row without any feature says
    /// nothing, and gets the weights.
    pub fn log_joint(&self, row: &[Option<f64>]) -> Vec<f64> {
        let at = present(row);
        self.components
            .iter()
            .map(|c| {
                let density = c.seen(row, &at).map_or(f64::NEG_INFINITY, |(d, l)| log_normal(d, &l));
                libm::log(c.weight) + density
            })
            .collect()
    }

    /// ln of the density at a row.
    pub fn log_density(&self, row: &[Option<f64>]) -> f64 {
        log_sum_exp(&self.log_joint(row))
    }

    /// The components' shares in a row; they sum to one.
    pub fn responsibilities(&self, row: &[Option<f64>]) -> Vec<f64> {
        shares(&self.log_joint(row))
    }

    /// Fits by expectation and maximisation (Dempster, Laird and Rubin, J. R. Stat. Soc. B
    /// 39 (1977) 1), what is missing in a row by its expectation under each component
    /// (Ghahramani and Jordan, NIPS 6 (1994) 120). `None` where a component dies out or a
    /// covariance cannot be factored.
    pub fn fit(rows: &[Row], start: Self, how: Fitting) -> Option<Fitted> {
        let mut mixture = start;
        let mut before = f64::NEG_INFINITY;
        for round in 0..=how.rounds {
            let joint = mixture.joint(rows);
            let log_likelihood: f64 = joint.iter().map(|j| log_sum_exp(j)).sum();
            if !log_likelihood.is_finite() {
                return None;
            }
            let grown = (log_likelihood - before) / rows.len() as f64;
            if grown <= how.settled || round == how.rounds {
                return Some(Fitted { mixture, log_likelihood });
            }
            before = log_likelihood;
            mixture = mixture.round(rows, &joint, how)?;
        }
        None
    }

    /// [`Self::log_joint`] of every row; what whole rows need is factored once.
    fn joint(&self, rows: &[Row]) -> Vec<Vec<f64>> {
        let factors: Vec<_> = self.components.iter().map(|c| factored(c.covariance.clone())).collect();
        let whole = |row: &Row| -> Vec<f64> {
            let one = |(c, factor): (&Component, &Option<Cholesky<f64, Dyn>>)| {
                let deviation = DVector::from_fn(row.len(), |j, _| row[j].unwrap_or(0.0) - c.mean[j]);
                let density = factor.as_ref().map_or(f64::NEG_INFINITY, |l| log_normal(deviation, l));
                libm::log(c.weight) + density
            };
            self.components.iter().zip(&factors).map(one).collect()
        };
        rows.iter().map(|r| if r.iter().all(Option::is_some) { whole(r) } else { self.log_joint(r) }).collect()
    }

    fn round(&self, rows: &[Row], joint: &[Vec<f64>], how: Fitting) -> Option<Self> {
        /// A component with less than this many rows has died out.
        const DEAD: f64 = 1e-3;
        let width = self.components.first()?.mean.len();
        let shares: Vec<Vec<f64>> = joint.iter().map(|j| shares(j)).collect();
        let mut next = Vec::with_capacity(self.components.len());
        for (k, component) in self.components.iter().enumerate() {
            let mass: f64 = shares.iter().map(|s| s[k]).sum();
            if mass < DEAD {
                return None;
            }
            let mut filled = Vec::with_capacity(rows.len());
            let mut unseen = DMatrix::zeros(width, width);
            let mut mean = DVector::zeros(width);
            for (row, share) in rows.iter().zip(&shares) {
                let full = component.fill(row, share[k], &mut unseen)?;
                mean += &full * share[k];
                filled.push(full);
            }
            mean /= mass;
            let mut covariance = unseen;
            for (full, share) in filled.iter().zip(&shares) {
                let d = full - &mean;
                covariance.ger(share[k], &d, &d, 1.0);
            }
            next.push(Component { weight: mass / rows.len() as f64, mean, covariance: covariance / mass });
        }
        if how.tied {
            let mut all = DMatrix::zeros(width, width);
            next.iter().for_each(|c| all += &c.covariance * c.weight);
            next.iter_mut().for_each(|c| c.covariance.copy_from(&all));
        }
        for component in &mut next {
            (0..width).for_each(|j| component.covariance[(j, j)] += how.ridge);
        }
        Some(Self { components: next })
    }
}

impl Component {
    /// A row with what it lacks put in as this component expects it; what stays unknown of
    /// that is added to `unseen`, times the row's share.
    fn fill(&self, row: &[Option<f64>], share: f64, unseen: &mut DMatrix<f64>) -> Option<DVector<f64>> {
        let at = present(row);
        let mut full = DVector::from_fn(row.len(), |j, _| row[j].unwrap_or(self.mean[j]));
        if at.len() == row.len() {
            return Some(full);
        }
        let lacks: Vec<usize> = (0..row.len()).filter(|j| row[*j].is_none()).collect();
        let (deviation, factor) = self.seen(row, &at)?;
        let cross = DMatrix::from_fn(lacks.len(), at.len(), |i, j| self.covariance[(lacks[i], at[j])]);
        let expected = &cross * factor.solve(&deviation);
        let explained = &cross * factor.solve(&cross.transpose());
        for (i, &a) in lacks.iter().enumerate() {
            full[a] += expected[i];
            for (j, &b) in lacks.iter().enumerate() {
                unseen[(a, b)] += share * (self.covariance[(a, b)] - explained[(i, j)]);
            }
        }
        Some(full)
    }
}

/// Shares from logarithms of any common scale; equal where all are minus infinity.
pub fn shares(logs: &[f64]) -> Vec<f64> {
    let all = log_sum_exp(logs);
    if !all.is_finite() {
        return vec![1.0 / logs.len().max(1) as f64; logs.len()];
    }
    logs.iter().map(|l| libm::exp(l - all)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two() -> Mixture {
        let component = |weight, at: [f64; 2], c: [f64; 4]| Component {
            weight,
            mean: DVector::from_row_slice(&at),
            covariance: DMatrix::from_row_slice(2, 2, &c),
        };
        Mixture {
            components: vec![
                component(0.3, [0.0, 0.0], [1.0, 0.2, 0.2, 2.0]),
                component(0.7, [4.0, 1.0], [0.5, 0.0, 0.0, 0.1]),
            ],
        }
    }

    #[test]
    fn a_missing_feature_is_integrated_over() {
        let m = two();
        let step = 0.01;
        let sum: f64 =
            (-3000..3000).map(|i| libm::exp(m.log_density(&[Some(1.3), Some(step * f64::from(i))])) * step).sum();
        assert!((libm::exp(m.log_density(&[Some(1.3), None])) - sum).abs() < 1e-6);
        assert!((m.log_density(&[None, None])).abs() < 1e-12);
    }

    #[test]
    fn far_from_everything_the_shares_still_sum_to_one() {
        let shares = two().responsibilities(&[Some(1e6), Some(-1e6)]);
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12 && shares.iter().all(|s| s.is_finite()));
    }

    #[test]
    fn a_fit_with_gaps_finds_what_made_the_rows() {
        use crate::lesson::Dice;
        let mut dice = Dice::new(3, "mixture");
        let rows: Vec<Row> = (0..600)
            .map(|i| {
                let x = dice.normal() + if i % 3 == 0 { 6.0 } else { 0.0 };
                let y = 0.8 * x + 0.3 * dice.normal();
                vec![Some(x).filter(|_| i % 5 != 1), Some(y).filter(|_| i % 7 != 2)]
            })
            .collect();
        let mut start = two();
        start.components[1].mean = DVector::from_row_slice(&[5.0, 4.0]);
        start.components[1].covariance = DMatrix::identity(2, 2);
        let how = Fitting { ridge: 1e-6, tied: false, rounds: 300, settled: 1e-9 };
        let fit = Mixture::fit(&rows, start, how).unwrap();
        let [a, b] = fit.mixture.components.as_slice() else { panic!() };
        assert!((b.weight - 1.0 / 3.0).abs() < 0.02, "{}", b.weight);
        assert!(a.mean[0].abs() < 0.15 && (b.mean[0] - 6.0).abs() < 0.2, "{} {}", a.mean, b.mean);
        assert!((a.covariance[(0, 1)] - 0.8).abs() < 0.15 && (a.covariance[(0, 0)] - 1.0).abs() < 0.2);
    }
}
