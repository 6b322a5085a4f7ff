//! The way down to the least sum of squares.

use nalgebra::{DMatrix, DVector};

use super::problem::{Normal, Problem};

/// How far a descent goes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Until {
    /// Most steps.
    pub(super) steps: usize,
    /// Settled when a step promises less than this of χ², over its excess.
    pub(super) settled: f64,
    /// Given up as soon as χ² clearly will not fall below this.
    pub(super) hopeless_above: f64,
    /// Damping to begin with, as a share of the diagonal.
    pub(super) damping: f64,
}

/// Damping to begin with where nothing is known of the start.
pub(super) const USUAL: f64 = 1e-3;

/// Levenberg's and Marquardt's method on the normal equations, the damping led
/// by the gain ratio (Madsen, Nielsen & Tingleff, Methods for Non-Linear Least
/// Squares Problems, 2nd ed., IMM DTU 2004, section 3.2; from memory). The
/// `levenberg-marquardt` crate finds the same optimum (a test holds them
/// together) but factors the whole Jacobian, 480 rows, where a tube's twenty
/// unknowns need a matrix of twenty: that costs ten times the time.
///
/// `here` holds the equations at the problem's values. After the last step, after which no more
/// is to be gained at the rate of the last two, they are not set up again: only the residuals and
/// their squares in it are those of the end. Gives the damping that a further descent may begin
/// with.
pub(super) fn descend(problem: &mut Problem<'_>, here: &mut Normal, until: Until) -> Option<f64> {
    /// Given up when this many times what the next step promises would not
    /// bring χ² down far enough: the promise is that of the linearised model and
    /// falls fast once the steps succeed.
    const OUT_OF_REACH: f64 = 12.0;
    /// Damping beyond which a step says little of what can be gained, as a share
    /// of the diagonal.
    const DAMPED: f64 = 0.1;
    /// By how much a step that keeps its promise lessens the damping; and one that fails raises it.
    const LEAST: f64 = 0.1;
    const GROWTH: f64 = 4.0;
    /// Damping that makes a difference to a step that failed.
    const FELT: f64 = 1e-4;
    /// Share of its promise that an untried step near the end is taken to leave over.
    const UNTRIED: f64 = 0.05;
    let n = problem.x.len();
    if !here.chi2.is_finite() {
        return None;
    }
    let mut there = problem.room();
    let (mut scale, mut step) = (DVector::zeros(n), DVector::zeros(n));
    let mut from = problem.x.clone();
    let mut damped = Some(DMatrix::zeros(n, n));
    let (mut damping, mut growth) = (until.damping, GROWTH);
    // What the last step promised, if it kept its promise undamped.
    let mut before = None;
    let mut failed = false;
    for _ in 0..until.steps {
        for i in 0..n {
            scale[i] = here.matrix[(i, i)].max(0.1 * scale[i]).max(1e-300);
        }
        loop {
            let mut matrix = damped.take().unwrap_or_else(|| DMatrix::zeros(n, n));
            matrix.as_mut_slice().copy_from_slice(here.matrix.as_slice());
            for i in 0..n {
                matrix[(i, i)] += damping * scale[i];
            }
            match matrix.cholesky() {
                Some(c) => {
                    step.copy_from(&here.gradient);
                    c.solve_mut(&mut step);
                    step.neg_mut();
                    damped = Some(c.unpack_dirty());
                    break;
                }
                None if damping < 1e12 => damping *= 10.0,
                None => return Some(damping),
            }
        }
        // The step solves the damped equations: what the plain ones promise of it.
        let promised = -step.dot(&here.gradient) + damping * weighed(&step, &scale);
        let excess = (here.chi2 / problem.rows().saturating_sub(n).max(1) as f64).max(1.0);
        let settled = until.settled * excess;
        if promised <= settled {
            break;
        }
        // A damped step promises less than the model could give.
        if damping < DAMPED && here.chi2 - OUT_OF_REACH * promised > until.hopeless_above {
            return None;
        }
        from.copy_from(&problem.x);
        step += &from;
        problem.set(&step);
        let rate = before.map_or(UNTRIED, |before| promised / before);
        let last = damping < DAMPED && promised * rate <= settled;
        let gained = |chi2: f64| if chi2.is_finite() { (here.chi2 - chi2) / promised } else { f64::NEG_INFINITY };
        let mut gain = f64::INFINITY;
        // The last step may lead into the void where the points say little, and after a step that
        // failed the next may fail too.
        if last || failed {
            problem.look(&mut there);
            gain = gained(there.chi2);
        }
        if last && gain >= 0.0 {
            here.take_residuals(&mut there);
            return Some(damping);
        }
        if gain > 0.0 {
            problem.normal(&mut there);
            gain = gained(there.chi2);
        }
        failed = gain <= 0.0;
        if !failed {
            before = (damping < DAMPED).then_some(promised);
            let factor = 1.0 - (2.0 * gain - 1.0).powi(3);
            damping = (damping * factor.max(LEAST)).max(1e-12);
            growth = GROWTH;
            std::mem::swap(here, &mut there);
        } else {
            before = None;
            problem.set(&from);
            damping = (damping * growth).max(FELT);
            growth *= GROWTH;
            if damping > 1e15 {
                break;
            }
        }
    }
    Some(damping)
}

/// Σ weight·step².
fn weighed(step: &DVector<f64>, weight: &DVector<f64>) -> f64 {
    step.iter().zip(weight.iter()).map(|(s, w)| s * s * w).sum()
}
