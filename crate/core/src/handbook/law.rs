//! Published space-charge laws of single types: what a healthy specimen is expected to do.
//!
//! N. Koren, "Improved vacuum-tube models for SPICE simulations", Glass Audio 8/5 (1996)
//! p. 18, with the contact potential added in its later revision. The sets are re-fits to
//! named maker's sheets; the original 12AX7 set is not used, because it gives 0.10 mA at
//! 100 V and -1 V where the sheet says 0.5 mA.
//!
//! A law says nothing near cutoff: published fits of one type disagree 10 to 100 times
//! below about 0.1 mA, so it is never subtracted to find a floor.

use std::sync::Arc;

use serde::Serialize;

use super::value::Source;

/// A published parameter set.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Law {
    /// The set's name in its source.
    pub fit: String,
    /// The sheet, or the measurement, that it was fitted to.
    pub sheet: String,
    /// The formula and its constants.
    pub form: Form,
    /// Where the set was read.
    #[serde(serialize_with = "super::read::only_id")]
    pub source: Arc<Source>,
}

/// The formulas. Voltages in volt against the cathode, currents in ampere.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Form {
    /// `E = (Va/kp)·ln(1 + exp(kp·(1/mu + (Vg+vct)/√(kvb+Va²))))`, `Ia = 2·E^ex/kg1`.
    Triode {
        /// Amplification factor.
        mu: f64,
        /// Exponent.
        ex: f64,
        /// Inverse perveance, V^ex/A.
        kg1: f64,
        /// Sharpness of the knee.
        kp: f64,
        /// Softening of the grid's hold at low plate voltage, V².
        kvb: f64,
        /// Contact potential, V.
        vct: f64,
    },
    /// `E = (Vg2/kp)·ln(1 + exp(kp·(1/mu + Vg/Vg2)))`, `Ia = (2·E^ex/kg1)·atan(Va/kvb)`.
    Pentode {
        /// Amplification factor of the screen grid.
        mu: f64,
        /// Exponent.
        ex: f64,
        /// Inverse perveance, V^ex/A.
        kg1: f64,
        /// Inverse perveance of the screen current, V^ex/A. 4500 stands for "not fitted":
        /// the source left its default there, and the screen current it gives is off 2 to 4 times.
        kg2: f64,
        /// Sharpness of the knee.
        kp: f64,
        /// Plate voltage of the knee, V.
        kvb: f64,
    },
    /// `Ia = g·Va^1.5`, one plate.
    Diode {
        /// Perveance, A/V^1.5.
        g: f64,
    },
}

impl Law {
    /// Plate current in ampere at plate voltage `va`, grid voltage `vg` and, for a pentode,
    /// screen voltage `vg2` (volt, against the cathode). A pentode with no `vg2` is taken as
    /// triode-connected. Zero where no voltage pulls.
    pub fn plate_current(&self, va: f64, vg: f64, vg2: Option<f64>) -> f64 {
        match self.form {
            Form::Triode { mu, ex, kg1, kp, kvb, vct } => {
                let e = va / kp * softplus(kp * (1.0 / mu + (vg + vct) / (kvb + va * va).sqrt()));
                2.0 * libm::pow(e.max(0.0), ex) / kg1
            }
            Form::Pentode { mu, ex, kg1, kp, kvb, .. } => {
                let screen = vg2.unwrap_or(va);
                if screen <= 0.0 || va <= 0.0 {
                    return 0.0;
                }
                let e = screen / kp * softplus(kp * (1.0 / mu + vg / screen));
                2.0 * libm::pow(e.max(0.0), ex) / kg1 * libm::atan(va / kvb)
            }
            Form::Diode { g } => g * libm::pow(va.max(0.0), 1.5),
        }
    }
}

/// ln(1 + e^x), without overflow.
fn softplus(x: f64) -> f64 {
    x.max(0.0) + libm::log1p(libm::exp(-x.abs()))
}
