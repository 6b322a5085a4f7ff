//! What a bench can see of a fault: how far its readings leave everything that a sound
//! tube of the same type could have read.
//!
//! The change of each reading is divided by what is not known of it: the meter's noise,
//! its step, and the 1 % to which a fitted law describes a real tube. From it is taken
//! what other values of a sound specimen explain (perveance, amplification factor,
//! contact potential, width of the tail, offsets of the meters), each as far as its usual
//! spread allows: one weighted least squares with priors. The size of what is left, over
//! the fifth of the readings that show it best, is the *sight*: 3 is "three times the
//! noise" in the most telling part of the sweep.

use nalgebra::{DMatrix, DVector};
use sweepbook_core::lesson::{Meter, Resolution, VirtualBench, VirtualSection, VirtualTube, measure};

/// How well a fitted law describes a plate current (our own figure from fits of published
/// forms to each other over the working region).
const LAW: f64 = 0.01;
/// The same of a grid current, whose dependence on plate voltage is known less well.
const GRID_LAW: f64 = 0.03;
/// Grid voltage above which electrons of a sound grid may flow, V: such readings of grid
/// current say nothing of a fault.
const ELECTRONS: f64 = -0.9;
/// Part of the readings that a fault is judged by.
const BEST: f64 = 0.2;
/// Steps for the derivatives and usual spreads (standard deviations): perveance (share),
/// mu (share), contact potential (V), width of the tail (share).
const SOUND: [(f64, f64); 4] = [(0.01, 0.3), (0.005, 0.03), (0.01, 0.1), (0.05, 0.3)];
/// A sound tube or a good meter is not further off than this many standard deviations.
const UNUSUAL: f64 = 2.0;
/// Usual offset of a meter, in units of its noise and step together.
const OFFSET: f64 = 1.0;

/// A bench's view of one section.
pub struct Sight {
    base: Vec<f64>,
    sigma: Vec<f64>,
    /// Derivatives over sigma, a column a parameter.
    slopes: DMatrix<f64>,
    /// (JᵀJ + priors)⁻¹Jᵀ.
    solve: DMatrix<f64>,
    priors: Vec<f64>,
}

/// The same tube with only one section and no name for it.
fn only(tube: &VirtualTube, section: usize) -> VirtualTube {
    VirtualTube { sections: tube.sections.get(section).cloned().into_iter().collect(), ..tube.clone() }
}

/// The bench with perfect meters that leaves out no point.
fn perfect(bench: &VirtualBench) -> VirtualBench {
    let ideal = |m: &Meter| Meter { offset: m.offset, gain: m.gain, ..Meter::IDEAL };
    VirtualBench {
        plate_meter: ideal(&bench.plate_meter),
        grid_meter: bench.grid_meter.as_ref().map(ideal),
        most_watts: None,
        ..bench.clone()
    }
}

/// What a perfect meter reads: plate currents, then grid currents below the electrons.
fn readings(tube: &VirtualTube, bench: &VirtualBench, section: usize) -> Vec<f64> {
    let sweep = measure(&only(tube, section), &perfect(bench), 0);
    let Some(points) = sweep.sections.first().map(|s| &s.points) else { return Vec::new() };
    let mut all = points.ia.clone();
    if let Some(ig) = &points.ig {
        all.extend(ig.iter().zip(&points.vg).filter(|(_, vg)| **vg < ELECTRONS).map(|(i, _)| *i));
    }
    all
}

