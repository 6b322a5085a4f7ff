//! The report contract as an outside reader knows it: the shapes are written
//! here anew from the contract, and anything that is not in it is refused.

#![allow(dead_code, reason = "most fields are there to be checked by their types")]

use serde::Deserialize;

const VERDICTS: [&str; 4] = ["accept", "restrict", "retest", "reject"];

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Report {
    pub schema: String,
    pub tubes: Vec<Tube>,
    pub unread: Vec<Unread>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tube {
    pub tube: String,
    pub source: Vec<String>,
    #[serde(rename = "type")]
    pub kind: Option<String>,
    pub verdict: String,
    pub reasons: Vec<String>,
    pub findings: Vec<Finding>,
    pub sections: Vec<Section>,
    pub blind: Vec<Blind>,
    pub limits: Vec<Limit>,
    #[serde(default)]
    pub notes: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    pub fault: String,
    pub section: Option<String>,
    pub confidence: f64,
    pub value: Option<Value>,
    pub evidence: String,
    pub confirm: String,
    pub alternatives: Vec<Alternative>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Value {
    pub quantity: String,
    pub unit: String,
    pub estimate: f64,
    pub low: Option<f64>,
    pub high: Option<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Alternative {
    pub fault: String,
    pub confidence: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Section {
    pub section: String,
    pub figures: Figures,
    pub kin: Option<Kin>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figures {
    pub gm: Option<Figure>,
    pub mu: Option<Figure>,
    pub rp: Option<Figure>,
    pub ia: Option<Figure>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure {
    pub estimate: f64,
    pub low: f64,
    pub high: f64,
    pub unit: String,
    pub at: At,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct At {
    pub va: f64,
    pub vg: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kin {
    pub nearest: String,
    pub weight: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Blind {
    pub fault: String,
    pub why: String,
    pub smallest: Option<Value>,
    pub measure: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    pub fault: String,
    pub smallest: Value,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unread {
    pub source: String,
    pub line: Option<usize>,
    pub column: Option<usize>,
    pub what: String,
    pub mend: String,
}

/// Reads a report, and fails where it is not as the contract has it.
pub fn read(json: &str) -> Report {
    let report: Report = serde_json::from_str(json).unwrap_or_else(|e| panic!("{e} in {json}"));
    assert_eq!(report.schema, "sweepbook/report/1");
    for tube in &report.tubes {
        assert!(VERDICTS.contains(&tube.verdict.as_str()), "{}", tube.verdict);
        assert!(!tube.source.is_empty());
        let sure = tube.findings.iter().flat_map(|f| f.alternatives.iter().map(|a| a.confidence).chain([f.confidence]));
        for confidence in sure {
            assert!((0.0..=1.0).contains(&confidence), "{confidence}");
        }
        for finding in &tube.findings {
            let known =
                |name: &Option<String>| name.as_ref().is_none_or(|n| tube.sections.iter().any(|s| s.section == *n));
            assert!(known(&finding.section), "{:?}", finding.section);
        }
    }
    for unread in &report.unread {
        assert!(!unread.what.is_empty() && !unread.mend.is_empty());
        assert!(unread.column.is_none() || unread.line.is_some());
        assert!(unread.line != Some(0) && unread.column != Some(0));
    }
    report
}
