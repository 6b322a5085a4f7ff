//! A tube type: its names, heater, sections, operating points and ratings.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

pub use super::raw::{RatingSystem, SectionKind};
use super::{
    law::Law,
    limits::Limits,
    value::{Source, Value},
};

/// Where an entry is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Origin {
    /// Came with the program.
    Shipped,
    /// Added by the user.
    User,
}

/// One tube type.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Type {
    /// The name it goes by here.
    pub name: String,
    /// Other names of tubes that are electrically the same, and the ground for saying so.
    pub other_names: Vec<Name>,
    /// Whether the filament itself is the cathode.
    pub directly_heated: bool,
    /// Heater connections: one, or two where the heater is tapped.
    pub heaters: Vec<Heater>,
    /// The kinds of section. A twin tube of equal sections has one entry with `count` 2.
    pub groups: Vec<Section>,
    /// Plate dissipation of all sections together, W, where the sheet limits it.
    pub plate_dissipation_all: Option<Value>,
    /// The type's own limits for verdicts; `Handbook::limits` fills the gaps.
    pub limits: Limits,
    /// A remark.
    pub note: Option<String>,
    /// Shipped or the user's own.
    pub origin: Origin,
}

impl Type {
    /// Number of sections: 2 for a twin triode, also for a triode-pentode.
    pub fn section_count(&self) -> usize {
        self.groups.iter().map(|g| usize::from(g.count)).sum()
    }

    /// Plate current of typical operation of the first section, A: the largest that the
    /// handbook has.
    pub fn typical_current(&self) -> Option<f64> {
        let points = &self.section(0)?.points;
        let typical = points.iter().filter_map(|p| p.ia.as_ref()).map(|ia| ia.value).fold(0.0, f64::max);
        (typical > 0.0).then_some(typical)
    }

    /// The section at `index`, counted from 0 in the order of the handbook. Which pins
    /// that is depends on the base; unequal sections carry a label.
    pub fn section(&self, index: usize) -> Option<&Section> {
        let mut left = index;
        for group in &self.groups {
            let count = usize::from(group.count);
            if left < count {
                return Some(group);
            }
            left -= count;
        }
        None
    }

    /// Whether the sections are alike, so that a balance between them means something.
    pub fn has_equal_sections(&self) -> bool {
        self.groups.len() == 1 && self.section_count() > 1
    }

    /// What the type is used for, to choose default limits.
    pub fn class(&self) -> Class {
        let rectifies = |s: &Section| matches!(s.kind, SectionKind::Rectifier | SectionKind::Diode);
        if self.groups.iter().all(rectifies) {
            return Class::Rectifier;
        }
        let hot = |s: &Section| s.ratings.plate_dissipation.as_ref().is_some_and(|p| p.value > POWER_CLASS_DISSIPATION);
        if self.groups.iter().any(hot) { Class::Power } else { Class::SmallSignal }
    }
}

/// Plate dissipation of one section above which a type counts as a power tube, W.
/// Between the 5 W of the largest small twin triodes and the 7 W of the smallest output
/// pentodes here. Our own choice, no source.
const POWER_CLASS_DISSIPATION: f64 = 6.0;

/// A rough class, which chooses the default limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Class {
    /// Voltage amplifiers and drivers.
    SmallSignal,
    /// Output and regulator tubes.
    Power,
    /// Diodes.
    Rectifier,
}

/// Another name, and who says that it is the same.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Name {
    /// The name as printed on tubes.
    pub label: String,
    /// The ground for the equivalence.
    #[serde(serialize_with = "super::read::only_id")]
    pub source: Arc<Source>,
}

/// One way to connect the heater.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Heater {
    /// Voltage, V.
    pub voltage: Value,
    /// Current, A.
    pub current: Value,
}

/// A plate with its grids and cathode, `count` times over.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Section {
    /// How many equal ones the tube has.
    pub count: u8,
    /// What it is.
    pub kind: SectionKind,
    /// Its name where the tube has unequal sections.
    pub label: Option<String>,
    /// Typical operation, means of new production. The first is the usual test point.
    pub points: Vec<Point>,
    /// What it must not exceed.
    pub ratings: Ratings,
    /// Largest resistance in the grid circuit.
    pub grid_resistor: GridResistor,
    /// A published law of a healthy specimen.
    pub law: Option<Law>,
}

/// Typical operation. Voltages are against the cathode, never a supply voltage. For a
/// directly heated tube: against the middle of the filament, on AC.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Point {
    /// Plate voltage, V. For a diode: the drop.
    pub va: f64,
    /// Grid voltage, V; 0 for a diode.
    pub vg: f64,
    /// Screen voltage, V; `None` for a triode or diode.
    pub vg2: Option<f64>,
    /// Where these voltages are from.
    #[serde(serialize_with = "super::read::only_id")]
    pub source: Arc<Source>,
    /// The circuit the voltages were worked out from, where the sheet gives a supply
    /// voltage and a cathode resistor instead.
    pub circuit: Option<CathodeBias>,
    /// Plate current, A.
    pub ia: Option<Value>,
    /// Screen current, A.
    pub ig2: Option<Value>,
    /// Transconductance, S.
    pub gm: Option<Value>,
    /// Amplification factor.
    pub mu: Option<Value>,
    /// Plate resistance, ohm.
    pub rp: Option<Value>,
    /// A remark.
    pub note: Option<String>,
}

/// A stage with cathode bias, as sheets quote it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CathodeBias {
    /// Plate supply, V.
    pub supply: f64,
    /// Cathode resistor, ohm.
    pub resistor: f64,
    /// Voltage the grid returns to, V.
    pub grid_supply: f64,
    /// Screen supply, V.
    pub screen_supply: Option<f64>,
}

/// What a section must not exceed.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Ratings {
    /// How the maker meant them, and who says so; `None` where it is not known.
    pub system: Option<(RatingSystem, SourceOf)>,
    /// Plate voltage, V.
    pub plate_voltage: Option<Value>,
    /// Screen voltage, V.
    pub screen_voltage: Option<Value>,
    /// Plate dissipation of this section, W.
    pub plate_dissipation: Option<Value>,
    /// Screen dissipation, W.
    pub screen_dissipation: Option<Value>,
    /// Cathode current, A.
    pub cathode_current: Option<Value>,
    /// Voltage between heater and cathode, either sign, V.
    pub heater_cathode: Option<Value>,
    /// Size of the negative grid voltage, V.
    pub grid_negative: Option<Value>,
    /// Peak inverse voltage of a rectifier, V.
    pub peak_inverse: Option<Value>,
    /// Direct output current of a rectifier, A; of both plates, or of one signal diode.
    pub output_current: Option<Value>,
}

/// A source that stands behind something that is not a number.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SourceOf(#[serde(serialize_with = "super::read::only_id")] pub Arc<Source>);

/// Largest resistance in the grid circuit, ohm. It keeps the grid current of a slightly
/// gassy tube from moving the bias; with fixed bias no cathode resistor pulls it back.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct GridResistor {
    /// With a cathode resistor.
    pub cathode_bias: Option<Value>,
    /// With fixed bias.
    pub fixed_bias: Option<Value>,
}
