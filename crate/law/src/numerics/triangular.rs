//! Factors of a matrix, and triangular systems with many right sides.

use nalgebra::{Cholesky, DMatrix, Dyn};

/// Cholesky's factor; `None` where the matrix is not positive definite. Here it is compiled for
/// speed, elsewhere the page's program is for size.
pub fn factored(matrix: DMatrix<f64>) -> Option<Cholesky<f64, Dyn>> {
    matrix.cholesky()
}

/// Solves `L·x = b` for many `b` at once: each row of `sides` is one, and becomes its `x`. L is the
/// lower half of `lower`; what is above its diagonal does not count.
///
/// All right sides go through each step together, side by side in memory.
pub fn solve_lower(lower: &DMatrix<f64>, sides: &mut DMatrix<f64>) {
    let (many, unknowns) = sides.shape();
    if many == 0 {
        return;
    }
    for j in 0..unknowns {
        let (done, rest) = sides.as_mut_slice().split_at_mut((j + 1) * many);
        let solved = &mut done[j * many..];
        solved.iter_mut().for_each(|x| *x /= lower[(j, j)]);
        for (below, column) in lower.as_slice()[j * unknowns + j + 1..].iter().zip(rest.chunks_exact_mut(many)) {
            column.iter_mut().zip(&*solved).for_each(|(b, x)| *b -= below * x);
        }
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::DVector;
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn the_same_as_nalgebra_solves_one_by_one(
            (many, unknowns) in (0..5usize, 0..6usize),
            values in prop::collection::vec(-3.0..3.0f64, 60),
        ) {
            // A diagonal from 4 up: far from singular. What is above it must not count.
            let lower = DMatrix::from_fn(unknowns, unknowns, |i, j| values[i * 6 + j] + if i == j { 7.0 } else { 0.0 });
            let mut sides = DMatrix::from_fn(many, unknowns, |i, j| values[(7 * i + j + 30) % 60]);
            let plain: Vec<DVector<f64>> = sides.row_iter().map(|row| row.transpose()).collect();
            solve_lower(&lower, &mut sides);
            for (row, plain) in sides.row_iter().zip(plain) {
                let plain = lower.solve_lower_triangular(&plain).unwrap();
                prop_assert!((row.transpose() - &plain).amax() <= 1e-12 * plain.amax().max(1.0));
            }
        }
    }
}
