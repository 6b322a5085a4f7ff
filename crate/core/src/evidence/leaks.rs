//! The floor of the plate current and the parts of the grid current, taken apart.
//!
//! Past cutoff the plate meter reads, besides what is left of the tail,
//! `I0 + Gak·Va + Gga·(Va − Vg)`; the grid meter reads, below the voltages at
//! which electrons reach the grid, `c + Ggk·Vg − Gga·(Va − Vg) − k(Va)·Ia`
//! (physics.md, "The floor, worked" and "Grid current, worked"; reference 4.1).
//! Both are linear in what is sought and share the plate–grid conductance, so
//! they are solved together, and every subset of the terms is weighed.

use crate::law::{Applied, Par, Params, SpaceCharge};
use crate::numerics::{Estimate, Gram, Growing, MOST_COLUMNS, Subset, Term, compare, square};
use crate::sweep::{Curve, MeterPlace, Points, Running};

use super::drive::Drive;
use super::grid::GridReadings;
use super::noise::Noise;

/// One path or cause in the linear decomposition.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(usize)]
pub enum Path {
    /// Constant on the plate meter, A.
    PlateOffset,
    /// Plate to cathode (or heater), S.
    PlateCathode,
    /// Plate to grid, S.
    PlateGrid,
    /// What a coarser part of the grid lets through, a 3/2 law with half the mu.
    CoarseTail,
    /// Grid to cathode, S.
    GridCathode,
    /// Ions, A/A at the reference plate voltage.
    Ions,
    /// Constant on the grid meter alone, A: the bench.
    GridOffset,
    /// Electrons from the grid to the plate, A: out of the grid meter, into the
    /// plate meter.
    Emission,
}

const PATHS: usize = 8;
const COLUMNS: usize = 12;
/// What the healthy tail may add: a multiple of the law's own, and a slow one.
const HEALTHY_TAIL: [usize; 2] = [10, 11];

impl Path {
    const ALL: [Self; PATHS] = [
        Self::PlateOffset,
        Self::PlateCathode,
        Self::PlateGrid,
        Self::CoarseTail,
        Self::GridCathode,
        Self::Ions,
        Self::GridOffset,
        Self::Emission,
    ];

    /// Whether both are named as the same fault: a current out of the grid that nothing
    /// changes may be the grid's or the bench's, and is named as the grid's.
    fn is_named_as(self, other: Self) -> bool {
        self == Self::Emission && other == Self::GridOffset
    }

    fn column(self) -> usize {
        match self {
            // Ions take three columns: the ratio at the reference voltage and
            // two for its change with plate voltage.
            Self::GridOffset => 8,
            Self::Emission => 9,
            path => path as usize,
        }
    }
}

/// The decomposition of one section.
#[derive(Debug, Clone)]
pub struct Leaks {
    subsets: Vec<Subset>,
    /// The paths weighed, in the order of the subsets' bits.
    weighed: Vec<Path>,
    /// Plate readings used: past cutoff, and flat there.
    pub plate_rows: Vec<usize>,
    /// Grid readings used: below the electrons' voltages.
    pub grid_rows: Vec<usize>,
    /// Whether the grid readings come from a meter, and not from two sweeps with
    /// different resistors in the grid lead.
    pub grid_metered: bool,
    /// Different plate voltages among the plate readings.
    pub plate_voltages: usize,
    /// Standard deviation each term would have if it were there alone.
    alone: [f64; PATHS],
    /// The same beside the one other term that is most like it; the stand-in for a coarse
    /// grid is no such term, since it is rarer beforehand.
    beside: [f64; PATHS],
    /// Plate voltage at which the ion ratio is stated, V.
    pub ion_reference: f64,
}

/// What a section gives to the decomposition.
pub(super) struct LeakInput<'a> {
    pub(super) points: &'a Points,
    pub(super) drive: &'a Drive,
    pub(super) curves: &'a [Curve],
    pub(super) plate_noise: Noise,
    pub(super) grid: Option<&'a GridReadings>,
    /// The fitted law; `None` for a section that does not conduct.
    pub(super) law: Option<&'a Params>,
    /// Whether, without a law, every plate reading is past cutoff (a dead
    /// section) or none is (a grid without a say).
    pub(super) dead: bool,
    /// Grid voltage at the pin, V.
    pub(super) pin: &'a [f64],
    pub(super) meter: MeterPlace,
    /// Readings that are no part of the curve.
    pub(super) left_out: &'a [usize],
}

