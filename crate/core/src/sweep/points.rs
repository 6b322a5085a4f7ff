//! The points of one section, column by column, and the curves they form.

use serde::{Deserialize, Serialize};

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

    /// Grid current at point `i`, A, where it was measured.
    pub fn ig_at(&self, i: usize) -> Option<f64> {
        self.ig.as_ref().map(|c| c[i]).filter(|v| v.is_finite())
    }

    /// Largest plate current, A; 0 for no points.
    pub fn top(&self) -> f64 {
        self.ia.iter().copied().fold(0.0, f64::max)
    }

    /// The curves of the family, by held voltage rising.
    ///
    /// The held voltage is the one with fewer distinct values; a tie counts as
    /// a transfer family. Every point is on exactly one curve.
    pub fn curves(&self) -> Vec<Curve> {
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
    gaps.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
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
    groups
        .into_iter()
        .filter(|g| !g.is_empty())
        .map(|mut index| {
            index.sort_by(|&a, &b| run[a].total_cmp(&run[b]).then(a.cmp(&b)));
            let mut held: Vec<f64> = index.iter().map(|&i| held[i]).collect();
            held.sort_by(f64::total_cmp);
            Curve { running, held: held[held.len() / 2], index }
        })
        .collect()
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
    fn a_sagging_plate_supply_still_holds_three_voltages() {
        let mut p = family(&[100.0, 200.0, 300.0], &[-6.0, -5.0, -4.0, -3.0, -2.0, -1.0, 0.0]);
        for i in 0..p.len() {
            p.va[i] -= 0.004 * p.va[i] * (6.0 + p.vg[i]);
        }
        assert_eq!(p.curves().len(), 3);
    }

    #[test]
    fn no_points_form_no_curve() {
        assert!(Points::default().curves().is_empty());
    }
}
