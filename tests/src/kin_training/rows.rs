//! Simulated tubes as rows of features.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use sweepbook_core::kin::features;
use sweepbook_core::kin::mixture::Row;
use sweepbook_core::lesson::LawChoice;
use sweepbook_core::report::{Finding, TubeReport, Verdict};
use sweepbook_core::{evidence, faults, handbook, intake};

use crate::corpus::kinds::KINDS;
use crate::corpus::{self, Choice, Item, Wish};
use crate::study::score::{self, Told};
use crate::study::separability;

/// Share of sound tubes.
const SOUND: f64 = 0.25;

/// A tube to learn from or to be tried on.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Example {
    /// The law that made it.
    pub law: LawChoice,
    /// Its fault, or `healthy`.
    pub kind: String,
    /// Whether the fault is strong or medium.
    pub clear: bool,
    /// Where it is, from 0.
    pub section: Option<usize>,
    /// Whether physics lets the fault be told.
    pub decidable: bool,
    /// Features of each section.
    pub rows: Vec<Row>,
    /// Whether the rules name the fault.
    pub rules_name: bool,
    /// The surest finding of the rules.
    pub rules_most: f64,
}

impl Example {
    /// Whether nothing was built in.
    pub fn is_sound(&self) -> bool {
        self.kind == "healthy"
    }
}

/// Tubes of one law, `per` of each kind of fault and a third as many sound ones as faulty.
/// Sweeps that intake refuses (a short may draw amperes) are left out.
pub fn examples(law: LawChoice, per: usize, seed: u64) -> Vec<Example> {
    let tubes = ((per * KINDS.len()) as f64 / (1.0 - SOUND)).round() as usize;
    let items = corpus::make(&Wish {
        seed,
        tubes,
        law: Some(law),
        grid_current: Choice::Mix,
        plate_families: Choice::Mix,
        healthy: SOUND,
        kinds: Vec::new(),
        types: Vec::new(),
    });
    items.into_par_iter().filter_map(|item| example(law, &item)).collect()
}

fn example(law: LawChoice, item: &Item) -> Option<Example> {
    let told = Told::from(&item.truth);
    let tubes = intake::read(&told.file, item.text.as_bytes()).ok()?;
    let tube = tubes.first()?;
    let evidence = evidence::gather(tube, tube.kind.as_deref().and_then(handbook::find), &[]);
    let findings = faults::look(&evidence);
    let rows = (0..evidence.sections.len()).map(|s| features::of(&evidence, s)).collect();
    let rules_most = findings.iter().map(|f| f.confidence).fold(0.0, f64::max);
    Some(Example {
        law,
        kind: told.kind.clone(),
        clear: told.level.as_deref().is_some_and(|l| l != "weak"),
        section: told.section.map(|s| s - 1),
        decidable: separability::undecidable(item).is_none(),
        rows,
        rules_name: !told.is_healthy() && score::outcome(&told, &bare(findings)).named,
        rules_most,
    })
}

/// A report with nothing but its findings.
fn bare(findings: Vec<Finding>) -> TubeReport {
    TubeReport {
        tube: String::new(),
        source: Vec::new(),
        kind: None,
        verdict: Verdict::Accept,
        reasons: Vec::new(),
        findings,
        sections: Vec::new(),
        blind: Vec::new(),
        limits: Vec::new(),
        notes: Vec::new(),
    }
}
