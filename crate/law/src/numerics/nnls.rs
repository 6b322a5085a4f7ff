//! Least squares with coefficients that cannot be negative.
//!
//! Own code, by the active-set method of Lawson & Hanson, Solving Least Squares
//! Problems (1974), chapter 23: the one crate for it brings a second version of
//! ndarray and of rand into the page. Checked against scipy.optimize.nnls.

use nalgebra::{DMatrix, DVector};

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NnlsError {
    /// Matrix and right-hand side differ in their number of rows.
    #[error("the matrix has {0} rows, the right-hand side {1}")]
    Shape(usize, usize),
    /// A NaN or an infinity in the input.
    #[error("the input is not finite")]
    NotFinite,
    /// The method did not settle.
    #[error("no solution after {0} steps")]
    Steps(usize),
}

/// Minimises ‖A·x − b‖ over x ≥ 0. Returns x and the norm of the residual.
///
/// # Errors
/// See [`NnlsError`].
pub fn nnls(a: &DMatrix<f64>, b: &DVector<f64>) -> Result<(DVector<f64>, f64), NnlsError> {
    let (rows, n) = a.shape();
    if rows != b.len() {
        return Err(NnlsError::Shape(rows, b.len()));
    }
    if a.iter().chain(b.iter()).any(|v| !v.is_finite()) {
        return Err(NnlsError::NotFinite);
    }
    let at = a.transpose();
    let gram = &at * a;
    let rhs = &at * b;
    // A gradient below this is zero to rounding.
    let scale = gram.diagonal().iter().copied().fold(0.0, f64::max) * rows.max(n) as f64;
    let tolerance = 10.0 * f64::EPSILON * scale.max(rhs.amax());

    let mut x = DVector::zeros(n);
    let mut passive = vec![false; n];
    let most = 3 * n.max(1) + 30;
    for _ in 0..most {
        let gradient = &rhs - &gram * &x;
        let entering = (0..n).filter(|&j| !passive[j]).max_by(|&i, &j| gradient[i].total_cmp(&gradient[j]));
        match entering {
            Some(j) if gradient[j] > tolerance => passive[j] = true,
            _ => {
                let residual = (a * &x - b).norm();
                return Ok((x, residual));
            }
        }
        // Step back until the solution on the passive set is positive.
        loop {
            let set: Vec<usize> = (0..n).filter(|&j| passive[j]).collect();
            let Some(z) = restricted(a, b, &set) else {
                // The newest column adds nothing: leave it out and go on.
                if let Some(j) = entering {
                    passive[j] = false;
                }
                break;
            };
            let step = set
                .iter()
                .zip(&z)
                .filter(|(_, z)| **z <= 0.0)
                .map(|(&j, z)| x[j] / (x[j] - z))
                .fold(f64::INFINITY, f64::min);
            if step.is_infinite() {
                x.fill(0.0);
                for (&j, z) in set.iter().zip(&z) {
                    x[j] = *z;
                }
                break;
            }
            for (&j, z) in set.iter().zip(&z) {
                x[j] += step * (z - x[j]);
                if x[j] <= tolerance.min(1e-300) || (*z <= 0.0 && x[j] <= f64::EPSILON * z.abs()) {
                    x[j] = 0.0;
                    passive[j] = false;
                }
            }
        }
    }
    Err(NnlsError::Steps(most))
}

/// Unconstrained least squares on some columns, by singular values.
fn restricted(a: &DMatrix<f64>, b: &DVector<f64>, set: &[usize]) -> Option<Vec<f64>> {
    let sub = a.select_columns(set.iter());
    let svd = sub.svd(true, true);
    let top = svd.singular_values.max();
    const RANK: f64 = 1e-13;
    if svd.singular_values.min() <= RANK * top {
        return None;
    }
    svd.solve(b, 0.0).ok().map(|z| z.iter().copied().collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    #[test]
    fn a_negative_part_is_cut_to_zero() {
        // scipy 1.17: nnls([[1,0],[1,0],[0,1]], [2,1,1]) = [1.5, 1], 0.7071…
        let a = DMatrix::from_row_slice(3, 2, &[1.0, 0.0, 1.0, 0.0, 0.0, 1.0]);
        let (x, r) = nnls(&a, &DVector::from_vec(vec![2.0, 1.0, 1.0])).unwrap();
        assert_relative_eq!(x[0], 1.5, max_relative = 1e-12);
        assert_relative_eq!(x[1], 1.0, max_relative = 1e-12);
        assert_relative_eq!(r, 0.5f64.sqrt(), max_relative = 1e-12);
        // and nnls(same, [-1,-1,-1]) = [0, 0].
        let (x, _) = nnls(&a, &DVector::from_vec(vec![-1.0, -1.0, -1.0])).unwrap();
        assert_eq!(x.as_slice(), [0.0, 0.0]);
    }

    #[test]
    fn wrong_shapes_and_nan_are_refused() {
        let a = DMatrix::from_element(2, 1, 1.0);
        assert_eq!(nnls(&a, &DVector::from_vec(vec![1.0])), Err(NnlsError::Shape(2, 1)));
        assert_eq!(nnls(&a, &DVector::from_vec(vec![1.0, f64::NAN])), Err(NnlsError::NotFinite));
    }

    proptest! {
        /// The Karush–Kuhn–Tucker conditions prove a minimum.
        #[test]
        fn the_answer_satisfies_its_conditions(
            entries in prop::collection::vec(-3.0..3.0f64, 24),
            b in prop::collection::vec(-3.0..3.0f64, 6),
        ) {
            let a = DMatrix::from_row_slice(6, 4, &entries);
            let b = DVector::from_vec(b);
            let (x, _) = nnls(&a, &b).unwrap();
            let gradient = a.transpose() * (&b - &a * &x);
            for j in 0..4 {
                prop_assert!(x[j] >= 0.0);
                prop_assert!(gradient[j] <= 1e-7);
                prop_assert!(x[j] == 0.0 || gradient[j].abs() <= 1e-7);
            }
        }
    }
}
