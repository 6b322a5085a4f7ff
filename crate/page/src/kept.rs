//! What was found of a tube, kept until its file is opened again.

use serde::{Deserialize, Serialize};
use sweepbook_core::kin::agreement::Agreement;
use sweepbook_core::{Judged, read_json};

use crate::json;

/// A tube that was read before, in another worker.
#[derive(Debug, Clone, Deserialize)]
pub struct Kept {
    /// The number that it gets, one that no other has.
    pub id: usize,
    /// What was found of it, as the program wrote it then.
    pub judged: String,
}

/// What was found, with what the contract leaves out.
#[derive(Serialize, Deserialize)]
struct Whole {
    judged: Judged,
    agreement: Vec<Option<Agreement>>,
}

/// All that was found of a tube, JSON for [`Kept::judged`].
pub fn text(judged: &Judged) -> String {
    let agreement = judged.report.sections.iter().map(|s| s.agreement).collect();
    json(&Whole { judged: judged.clone(), agreement })
}

impl Kept {
    /// What was found; `None` where another version wrote it.
    pub fn judged(&self) -> Option<Judged> {
        let Whole { mut judged, agreement } = read_json(&self.judged).ok()?;
        for (section, agreement) in judged.report.sections.iter_mut().zip(agreement) {
            section.agreement = agreement;
        }
        Some(judged)
    }
}
