//! A number and how well it is known.

use serde::{Deserialize, Serialize};

/// Half width of a 95 % interval in standard deviations (normal distribution).
pub const Z95: f64 = 1.959_964;

/// An estimate with its standard deviation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// Best value.
    pub value: f64,
    /// Standard deviation, same unit; infinite where nothing is known.
    pub sd: f64,
}

impl Estimate {
    /// An estimate from its two parts.
    pub fn new(value: f64, sd: f64) -> Self {
        Self { value, sd }
    }

    /// Lower end of the 95 % interval.
    pub fn low(&self) -> f64 {
        self.value - Z95 * self.sd
    }

    /// Upper end of the 95 % interval.
    pub fn high(&self) -> f64 {
        self.value + Z95 * self.sd
    }

    /// How many standard deviations the value lies from zero.
    pub fn z(&self) -> f64 {
        if self.sd > 0.0 { self.value / self.sd } else { 0.0 }
    }

    /// The reciprocal's estimate and interval `(estimate, low, high)`; an end is
    /// `None` where the interval of the value reaches zero.
    pub fn reciprocal(&self) -> (f64, Option<f64>, Option<f64>) {
        let end = |v: f64| (v > 0.0).then(|| 1.0 / v);
        (1.0 / self.value, end(self.high()), end(self.low()))
    }
}
