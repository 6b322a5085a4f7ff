//! Limits that a verdict can judge by.
//!
//! The limit tables of military and maker's specification sheets could not be read when
//! this handbook was made. What stands here is from memory or trade practice, is the user's
//! to edit, and counts as unverified until a sheet is named ([`Value::is_verified`]).

use serde::Serialize;

use super::value::Value;

/// Limits. `None`: no figure is known.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Limits {
    /// Largest reverse grid current at the typical point, A (a size, without sign).
    pub grid_current: Option<Value>,
    /// The same at the end of life, A.
    pub grid_current_end: Option<Value>,
    /// Least insulation between electrodes, cold or at cutoff, ohm.
    pub insulation: Option<Value>,
    /// The same at the end of life, ohm.
    pub insulation_end: Option<Value>,
    /// Largest heater–cathode leakage at 100 V of either sign, A.
    pub heater_cathode: Option<Value>,
    /// Largest difference of plate current between equal sections, as a fraction.
    pub balance: Option<Value>,
    /// End of life: transconductance as a fraction of the typical figure; of a rectifier,
    /// the current at the typical drop.
    pub end_of_life: Option<Value>,
}

impl Limits {
    /// These limits, with the gaps filled from `other`.
    #[must_use]
    pub fn or(self, other: &Limits) -> Limits {
        Limits {
            grid_current: self.grid_current.or_else(|| other.grid_current.clone()),
            grid_current_end: self.grid_current_end.or_else(|| other.grid_current_end.clone()),
            insulation: self.insulation.or_else(|| other.insulation.clone()),
            insulation_end: self.insulation_end.or_else(|| other.insulation_end.clone()),
            heater_cathode: self.heater_cathode.or_else(|| other.heater_cathode.clone()),
            balance: self.balance.or_else(|| other.balance.clone()),
            end_of_life: self.end_of_life.or_else(|| other.end_of_life.clone()),
        }
    }
}
