//! Small weighted linear least squares through normal equations.
//!
//! The problems here have at most about ten unknowns and well-scaled columns, so
//! the normal equations lose no digit that the noise had left.

use nalgebra::DMatrix;

use super::growing::{Growing, MOST_COLUMNS};

/// The normal equations of a weighted least-squares problem with `n` columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Gram {
    /// XᵀWX, its lower half.
    xx: Vec<[f64; MOST_COLUMNS]>,
    /// XᵀWy.
    xy: Vec<f64>,
    /// yᵀWy.
    pub(super) yy: f64,
    /// Number of rows taken in.
    pub rows: usize,
}

/// The solution on some of the columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Coefficients, one for each chosen column in the order chosen.
    pub beta: Vec<f64>,
    /// Their covariance when the weights are 1/σ².
    pub covariance: DMatrix<f64>,
    /// Weighted sum of squared residuals.
    pub chi2: f64,
}

impl Gram {
    /// No rows yet, `n` columns, of which [`MOST_COLUMNS`] count.
    pub fn new(n: usize) -> Self {
        let n = n.min(MOST_COLUMNS);
        Self { xx: vec![[0.0; MOST_COLUMNS]; n], xy: vec![0.0; n], yy: 0.0, rows: 0 }
    }

    /// Product of two columns.
    pub(super) fn between(&self, a: usize, b: usize) -> f64 {
        self.xx[a.max(b)][a.min(b)]
    }

    /// Product of a column and the readings.
    pub(super) fn with_readings(&self, column: usize) -> f64 {
        self.xy[column]
    }

    /// Takes in a row with weight `w` (1/σ²).
    pub fn add(&mut self, x: &[f64], y: f64, w: f64) {
        for ((i, row), xy) in self.xx.iter_mut().enumerate().zip(&mut self.xy) {
            // Most rows have nothing in some of the columns.
            let Some(a) = x.get(i).map(|a| w * a).filter(|a| *a != 0.0) else { continue };
            for (sum, b) in row[..=i].iter_mut().zip(x) {
                *sum += a * b;
            }
            *xy += a * y;
        }
        self.yy += w * y * y;
        self.rows += 1;
    }

    /// Solves on the chosen columns; `None` where they cannot be told apart.
    pub fn solve(&self, columns: &[usize]) -> Option<Solution> {
        let mut growing = Growing::new(self);
        if !growing.take_all(columns) {
            return None;
        }
        let n = columns.len();
        let covariance = growing.covariance();
        Some(Solution {
            beta: growing.beta()[..n].to_vec(),
            covariance: DMatrix::from_fn(n, n, |i, j| covariance[i][j]),
            chi2: growing.chi2(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_line_and_its_errors() {
        // y = 2 + 3x with σ = 0.1 at x = 0..9: textbook variances of a straight line.
        let mut gram = Gram::new(2);
        for i in 0..10 {
            let x = f64::from(i);
            gram.add(&[1.0, x], 2.0 + 3.0 * x, 100.0);
        }
        let s = gram.solve(&[0, 1]).unwrap();
        assert_relative_eq!(s.beta[0], 2.0, max_relative = 1e-9);
        assert_relative_eq!(s.beta[1], 3.0, max_relative = 1e-9);
        assert_relative_eq!(s.covariance[(1, 1)], 0.01 / 82.5, max_relative = 1e-9);
        assert!(s.chi2 < 1e-6);
    }

    #[test]
    fn equal_columns_cannot_be_told_apart() {
        let mut gram = Gram::new(2);
        for i in 0..5 {
            gram.add(&[f64::from(i), 2.0 * f64::from(i)], 1.0, 1.0);
        }
        assert!(gram.solve(&[0, 1]).is_none());
        assert!(gram.solve(&[1]).is_some());
    }
}
