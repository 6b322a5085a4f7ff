//! The virtual bench: what it applies, in which order, and how its meters read.

use serde::Serialize;

use super::dice::Dice;
use super::maths::exp;
use crate::sweep::{MeterPlace, Points};

/// A bench with its faults. [`VirtualBench::default`] is a good one with no points to take.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VirtualBench {
    /// What is measured, in this order, for each section.
    pub plan: Vec<Family>,
    /// Order within the plan.
    pub order: Order,
    /// Resistance from grid supply to grid pin, ohm.
    pub grid_source_resistance: f64,
    /// The most the grid supply gives or takes, A.
    pub grid_supply_limit: f64,
    /// Factor on the grid supply's set voltage.
    pub grid_gain: f64,
    /// Added to the grid supply's set voltage, V.
    pub grid_offset: f64,
    /// Where the plate-current meter sits.
    pub meter: MeterPlace,
    /// The plate-current meter.
    pub plate_meter: Meter,
    /// The grid-current meter; `None`: there is none.
    pub grid_meter: Option<Meter>,
    /// The plate supply's hard current limit, A.
    pub current_limit: Option<f64>,
    /// Resistance behind the plate supply's set voltage, ohm.
    pub plate_sag: f64,
    /// Whether the table shows the plate's true voltage and not the set one.
    pub reads_plate_voltage: bool,
    /// Resistance in the cathode lead (a meter's burden, a poor contact), ohm.
    pub cathode_burden: f64,
    /// Heater voltage over its rating.
    pub heater: f64,
    /// Heater against cathode, V.
    pub heater_bias: f64,
    /// Sweep begun before the tube was warm.
    pub warm_up: Option<WarmUp>,
    /// Oscillation of the tube in this bench's wiring.
    pub oscillation: Option<Oscillation>,
    /// Points at which the plate would have to dissipate more are left out, W.
    pub most_watts: Option<f64>,
    /// Seconds a point takes, where the table has a time column.
    pub clock: Option<f64>,
    /// What the file states of the bench.
    pub states: States,
    /// Voltage between heater and cathode, in both polarities, at which the current
    /// between them is measured beside the sweep, V; `None`: it is not.
    pub heater_test: Option<f64>,
    /// What goes wrong when the table is written down.
    pub slip: Option<Slip>,
}

impl Default for VirtualBench {
    fn default() -> Self {
        Self {
            plan: Vec::new(),
            order: Order::default(),
            grid_source_resistance: 0.0,
            grid_supply_limit: 0.01,
            grid_gain: 1.0,
            grid_offset: 0.0,
            meter: MeterPlace::PlateLead,
            plate_meter: Meter { noise: 0.5e-6, relative: 5e-4, resolution: Resolution::Step(1e-6), ..Meter::IDEAL },
            grid_meter: None,
            current_limit: None,
            plate_sag: 0.0,
            reads_plate_voltage: false,
            cathode_burden: 0.0,
            heater: 1.0,
            heater_bias: 0.0,
            warm_up: None,
            oscillation: None,
            most_watts: None,
            clock: None,
            states: States::default(),
            heater_test: None,
            slip: None,
        }
    }
}

/// A family of curves.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Family {
    /// The grid runs, the plate stands.
    Transfer {
        /// Plate voltages, V.
        plates: Vec<f64>,
        /// Grid voltages.
        grid: Range,
    },
    /// The plate runs, the grid stands.
    Plate {
        /// Grid voltages, V.
        grids: Vec<f64>,
        /// Plate voltages.
        plate: Range,
    },
}

/// Evenly spaced voltages.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Range {
    /// First, V.
    pub from: f64,
    /// Last, V (reached if a whole number of steps leads there).
    pub to: f64,
    /// Step, V; its sign does not matter.
    pub step: f64,
}

/// Most voltages of one range: a finer sweep is a slip.
const MOST_STEPS: usize = 20_000;

impl Range {
    /// The voltages, rounded to the microvolt.
    pub fn values(&self) -> Vec<f64> {
        let (span, step) = (self.to - self.from, self.step.abs());
        if !(span.is_finite() && step.is_finite() && self.from.is_finite()) || step == 0.0 {
            return vec![self.from];
        }
        let count = ((span.abs() / step + 1e-9).floor() as usize).min(MOST_STEPS);
        let microvolt = |v: f64| (v * 1e6).round() / 1e6;
        (0..=count).map(|i| microvolt(self.from + span.signum() * step * i as f64)).collect()
    }
}

/// Order in which points are taken.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Order {
    /// As the plan says.
    #[default]
    AsPlanned,
    /// Each curve from its other end.
    Backwards,
    /// The last curve first.
    LastFirst,
    /// Each curve there and back, the way back as a repeat.
    ThereAndBack,
}

