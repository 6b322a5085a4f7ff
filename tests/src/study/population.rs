//! The tubes of the studies, made and diagnosed.

use rayon::prelude::*;
use sweepbook_core::lesson::LawChoice;
use sweepbook_core::report::TubeReport;
use sweepbook_core::{intake, triage};

use super::score::{self, Outcome, Told};
use super::separability::{self, Why};
use crate::corpus::{self, Choice, HELD_OUT, Item, Wish};

/// The laws of the cross-check. The law that is fitted holds Koren's and Cohen & Hélie's,
/// which are left out here. It does not hold Rydel's (a bracket of its own in Vg) nor that
/// of the strips; Child & Langmuir's has another tail than the fitted law's, and of Dempwolf
/// & Zölzer's the plate's current is measured, not the cathode's that the law could hold.
pub const LAWS: [LawChoice; 4] = [LawChoice::Dempwolf, LawChoice::Rydel, LawChoice::ChildLangmuir, LawChoice::Strips];
/// Tubes wished for of each law.
const EACH: usize = 400;
/// Share of sound tubes.
const HEALTHY: f64 = 0.5;

/// One tube, diagnosed.
#[derive(Debug, Clone)]
pub struct Case {
    /// The tube and its truth.
    pub item: Item,
    /// The truth as it is scored.
    pub told: Told,
    /// What was said of it.
    pub report: TubeReport,
    /// How that compares.
    pub outcome: Outcome,
    /// Why the fault cannot be told from this sweep, decided before the report was made.
    pub undecidable: Option<Why>,
}

impl Case {
    /// Whether physics lets the fault be told.
    pub fn is_decidable(&self) -> bool {
        self.undecidable.is_none()
    }
}

/// The tubes of one study.
#[derive(Debug, Clone)]
pub struct Population {
    /// The tubes, in the order of the laws and of the corpus.
    pub cases: Vec<Case>,
    /// Wishes that no drawn bench could show.
    pub passed_over: usize,
    /// The seeds, first and last.
    pub seeds: (u64, u64),
}

impl Population {
    /// The tubes with a fault.
    pub fn faulty(&self) -> impl Iterator<Item = &Case> {
        self.cases.iter().filter(|c| !c.told.is_healthy())
    }

    /// The sound ones.
    pub fn healthy(&self) -> impl Iterator<Item = &Case> {
        self.cases.iter().filter(|c| c.told.is_healthy())
    }
}

/// The tubes that are held out: no rule, threshold or confidence was chosen on them.
///
/// # Errors
/// A sweep that intake does not read back, which would be a fault of the generator.
pub fn held_out() -> Result<Population, String> {
    of_seeds(HELD_OUT)
}

/// A population like it on other seeds, to develop on: `seed` and the next three.
///
/// # Errors
/// As for [`held_out`].
pub fn of_seeds(seed: u64) -> Result<Population, String> {
    let mut cases = Vec::new();
    let mut passed_over = 0;
    for (law, seed) in LAWS.into_iter().zip(seed..) {
        let items = corpus::make(&Wish {
            seed,
            tubes: EACH,
            law: Some(law),
            grid_current: Choice::Mix,
            plate_families: Choice::Mix,
            healthy: HEALTHY,
            kinds: Vec::new(),
            types: Vec::new(),
        });
        passed_over += EACH - items.len();
        let diagnosed: Result<Vec<Case>, String> = items.into_par_iter().map(diagnose).collect();
        cases.extend(diagnosed?);
    }
    Ok(Population { cases, passed_over, seeds: (seed, seed + LAWS.len() as u64 - 1) })
}

/// Decides what can be told, then diagnoses from the text, as a user's file would be.
fn diagnose(item: Item) -> Result<Case, String> {
    let undecidable = separability::undecidable(&item);
    let told = Told::from(&item.truth);
    let tubes = intake::read(&told.file, item.text.as_bytes()).map_err(|e| format!("{}: {e}", told.file))?;
    let [tube] = tubes.as_slice() else {
        return Err(format!("{}: read as {} tubes", told.file, tubes.len()));
    };
    let report = triage(tube);
    let outcome = score::outcome(&told, &report);
    Ok(Case { item, told, report, outcome, undecidable })
}