impl Sight {
    /// The view of a section as it is, sound or not yet spoilt. `offsets`: whether an
    /// offset of the meters could explain a change (not so where the offset is the fault).
    pub fn new(tube: &VirtualTube, bench: &VirtualBench, section: usize, offsets: bool) -> Self {
        let base = readings(tube, bench, section);
        let plate = bench.visits().len().min(base.len());
        let unknown = |meter: &Meter, reading: f64, law: f64| {
            let step = meter.step_at(reading).unwrap_or(0.0);
            let own = meter.noise.hypot(step / 12_f64.sqrt());
            (own, own.hypot(meter.relative * reading).hypot(law * reading).max(1e-12))
        };
        let mut sigma = Vec::with_capacity(base.len());
        let mut own = Vec::with_capacity(base.len());
        for (i, x) in base.iter().enumerate() {
            let grid = bench.grid_meter.as_ref().filter(|_| i >= plate);
            let (o, s) = unknown(grid.unwrap_or(&bench.plate_meter), *x, if grid.is_some() { GRID_LAW } else { LAW });
            own.push(o);
            sigma.push(s);
        }
        let mut columns: Vec<Vec<f64>> = Vec::new();
        let mut priors = Vec::new();
        let moves: [fn(&mut VirtualSection, f64); 4] = [
            |s, h| s.form = s.form.with_current_times(1.0 + h),
            |s, h| s.form = s.form.with_mu_times(1.0 + h),
            |s, h| s.form = s.form.with_contact_higher(h),
            |s, h| s.form = s.form.with_tail_times(1.0 + h),
        ];
        for (change, (step, spread)) in moves.into_iter().zip(SOUND) {
            let mut moved = tube.clone();
            if let Some(s) = moved.sections.get_mut(section) {
                change(s, step);
            }
            let moved = readings(&moved, bench, section);
            columns.push(moved.iter().zip(&base).map(|(a, b)| (a - b) / step).collect());
            priors.push(spread);
        }
        if offsets {
            for on_grid in [false, true] {
                columns.push((0..base.len()).map(|i| f64::from(u8::from((i >= plate) == on_grid))).collect());
                let typical = own.get(if on_grid { plate } else { 0 }).copied().unwrap_or(0.0);
                priors.push((OFFSET * typical).max(1e-12));
            }
        }
        // In units of the priors, so that all parameters are of size 1.
        let slopes =
            DMatrix::from_fn(base.len(), columns.len(), |i, j| columns[j][i] * priors[j] / sigma[i].max(1e-15));
        let normal = slopes.transpose() * &slopes + DMatrix::identity(columns.len(), columns.len());
        let solve = normal
            .cholesky()
            .map_or_else(|| DMatrix::zeros(columns.len(), base.len()), |c| c.inverse() * slopes.transpose());
        Self { base, sigma, slopes, solve, priors }
    }

    /// The sight of the fault in this tube and bench; 0 where nothing changed.
    pub fn of(&self, tube: &VirtualTube, bench: &VirtualBench, section: usize) -> f64 {
        let now = readings(tube, bench, section);
        if now.len() != self.base.len() || now.is_empty() || self.priors.is_empty() {
            return 0.0;
        }
        let change = DVector::from_fn(now.len(), |i, _| (now[i] - self.base[i]) / self.sigma[i]);
        let explained = (&self.solve * &change).map(|p| p.clamp(-UNUSUAL, UNUSUAL));
        let left = &change - &self.slopes * explained;
        let mut squares: Vec<f64> = left.iter().map(|r| r * r).collect();
        squares.sort_by(|a, b| b.total_cmp(a));
        let best = ((squares.len() as f64 * BEST).ceil() as usize).clamp(1, squares.len());
        (squares[..best].iter().sum::<f64>() / best as f64).sqrt()
    }
}

/// The size between `least` and `most` whose sight is `wanted`: `least` where that shows
/// more already, `None` where `most` shows less. `sight` must rise with the size.
pub fn size_for(wanted: f64, least: f64, most: f64, sight: impl Fn(f64) -> f64) -> Option<f64> {
    if sight(most) < wanted {
        return None;
    }
    let (mut low, mut high) = (least.ln(), most.ln());
    if sight(least) >= wanted {
        return Some(least);
    }
    for _ in 0..18 {
        let middle = 0.5 * (low + high);
        if sight(middle.exp()) < wanted { low = middle } else { high = middle }
    }
    Some(high.exp())
}

/// A meter's step where it does not pick its range.
pub fn fixed_step(meter: &Meter) -> Option<f64> {
    match meter.resolution {
        Resolution::Step(step) => Some(step),
        _ => None,
    }
}
