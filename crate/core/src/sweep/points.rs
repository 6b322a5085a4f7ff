//! The points of one section, column by column, and the curves they form.

use serde::{Deserialize, Serialize};

use crate::numerics::nth_smallest;
use crate::sorting::{places_by, sort_by};

/// Measured points in the order they were taken. All columns have the same length.
///
/// A column that the file does not have is `None`; a cell that it does not have
/// is NaN inside a column that it has.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Points {
    /// Plate voltage, V.
    pub va: Vec<f64>,
    /// Grid supply voltage, V: at the pin only while the source resistance is 0.
    pub vg: Vec<f64>,
    /// Plate current as the meter read it, A.
    pub ia: Vec<f64>,
    /// Grid current into the grid, A.
    pub ig: Option<Vec<f64>>,
    /// Screen voltage, V.
    pub vg2: Option<Vec<f64>>,
    /// Screen current into the screen, A.
    pub ig2: Option<Vec<f64>>,
    /// Cathode current leaving the cathode, A.
    pub ik: Option<Vec<f64>>,
    /// Heater voltage, V.
    pub vh: Option<Vec<f64>>,
    /// Heater current, A.
    pub ih: Option<Vec<f64>>,
    /// Voltage of the cathode against the heater, V.
    pub vhk: Option<Vec<f64>>,
    /// Current between heater and cathode, A.
    pub ihk: Option<Vec<f64>>,
    /// Time since the start, s.
    pub time: Option<Vec<f64>>,
    /// Number of the repeat, 1 for the first.
    pub repeat: Option<Vec<f64>>,
}

/// What runs along a curve while the other voltage stands still.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Running {
    /// Transfer family: the grid runs, the plate voltage is held.
    Grid,
    /// Plate family: the plate runs, the grid voltage is held.
    Plate,
}

/// One curve: consecutive or scattered points that share one held voltage.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Which voltage runs.
    pub running: Running,
    /// The held voltage, V (the median of what was read).
    pub held: f64,
    /// Indices into [`Points`], sorted by the running voltage, equal ones by order.
    pub index: Vec<usize>,
}

/// Most levels a held voltage can stand at: a family of more curves is rare
/// (common practice, no source).
const MOST_LEVELS: usize = 40;
/// Levels lie at least this many times as far apart as each is wide: supplies
/// wander and sag, but a voltage that runs leaves no gaps.
const APART: f64 = 3.0;
/// A single level may be this wide, as a share of its voltage, or [`HELD_STEP`].
const ONE_LEVEL: f64 = 0.1;
/// Smallest distance between two held voltages that can count as two curves, V.
const HELD_STEP: f64 = 0.02;

impl Points {
    /// Number of points.
    pub fn len(&self) -> usize {
        self.ia.len()
    }

    /// Whether there is no point at all.
    pub fn is_empty(&self) -> bool {
        self.ia.is_empty()
    }

    /// The columns that a table need not have.
    pub(crate) fn optional_columns(&mut self) -> [&mut Option<Vec<f64>>; 10] {
        [
            &mut self.ig,
            &mut self.vg2,
            &mut self.ig2,
            &mut self.ik,
            &mut self.vh,
            &mut self.ih,
            &mut self.vhk,
            &mut self.ihk,
            &mut self.time,
            &mut self.repeat,
        ]
    }

    /// Adds points behind these; a column that only one of them has is empty for the other.
    pub(crate) fn append(&mut self, mut more: Self) {
        let (before, added) = (self.len(), more.len());
        for (own, other) in self.optional_columns().into_iter().zip(more.optional_columns()) {
            if own.is_some() || other.is_some() {
                let column = own.get_or_insert_with(|| vec![f64::NAN; before]);
                column.extend(other.take().unwrap_or_else(|| vec![f64::NAN; added]));
            }
        }
        self.va.extend(more.va);
        self.vg.extend(more.vg);
        self.ia.extend(more.ia);
    }

    /// Grid current at point `i`, A, where it was measured.
    pub fn ig_at(&self, i: usize) -> Option<f64> {
        self.ig.as_ref().map(|c| c[i]).filter(|v| v.is_finite())
    }

    /// Largest plate current that two in a hundred readings at most exceed, A; 0
    /// for no points.
    pub fn top(&self) -> f64 {
        top_of(&self.ia)
    }

    /// The curves, by what is held and then by held voltage rising. Every point is
    /// on exactly one curve.
    ///
    /// Readings taken one after the other with one voltage held form a run; runs
    /// at one held voltage form a curve, so that repeats and sweeps up and down
    /// fall together, and transfer and plate families may be mixed. Where the
    /// order tells nothing, the voltage with fewer distinct values is the held one.
    pub fn curves(&self) -> Vec<Curve> {
        self.curves_by_order().unwrap_or_else(|| self.curves_by_levels())
    }

