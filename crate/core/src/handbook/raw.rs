//! The handbook's JSON as it stands in the file; `read.rs` says what the keys mean.
//!
//! The build script has this module too: it reads the shipped files and packs them.

use std::{collections::BTreeMap, fmt};

use serde::{
    Deserialize, Deserializer, Serialize, Serializer,
    de::{Error, SeqAccess, Visitor},
    ser::SerializeSeq,
};

/// What a section is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SectionKind {
    /// Indirectly heated triode.
    Triode,
    /// Triode whose filament is the cathode.
    DirectlyHeatedTriode,
    /// Pentode.
    Pentode,
    /// Beam tetrode.
    BeamTetrode,
    /// Signal diode.
    Diode,
    /// Power rectifier.
    Rectifier,
}

/// How a maker meant the ratings. The three differ by about 10 % a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RatingSystem {
    /// For an average tube at nominal supply voltage.
    DesignCentre,
    /// For the worst combination of tube and circuit.
    DesignMaximum,
    /// Never to be exceeded, not for a moment.
    Absolute,
}

/// What kind of thing a source is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SourceKind {
    /// A maker's data sheet or specification sheet whose text was read.
    Sheet,
    /// Another text that was read: an encyclopaedia, an article, a table.
    Text,
    /// A published fit by somebody else. A law of the handbook is taken from it as it
    /// stands; a figure that cites it is from memory, and the fit lands close to it.
    Fit,
    /// From memory of published sheets; nothing was read for it.
    Memory,
    /// The user's own figure, with no document named.
    User,
}

/// One source: what it is and where it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Short name, used by the figures.
    pub id: String,
    /// Its kind.
    pub kind: SourceKind,
    /// What was read, and where.
    #[serde(rename = "cite")]
    pub citation: String,
}

