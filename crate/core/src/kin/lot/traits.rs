//! The figures in which the tubes of a lot are compared, all at one point that lies
//! inside their sweeps.

use serde::{Deserialize, Serialize};

use super::member::Member;
use crate::law::SpaceCharge;
use crate::numerics::median;

/// One figure of the comparison.
pub struct Trait {
    /// Its name.
    pub name: &'static str,
    /// Its unit; empty for a ratio.
    pub unit: &'static str,
    /// Least scale on which tubes are told apart in it, in the compared quantity: what
    /// supplies, heaters and meters leave open between two sweeps.
    pub least: f64,
    /// Usual standard deviation between sound tubes of a type, in the compared quantity.
    pub usual: f64,
    /// Whether tubes are sorted by it into groups; the others only show who is odd.
    pub groups: bool,
    /// Whether it is compared by its logarithm.
    pub by_ratio: bool,
    read: fn(&Member, Point) -> Option<f64>,
}

/// The point at which a lot is compared.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// Voltage that drives the space charge, V.
    pub va: f64,
    /// Grid voltage, V.
    pub vg: f64,
}

/// Two sweeps of one tube agree to about this share: heaters and supplies wander (common
/// practice, no source).
const REPEATS: f64 = 0.005;
/// The tail follows the noise at the foot of the curve; it is not known better than to
/// this share (common practice, no source).
const TAIL_REPEATS: f64 = 0.05;
/// A floor or a grid current below this share of the top current matters to no stage
/// (a thousandth of the 2 % of physics.md, "The floor, worked").
const FAINT: f64 = 2e-5;
/// Noise of two benches of one kind differs by this share (common practice, no source).
const NOISE_REPEATS: f64 = 0.3;

/// Between tubes of a type: mu 87 to 103 in three specimens (Dempwolf and Zölzer).
const USUAL_MU: f64 = 0.05;
/// ±30 % between makers (H. M. Knoll), read as two and a half standard deviations.
const USUAL_CURRENT: f64 = 0.12;
/// The tail's steepness follows the evenness of the grid (common practice, no source).
const USUAL_TAIL: f64 = 0.25;
/// Sections of a sound tube: two standard deviations make the 6 % of `lesson::specimen`.
const USUAL_MATCH: f64 = 0.03;

/// The traits.
pub const TRAITS: [Trait; 8] = [
    Trait {
        name: "amplification factor",
        unit: "1",
        least: REPEATS,
        usual: USUAL_MU,
        groups: true,
        by_ratio: true,
        read: |m, p| mean(m, |l| l.slopes(p.va, p.vg).mu()),
    },
    Trait {
        name: "plate current",
        unit: "A",
        least: REPEATS,
        usual: USUAL_CURRENT,
        groups: true,
        by_ratio: true,
        read: |m, p| mean(m, |l| l.current(p.va, p.vg)),
    },
    Trait {
        name: "transconductance",
        unit: "S",
        least: REPEATS,
        usual: USUAL_CURRENT,
        groups: true,
        by_ratio: true,
        read: |m, p| mean(m, |l| l.slopes(p.va, p.vg).gm),
    },
    Trait {
        name: "tail",
        unit: "1",
        least: TAIL_REPEATS,
        usual: USUAL_TAIL,
        groups: false,
        by_ratio: true,
        read: |m, _| average(&m.tails),
    },
    Trait {
        name: "section 1 over section 2",
        unit: "1",
        least: REPEATS,
        usual: USUAL_MATCH,
        groups: false,
        by_ratio: true,
        read: |m, p| match m.laws.as_slice() {
            [a, b] => Some(a.current(p.va, p.vg) / b.current(p.va, p.vg)),
            _ => None,
        },
    },
    Trait {
        name: "floor",
        unit: "1",
        least: FAINT,
        usual: 10.0 * FAINT,
        groups: false,
        by_ratio: false,
        read: |m, _| m.floor,
    },
    Trait {
        name: "current out of the grid",
        unit: "1",
        least: FAINT,
        usual: 10.0 * FAINT,
        groups: false,
        by_ratio: false,
        read: |m, _| m.reverse,
    },
    Trait {
        name: "noise",
        unit: "1",
        least: NOISE_REPEATS,
        usual: 2.0 * NOISE_REPEATS,
        groups: false,
        by_ratio: true,
        read: |m, _| m.noise,
    },
];

impl Trait {
    /// Its value for a tube, in its unit; `None` where it was not measured.
    pub fn value(&self, member: &Member, at: Point) -> Option<f64> {
        let usable = |v: &f64| v.is_finite() && (!self.by_ratio || *v > 0.0);
        (self.read)(member, at).filter(usable)
    }

    /// The quantity that is compared: the value or its logarithm.
    pub fn compared(&self, value: f64) -> f64 {
        if self.by_ratio { libm::log(value) } else { value }
    }
}

fn average(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

fn mean(m: &Member, of: impl Fn(&SpaceCharge) -> f64) -> Option<f64> {
    average(&m.laws.iter().map(of).collect::<Vec<_>>())
}

/// The point at which tubes are compared: two thirds of the median tube's highest plate
/// voltage, and the grid voltage at which the median law gives a quarter of what it gives
/// at zero grid. Both lie inside usual sweeps. `None` where no tube has a law.
pub fn common_point(members: &[&Member]) -> Option<Point> {
    /// Share of the highest plate voltage.
    const OF_HIGHEST: f64 = 2.0 / 3.0;
    /// Share of the current at zero grid.
    const OF_ZERO_BIAS: f64 = 0.25;
    let mut highest: Vec<f64> = members.iter().filter(|m| !m.laws.is_empty()).map(|m| m.highest).collect();
    if highest.is_empty() {
        return None;
    }
    let va = (OF_HIGHEST * median(&mut highest)).round().max(1.0);
    let grid = |l: &SpaceCharge| l.grid_for(va, OF_ZERO_BIAS * l.current(va, 0.0), va);
    let mut grids: Vec<f64> = members.iter().flat_map(|m| &m.laws).filter_map(grid).filter(|v| v.is_finite()).collect();
    // Tenths of a volt are set on a bench.
    (!grids.is_empty()).then(|| Point { va, vg: (10.0 * median(&mut grids)).round() / 10.0 })
}