    fn curves_by_order(&self) -> Option<Vec<Curve>> {
        let runs = runs(&self.va, &self.vg);
        let long: usize = runs.iter().filter(|r| r.points.len() >= SHORT_RUN).map(|r| r.points.len()).sum();
        if (long as f64) < ORDERED_SHARE * self.len() as f64 {
            return None;
        }
        let mut curves = Vec::new();
        for running in [Running::Grid, Running::Plate] {
            let (held, run) = self.held_and_running(running);
            let mut of_kind: Vec<(f64, &Run)> =
                runs.iter().filter(|r| r.running == running).map(|r| (middle(held, r.points.clone()), r)).collect();
            sort_by(&mut of_kind, |a, b| a.0.total_cmp(&b.0));
            let tops: Vec<f64> = of_kind.iter().map(|r| r.0).collect();
            let edges = levels(&tops).unwrap_or_else(|| neighbours(&tops));
            let mut groups: Vec<Vec<usize>> = vec![Vec::new(); edges.len()];
            for (level, r) in of_kind {
                let at = edges.partition_point(|edge| *edge < level).min(edges.len().saturating_sub(1));
                if let Some(group) = groups.get_mut(at) {
                    group.extend(r.points.clone());
                }
            }
            curves.extend(groups.into_iter().filter(|g| !g.is_empty()).map(|g| curve(g, held, run, running)));
        }
        Some(curves)
    }

    fn curves_by_levels(&self) -> Vec<Curve> {
        let everything = || vec![f64::INFINITY];
        match (levels(&self.va), levels(&self.vg)) {
            (Some(plate), Some(grid)) if plate.len() > grid.len() => gather(&grid, &self.vg, &self.va, Running::Plate),
            (None, Some(grid)) => gather(&grid, &self.vg, &self.va, Running::Plate),
            (plate, _) => {
                let plate = plate.unwrap_or_else(everything);
                gather(&plate, &self.va, &self.vg, Running::Grid)
            }
        }
    }

    fn held_and_running(&self, running: Running) -> (&[f64], &[f64]) {
        match running {
            Running::Grid => (&self.va, &self.vg),
            Running::Plate => (&self.vg, &self.va),
        }
    }

    /// The running voltage of a curve's kind.
    pub fn running(&self, running: Running) -> &[f64] {
        self.held_and_running(running).1
    }
}

/// Largest current that two in a hundred readings at most exceed, A: a few may
/// have jumped.
pub(crate) fn top_of(current: &[f64]) -> f64 {
    let skip = current.len() / 50;
    let mut readings = current.to_vec();
    readings.retain(|i| i.is_finite());
    let from = readings.len().saturating_sub(skip + 1);
    if readings.is_empty() { 0.0 } else { nth_smallest(&mut readings, from).max(0.0) }
}

/// Readings in a row with one voltage held.
struct Run {
    running: Running,
    points: std::ops::Range<usize>,
}

/// A run of fewer readings says nothing of what was held.
const SHORT_RUN: usize = 4;
/// Share of the readings that must lie on longer runs for the order to count.
const ORDERED_SHARE: f64 = 0.9;
/// A held voltage may move by this share of its full span from one reading to
/// the next (it sags, or is read with noise), and not by more than half as much
/// as the running one does.
const HELD_MOVES: f64 = 0.05;
/// Where the running voltage goes on in equal steps, the held one may move by this share:
/// a supply that sags by a tenth of its voltage does so over a few steps.
const HELD_SAGS: f64 = 0.15;