/// Plate readings are past cutoff where the law leaves less than this many
/// standard deviations of the constant noise.
const TAIL_LEFT: f64 = 30.0;
/// The same along a plate curve: published fits of one type disagree tenfold in the tail
/// (reference 1.4), and ten times this is still within the noise of a mean of a hundred.
const TAIL_LEFT_ALONG_PLATE: f64 = 0.01;
/// The law's tail is known to this share: published fits of one type disagree
/// tenfold there, a fit to the tube's own knee is better (reference 1.4).
const TAIL_KNOWN: f64 = 0.5;
/// The slowest healthy tail falls by this index, (Va/mu)·|dlnI/dVg| (reference 1.2, 4.5: 3 to 28).
const SLOWEST_TAIL: f64 = 3.0;
/// Where the law is cut off a slow tail leaves about this share of the top
/// (the share up to which a reading counts as tail, reference 4.5).
const SLOW_TAIL_SHARE: f64 = 0.02;
/// How far the law's own tail may be off as a whole, as a share of it: nothing is left
/// of it, or twice as much (published fits of one type disagree more, reference 1.4).
const LAW_TAIL_SHARE: f64 = 1.0;
/// A floor may fall with the grid by at most this tail index (Va/mu)·|dlnI/dVg|;
/// healthy tails have 3 to 28 (reference 1.2, 4.5).
const FLAT: f64 = 0.5;
/// Electrons reach the grid above this voltage, V (physics.md, "Grid current, worked").
const ELECTRON_FREE: f64 = -1.5;
/// How the ion ratio (a parabola here) and the emitted current (a constant)
/// depend on plate voltage is described to this share (measured on three forms
/// of ionisation curve, see DEVELOPERS.md).
const SHAPE_KNOWN: f64 = 0.03;
/// ln odds of each term before looking: a few in a hundred used tubes (common
/// practice, no source). The stand-in for a coarse grid is rarer.
const PRIOR: f64 = -3.0;
const PRIOR_COARSE: f64 = -4.0;
/// Standard deviations at which one of two terms is the likelier, e^(1.2²/2) to 1; at twice
/// the size it is so nearly always.
const TOLD_APART: f64 = 1.2;
/// Fewest readings from which anything is concluded.
const FEWEST: usize = 6;

impl Leaks {
    pub(super) fn of(input: &LeakInput<'_>) -> Self {
        let dropped: std::collections::HashSet<usize> = input.left_out.iter().copied().collect();
        let tails = tails(input);
        let plate_rows: Vec<usize> = past_cutoff(input, &tails).into_iter().filter(|i| !dropped.contains(i)).collect();
        // A grid without a say is open or tied: what its meter reads is the bench's.
        let grid_rows = if input.law.is_none() && !input.dead { Vec::new() } else { electron_free(input) };
        // A handful of readings settles nothing, however well they fit.
        let enough = |rows: Vec<usize>| if rows.len() < FEWEST { Vec::new() } else { rows };
        let (plate_rows, grid_rows) = (enough(plate_rows), enough(grid_rows));
        let ion_reference = input.points.va.iter().copied().fold(0.0, f64::max);

        let weighed: Vec<Path> =
            Path::ALL.into_iter().filter(|p| seen(*p, input, plate_rows.len(), grid_rows.len())).collect();
        let ion_columns = distinct(grid_rows.iter().map(|&i| input.points.va[i])).min(3);
        let terms: Vec<Term> = weighed.iter().map(|p| p.term(ion_columns)).collect();
        let rows = (plate_rows.len() + grid_rows.len()) as f64;
        let mut known = Known::default();
        let always: &[usize] = if input.law.is_some() && !plate_rows.is_empty() { &HEALTHY_TAIL } else { &[] };
        let mut gram = Gram::new(COLUMNS);
        let mut subsets = Vec::new();
        // The second round knows how large the ions' and the emitted current are
        // and how well their dependence on plate voltage can be described.
        for _ in 0..2 {
            gram = Gram::new(COLUMNS);
            healthy_tail(input, &mut gram);
            plate_equations(input, &tails, &plate_rows, known, &mut gram);
            grid_equations(input, &grid_rows, ion_reference, known, &mut gram);
            subsets = compare(&gram, &terms, always, rows);
            let size = |path| best(&subsets, &weighed, path).map_or(0.0, |e| e.value.max(0.0));
            known = Known { ions: size(Path::Ions), emission: size(Path::Emission) };
            if known == Known::default() {
                break;
            }
        }
        let (alone, beside) = errors(&gram, always, &weighed);
        let plate_voltages = distinct(plate_rows.iter().map(|&i| input.points.va[i]));
        Self {
            subsets,
            weighed,
            plate_rows,
            grid_rows,
            grid_metered: input.grid.is_some_and(|g| g.measured),
            plate_voltages,
            alone,
            beside,
            ion_reference,
        }
    }