#[derive(Serialize, Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
pub(super) struct File {
    pub sources: Vec<Source>,
    pub types: Vec<Type>,
    pub limits: BTreeMap<String, Limits>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Type {
    pub name: String,
    #[serde(default)]
    pub aka: BTreeMap<String, Vec<String>>,
    #[serde(default)]
    pub direct: bool,
    #[serde(default)]
    pub heater: Vec<Heater>,
    pub pa_all: Option<Value>,
    pub note: Option<String>,
    #[serde(default)]
    pub limits: Limits,
    pub sections: Vec<Section>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Heater {
    pub v: Value,
    pub i: Value,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Section {
    pub n: u8,
    pub kind: SectionKind,
    pub label: Option<String>,
    #[serde(default)]
    pub points: Vec<Point>,
    #[serde(default)]
    pub max: Ratings,
    #[serde(default)]
    pub rg: GridResistor,
    pub law: Option<Law>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Point {
    pub at: Bias,
    pub from: Option<Circuit>,
    pub ia: Option<Value>,
    pub ig2: Option<Value>,
    pub gm: Option<Value>,
    pub mu: Option<Value>,
    pub rp: Option<Value>,
    pub note: Option<String>,
}

#[derive(Serialize, Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
pub(super) struct Ratings {
    pub sys: Option<(RatingSystem, String)>,
    pub va: Option<Value>,
    pub vg2: Option<Value>,
    pub pa: Option<Value>,
    pub pg2: Option<Value>,
    pub ik: Option<Value>,
    pub hk: Option<Value>,
    pub vg: Option<Value>,
    pub piv: Option<Value>,
    pub io: Option<Value>,
}

#[derive(Serialize, Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
pub(super) struct GridResistor {
    #[serde(rename = "self")]
    pub cathode: Option<Value>,
    pub fixed: Option<Value>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Law {
    pub fit: String,
    pub sheet: String,
    pub by: String,
    pub mu: Option<f64>,
    pub ex: Option<f64>,
    pub kg1: Option<f64>,
    pub kg2: Option<f64>,
    pub kp: Option<f64>,
    pub kvb: Option<f64>,
    pub vct: Option<f64>,
    pub g: Option<f64>,
}

#[derive(Serialize, Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
pub(super) struct Limits {
    pub ig: Option<Value>,
    pub ig_end: Option<Value>,
    pub insulation: Option<Value>,
    pub insulation_end: Option<Value>,
    pub ihk: Option<Value>,
    pub balance: Option<Value>,
    pub end: Option<Value>,
}

/// `[number, "source"]` or `[number, "source", percent]`.
pub(super) struct Value {
    pub number: f64,
    pub source: String,
    pub off: Option<f64>,
}

/// `["source", plate, grid]` or `["source", plate, grid, screen]`.
pub(super) struct Bias {
    pub source: String,
    pub va: f64,
    pub vg: f64,
    pub vg2: Option<f64>,
}

/// `[supply, cathode resistor]`, then grid supply (0 unless given) and screen supply.
pub(super) struct Circuit {
    pub supply: f64,
    pub resistor: f64,
    pub grid_supply: f64,
    pub screen_supply: Option<f64>,
}

/// Reads a JSON array whose items differ in type.
macro_rules! from_array {
    ($type:ident, $wants:literal, $seq:ident => $read:expr) => {
        impl<'de> Deserialize<'de> for $type {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                struct Items;
                impl<'de> Visitor<'de> for Items {
                    type Value = $type;
                    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                        f.write_str($wants)
                    }
                    fn visit_seq<A: SeqAccess<'de>>(self, mut $seq: A) -> Result<$type, A::Error> {
                        let read = $read;
                        match $seq.next_element::<serde::de::IgnoredAny>()? {
                            None => Ok(read),
                            Some(_) => Err(A::Error::custom(concat!("too many items: expected ", $wants))),
                        }
                    }
                }
                deserializer.deserialize_seq(Items)
            }
        }
    };
}

/// The next item, which must be there.
fn need<'de, T: Deserialize<'de>, A: SeqAccess<'de>>(seq: &mut A, wants: &str) -> Result<T, A::Error> {
    seq.next_element()?.ok_or_else(|| A::Error::custom(format_args!("too few items: expected {wants}")))
}

from_array!(Value, "[number, \"source\"] or [number, \"source\", percent]", seq => Value {
    number: need(&mut seq, "[number, \"source\"]")?,
    source: need(&mut seq, "[number, \"source\"]")?,
    off: seq.next_element()?,
});
from_array!(Bias, "[\"source\", plate, grid] or [\"source\", plate, grid, screen]", seq => Bias {
    source: need(&mut seq, "[\"source\", plate, grid]")?,
    va: need(&mut seq, "[\"source\", plate, grid]")?,
    vg: need(&mut seq, "[\"source\", plate, grid]")?,
    vg2: seq.next_element()?,
});
from_array!(Circuit, "[supply, cathode resistor], then grid supply and screen supply", seq => Circuit {
    supply: need(&mut seq, "[supply, cathode resistor]")?,
    resistor: need(&mut seq, "[supply, cathode resistor]")?,
    grid_supply: seq.next_element()?.unwrap_or(0.0),
    screen_supply: seq.next_element()?,
});

/// Writes such an array: so many items that are always there, and one that may be.
macro_rules! to_array {
    ($type:ident, $of:ident => $count:literal: $($item:expr),*; $last:expr) => {
        impl Serialize for $type {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                let $of = self;
                let mut seq = serializer.serialize_seq(Some($count + usize::from($last.is_some())))?;
                $(seq.serialize_element(&$item)?;)*
                if let Some(last) = $last {
                    seq.serialize_element(&last)?;
                }
                seq.end()
            }
        }
    };
}

to_array!(Value, v => 2: v.number, v.source; v.off);
to_array!(Bias, b => 3: b.source, b.va, b.vg; b.vg2);
to_array!(Circuit, c => 3: c.supply, c.resistor, c.grid_supply; c.screen_supply);
