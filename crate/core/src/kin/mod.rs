//! Kin: what a tube is like, as a second opinion beside the rules.
//!
//! [`features`] turn the evidence of a section into pure numbers; [`model`] compares them
//! with a mixture of normal distributions trained on simulated tubes; [`agreement`] holds
//! the two opinions side by side; [`lot`] finds groups and odd tubes in the user's own lot.
//! What the model was trained on and what it must not be used for is in `card.md` beside
//! it.

pub mod agreement;
pub mod features;
pub mod k_means;
pub mod lot;
pub mod mixture;
pub mod model;
mod model_file;

use crate::evidence::{Connection, Evidence};
use crate::report::Finding;

/// The second opinion on a tube.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SecondOpinion {
    /// What each section is like.
    pub kin: Vec<crate::report::Kin>,
    /// How that stands to what the rules found, for each section.
    pub agreement: Vec<agreement::Agreement>,
    /// Fault and section of which the model is sure while the rules see nothing.
    pub objection: Option<(String, Option<String>)>,
}

/// Asks the model about a tube. It knows nothing but triodes: of others it says nothing.
pub fn second_opinion(evidence: &Evidence<'_>, found: &[Finding]) -> SecondOpinion {
    if evidence.sections.iter().any(|s| s.drive.connection != Connection::Triode) {
        return SecondOpinion::default();
    }
    let rows: Vec<mixture::Row> = (0..evidence.sections.len()).map(|s| features::of(evidence, s)).collect();
    let opinion = model::Model::shipped().look(&rows);
    let names: Vec<&str> = evidence.sections.iter().map(|s| s.name).collect();
    SecondOpinion {
        kin: agreement::kin(&opinion),
        agreement: agreement::agreements(&opinion, found, &names),
        objection: agreement::objection(&opinion, found, &names),
    }
}
