//! Questions: two readings fit, and the file does not say which.

use serde::Serialize;

use super::error::{Place, Unread};
use super::limits::PREVIEW_POINTS;
use crate::sweep::{Points, Tube};

/// What a reader has to ask, with the readings that fit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Question {
    /// The file.
    pub source: String,
    /// Line, counted from 1, where one line raises it.
    pub line: Option<usize>,
    /// Cell in its row, counted from 1.
    pub column: Option<usize>,
    /// What is open, a clause.
    pub what: String,
    /// The readings that fit, the likelier first: at least two.
    pub candidates: Vec<Candidate>,
}

/// One answer to a question.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Candidate {
    /// The option that settles it, for [`super::Reading::set`].
    pub option: String,
    /// What it means, a clause.
    pub says: String,
    /// The first tube as it would then be read; `None` where a later question
    /// would be asked first.
    pub preview: Option<Preview>,
}

/// Points of the first section under one reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Preview {
    /// How many points the file has under it.
    pub points: usize,
    /// Plate voltages, V.
    pub va: Vec<f64>,
    /// Grid voltages, V.
    pub vg: Vec<f64>,
    /// Plate currents, A.
    pub ia: Vec<f64>,
}

impl Preview {
    pub(super) fn of(tubes: &[Tube]) -> Option<Self> {
        let points: &Points = &tubes.first()?.sections.first()?.points;
        let step = points.len().div_ceil(PREVIEW_POINTS).max(1);
        let thin = |column: &[f64]| column.iter().copied().step_by(step).collect();
        Some(Self {
            points: tubes.iter().map(Tube::point_count).sum(),
            va: thin(&points.va),
            vg: thin(&points.vg),
            ia: thin(&points.ia),
        })
    }
}

/// A question as it is raised, before its candidates were tried.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ask {
    pub(super) place: Place,
    pub(super) what: String,
    /// Options with what they mean, the likelier first.
    pub(super) options: Vec<(String, String)>,
}

impl Question {
    /// The question as a refusal that names the options.
    pub fn refusal(&self) -> Unread {
        let options: Vec<String> =
            self.candidates.iter().map(|c| format!("--read '{}' ({})", c.option, c.says)).collect();
        Unread {
            source: self.source.clone(),
            line: self.line,
            column: self.column,
            what: self.what.clone(),
            mend: format!("Say which: {}.", options.join(", or ")),
        }
    }
}
