//! What can be wrong with one virtual section. All parts may be combined.

use serde::Serialize;

use super::maths::{exp, logistic, pow};

/// Plate voltage below which no electron ionises the residual gas, V: the first
/// ionisation potentials of residual gases are 12 to 16 V (N₂ 15.6, CO 14.0, Ar 15.8;
/// textbook values, from memory).
pub const IONISATION: f64 = 15.0;
/// Plate voltage over which ionisation sets in, V. With it the ion ratio at 250 V is 2.7
/// times that at 50 V: "a few times larger at high plate voltage" (reference 3.2; the
/// form 1 − e^(−(Va−15)/80) is ours).
const IONISATION_SPREAD: f64 = 80.0;
/// Grid voltage above which electrons that the grid emits find no pull away from it, V,
/// and the volts over which that changes: flat below −1 V (reference 3.2).
const EMISSION_STOPS: (f64, f64) = (-0.4, 0.12);
/// Plate voltage at which [`Ceiling::current`] holds, V.
pub const CEILING_AT: f64 = 100.0;
/// How the emission of an oxide cathode falls with the heater voltage: as its power of
/// this. Richardson: dlnI/dlnT = 2 + φ/(kT) = 14.5 with φ 1.1 eV at 1020 K; the radiated
/// power goes as T⁴ and the heater's as V^1.6, so T goes as V^0.4 (computed; φ and the
/// exponent 1.6 from memory). At 10 % less heater voltage 54 % of the emission is left.
pub const HEATER_POWER: f64 = 5.8;

/// Faults of one section. The default is a sound one.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Defects {
    /// Leak from plate to cathode, ohm. A few hundred ohm is a short.
    pub plate_cathode: Option<f64>,
    /// Leak from plate to grid, ohm.
    pub plate_grid: Option<f64>,
    /// Leak from grid to cathode, ohm.
    pub grid_cathode: Option<f64>,
    /// Leak from plate to heater, ohm.
    pub plate_heater: Option<f64>,
    /// Leak from grid to heater, ohm.
    pub grid_heater: Option<f64>,
    /// Leak from heater to cathode, ohm; only a meter in the cathode lead sees it.
    pub heater_cathode: Option<f64>,
    /// Ions per electron that reaches the plate, at a plate voltage well above
    /// [`IONISATION`].
    pub gas: Option<f64>,
    /// Grid that emits electrons.
    pub grid_emission: Option<GridEmission>,
    /// Cathode that cannot give what space charge would take.
    pub ceiling: Option<Ceiling>,
    /// Resistance between cathode sleeve and coating, ohm.
    pub interface: Option<f64>,
    /// Part of the cathode under a coarser grid.
    pub uneven: Option<Uneven>,
    /// What the grid's connection does.
    pub grid: GridState,
    /// No electrons at all: heater or cathode open, or air. Leaks stay.
    pub dead: bool,
    /// Factor on the current; `None` is 1.
    pub perveance: Option<f64>,
    /// Factor on the amplification factor; `None` is 1.
    pub mu: Option<f64>,
    /// Shift of the contact potential, V; positive raises the current.
    pub contact: f64,
    /// A contact that comes and goes.
    pub intermittent: Option<Intermittent>,
}

/// Thermionic emission of the grid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GridEmission {
    /// Current once grown, A.
    pub current: f64,
    /// Share that lands on the plate; the rest goes to the cathode (reference 4.1 puts
    /// all of it there).
    pub to_plate: f64,
    /// Points over which it grows as the grid warms up; 0: it is there from the start.
    pub growth: f64,
}

impl GridEmission {
    /// Current in ampere with the grid at `vg`, after `points` points.
    pub fn at(&self, vg: f64, points: f64) -> f64 {
        let grown = if self.growth > 0.0 { 1.0 - exp(-points / self.growth) } else { 1.0 };
        self.current * grown * logistic((EMISSION_STOPS.0 - vg) / EMISSION_STOPS.1)
    }
}

/// The most a cathode can give.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ceiling {
    /// Saturation current at [`CEILING_AT`] and rated heater voltage, A.
    pub current: f64,
    /// Sharpness of the bend, 2 (soft) to 8 (hard): the exponent n of the smooth minimum
    /// `d/(1 + (d/s)ⁿ)^(1/n)` of demand d and supply s.
    pub sharpness: f64,
    /// Schottky's rise: e^(`schottky`·(√Va − √100)); 1/√V. 0.01 to 0.02 makes 8 to 16 %
    /// from 100 to 300 V.
    pub schottky: f64,
}

impl Ceiling {
    /// What is left of a `demand` in ampere, at plate voltage `va` and `heater` times the
    /// rated heater voltage.
    pub fn limit(&self, demand: f64, va: f64, heater: f64) -> f64 {
        let rise = exp(self.schottky * (libm::sqrt(va.max(0.0)) - libm::sqrt(CEILING_AT)));
        let supply = self.current * rise * pow(heater.max(0.0), HEATER_POWER);
        if demand <= 0.0 || supply <= 0.0 {
            return 0.0;
        }
        // Divided by the larger of the two, so that no power overflows.
        let (small, large) = if demand < supply { (demand, supply) } else { (supply, demand) };
        small / pow(1.0 + pow(small / large, self.sharpness), 1.0 / self.sharpness)
    }
}

/// Part of the cathode under a coarser grid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Uneven {
    /// That part of the cathode.
    pub share: f64,
    /// Its amplification factor over that of the rest.
    pub mu_ratio: f64,
}

/// What the grid's connection does.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum GridState {
    /// Connected.
    #[default]
    Sound,
    /// Not connected inside: it floats at this voltage and wanders by that much.
    Open {
        /// Voltage it settles at, V; a floating grid gathers electrons until it is a few
        /// tenths of a volt to a volt negative.
        rest: f64,
        /// Slow wander, V (standard deviation).
        wander: f64,
    },
    /// Shorted to the cathode through this many ohm.
    Tied(f64),
}

/// A contact that comes and goes, point by point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Intermittent {
    /// Share of the points that it hits.
    pub share: f64,
    /// Mean length of a disturbance, points (at least 1).
    pub run: f64,
    /// Factor on the plate current while it lasts: 0 for a cathode that drops out,
    /// above 1 for a grid that does.
    pub factor: f64,
}

/// Share of the ionisation at plate voltage `va`, 0 to 1.
pub fn ionisation(va: f64) -> f64 {
    if va <= IONISATION { 0.0 } else { 1.0 - exp((IONISATION - va) / IONISATION_SPREAD) }
}
