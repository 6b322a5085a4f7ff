//! What may be measured next, and what the lesson bench then does.

use serde::{Deserialize, Serialize};

use super::setting::Setting;

/// A measurement that comes after the first sweep.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Next {
    /// Nothing: the sweep says enough.
    Nothing,
    /// The same with a meter in the grid lead.
    GridMeter,
    /// The same with another resistor in the grid lead.
    GridResistor,
    /// Further past cutoff.
    Deeper,
    /// More plate voltages.
    MorePlates,
    /// The heater a tenth lower.
    CoolerHeater,
    /// The current between heater and cathode.
    HeaterCathode,
    /// The same once more, there and back.
    Repeat,
    /// A meter that shows more digits.
    FinerMeter,
}

/// How much deeper, V over V; the resistor that is put in or taken out, ohm; what is left of
/// the heater voltage; how much finer the meter (all by construction, from what the
/// explanations of the faults ask for).
const DEEPER: f64 = 1.5;
const RESISTOR: f64 = 10e3;
const COOLER: f64 = 0.9;
const FINER: f64 = 0.1;

impl Next {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::Nothing,
        Self::GridMeter,
        Self::GridResistor,
        Self::Deeper,
        Self::MorePlates,
        Self::CoolerHeater,
        Self::HeaterCathode,
        Self::Repeat,
        Self::FinerMeter,
    ];

    /// In words.
    pub fn says(self) -> &'static str {
        match self {
            Self::Nothing => "Nothing: this sweep says enough",
            Self::GridMeter => "The grid current as well",
            Self::GridResistor => "The same with another resistor in the grid lead",
            Self::Deeper => "Further past cutoff",
            Self::MorePlates => "At more plate voltages",
            Self::CoolerHeater => "The same with the heater 10 % lower",
            Self::HeaterCathode => "The current between heater and cathode",
            Self::Repeat => "The same once more, there and back",
            Self::FinerMeter => "With a meter that shows more digits",
        }
    }

    /// Changes the bench accordingly.
    pub fn does(self, setting: &mut Setting) {
        match self {
            Self::Nothing => {}
            Self::GridMeter => setting.grid_meter = true,
            Self::GridResistor => setting.rs = if setting.rs > 0.0 { 0.0 } else { RESISTOR },
            Self::Deeper => setting.depth *= DEEPER,
            Self::MorePlates => setting.plates += 2,
            Self::CoolerHeater => setting.heater *= COOLER,
            Self::HeaterCathode => setting.heater_test = true,
            Self::Repeat => setting.twice = true,
            Self::FinerMeter => {
                setting.step *= FINER;
                setting.noise *= FINER;
            }
        }
    }

    /// What would settle a fault, as its own explanation says; `None` stands for a sound
    /// tube.
    pub fn settles(fault: Option<&str>) -> &'static [Self] {
        match fault {
            None => &[Self::Nothing, Self::Repeat],
            Some("plate-cathode-leakage" | "zero-offset" | "uneven-grid") => &[Self::Deeper, Self::MorePlates],
            Some("plate-grid-leakage") => &[Self::GridMeter, Self::Deeper, Self::GridResistor],
            Some("grid-cathode-leakage") => &[Self::GridMeter, Self::GridResistor],
            Some("gas") => &[Self::GridMeter, Self::GridResistor, Self::MorePlates],
            Some("grid-emission") => &[Self::GridMeter, Self::CoolerHeater, Self::GridResistor],
            Some("low-emission") => &[Self::CoolerHeater],
            Some("cathode-interface") => &[Self::Repeat, Self::CoolerHeater],
            Some("heater-cathode-leakage") => &[Self::HeaterCathode],
            Some("no-grid-control") => &[Self::GridMeter, Self::Repeat],
            Some("type-mismatch" | "electrode-short" | "supply-sag") => &[Self::MorePlates, Self::Repeat],
            Some("coarse-resolution") => &[Self::FinerMeter],
            Some("oscillation") => &[Self::GridResistor, Self::Repeat],
            Some("short-range") => &[Self::Deeper],
            Some(_) => &[Self::Repeat],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults;

    #[test]
    fn something_settles_every_fault_and_what_is_measured_next_changes_the_bench() {
        for fault in faults::ALL {
            assert!(!Next::settles(Some(fault.name())).is_empty(), "{}", fault.name());
        }
        for next in Next::ALL.into_iter().skip(1) {
            let mut setting = Setting::default();
            next.does(&mut setting);
            assert_ne!(setting, Setting::default(), "{next:?}");
            assert!(Setting::read(setting.pairs().iter().map(|(n, v)| (*n, v.as_str()))).is_ok(), "{next:?}");
        }
    }
}
