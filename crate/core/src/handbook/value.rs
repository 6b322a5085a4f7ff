//! A figure with its source, and what the source is worth.

use std::sync::Arc;

use serde::{Serialize, Serializer, ser::SerializeStruct};

pub use super::raw::{Source, SourceKind};

/// How far a figure can be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "how")]
pub enum Strength {
    /// Read in the source.
    Seen,
    /// From memory, and an independent published fit reproduces it.
    Checked {
        /// How far the fit is off, as a fraction of the figure: +0.05 is 5 % above it.
        off: f64,
    },
    /// From memory alone.
    Memory,
    /// The user's own, with no document named.
    Stated,
}

/// One figure. SI base units throughout; the field that holds it names the unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Value {
    /// The figure, SI.
    pub value: f64,
    /// Where it is from.
    pub source: Arc<Source>,
    /// What that is worth.
    pub strength: Strength,
}

impl Value {
    /// Whether a maker's sheet or a specification sheet stands behind the figure.
    /// Limits are shown as unverified until this is so.
    pub fn is_verified(&self) -> bool {
        self.source.kind == SourceKind::Sheet
    }
}

impl Serialize for Value {
    /// `{"value": …, "verified": …, "strength": {…}, "source": "id", "cite": "…"}`.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut s = serializer.serialize_struct("Value", 5)?;
        s.serialize_field("value", &self.value)?;
        s.serialize_field("verified", &self.is_verified())?;
        s.serialize_field("strength", &self.strength)?;
        s.serialize_field("source", &self.source.id)?;
        s.serialize_field("cite", &self.source.citation)?;
        s.end()
    }
}