/// Cuts the readings, in the order taken, into runs with one voltage held.
fn runs(va: &[f64], vg: &[f64]) -> Vec<Run> {
    let span = |v: &[f64]| {
        let (low, high) = v.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |r, v| (r.0.min(*v), r.1.max(*v)));
        (high - low).max(1e-9)
    };
    let (span_a, span_g) = (span(va), span(vg));
    // What moves from one reading to the next; `None` for both, or for a repeat.
    let step = |i: usize| -> Option<Running> {
        let (da, dg) = ((va[i] - va[i - 1]).abs() / span_a, (vg[i] - vg[i - 1]).abs() / span_g);
        match () {
            () if da <= HELD_MOVES && da <= 0.5 * dg => Some(Running::Grid),
            () if dg <= HELD_MOVES && dg <= 0.5 * da => Some(Running::Plate),
            () => None,
        }
    };
    let repeat = |i: usize| (va[i] - va[i - 1]).abs() < 1e-9 * span_a && (vg[i] - vg[i - 1]).abs() < 1e-9 * span_g;
    // A long way back with the held voltage a step on: the next curve.
    let starts_again = |i: usize| {
        let (da, dg) = ((va[i] - va[i - 1]).abs(), (vg[i] - vg[i - 1]).abs());
        dg > 0.5 * span_g && da > HELD_STEP || da > 0.5 * span_a && dg > HELD_STEP
    };
    // The running voltage goes on as before, and the held one gives way under it.
    let sags = |i: usize, kind: Option<Running>| {
        let equal = |v: &[f64], span: f64| {
            let (before, now) = (v[i - 1] - v[i - 2], v[i] - v[i - 1]);
            (now - before).abs() < 0.01 * before.abs() && now.abs() > 1e-9 * span
        };
        let (da, dg) = ((va[i] - va[i - 1]).abs() / span_a, (vg[i] - vg[i - 1]).abs() / span_g);
        match kind {
            Some(Running::Grid) => equal(vg, span_g) && da <= HELD_SAGS,
            Some(Running::Plate) => equal(va, span_a) && dg <= HELD_SAGS,
            None => false,
        }
    };
    let mut out: Vec<Run> = Vec::new();
    let mut start = 0;
    let mut kind: Option<Running> = None;
    for i in 1..=va.len() {
        let mut next = if i < va.len() { step(i) } else { None };
        if next.is_none() && i < va.len() && i >= start + 2 && sags(i, kind) {
            next = kind;
        }
        let goes_on =
            i < va.len() && (repeat(i) || next.is_some() && (kind.is_none() || next == kind) && !starts_again(i));
        if goes_on {
            kind = kind.or(next);
            continue;
        }
        out.push(Run { running: kind.unwrap_or(Running::Grid), points: start..i });
        start = i;
        kind = None;
    }
    out
}

fn middle(values: &[f64], points: std::ops::Range<usize>) -> f64 {
    let mut v: Vec<f64> = values[points].to_vec();
    v.sort_by(f64::total_cmp);
    v.get(v.len() / 2).copied().unwrap_or(0.0)
}

/// Edges between all distinct values: for held voltages too close to form levels.
fn neighbours(sorted: &[f64]) -> Vec<f64> {
    let between = sorted.windows(2).filter(|w| w[1] - w[0] > HELD_STEP).map(|w| 0.5 * (w[0] + w[1]));
    between.chain([f64::INFINITY]).collect()
}

/// Upper edges of the levels that `values` stand at, rising; `None` where they
/// run rather than stand.
///
/// The fewest levels that leave gaps much wider than the levels themselves.
fn levels(values: &[f64]) -> Option<Vec<f64>> {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    let (Some(first), Some(last)) = (sorted.first(), sorted.last()) else {
        return Some(Vec::new());
    };
    let size = first.abs().max(last.abs());
    if last - first <= (ONE_LEVEL * size).max(HELD_STEP) && last - first <= 0.5 * size.max(HELD_STEP) {
        return Some(vec![f64::INFINITY]);
    }
    // Gaps between neighbours, widest first.
    let mut gaps: Vec<(f64, usize)> = sorted.windows(2).enumerate().map(|(i, w)| (w[1] - w[0], i)).collect();
    sort_by(&mut gaps, |a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    for count in 1..MOST_LEVELS.min(gaps.len() + 1) {
        let narrowest = gaps[count - 1].0;
        if narrowest <= HELD_STEP {
            break;
        }
        let mut cuts: Vec<usize> = gaps[..count].iter().map(|g| g.1).collect();
        cuts.sort_unstable();
        let starts = std::iter::once(0).chain(cuts.iter().map(|c| c + 1));
        let ends = cuts.iter().copied().chain([sorted.len() - 1]);
        let widest = starts.zip(ends).map(|(a, b)| sorted[b] - sorted[a]).fold(0.0, f64::max);
        if narrowest >= APART * widest {
            let edges = cuts.iter().map(|&c| 0.5 * (sorted[c] + sorted[c + 1]));
            return Some(edges.chain([f64::INFINITY]).collect());
        }
    }
    None
}

fn gather(edges: &[f64], held: &[f64], run: &[f64], running: Running) -> Vec<Curve> {
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); edges.len()];
    for (i, v) in held.iter().enumerate() {
        let at = edges.partition_point(|edge| edge < v).min(edges.len().saturating_sub(1));
        if let Some(group) = groups.get_mut(at) {
            group.push(i);
        }
    }
    groups.into_iter().filter(|g| !g.is_empty()).map(|g| curve(g, held, run, running)).collect()
}

