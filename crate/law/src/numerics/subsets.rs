//! Which of a few linear terms do the data ask for? All subsets are solved and
//! weighed by the Bayesian information criterion (Schwarz, Annals of Statistics 6
//! (1978) 461) and by what was to be expected of each term before.

use super::estimate::Estimate;
use super::functions::log_sum_exp;
use super::linear::{Gram, Solution};

/// One candidate term: a column, or a few that come and go together.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// Its columns.
    pub columns: Vec<usize>,
    /// ln of the odds that the term is there, before looking.
    pub prior_log_odds: f64,
    /// Whether the coefficient of its first column cannot be negative.
    pub nonnegative: bool,
}

/// One admissible subset.
#[derive(Debug, Clone, PartialEq)]
pub struct Subset {
    /// Terms in it, as a bit each.
    pub mask: u32,
    /// Columns in it.
    columns: Vec<usize>,
    /// Its solution.
    pub solution: Solution,
    /// Its probability among all admissible subsets.
    pub probability: f64,
}

impl Subset {
    /// Whether a term is in.
    pub fn has(&self, term: usize) -> bool {
        self.mask >> term & 1 == 1
    }

    /// Coefficient and standard deviation of a column, where it is in.
    pub fn coefficient(&self, column: usize) -> Option<Estimate> {
        let at = self.columns.iter().position(|&c| c == column)?;
        Some(Estimate::new(self.solution.beta[at], self.solution.covariance[(at, at)].max(0.0).sqrt()))
    }

    /// Covariance of two columns, 0 where one is not in.
    pub fn covariance(&self, a: usize, b: usize) -> f64 {
        let at = |column| self.columns.iter().position(|&c| c == column);
        match (at(a), at(b)) {
            (Some(a), Some(b)) => self.solution.covariance[(a, b)],
            _ => 0.0,
        }
    }
}

/// Solves every subset of the terms and weighs them, most probable first.
///
/// χ² is divided by its excess over the degrees of freedom in the best-fitting
/// subset, where that is above 1. `rows` is the number of independent readings
/// in the criterion's ln n. Subsets whose columns cannot be told apart, or whose
/// non-negative coefficients come out negative, are left out: the latter are no
/// better than the same subset without those terms.
pub fn compare(gram: &Gram, terms: &[Term], always: &[usize], rows: f64) -> Vec<Subset> {
    let mut subsets = Vec::new();
    for mask in 0u32..(1 << terms.len()) {
        let chosen = || terms.iter().enumerate().filter(move |(t, _)| mask >> t & 1 == 1).map(|(_, term)| term);
        let columns: Vec<usize> = chosen().flat_map(|t| &t.columns).chain(always).copied().collect();
        let Some(solution) = gram.solve(&columns) else { continue };
        let mut at = 0;
        let mut admissible = true;
        for term in chosen() {
            admissible &= !term.nonnegative || solution.beta[at] > 0.0;
            at += term.columns.len();
        }
        if admissible {
            subsets.push(Subset { mask, columns, solution, probability: 0.0 });
        }
    }
    let excess = |s: &Subset| s.solution.chi2 / (rows - s.columns.len() as f64).max(1.0);
    let scale = subsets.iter().map(excess).fold(f64::INFINITY, f64::min).max(1.0);
    let score = |s: &Subset| {
        let prior: f64 = terms.iter().enumerate().filter(|(t, _)| s.has(*t)).map(|(_, t)| t.prior_log_odds).sum();
        -0.5 * s.solution.chi2 / scale - 0.5 * s.columns.len() as f64 * libm::log(rows.max(2.0)) + prior
    };
    let scores: Vec<f64> = subsets.iter().map(score).collect();
    let total = log_sum_exp(&scores);
    for (subset, score) in subsets.iter_mut().zip(&scores) {
        subset.probability = libm::exp(score - total);
        subset.solution.covariance *= scale;
    }
    subsets.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    subsets
}

#[cfg(test)]
mod tests {
    use super::*;

    fn term(column: usize) -> Term {
        Term { columns: vec![column], prior_log_odds: -3.0, nonnegative: true }
    }

    #[test]
    fn a_term_that_is_there_wins_and_one_that_is_not_loses() {
        let mut gram = Gram::new(2);
        for i in 0..40 {
            let x = f64::from(i) / 40.0;
            let noise = if i % 2 == 0 { 0.01 } else { -0.01 };
            gram.add(&[1.0, x], 0.5 + noise, 1e4);
        }
        let best = compare(&gram, &[term(0), term(1)], &[], 40.0);
        assert!(best[0].has(0) && !best[0].has(1));
        assert!(best[0].probability > 0.9);
        assert!((best.iter().map(|s| s.probability).sum::<f64>() - 1.0).abs() < 1e-9);
    }

    #[test]
    fn pure_noise_asks_for_nothing() {
        let mut gram = Gram::new(1);
        for i in 0..40 {
            gram.add(&[1.0], if i % 2 == 0 { 1.0 } else { -0.9 }, 1.0);
        }
        let best = compare(&gram, &[term(0)], &[], 40.0);
        assert!(best[0].mask == 0 && best[0].probability > 0.95);
    }
}
