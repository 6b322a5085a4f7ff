//! Pairs, quads and larger groups of like tubes or sections.
//!
//! How unlike two are is the root mean square of the relative differences of plate current
//! and transconductance over a working region, both taken from the fitted laws (reading
//! noise is smoothed, and what the law is off is off alike in tubes of a type). Pairs have
//! the least total of all ways to pair (minimum-weight perfect matching by Edmonds'
//! algorithm; crate `integer-blossom`, held against networkx and against trying all ways).
//! Larger groups are put together from exact pairs or from neighbours and improved by
//! exchanges until none helps; how far that can be from the least total is bounded.

mod distance;
mod groups;
mod lot;
mod region;

pub use distance::{Mismatch, Weights, distance};
pub use groups::{LARGEST_GROUP, Matched, group};
pub use lot::{MATCH_SCHEMA, MatchedGroup, Member, OfType, Wanted, match_lot, overlay};
pub use region::{Place, Region};

use serde::{Deserialize, Serialize};

use crate::Judged;
use crate::law::SpaceCharge;
use crate::report::Verdict;

/// What can be matched: a whole tube with all its sections, or one section.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Its place in the lot.
    pub tube: usize,
    /// The tube's name.
    pub name: String,
    /// The section's name; `None` for the whole tube.
    pub section: Option<String>,
    /// The fitted laws that are compared, in the order of the sections.
    pub laws: Vec<SpaceCharge>,
    /// Highest plate voltage of its sweep, V.
    pub highest: f64,
}

/// What is matched with what.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Of {
    /// Whole tubes, section by section.
    #[default]
    Tubes,
    /// Sections, also with the other one of the same tube.
    Sections,
}

/// Why a tube is not among the candidates.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// Its place in the lot.
    pub tube: usize,
    /// The tube's name.
    pub name: String,
    /// Why, a clause.
    pub why: String,
}

/// The candidates of a lot: tubes of one type whose verdict allows it (accept, with
/// `restricted` also restrict) and whose sections were all measured; and the others with
/// the reason.
pub fn candidates(judged: &[&Judged], kind: Option<&str>, of: Of, restricted: bool) -> (Vec<Candidate>, Vec<LeftOut>) {
    let (mut fit, mut out) = (Vec::new(), Vec::new());
    for (tube, Judged { report, member }) in judged.iter().enumerate() {
        if member.kind.as_deref() != kind {
            continue;
        }
        let allowed = report.verdict == Verdict::Accept || restricted && report.verdict == Verdict::Restrict;
        let why = if !allowed {
            Some(format!("its verdict is {}", report.verdict.name()))
        } else if member.laws.is_empty() || member.laws.len() != report.sections.len() {
            Some("not all of its sections could be measured".to_owned())
        } else {
            None
        };
        let name = report.tube.clone();
        if let Some(why) = why {
            out.push(LeftOut { tube, name, why });
            continue;
        }
        match of {
            Of::Tubes => {
                fit.push(Candidate { tube, name, section: None, laws: member.laws.clone(), highest: member.highest })
            }
            Of::Sections => fit.extend(member.laws.iter().zip(&report.sections).map(|(law, s)| Candidate {
                tube,
                name: name.clone(),
                section: Some(s.section.clone()),
                laws: vec![*law],
                highest: member.highest,
            })),
        }
    }
    // Whole tubes are alike only if they have as many sections.
    if let Some(sections) = fit.iter().map(|c| c.laws.len()).max() {
        let (alike, others): (Vec<_>, Vec<_>) = fit.into_iter().partition(|c| c.laws.len() == sections);
        let why = format!("it has fewer than {sections} sections");
        out.extend(others.into_iter().map(|c| LeftOut { tube: c.tube, name: c.name, why: why.clone() }));
        return (alike, out);
    }
    (fit, out)
}

#[cfg(test)]
mod tests;