/// A curve of these points, sorted by the running voltage.
fn curve(mut index: Vec<usize>, held: &[f64], run: &[f64], running: Running) -> Curve {
    places_by(&mut index, &|a, b| run[a].total_cmp(&run[b]).then(a.cmp(&b)));
    let mut levels: Vec<f64> = index.iter().map(|&i| held[i]).collect();
    levels.sort_by(f64::total_cmp);
    Curve { running, held: levels[levels.len() / 2], index }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn family(vas: &[f64], vgs: &[f64]) -> Points {
        let mut p = Points::default();
        for &va in vas {
            for &vg in vgs {
                p.va.push(va);
                p.vg.push(vg);
                p.ia.push(1e-3);
            }
        }
        p
    }

    #[test]
    fn a_transfer_family_splits_by_plate_voltage() {
        let p = family(&[100.0, 200.1, 199.9], &[-3.0, -2.0, -1.0, 0.0]);
        let curves = p.curves();
        assert_eq!(curves.len(), 2);
        assert!(curves.iter().all(|c| c.running == Running::Grid));
        assert_eq!(curves[1].index.len(), 8);
        assert!((curves[1].held - 200.0).abs() < 0.2);
    }

    #[test]
    fn a_plate_family_splits_by_grid_voltage() {
        let p = family(&[0.0, 50.0, 100.0, 150.0, 200.0], &[-2.0, -1.0]);
        let curves = p.curves();
        assert_eq!(curves.len(), 2);
        assert!(curves.iter().all(|c| c.running == Running::Plate));
        assert_eq!(curves[0].held, -2.0);
    }

    #[test]
    fn a_very_fine_running_voltage_is_not_taken_for_a_held_one() {
        let fine: Vec<f64> = (0..2000).map(|i| -10.0 + 0.005 * f64::from(i)).collect();
        let curves = family(&[100.0, 200.0, 300.0], &fine).curves();
        assert_eq!(curves.len(), 3);
        assert!(curves.iter().all(|c| c.running == Running::Grid));
    }

    #[test]
    fn transfer_and_plate_families_may_be_mixed_and_repeated() {
        let grids: Vec<f64> = (0..10).map(|i| -9.0 + f64::from(i)).collect();
        let plates: Vec<f64> = (0..15).map(|i| 20.0 * f64::from(i)).collect();
        let mut p = family(&[100.0, 200.0, 100.0], &grids);
        for &vg in &[-2.0, -4.0] {
            for &va in &plates {
                p.va.push(va);
                p.vg.push(vg);
                p.ia.push(1e-3);
            }
        }
        let curves = p.curves();
        let held = |running| curves.iter().filter(|c| c.running == running).map(|c| c.held).collect::<Vec<_>>();
        assert_eq!(held(Running::Grid), [100.0, 200.0]);
        assert_eq!(held(Running::Plate), [-4.0, -2.0]);
        assert_eq!(curves[0].index.len(), 20);
        assert_eq!(curves.iter().map(|c| c.index.len()).sum::<usize>(), p.len());
    }

    #[test]
    fn shuffled_points_still_form_curves() {
        let sorted = family(&[100.0, 200.0, 300.0], &[-6.0, -5.0, -4.0, -3.0, -2.0, -1.0, 0.0]);
        let order: Vec<usize> = (0..21).map(|i| i * 8 % 21).collect();
        let p = Points {
            va: order.iter().map(|&i| sorted.va[i]).collect(),
            vg: order.iter().map(|&i| sorted.vg[i]).collect(),
            ia: order.iter().map(|&i| sorted.ia[i]).collect(),
            ..Points::default()
        };
        assert_eq!(p.curves().len(), 3);
    }

    #[test]
    fn a_sagging_plate_supply_still_holds_three_voltages() {
        let mut p = family(&[100.0, 200.0, 300.0], &[-6.0, -5.0, -4.0, -3.0, -2.0, -1.0, 0.0]);
        for i in 0..p.len() {
            p.va[i] -= 0.004 * p.va[i] * (6.0 + p.vg[i]);
        }
        assert_eq!(p.curves().len(), 3);
    }

    #[test]
    fn a_supply_that_gives_way_at_the_top_still_holds_its_voltages() {
        let grids: Vec<f64> = (0..27).map(|i| -26.0 + f64::from(i)).collect();
        let mut p = family(&[100.0, 150.0, 200.0, 250.0, 300.0], &grids);
        for i in 0..p.len() {
            // Up to a fifth of the voltage, most of it over the last steps.
            p.va[i] -= 0.2 * p.va[i] * libm::pow((p.vg[i] + 8.0).max(0.0) / 8.0, 1.5);
        }
        let curves = p.curves();
        assert_eq!(curves.len(), 5);
        assert!(curves.iter().all(|c| c.running == Running::Grid && c.index.len() == 27));
    }

    #[test]
    fn no_points_form_no_curve() {
        assert!(Points::default().curves().is_empty());
    }
}