    /// How the grid current is known, as a sentence begins.
    pub fn grid_says(&self) -> &'static str {
        if self.grid_metered { "the grid meter reads" } else { "two sweeps with different grid resistors show" }
    }

    fn bit(&self, path: Path) -> Option<usize> {
        self.weighed.iter().position(|p| *p == path)
    }

    /// Probability that a term is there.
    pub fn probability(&self, path: Path) -> f64 {
        self.probability_of_any(&[path])
    }

    /// Probability that at least one of the terms is there.
    pub fn probability_of_any(&self, paths: &[Path]) -> f64 {
        let bits: Vec<usize> = paths.iter().filter_map(|p| self.bit(*p)).collect();
        let sum: f64 = self.subsets.iter().filter(|s| bits.iter().any(|b| s.has(*b))).map(|s| s.probability).sum();
        sum.min(1.0)
    }

    /// The term's coefficient, averaged over the subsets that have it.
    pub fn estimate(&self, path: Path) -> Option<Estimate> {
        let bit = self.bit(path)?;
        let total = self.probability(path);
        if total <= f64::MIN_POSITIVE {
            return best(&self.subsets, &self.weighed, path);
        }
        let (mut mean, mut square) = (0.0, 0.0);
        for s in &self.subsets {
            if let (true, Some(e)) = (s.has(bit), s.coefficient(path.column())) {
                mean += s.probability * e.value;
                square += s.probability * (e.value * e.value + e.sd * e.sd);
            }
        }
        mean /= total;
        Some(Estimate::new(mean, (square / total - mean * mean).max(0.0).sqrt()))
    }

    /// Smallest coefficient that this sweep would have shown: the size at which
    /// the criterion's gain outweighs its penalty and the prior, with a further
    /// two standard deviations so that it is seen nearly always; and at which it is told
    /// from the term that is most like it.
    pub fn smallest(&self, path: Path) -> Option<f64> {
        let sd = self.alone[path as usize];
        if self.bit(path).is_none() || !sd.is_finite() || sd <= 0.0 {
            return None;
        }
        let rows = (self.plate_rows.len() + self.grid_rows.len()).max(2) as f64;
        let needed = (libm::log(rows) - 2.0 * PRIOR).sqrt() + 2.0;
        Some((needed * sd).max(TOLD_APART * self.beside[path as usize])).filter(|size| size.is_finite())
    }
}

/// Standard deviation of every path's coefficient if it is there alone, and beside the one
/// other weighed path that is most like it.
fn errors(gram: &Gram, always: &[usize], weighed: &[Path]) -> ([f64; PATHS], [f64; PATHS]) {
    let mut growing = Growing::new(gram);
    // Infinite for those that cannot be told apart at all.
    let mut error = |before: &[usize], path: Path| {
        growing.leave(MOST_COLUMNS);
        let told = growing.take_all(before) && growing.take(path.column());
        if told { growing.last_variance().sqrt() } else { f64::INFINITY }
    };
    let mut alone = [f64::INFINITY; PATHS];
    for path in Path::ALL {
        alone[path as usize] = error(always, path);
    }
    let mut beside = [0.0; PATHS];
    for (path, other) in weighed.iter().flat_map(|p| weighed.iter().map(move |o| (*p, *o))) {
        if path == other || path.is_named_as(other) || other == Path::CoarseTail {
            continue;
        }
        let sd = error(&[always, &[other.column()]].concat(), path);
        beside[path as usize] = f64::max(beside[path as usize], sd);
    }
    (alone, beside)
}