/// A current meter.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Meter {
    /// Noise whatever the reading, A (standard deviation).
    pub noise: f64,
    /// Noise in proportion to the reading (standard deviation).
    pub relative: f64,
    /// How finely it shows.
    pub resolution: Resolution,
    /// Reading at no current, A.
    pub offset: f64,
    /// Factor on the reading.
    pub gain: f64,
    /// Largest reading of either sign, A.
    pub range: f64,
}

/// How finely a meter shows.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Resolution {
    /// Every digit.
    Ideal,
    /// Always in this step, A.
    Step(f64),
    /// It picks the range itself, of 2·10ⁿ A, and counts to this number in each.
    Counts {
        /// Counts at full range, such as 2000 or 20 000.
        counts: f64,
        /// Its smallest range, A.
        least: f64,
    },
}

impl Meter {
    /// A meter with no faults.
    pub const IDEAL: Self =
        Self { noise: 0.0, relative: 0.0, resolution: Resolution::Ideal, offset: 0.0, gain: 1.0, range: f64::INFINITY };

    /// Reads a current in ampere. `units` is how many of the table's units make one
    /// ampere; the result is what a table in that unit says, brought back to ampere.
    pub fn read(&self, current: f64, units: f64, dice: &mut Dice) -> f64 {
        // Both drawn always, so that a change of one setting leaves the other draws alone.
        let (absolute, relative) = (dice.normal(), dice.normal());
        let x = current * (self.gain + self.relative * relative) + self.offset + self.noise * absolute;
        let x = x.clamp(-self.range, self.range);
        match self.step_at(x) {
            Some(step) => quantised(x, step * units, units),
            None => x,
        }
    }

    /// The step that shows a reading, A.
    pub fn step_at(&self, reading: f64) -> Option<f64> {
        match self.resolution {
            Resolution::Ideal => None,
            Resolution::Step(step) => Some(step),
            Resolution::Counts { counts, least } => {
                let mut range = least;
                while range < reading.abs() && range < f64::MAX / 10.0 {
                    range *= 10.0;
                }
                Some(range / counts)
            }
        }
    }
}

/// `x` ampere in whole steps (a `step` of the table's unit), as the table's decimal says.
fn quantised(x: f64, step: f64, units: f64) -> f64 {
    let n = (x * units / step).round();
    let per_unit = (1.0 / step).round();
    let exact = (per_unit * step - 1.0).abs() < 1e-9;
    let shown = if exact { n / per_unit } else { n * step };
    if shown.is_finite() { shown / units } else { x }
}

/// A cathode that is still warming up: it gives 1 − deficit·e^(−n/points) of its current
/// at point n.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WarmUp {
    /// What is missing at the first point, 0 to 1.
    pub deficit: f64,
    /// Points in which the rest falls e-fold.
    pub points: f64,
    /// Whether each section starts anew (a bench that switches the heater), or the
    /// second goes on where the first ended.
    pub each_section: bool,
}

impl WarmUp {
    pub(super) fn at(&self, n: usize) -> f64 {
        1.0 - self.deficit * exp(-(n as f64) / self.points.max(1e-9))
    }
}

/// Oscillation where the transconductance is high enough: the current steps away from its
/// curve, scatters, and the grid rectifies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Oscillation {
    /// Transconductance at which it starts, S.
    pub from: f64,
    /// Share of the plate current that the step takes; negative: adds.
    pub depth: f64,
    /// Scatter as a share of the plate current (standard deviation).
    pub scatter: f64,
}

/// Which facts of the bench the file states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct States {
    /// The grid source resistance.
    pub grid_source_resistance: bool,
    /// The meter's place.
    pub meter: bool,
    /// The heater voltage.
    pub heater: bool,
    /// The current limit, if there is one.
    pub limit: bool,
    /// The plate meter's step, if it has one.
    pub resolution: bool,
}

impl Default for States {
    fn default() -> Self {
        Self { grid_source_resistance: true, meter: true, heater: true, limit: false, resolution: false }
    }
}

/// A slip of the pen in the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Slip {
    /// Plate and grid voltage under each other's heading.
    SwappedVoltages,
    /// The plate current with the opposite sign.
    ReversedCurrent,
    /// The grid voltages without their minus signs.
    UnsignedGrid,
}

impl Slip {
    /// Writes the points down wrongly.
    pub(super) fn befall(self, points: &mut Points) {
        match self {
            Self::SwappedVoltages => std::mem::swap(&mut points.va, &mut points.vg),
            Self::ReversedCurrent => points.ia.iter_mut().for_each(|i| *i = -*i),
            Self::UnsignedGrid => points.vg.iter_mut().for_each(|v| *v = v.abs()),
        }
    }
}
