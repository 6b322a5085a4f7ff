//! A tube at work: a stage that its user describes, with the operating point, gain, output
//! resistance, headroom and distortion that follow from the fitted law of a section.
//!
//! One triode, common cathode. A cathode that is bypassed, or fed by a current source, stands
//! still for the signal. What the coupling capacitors take away at the ends of the band is
//! left out, and so are grid current above zero grid volts and the reactance of a choke.

mod across;
mod asked;
mod entered;
mod point;
mod shift;
mod signal;

#[cfg(test)]
mod tests;

pub use across::{Across, AtWork, Spread, Working, Works, across};
pub use asked::{BadStage, asked};
pub use entered::{Entered, entered};
pub use point::point;
pub use shift::{ALLOWED, Shift, shifts};
pub use signal::{Signal, signal};

use serde::Serialize;

/// Name of the contract that a stage over a lot follows.
pub const STAGE_SCHEMA: &str = "sweepbook/stage/1";

/// What feeds the plate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "is")]
pub enum Load {
    /// A resistor, ohm.
    Resistor {
        /// Its resistance, ohm.
        ohm: f64,
    },
    /// A current source.
    CurrentSource {
        /// Its current, A.
        ampere: f64,
    },
    /// A choke or a transformer, which takes its resistance of direct current only.
    Choke {
        /// The resistance of its winding, ohm.
        ohm: f64,
    },
}

/// What sets the current.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "is")]
pub enum Bias {
    /// A resistor in the cathode lead.
    Cathode {
        /// Its resistance, ohm.
        ohm: f64,
        /// Whether a capacitor across it keeps the cathode still for the signal.
        bypassed: bool,
    },
    /// A voltage at the grid, the cathode on ground, V.
    Fixed {
        /// The voltage, V.
        volt: f64,
    },
    /// A current source in the cathode lead, bypassed.
    Sink {
        /// Its current, A.
        ampere: f64,
    },
}

/// A stage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stage {
    /// Supply voltage, V.
    pub supply: f64,
    /// What feeds the plate.
    pub load: Load,
    /// What sets the current.
    pub bias: Bias,
    /// Resistance that the signal sees behind the coupling capacitor, ohm; `None` for an
    /// open output.
    pub following: Option<f64>,
    /// Resistance from the grid to its return, ohm.
    pub grid_resistor: f64,
}

/// Why a stage cannot work with a section.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, thiserror::Error)]
#[serde(rename_all = "kebab-case")]
pub enum Unworkable {
    /// The section does not draw what a current source wants.
    #[error("the section does not draw that current, not even at the full supply and at zero grid volts")]
    TooLittle,
    /// Two current sources.
    #[error("a current source at the plate and one at the cathode cannot both have their way")]
    TwoSources,
    /// The section is cut off.
    #[error("the section is cut off")]
    CutOff,
    /// A value that no stage has.
    #[error("supply and resistances are positive numbers")]
    NoStage,
}

/// Where a section works.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Point {
    /// Plate current, A.
    pub ia: f64,
    /// Plate to cathode, V.
    pub va: f64,
    /// Grid to cathode, V.
    pub vg: f64,
    /// Cathode to ground, V.
    pub vk: f64,
    /// Power that the plate turns into heat, W.
    pub dissipation: f64,
}

impl Stage {
    /// Resistance in the cathode lead for direct current, ohm.
    fn cathode(&self) -> f64 {
        match self.bias {
            Bias::Cathode { ohm, .. } => ohm,
            Bias::Fixed { .. } | Bias::Sink { .. } => 0.0,
        }
    }

    /// Resistance in the cathode lead for the signal, ohm.
    fn degeneration(&self) -> f64 {
        match self.bias {
            Bias::Cathode { ohm, bypassed: false } => ohm,
            _ => 0.0,
        }
    }

    /// Voltage of the grid's return against ground, V.
    fn grid(&self) -> f64 {
        if let Bias::Fixed { volt } = self.bias { volt } else { 0.0 }
    }

    /// Conductance of what feeds the plate for the signal, S.
    fn feeding(&self) -> f64 {
        if let Load::Resistor { ohm } = self.load { 1.0 / ohm } else { 0.0 }
    }

    /// The same with what follows, S.
    fn conductance(&self) -> f64 {
        self.feeding() + self.following.map_or(0.0, |ohm| 1.0 / ohm)
    }

    fn check(&self) -> Result<(), Unworkable> {
        let positive = |v: f64| v.is_finite() && v > 0.0;
        let load = match self.load {
            Load::Resistor { ohm } => positive(ohm),
            Load::CurrentSource { ampere } => positive(ampere),
            Load::Choke { ohm } => ohm.is_finite() && ohm >= 0.0,
        };
        let bias = match self.bias {
            Bias::Cathode { ohm, .. } => ohm.is_finite() && ohm >= 0.0,
            Bias::Fixed { volt } => volt.is_finite(),
            Bias::Sink { ampere } => positive(ampere),
        };
        let rest = positive(self.supply) && self.following.is_none_or(positive) && self.grid_resistor >= 0.0;
        if load && bias && rest { Ok(()) } else { Err(Unworkable::NoStage) }
    }
}