/// How many different voltages there are, to a few volts.
fn distinct(values: impl Iterator<Item = f64>) -> usize {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    sorted.dedup_by(|a, b| (*a - *b).abs() <= 0.02 * b.abs().max(100.0));
    sorted.len()
}

/// Sizes that widen the error of their own description.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Known {
    /// Ion ratio, A/A.
    ions: f64,
    /// Emitted current, A.
    emission: f64,
}

impl Path {
    /// The term in the linear problem; ions take as many columns as there are
    /// plate voltages to tell their dependence by, three at most.
    fn term(self, ion_columns: usize) -> Term {
        Term {
            columns: if self == Self::Ions { (5..5 + ion_columns.max(1)).collect() } else { vec![self.column()] },
            prior_log_odds: if self == Self::CoarseTail { PRIOR_COARSE } else { PRIOR },
            nonnegative: !matches!(self, Self::PlateOffset | Self::GridOffset),
        }
    }
}

/// The coefficient in the most probable subset that has the term.
fn best(subsets: &[Subset], weighed: &[Path], path: Path) -> Option<Estimate> {
    let bit = weighed.iter().position(|p| *p == path)?;
    subsets.iter().find(|s| s.has(bit)).and_then(|s| s.coefficient(path.column()))
}

/// Whether the readings can speak of a path at all.
fn seen(path: Path, input: &LeakInput<'_>, plate_rows: usize, grid_rows: usize) -> bool {
    match path {
        Path::PlateOffset | Path::PlateCathode => plate_rows >= FEWEST,
        Path::PlateGrid => plate_rows >= FEWEST || grid_rows >= FEWEST,
        Path::CoarseTail => plate_rows >= FEWEST && input.law.is_some(),
        Path::GridCathode | Path::Ions | Path::GridOffset | Path::Emission => grid_rows >= FEWEST,
    }
}

/// Tail that the law leaves at every point, a coarser part of the grid included, A.
fn tails(input: &LeakInput<'_>) -> Vec<f64> {
    let points = 0..input.points.len();
    let Some(params) = input.law else { return vec![0.0; points.len()] };
    // No feedback worth its name flows past cutoff.
    let at = |i| Applied { reading: 0.0, ..input.drive.applied(input.points, i, input.pin[i]) };
    params.without_floor().currents(points.map(at))
}

/// Readings past cutoff that no longer fall with the grid.
fn past_cutoff(input: &LeakInput<'_>, tails: &[f64]) -> Vec<usize> {
    let noise = input.plate_noise;
    let mut out = Vec::new();
    if input.law.is_none() && !input.dead {
        return out;
    }
    for curve in input.curves {
        let left = match curve.running {
            Running::Grid => TAIL_LEFT,
            // Along a plate curve the tail grows with the running voltage and
            // cannot be told by its fall: only what is well past cutoff counts.
            Running::Plate => TAIL_LEFT_ALONG_PLATE,
        };
        let deep: Vec<usize> = curve.index.iter().copied().filter(|&i| tails[i] < left * noise.floor).collect();
        match (curve.running, input.law) {
            (Running::Grid, Some(law)) => out.extend(flat_part(input, &deep, curve.held / law.law().mu)),
            _ => out.extend(deep),
        }
    }
    out
}

/// The most negative part of a transfer curve on which the reading no longer
/// falls: halved from the positive end until the tail index is below [`FLAT`].
fn flat_part(input: &LeakInput<'_>, deep: &[usize], volts: f64) -> Vec<usize> {
    let mut part = deep;
    while part.len() >= FEWEST {
        let mut gram = Gram::new(2);
        let origin = input.points.vg[part[part.len() / 2]];
        for &i in part {
            gram.add(
                &[1.0, input.points.vg[i] - origin],
                input.points.ia[i],
                1.0 / input.plate_noise.variance(input.points.ia[i]),
            );
        }
        let Some(line) = gram.solve(&[0, 1]) else { break };
        let (level, slope) = (line.beta[0], line.beta[1]);
        let significant = slope > 3.0 * line.covariance[(1, 1)].sqrt();
        if !significant || volts * slope < FLAT * level.abs() {
            return part.to_vec();
        }
        part = &part[..part.len() / 2];
    }
    Vec::new()
}

