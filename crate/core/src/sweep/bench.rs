//! The instrument: what it adds to a curve and what it cannot see.

use serde::{Deserialize, Serialize};

/// Where the plate-current meter sits.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MeterPlace {
    /// In the plate lead: reads everything that enters the plate pin.
    #[default]
    PlateLead,
    /// In the cathode lead: reads plate and grid current together, and misses
    /// what leaves through the grid supply.
    CathodeLead,
}

impl MeterPlace {
    /// The place that a text names; `None` where it names none.
    pub fn of(text: &str) -> Option<Self> {
        let text = text.to_lowercase();
        match () {
            () if text.contains("cathode") => Some(Self::CathodeLead),
            () if text.contains("plate") || text.contains("anode") => Some(Self::PlateLead),
            () => None,
        }
    }

    /// The place in words, as files name it.
    pub fn words(self) -> &'static str {
        match self {
            Self::PlateLead => "plate lead",
            Self::CathodeLead => "cathode lead",
        }
    }
}

/// What is known of the bench. Only facts that the file or the user stated.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Bench {
    /// Resistance between grid supply and grid pin, ohm; `None` if not stated.
    pub grid_source_resistance: Option<f64>,
    /// Place of the current meter; `None` if not stated.
    pub current_meter: Option<MeterPlace>,
    /// Heater voltage, volt; `None` if not stated.
    pub heater_voltage: Option<f64>,
    /// Screen voltage where no column gives it, volt.
    #[serde(default)]
    pub screen_voltage: Option<f64>,
    /// The bench's own current limit, ampere; `None` if not stated.
    pub current_limit: Option<f64>,
    /// Currents measured between heater and cathode.
    #[serde(default)]
    pub heater_cathode: Vec<HeaterCathode>,
    /// One step of the plate-current meter, ampere; `None` if not stated
    /// (it is then read off the data).
    pub current_resolution: Option<f64>,
}

/// A current measured between heater and cathode.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct HeaterCathode {
    /// Voltage of the cathode against the heater, V.
    pub volts: f64,
    /// Current that flowed, A.
    pub amperes: f64,
}

impl Bench {
    /// Grid source resistance to compute with, ohm: 0 where none is stated.
    pub fn rs(&self) -> f64 {
        self.grid_source_resistance.unwrap_or(0.0)
    }

    /// The meter's place to reason with: the plate lead where none is stated.
    pub fn meter(&self) -> MeterPlace {
        self.current_meter.unwrap_or_default()
    }
}
