//! What is seen of a tube beside its sweep, and how much more often it is seen with each
//! fault than without.

mod ratios;
mod settle;
mod weigh;

pub use ratios::*;
pub use settle::{Ask, would_settle};
pub use weigh::{Moved, NOT_FOUND, NOT_SHOWN, Standing, Step, Weighed, standing, weigh};

use serde::{Deserialize, Serialize};

use super::error::Mistake;
use crate::intake::{self, Dimension};

/// An electrode, or the pin of a base where it is not known which electrode that is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs, reason = "the trade's names")]
pub enum Electrode {
    Plate,
    Grid,
    Cathode,
    Heater,
    Screen,
    Suppressor,
    /// A pin by its number; it speaks for no fault.
    Pin(u8),
}

/// A yes/no tester's lamp.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Lamp {
    /// The lamp that shows shorts and leaks between electrodes.
    Shorts,
    /// The lamp that shows grid current.
    Grid,
}

/// What tapping does to the reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tapped {
    /// Nothing.
    Steady,
    /// It rings and comes back: microphonic, which is no fault of the contract.
    Rings,
    /// It jumps and stays.
    Jumps,
}

/// What the eye sees.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sight {
    /// The getter's mirror is there, and nothing is broken.
    Sound,
    /// The getter's mirror has turned white: air came in.
    GetterWhite,
    /// There is no getter's mirror left.
    GetterMissing,
    /// Loose parts.
    LooseParts,
    /// The glass is cracked.
    CrackedGlass,
}

/// One observation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Seen {
    /// A lamp of a yes/no tester.
    Lamp {
        /// Which.
        lamp: Lamp,
        /// Whether it lit.
        lit: bool,
    },
    /// Insulation between two electrodes with the heater cold, tube out of its socket.
    Insulation {
        /// The two.
        between: [Electrode; 2],
        /// Resistance, ohm.
        ohm: f64,
        /// Whether the meter showed more than it can: then `ohm` is its range.
        #[serde(default)]
        more: bool,
    },
    /// Heater current at its rated voltage.
    HeaterCurrent {
        /// Ampere.
        ampere: f64,
    },
    /// Current between heater and cathode, heater hot.
    HeaterCathode {
        /// Ampere, either sign.
        ampere: f64,
        /// Voltage between the two, V, either sign.
        volt: f64,
    },
    /// The tube was tapped while a reading was watched.
    Tap {
        /// What it did.
        reading: Tapped,
    },
    /// Hum in the stage that it came from.
    Hum {
        /// Whether it was heard.
        heard: bool,
    },
    /// What the eye sees.
    Eye {
        /// What.
        sight: Sight,
    },
    /// Of a later version: kept, and counted for nothing.
    #[serde(other)]
    Unknown,
}

/// Largest quantity that may be stated, SI (by construction: beyond any meter).
const MOST: f64 = 1e15;

impl Seen {
    /// Whether it is a lamp, which never decides alone.
    pub fn is_lamp(&self) -> bool {
        matches!(self, Self::Lamp { .. })
    }

    /// Whether two observations are the same measurement made again: the later counts.
    pub fn same_measurement(&self, other: &Self) -> bool {
        let pair = |mut two: [Electrode; 2]| {
            two.sort_unstable();
            two
        };
        match (self, other) {
            (Self::Lamp { lamp: a, .. }, Self::Lamp { lamp: b, .. }) => a == b,
            (Self::Insulation { between: a, .. }, Self::Insulation { between: b, .. }) => pair(*a) == pair(*b),
            // What the eye sees is no measurement: a crack and loose parts are two things.
            (Self::Eye { sight: a }, Self::Eye { sight: b }) => a == b,
            _ => std::mem::discriminant(self) == std::mem::discriminant(other),
        }
    }

    /// What it is, in words.
    pub fn words(&self) -> String {
        use crate::report::engineering;
        match self {
            Self::Lamp { lamp, lit } => {
                let lamp = if *lamp == Lamp::Shorts { "shorts" } else { "grid" };
                format!("the tester's {lamp} lamp {}", if *lit { "lit" } else { "stayed dark" })
            }
            Self::Insulation { between: [a, b], ohm, more } => {
                let than = if *more { "more than " } else { "" };
                format!("cold insulation {}–{} {than}{}", a.word(), b.word(), engineering(*ohm, "ohm"))
            }
            Self::HeaterCurrent { ampere } => format!("heater current {}", engineering(*ampere, "A")),
            Self::HeaterCathode { ampere, volt } => {
                format!("heater–cathode current {} at {}", engineering(*ampere, "A"), engineering(*volt, "V"))
            }
            Self::Tap { reading } => match reading {
                Tapped::Steady => "steady when tapped",
                Tapped::Rings => "rings when tapped",
                Tapped::Jumps => "jumps when tapped",
            }
            .into(),
            Self::Hum { heard } => if *heard { "hum was heard" } else { "no hum" }.into(),
            Self::Eye { sight } => match sight {
                Sight::Sound => "the getter is there and nothing is broken",
                Sight::GetterWhite => "the getter is white",
                Sight::GetterMissing => "there is no getter's mirror",
                Sight::LooseParts => "loose parts",
                Sight::CrackedGlass => "the glass is cracked",
            }
            .into(),
            Self::Unknown => "something that a later version knows".into(),
        }
    }

    pub(super) fn check(&self) -> Result<(), Mistake> {
        let within = |what, value: f64, fits: bool| {
            if fits && value.abs() <= MOST { Ok(()) } else { Err(Mistake::bad(what, &value.to_string())) }
        };
        match *self {
            Self::Insulation { between: [a, b], ohm, .. } => {
                within("a resistance", ohm, ohm >= 0.0)?;
                if a == b { Err(Mistake::bad("two electrodes", &a.word())) } else { Ok(()) }
            }
            Self::HeaterCurrent { ampere } => within("a heater current", ampere, ampere >= 0.0),
            Self::HeaterCathode { ampere, volt } => {
                within("a current", ampere, ampere.is_finite())?;
                within("a voltage between heater and cathode", volt, volt != 0.0)
            }
            _ => Ok(()),
        }
    }
}

/// What a person measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs, reason = "the SI's names")]
pub enum Unit {
    Ohm,
    Ampere,
    Volt,
}

/// A quantity as a person writes it (`1 MΩ`, `10 uA`, `-100`), SI; a decimal comma is
/// understood. `None` for what is none.
pub fn quantity(text: &str, unit: Unit) -> Option<f64> {
    let dimension = match unit {
        Unit::Ohm => Dimension::Resistance,
        Unit::Ampere => Dimension::Current,
        Unit::Volt => Dimension::Voltage,
    };
    intake::quantity(&text.replacen(',', ".", 1), dimension)
}

impl Electrode {
    /// Its name in words.
    pub fn word(&self) -> String {
        match self {
            Self::Plate => "plate".into(),
            Self::Grid => "grid".into(),
            Self::Cathode => "cathode".into(),
            Self::Heater => "heater".into(),
            Self::Screen => "screen".into(),
            Self::Suppressor => "suppressor".into(),
            Self::Pin(number) => format!("pin {number}"),
        }
    }
}
