//! Which points are fitted, and how well each is known.

use crate::law::Observed;
use crate::sweep::Points;

use super::law_error;
use crate::evidence::drive::{Connection, Drive, beyond_screen};
use crate::evidence::noise::Noise;
use crate::numerics::{median, square};

/// What the measured section gives to the fit.
#[derive(Debug, Clone)]
pub(in crate::evidence) struct Input<'a> {
    pub(in crate::evidence) section: usize,
    pub(in crate::evidence) points: &'a Points,
    pub(in crate::evidence) drive: &'a Drive,
    pub(in crate::evidence) noise: Noise,
    /// Points that are no part of the tube's curve (clipped, or wild).
    pub(in crate::evidence) left_out: Vec<usize>,
    /// Grid voltage at the pin, V.
    pub(in crate::evidence) pin: Vec<f64>,
    /// Points with the grid more positive than this are left out, V.
    pub(in crate::evidence) most_positive: f64,
    /// Whether the curves come down far enough for a floor to be told from the law.
    pub(in crate::evidence) floors: bool,
    /// Points of other sections taken before this one, if they were taken in turn.
    pub(in crate::evidence) before: f64,
    /// Filament voltage of a directly heated type, V; 0 otherwise.
    pub(in crate::evidence) filament: f64,
    /// Amplification factor to begin with where the points give none.
    pub(in crate::evidence) mu_hint: Option<f64>,
}

/// Points of a section that are fitted at most; more are thinned evenly. The
/// law has seven parameters: beyond this, more points gain nothing but time.
const MOST_POINTS: usize = 240;

/// The points of a section that are fitted, with what is known of each beside the law's error.
pub(super) struct Seen {
    /// Their deviations are still to be said.
    points: Observed,
    /// Variance of each reading beside the law's error, A².
    variance: Vec<f64>,
    /// Variance of each that a relative error of 1 at the top of the curves would give, A².
    of_law: Vec<f64>,
}

impl Seen {
    /// Picks the points to be fitted.
    pub(super) fn of(input: &Input<'_>) -> Self {
        let points = input.points;
        let drive = input.drive;
        let top = crate::sweep::top_of(&drive.current);
        let dropped: std::collections::HashSet<usize> = input.left_out.iter().copied().collect();
        let usable: Vec<usize> = (0..points.len())
            .filter(|i| !dropped.contains(i) && input.pin[*i] <= input.most_positive)
            .filter(|i| drive.usable[*i] && drive.volts[*i] > 0.0)
            .collect();
        let stride = usable.len().div_ceil(MOST_POINTS).max(1);
        let mut out = Observed { before: input.before, ..Observed::default() };
        let (mut variance, mut of_law) = (Vec::new(), Vec::new());
        for i in usable.into_iter().step_by(stride) {
            // The error goes with the current that the curve has here, not with a
            // reading that may have dropped out: a zero would count as very exact.
            let current = around(&drive.current, i).max(0.0);
            out.index.push(i);
            out.va.push(drive.volts[i]);
            if drive.connection == Connection::Pentode {
                out.anode.push(points.va[i]);
                out.plate.push(beyond_screen(points.va[i], drive.volts[i]));
            }
            out.vg.push(input.pin[i]);
            out.ia.push(drive.current[i]);
            out.time.push(i as f64);
            variance.push(input.noise.variance(current) + square(to_grid(input.pin[i], points.va[i]) * current));
            of_law.push(square(law_error::at(1.0, current / top) * current));
        }
        Self { points: out, variance, of_law }
    }

    /// The points with their deviations under a relative error of the law at the top.
    pub(super) fn with(&self, law_error: f64) -> Observed {
        let sigma = |(variance, of_law): (&f64, &f64)| (variance + law_error * law_error * of_law).sqrt();
        let sigma = self.variance.iter().zip(&self.of_law).map(sigma).collect();
        Observed { sigma, ..self.points.clone() }
    }
}

/// Share of the cathode's current that may go to a grid near zero volts instead
/// of to the plate: 1 to 2 % at 0 V in measured 12AX7 at 100 V (Dempwolf and
/// Zölzer, table 1), e-fold less each 0.1 to 0.2 V below, more where the plate
/// pulls less (Cohen and Hélie).
fn to_grid(pin: f64, va: f64) -> f64 {
    const AT_ZERO: f64 = 0.02;
    const E_FOLD: f64 = 0.15;
    const PULL: f64 = 50.0;
    AT_ZERO * libm::exp((pin / E_FOLD).min(1.0)) * (1.0 + PULL / va.max(1.0)).min(6.0)
}

/// Median of a reading and its two neighbours on each side, in the order taken.
fn around(current: &[f64], i: usize) -> f64 {
    let from = i.saturating_sub(2);
    let mut near: Vec<f64> = current[from..(i + 3).min(current.len())].to_vec();
    median(&mut near)
}
