//! Which of a few linear terms do the data ask for? All subsets are solved and
//! weighed by the Bayesian information criterion (Schwarz, Annals of Statistics 6
//! (1978) 461) and by what was to be expected of each term before.

use super::functions::log_sum_exp;
use super::linear::{Gram, Solution};

/// One candidate term.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// ln of the odds that the term is there, before looking.
    pub prior_log_odds: f64,
    /// Whether its coefficient cannot be negative.
    pub nonnegative: bool,
    /// Whether it is in every subset (a nuisance).
    pub always: bool,
}

/// One admissible subset.
#[derive(Debug, Clone, PartialEq)]
pub struct Subset {
    /// Columns in it, rising.
    pub columns: Vec<usize>,
    /// Its solution.
    pub solution: Solution,
    /// Its probability among all admissible subsets.
    pub probability: f64,
}

impl Subset {
    /// Coefficient and variance of a column, where it is in.
    pub fn coefficient(&self, column: usize) -> Option<(f64, f64)> {
        let at = self.columns.iter().position(|&c| c == column)?;
        Some((self.solution.beta[at], self.solution.covariance[(at, at)]))
    }
}

/// Solves every subset of the terms and weighs them, most probable first.
///
/// `chi2_scale` divides χ²: above 1 where the noise is larger than the weights
/// say. `penalty_rows` is the number of independent readings in the criterion's
/// ln n. Subsets whose columns cannot be told apart, or whose non-negative
/// coefficients come out negative, are left out: the latter are no better than
/// the same subset without those terms.
pub fn compare(gram: &Gram, terms: &[Term], chi2_scale: f64, penalty_rows: f64) -> Vec<Subset> {
    let optional: Vec<usize> = (0..terms.len()).filter(|&i| !terms[i].always).collect();
    let fixed: Vec<usize> = (0..terms.len()).filter(|&i| terms[i].always).collect();
    let mut subsets = Vec::new();
    let mut scores = Vec::new();
    for mask in 0u32..(1 << optional.len()) {
        let mut columns = fixed.clone();
        columns.extend(optional.iter().enumerate().filter(|(bit, _)| mask >> bit & 1 == 1).map(|(_, &c)| c));
        columns.sort_unstable();
        let Some(solution) = gram.solve(&columns) else { continue };
        let admissible =
            columns.iter().zip(&solution.beta).all(|(&c, &beta)| terms[c].always || !terms[c].nonnegative || beta > 0.0);
        if !admissible {
            continue;
        }
        let prior: f64 = columns.iter().filter(|&&c| !terms[c].always).map(|&c| terms[c].prior_log_odds).sum();
        let penalty = 0.5 * columns.len() as f64 * penalty_rows.max(2.0).ln();
        scores.push(-0.5 * solution.chi2 / chi2_scale - penalty + prior);
        subsets.push(Subset { columns, solution, probability: 0.0 });
    }
    let total = log_sum_exp(&scores);
    for (subset, score) in subsets.iter_mut().zip(&scores) {
        subset.probability = (score - total).exp();
    }
    subsets.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    subsets
}

#[cfg(test)]
mod tests {
    use super::*;

    const TERM: Term = Term { prior_log_odds: -3.0, nonnegative: true, always: false };

    #[test]
    fn a_term_that_is_there_wins_and_one_that_is_not_loses() {
        let mut gram = Gram::new(2);
        for i in 0..40 {
            let x = f64::from(i) / 40.0;
            let noise = if i % 2 == 0 { 0.01 } else { -0.01 };
            gram.add(&[1.0, x], 0.5 + noise, 1e4);
        }
        let best = compare(&gram, &[TERM, TERM], 1.0, 40.0);
        assert_eq!(best[0].columns, [0]);
        assert!(best[0].probability > 0.9);
        assert!((best.iter().map(|s| s.probability).sum::<f64>() - 1.0).abs() < 1e-9);
    }

    #[test]
    fn pure_noise_asks_for_nothing() {
        let mut gram = Gram::new(1);
        for i in 0..40 {
            gram.add(&[1.0], if i % 2 == 0 { 1.0 } else { -0.9 }, 1.0);
        }
        let best = compare(&gram, &[TERM], 1.0, 40.0);
        assert!(best[0].columns.is_empty() && best[0].probability > 0.95);
    }
}
