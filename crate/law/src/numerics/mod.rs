//! The arithmetic that more than one room needs: robust statistics, small linear
//! least squares with and without signs, and a few safe functions.

mod estimate;
mod functions;
mod growing;
mod linear;
mod nnls;
mod robust;
mod subsets;
mod triangular;

pub use estimate::{Estimate, Z95};
pub use functions::{log_sum_exp, logistic, logit, normal_below, softplus, square};
pub use growing::{Growing, MOST_COLUMNS};
pub use linear::{Gram, Solution};
pub use nnls::{NnlsError, nnls};
pub use robust::{MAD_TO_SD, mad, median, nth_smallest, third_difference_residuals};
pub use subsets::{Subset, Term, compare};
pub use triangular::{factored, solve_lower};
