//! What of one tube is compared with its mates: small enough to be kept for thousands.

use serde::{Deserialize, Serialize};

use crate::evidence::{Evidence, Path, SectionEvidence};
use crate::law::SpaceCharge;

/// One tube of a lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Member {
    /// The tube's name.
    pub name: String,
    /// The type on the label, as the handbook writes it where it knows it.
    pub kind: Option<String>,
    /// The fitted law of each section that conducts under its grid's control.
    pub laws: Vec<SpaceCharge>,
    /// Highest voltage that drives the space charge, V.
    pub highest: f64,
    /// Tail index of each of those sections, where one was measured.
    pub tails: Vec<f64>,
    /// Floor at the highest plate voltage over the top current, the most of all sections.
    pub floor: Option<f64>,
    /// Current out of the grid over the top current, the most of all sections.
    pub reverse: Option<f64>,
    /// Relative noise, the most of all sections.
    pub noise: Option<f64>,
}

impl Member {
    /// What of a tube is compared.
    pub fn of(evidence: &Evidence<'_>) -> Self {
        let fitted: Vec<usize> =
            (0..evidence.sections.len()).filter(|&s| evidence.sections[s].law_index.is_some()).collect();
        let sections = || fitted.iter().map(|&s| &evidence.sections[s]);
        let most = |values: &mut dyn Iterator<Item = f64>| values.filter(|v| v.is_finite()).reduce(f64::max);
        Self {
            name: evidence.tube.name.clone(),
            kind: evidence.kind.map(|k| k.name.clone()).or_else(|| evidence.tube.kind.clone()),
            laws: fitted.iter().filter_map(|&s| Some(evidence.params(s)?.law())).collect(),
            highest: most(&mut sections().flat_map(|s| s.drive.volts.iter().copied())).unwrap_or(0.0),
            tails: sections().filter_map(|s| s.tail_index.map(|t| t.value)).collect(),
            floor: most(&mut sections().filter_map(floor)),
            reverse: most(&mut sections().filter_map(reverse)),
            noise: most(&mut sections().map(|s| s.noise.relative)),
        }
    }
}

/// A path's coefficient times its probability.
fn expected(s: &SectionEvidence<'_>, path: Path) -> Option<f64> {
    Some(s.leaks.estimate(path)?.value * s.leaks.probability(path))
}

fn floor(s: &SectionEvidence<'_>) -> Option<f64> {
    let highest = s.points.va.iter().copied().fold(0.0, f64::max);
    let through = expected(s, Path::PlateCathode)? + expected(s, Path::PlateGrid).unwrap_or(0.0);
    Some((through * highest + expected(s, Path::PlateOffset).unwrap_or(0.0)) / s.gross.top.max(f64::MIN_POSITIVE))
}

fn reverse(s: &SectionEvidence<'_>) -> Option<f64> {
    let top = s.gross.top.max(f64::MIN_POSITIVE);
    let deepest = s.points.vg.iter().copied().fold(0.0, f64::min);
    let ions = expected(s, Path::Ions)? * top;
    let leak = -expected(s, Path::GridCathode).unwrap_or(0.0) * deepest;
    let constant = expected(s, Path::Emission).unwrap_or(0.0) - expected(s, Path::GridOffset).unwrap_or(0.0);
    Some((ions + leak + constant) / top)
}
