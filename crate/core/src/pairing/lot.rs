//! Matching a whole lot, type by type.

use serde::{Deserialize, Serialize};

use super::distance::{Mismatch, Weights};
use super::{Candidate, LeftOut, Of, Place, Region, candidates, group};
use crate::Judged;
use crate::figure::{self, Chosen, Figure, Options, svg};
use crate::sweep::{Section, Tube};

/// Name of the contract that a matching follows.
pub const MATCH_SCHEMA: &str = "sweepbook/match/1";

/// What is wanted of a matching.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Wanted {
    /// Members of a group.
    pub size: usize,
    /// Whole tubes or sections.
    pub of: Of,
    /// How much each quantity counts.
    pub weights: Weights,
    /// Whether tubes of restricted use take part.
    pub restricted: bool,
    /// Operating points: one stands for the region about it, several are the region, none
    /// is the usual one of the type.
    pub at: Vec<Place>,
}

impl Default for Wanted {
    fn default() -> Self {
        Self { size: 2, of: Of::Tubes, weights: Weights::default(), restricted: false, at: Vec::new() }
    }
}

/// The groups among the tubes of one type.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OfType {
    /// The type; `None` for tubes without one on the label.
    #[serde(rename = "type")]
    pub kind: Option<String>,
    /// The points at which they were compared; the first is the operating point.
    pub region: Vec<Place>,
    /// The groups, the best first.
    pub groups: Vec<MatchedGroup>,
    /// Sum of the distances within all groups.
    pub total: f64,
    /// No grouping has a smaller sum than this; for pairs it is the total.
    pub bound: f64,
    /// Candidates in no group.
    pub left: Vec<Member>,
    /// Tubes that were no candidates.
    pub left_out: Vec<LeftOut>,
}

/// One group.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MatchedGroup {
    /// Its members.
    pub members: Vec<Member>,
    /// The largest distance between two of them, a fraction.
    pub distance: f64,
    /// The most that remains between two of them at the operating point.
    pub mismatch: Mismatch,
}

/// A tube or a section in a group.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Member {
    /// Its place in the lot.
    pub tube: usize,
    /// The tube's name.
    pub name: String,
    /// The section's name; `None` for the whole tube.
    pub section: Option<String>,
}

impl From<&Candidate> for Member {
    fn from(c: &Candidate) -> Self {
        Self { tube: c.tube, name: c.name.clone(), section: c.section.clone() }
    }
}

/// Matches the tubes of a lot with others of their type, in the order in which types come.
pub fn match_lot(judged: &[&Judged], wanted: &Wanted) -> Vec<OfType> {
    let mut kinds: Vec<Option<&str>> = Vec::new();
    for one in judged {
        let kind = one.member.kind.as_deref();
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    kinds.into_iter().map(|kind| match_type(judged, kind, wanted)).collect()
}

fn match_type(judged: &[&Judged], kind: Option<&str>, wanted: &Wanted) -> OfType {
    let (all, left_out) = candidates(judged, kind, wanted.of, wanted.restricted);
    let region = match wanted.at.as_slice() {
        [] => kind.and_then(Region::of_type).unwrap_or_else(|| Region::within(&all)),
        [one] => Region::around(*one),
        several => Region(several.to_vec()),
    };
    let matched = group(&all, &region, wanted.weights, wanted.size);
    let named = |i: &usize| Member::from(&all[*i]);
    OfType {
        kind: kind.map(str::to_owned),
        groups: matched
            .groups
            .iter()
            .map(|g| MatchedGroup {
                members: g.members.iter().map(named).collect(),
                distance: g.distance,
                mismatch: g.mismatch,
            })
            .collect(),
        total: matched.total,
        bound: matched.bound,
        left: matched.left.iter().map(named).collect(),
        region: region.0,
        left_out,
    }
}

/// The curves of several tubes or sections laid over each other, as an SVG document;
/// `None` where none of them has curves.
pub fn overlay(members: &[Chosen], width: f64, height: f64) -> Option<String> {
    let named = |of: &Chosen, s: &Section| Section { name: figure::named_of(of, s), points: s.points.clone() };
    let sections: Vec<Section> =
        members.iter().flat_map(|of| figure::sections(of).into_iter().map(|s| named(of, s))).collect();
    let (first, _) = members.first()?;
    let names: Vec<&str> = sections.iter().map(|s| s.name.as_str()).collect();
    let title = format!("The curves of {}, laid over each other", names.join(", "));
    let tube = Tube { sections, notes: Vec::new(), source: Vec::new(), ..(*first).clone() };
    let options = Options { width, height, current: crate::figure::CurrentAxis::Full, grid_current: false };
    svg(&Figure::new(&tube, &options), &title, &[], None).ok()
}
