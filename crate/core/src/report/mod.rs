//! The report: one JSON document for machines, the same content for people.
//!
//! The shapes here are the contract `sweepbook/report/1`; values are in SI base
//! units, leakages are resistances in ohm, confidences are probabilities.

mod likelihood;
pub mod paper;
mod words;

pub use likelihood::{likelihood, percent};
pub use words::{at, engineering, figure_interval, interval, number, place, sentence, tied};

use serde::{Deserialize, Serialize};

use crate::intake::Unread;
use crate::kin::agreement::Agreement;

/// Name of the contract that a report follows.
pub const SCHEMA: &str = "sweepbook/report/1";

/// The whole report of one run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Report {
    /// [`SCHEMA`].
    pub schema: String,
    /// A tube each, in the order read.
    pub tubes: Vec<TubeReport>,
    /// What could not be read.
    pub unread: Vec<Unread>,
}

impl Report {
    /// A report with the contract's name filled in.
    pub fn new(tubes: Vec<TubeReport>, unread: Vec<Unread>) -> Self {
        Self { schema: SCHEMA.into(), tubes, unread }
    }
}

/// What to do with a tube.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Nothing wrong that this sweep can show.
    Accept,
    /// Usable within stated limits.
    Restrict,
    /// The sweep cannot tell: measure again.
    Retest,
    /// Not to be used.
    Reject,
}

impl Verdict {
    /// Its name in the contract.
    pub fn name(self) -> &'static str {
        match self {
            Self::Accept => "accept",
            Self::Restrict => "restrict",
            Self::Retest => "retest",
            Self::Reject => "reject",
        }
    }
}

/// Everything said about one tube.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TubeReport {
    /// The tube's name.
    pub tube: String,
    /// The files it was read from.
    pub source: Vec<String>,
    /// The type on the label.
    #[serde(rename = "type")]
    pub kind: Option<String>,
    /// What to do with it.
    pub verdict: Verdict,
    /// Why, a plain sentence each.
    pub reasons: Vec<String>,
    /// What was found, surest first.
    pub findings: Vec<Finding>,
    /// Figures of each section.
    pub sections: Vec<SectionReport>,
    /// What this sweep cannot show.
    pub blind: Vec<Blind>,
    /// The smallest size of each fault that it would have shown.
    #[serde(default)]
    pub limits: Vec<Limit>,
    /// Remarks of the file and of intake.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

impl TubeReport {
    /// The report as the contract has it: the marks are for figures.
    #[must_use]
    pub fn without_marks(mut self) -> Self {
        self.findings.iter_mut().for_each(|finding| finding.marks.clear());
        self
    }
}

/// One finding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// The fault's name in the contract, such as `gas`.
    pub fault: String,
    /// The section it is in; `None` for the whole tube or the bench.
    pub section: Option<String>,
    /// Probability that this is so, 0 to 1.
    pub confidence: f64,
    /// Its size, where it has one.
    pub value: Option<Value>,
    /// What it rests on, in one or two sentences with numbers.
    pub evidence: String,
    /// What would settle it.
    pub confirm: String,
    /// What else it could be.
    pub alternatives: Vec<Alternative>,
    /// The points it rests on, to be marked in a figure. Not part of the contract.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<Mark>,
}

/// Points of one section.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mark {
    /// Index of the section in its tube.
    pub section: usize,
    /// Indices of the points in the section.
    pub points: Vec<usize>,
}

/// A quantity with its unit and 95 % interval.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Value {
    /// What it is, such as `leakage resistance`.
    pub quantity: String,
    /// SI unit, `1` for a ratio.
    pub unit: String,
    /// Best estimate.
    pub estimate: f64,
    /// Lower end of the interval; `None` where it is open.
    pub low: Option<f64>,
    /// Upper end of the interval; `None` where it is open.
    pub high: Option<f64>,
}

/// Another explanation of the same evidence.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Alternative {
    /// The fault's name in the contract.
    pub fault: String,
    /// Its probability, 0 to 1.
    pub confidence: f64,
}

/// The figures of one section.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SectionReport {
    /// The section's name.
    pub section: String,
    /// Figures at the operating point; absent ones could not be measured.
    pub figures: Figures,
    /// What the clustering model says it is like; `None` until it has been asked.
    pub kin: Option<Kin>,
    /// How that stands to what the rules found; not in the contract, only shown.
    #[serde(skip)]
    pub agreement: Option<Agreement>,
}

/// Figures at one operating point.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Figures {
    /// Transconductance, S.
    pub gm: Option<Figure>,
    /// Amplification factor.
    pub mu: Option<Figure>,
    /// Plate resistance, ohm.
    pub rp: Option<Figure>,
    /// Plate current, A.
    pub ia: Option<Figure>,
}

/// One figure with its interval and where it holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// Best estimate.
    pub estimate: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
    /// SI unit, `1` for a ratio.
    pub unit: String,
    /// The operating point.
    pub at: At,
}

/// An operating point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct At {
    /// Plate voltage, V.
    pub va: f64,
    /// Grid voltage, V.
    pub vg: f64,
}

/// What the clustering model says a section is like.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Kin {
    /// Name of the nearest cluster.
    pub nearest: String,
    /// Its share of the responsibility, 0 to 1.
    pub weight: f64,
}

/// How small a fault this sweep would have shown.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Limit {
    /// The fault's name in the contract.
    pub fault: String,
    /// The smallest size that it would have shown in every section. For a
    /// resistance or a ceiling, which do less harm the larger they are, the
    /// largest one.
    pub smallest: Value,
}

/// A fault that this sweep cannot show, or not below some size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Blind {
    /// The fault's name in the contract.
    pub fault: String,
    /// Why the sweep cannot show it, or what bounds its size.
    pub why: String,
    /// The smallest size it would have shown; `None` for not at any size.
    pub smallest: Option<Value>,
    /// What to measure to see it.
    pub measure: String,
}
