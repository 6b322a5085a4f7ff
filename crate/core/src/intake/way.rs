//! How open points are settled on the way through a table.

use super::error::{Mistake, Place};
use super::question::Ask;
use super::reading::Reading;
use crate::handbook::{SectionKind, Type};

/// Why a table was not read.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Stop {
    Refused(Place, Mistake),
    Ask(Ask),
}

impl From<(Place, Mistake)> for Stop {
    fn from((place, mistake): (Place, Mistake)) -> Self {
        Self::Refused(place, mistake)
    }
}

/// What decides, and what was decided.
pub(super) struct Way<'a> {
    pub(super) reading: &'a Reading,
    /// The type on the label, where the handbook has it.
    pub(super) kind: Option<&'static Type>,
    /// Whether an open point is settled by its first option, for a preview.
    pub(super) bold: bool,
    /// What was taken for granted, sentences.
    pub(super) assumed: Vec<String>,
}

/// Readings of more than this many times the plate current of typical operation
/// do not come from the type (a sweep at zero bias reaches three to ten times,
/// a short ends at the bench's limit; judgement, no source).
const BEYOND_TYPICAL: f64 = 100.0;

impl Way<'_> {
    /// The option that settles an open point: the reading's, or an answer to ask for.
    pub(super) fn settle(&self, ask: Ask) -> Result<String, Stop> {
        for (option, _) in &ask.options {
            let decided = option.split_once('=').is_some_and(|(key, value)| self.reading.get(key) == Some(value));
            if decided {
                return Ok(option.clone());
            }
        }
        match ask.options.first() {
            Some((option, _)) if self.bold => Ok(option.clone()),
            _ => Err(Stop::Ask(ask)),
        }
    }

    pub(super) fn assume(&mut self, what: String) {
        if !self.assumed.contains(&what) {
            self.assumed.push(what);
        }
    }

    fn section_kind(&self) -> Option<SectionKind> {
        self.kind.and_then(|k| k.section(0)).map(|s| s.kind)
    }

    /// Whether the type is a diode or rectifier: it has no grid.
    pub(super) fn is_diode(&self) -> bool {
        matches!(self.section_kind(), Some(SectionKind::Diode | SectionKind::Rectifier))
    }

    /// Whether the type has a screen; `None` for an unknown type.
    pub(super) fn has_screen(&self) -> Option<bool> {
        self.section_kind().map(|k| matches!(k, SectionKind::Pentode | SectionKind::BeamTetrode))
    }

    /// How many sections the type has; `None` for an unknown type.
    pub(super) fn sections(&self) -> Option<usize> {
        self.kind.map(Type::section_count)
    }

    /// Largest plate current that a sweep of the type can hold, A.
    pub(super) fn most_current(&self) -> Option<f64> {
        Some(BEYOND_TYPICAL * self.typical_current()?)
    }

    /// Plate current of typical operation, A.
    pub(super) fn typical_current(&self) -> Option<f64> {
        self.kind?.typical_current()
    }
}