/// What is known of the healthy tail before looking, as readings of its two amounts.
fn healthy_tail(input: &LeakInput<'_>, gram: &mut Gram) {
    if input.law.is_none() {
        return;
    }
    for (column, sd) in HEALTHY_TAIL.into_iter().zip([LAW_TAIL_SHARE, SLOW_TAIL_SHARE * input.points.top()]) {
        let mut x = [0.0; COLUMNS];
        x[column] = 1.0;
        gram.add(&x, 0.0, sd.max(f64::MIN_POSITIVE).powi(-2));
    }
}

/// The slow tail at a reading, 1 where the law is cut off.
fn slow_tail(law: &SpaceCharge, va: f64, vg: f64) -> f64 {
    let cutoff = va / law.mu;
    if cutoff > 0.0 { libm::exp((SLOWEST_TAIL * (1.0 + (vg + law.phi) / cutoff)).min(0.0)) } else { 0.0 }
}

fn plate_equations(input: &LeakInput<'_>, tails: &[f64], rows: &[usize], known: Known, gram: &mut Gram) {
    let cathode_lead = input.meter == MeterPlace::CathodeLead;
    let law = input.law.map(|params| (params.law(), libm::exp(params.get(Par::LnP))));
    let [own_tail, slow] = HEALTHY_TAIL;
    for &i in rows {
        let (va, vg) = (input.points.va[i], input.pin[i]);
        let tail = tails[i];
        let variance =
            square(input.plate_noise.floor) + square(TAIL_KNOWN * tail) + square(SHAPE_KNOWN * known.emission);
        let coarse = law.as_ref().map_or(0.0, |(law, perveance)| {
            // A coarser part that is cut off as well lets nothing through.
            let drive = (vg + law.phi + 2.0 * va / law.mu).max(0.0);
            perveance * drive * drive.sqrt()
        });
        let mut x = [0.0; COLUMNS];
        x[0] = 1.0;
        x[1] = va;
        // A cathode-lead meter reads Ia + Ig: the plate–grid path returns through
        // the grid supply and is not seen, the grid–cathode path is (reference 4.2).
        x[2] = if cathode_lead { 0.0 } else { va - vg };
        x[3] = coarse;
        x[4] = if cathode_lead { vg } else { 0.0 };
        x[9] = if cathode_lead { 0.0 } else { 1.0 };
        x[own_tail] = tail;
        x[slow] = law.as_ref().map_or(0.0, |(law, _)| slow_tail(law, va, vg));
        gram.add(&x, input.points.ia[i] - tail, 1.0 / variance);
    }
}

fn electron_free(input: &LeakInput<'_>) -> Vec<usize> {
    let Some(grid) = input.grid else { return Vec::new() };
    (0..grid.current.len()).filter(|&i| grid.current[i].is_finite() && input.pin[i] <= ELECTRON_FREE).collect()
}

fn grid_equations(input: &LeakInput<'_>, rows: &[usize], reference: f64, known: Known, gram: &mut Gram) {
    let Some(grid) = input.grid else { return };
    for &i in rows {
        let (va, vg) = (input.points.va[i], input.pin[i]);
        // A leak's current makes no ions.
        let floor = input.law.map_or(0.0, |p| p.floor(va, vg));
        // All of the cathode's current makes ions on its way.
        let ia = (input.drive.current[i] - floor).max(0.0);
        let low = 1.0 - va / reference;
        let variance = square(grid.sd[i]) + square(SHAPE_KNOWN * (known.ions * ia + known.emission));
        let mut x = [0.0; COLUMNS];
        x[2] = -(va - vg);
        x[4] = vg;
        x[5] = -ia;
        x[6] = -ia * low;
        x[7] = -ia * low * low;
        x[8] = 1.0;
        x[9] = -1.0;
        gram.add(&x, grid.current[i], 1.0 / variance);
    }
}
