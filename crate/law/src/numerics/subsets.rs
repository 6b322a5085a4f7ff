//! Which of a few linear terms do the data ask for? All subsets are solved and
//! weighed by the Bayesian information criterion (Schwarz, Annals of Statistics 6
//! (1978) 461) and by what was to be expected of each term before.

use super::estimate::Estimate;
use super::functions::log_sum_exp;
use super::growing::{Growing, MOST_COLUMNS};
use super::linear::Gram;

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
    /// Columns in it, with their coefficients.
    coefficients: Vec<(usize, Estimate)>,
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
        self.coefficients.iter().find(|(c, _)| *c == column).map(|(_, estimate)| *estimate)
    }
}

/// Subsets less probable than this change no result in a digit that is shown; the most
/// probable one with each term is kept all the same.
const NEGLIGIBLE: f64 = 1e-12;

/// Solves every subset of the terms and weighs them, most probable first.
///
/// χ² is divided by its excess over the degrees of freedom in the best-fitting
/// subset, where that is above 1. `rows` is the number of independent readings
/// in the criterion's ln n. Subsets whose columns cannot be told apart, or whose
/// non-negative coefficients come out negative, are left out: the latter are no
/// better than the same subset without those terms. So are those that are of no weight.
pub fn compare(gram: &Gram, terms: &[Term], always: &[usize], rows: f64) -> Vec<Subset> {
    let mut growing = Growing::new(gram);
    let mut solved = Vec::with_capacity(1 << terms.len());
    if growing.take_all(always) {
        walk(&mut growing, terms, 0, 0, always.len(), &mut solved);
    }
    let excess = |s: &Solved| s.chi2 / (rows - s.columns as f64).max(1.0);
    let scale = solved.iter().map(excess).fold(f64::INFINITY, f64::min).max(1.0);
    let has = |mask: u32, term: usize| mask >> term & 1 == 1;
    let score = |s: &Solved| {
        let prior: f64 = terms.iter().enumerate().filter(|(t, _)| has(s.mask, *t)).map(|(_, t)| t.prior_log_odds).sum();
        -0.5 * s.chi2 / scale - 0.5 * s.columns as f64 * libm::log(rows.max(2.0)) + prior
    };
    let scores: Vec<f64> = solved.iter().map(score).collect();
    let total = log_sum_exp(&scores);
    let mut order: Vec<usize> = (0..solved.len()).collect();
    order.sort_by(|a, b| scores[*b].total_cmp(&scores[*a]));
    let mut seen = 0;
    order
        .into_iter()
        .filter_map(|at| {
            let (mask, probability) = (solved[at].mask, libm::exp(scores[at] - total));
            let first_with_a_term = mask & !seen != 0;
            seen |= mask;
            if probability < NEGLIGIBLE && !first_with_a_term {
                return None;
            }
            growing.leave(MOST_COLUMNS);
            growing.take_all(always);
            terms.iter().enumerate().filter(|(t, _)| has(mask, *t)).for_each(|(_, t)| {
                growing.take_all(&t.columns);
            });
            let (beta, variances) = (growing.beta(), growing.variances());
            let coefficient = |(i, column): (usize, &usize)| {
                (*column, Estimate::new(beta[i], (scale * variances[i]).max(0.0).sqrt()))
            };
            let coefficients = growing.columns().iter().enumerate().map(coefficient).collect();
            Some(Subset { mask, coefficients, probability })
        })
        .collect()
}

/// A subset's sum of squares.
struct Solved {
    mask: u32,
    columns: usize,
    chi2: f64,
}

/// All subsets of the terms from `at` on, beside the columns already taken.
fn walk(growing: &mut Growing<'_>, terms: &[Term], at: usize, mask: u32, always: usize, solved: &mut Vec<Solved>) {
    let Some(term) = terms.get(at) else {
        if is_admissible(growing, terms, mask, always) {
            solved.push(Solved { mask, columns: growing.columns().len(), chi2: growing.chi2() });
        }
        return;
    };
    walk(growing, terms, at + 1, mask, always, solved);
    if growing.take_all(&term.columns) {
        walk(growing, terms, at + 1, mask | 1 << at, always, solved);
        growing.leave(term.columns.len());
    }
}

/// Whether no coefficient is negative that cannot be.
fn is_admissible(growing: &Growing<'_>, terms: &[Term], mask: u32, always: usize) -> bool {
    let beta = growing.beta();
    let mut at = always;
    terms.iter().enumerate().filter(|(t, _)| mask >> t & 1 == 1).all(|(_, term)| {
        let first = beta[at];
        at += term.columns.len();
        !term.nonnegative || first > 0.0
    })
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
