//! Virtual tubes.

use serde::Serialize;

use super::defects::{Ceiling, Defects};
use super::form::Form;
use super::maths::{pow, softplus};

/// A tube to be put on the virtual bench.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VirtualTube {
    /// What its owner calls it.
    pub name: String,
    /// The type on its label; `None` for a bare bulb.
    pub label: Option<String>,
    /// The type that it is.
    pub really: String,
    /// Rated heater voltage, V, as it is connected.
    pub heater_voltage: f64,
    /// Its sections; each knows its own faults.
    pub sections: Vec<VirtualSection>,
}

/// One section: a law, a grid that draws electrons, and defects.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VirtualSection {
    /// Its name in the table.
    pub name: String,
    /// Its law, this specimen's spread included.
    pub form: Form,
    /// Electron current of its grid.
    pub grid: GridDiode,
    /// What a sound cathode can give, A, some times what is ever asked of it.
    pub reserve: Ceiling,
    /// How far this specimen is from its type.
    pub spread: Spread,
    /// What is wrong with it.
    pub defects: Defects,
}

/// How far a specimen is from the mean of its type. Already in the law.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    /// Factor on the current.
    pub perveance: f64,
    /// Factor on the amplification factor.
    pub mu: f64,
    /// Shift of the contact potential, V.
    pub contact: f64,
    /// Factor on the width of the bend at cutoff.
    pub tail: f64,
}

impl Default for Spread {
    fn default() -> Self {
        Self { perveance: 1.0, mu: 1.0, contact: 0.0, tail: 1.0 }
    }
}

/// Electron current of the grid: exponential below, a power above.
///
/// The form of Dempwolf & Zölzer, `g·(ln(1 + exp(c·(Vg+shift)))/c)^xi`, without their
/// constant (a bench's offset, no property of a tube), times `1 + pull/(Va + pull)`: more
/// electrons turn to the grid where the plate pulls less, as in Cohen & Hélie's form.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GridDiode {
    /// Perveance, A/V^xi.
    pub g: f64,
    /// Exponent.
    pub xi: f64,
    /// Sharpness, 1/V: far below, the current falls e-fold each 1/(c·xi) volt.
    pub c: f64,
    /// Earlier onset, V.
    pub shift: f64,
    /// Plate voltage at which the grid draws half as much again as far above, V.
    pub pull: f64,
}

impl GridDiode {
    /// Current in ampere, never negative.
    pub fn current(&self, va: f64, vg: f64) -> f64 {
        let turned = 1.0 + self.pull / (va.max(0.0) + self.pull);
        self.g * pow(softplus(self.c * (vg + self.shift)) / self.c, self.xi) * turned
    }
}
