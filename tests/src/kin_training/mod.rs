//! Training of the kin model: simulated tubes in, `crate/core/src/kin/model.json` and
//! `card.md` out.

mod card;
mod judge;
mod learn;
mod linfa_start;
mod rows;

use sweepbook_core::kin::mixture::present;
use sweepbook_core::kin::model::{Model, chi_squared};
use sweepbook_core::lesson::LawChoice;

pub use card::card;
pub use judge::{Tally, tally};
pub use learn::learn;
pub use rows::{Example, examples};

/// Laws that the model is trained on.
pub const TRAINED: [LawChoice; 5] =
    [LawChoice::Rydel, LawChoice::ChildLangmuir, LawChoice::Strips, LawChoice::CohenHelie, LawChoice::Koren];
/// The law that it is tried on and never sees.
pub const TRIED: LawChoice = LawChoice::Dempwolf;
/// Seed of the tubes that it is tried on; nothing is chosen on them.
pub const TRIED_SEED: u64 = 910_000;

/// A trained model with what came of leaving one law out in turn.
pub struct Trained {
    /// The model.
    pub model: Model,
    /// The laws left out in turn, added up.
    pub left_out: Tally,
}

/// Powers that are tried on the probabilities.
const TEMPERS: [f64; 9] = [0.05, 0.07, 0.1, 0.15, 0.2, 0.3, 0.5, 0.7, 1.0];
/// Claims that the model must have made beside silent rules, and the share of them that
/// must be true, before a fault is one of which it may speak (own choice: nine in ten is
/// what a finding of 0.9 promises).
const EARNED: (usize, f64) = (5, 0.9);

/// Learns from all examples, and from all but each law in turn to set what has to be set
/// on tubes that were not learnt from: the temper, the stretch, and who may speak.
pub fn train(examples: &[Example], seed: u64) -> Trained {
    let trials: Vec<(Model, Vec<&Example>)> = TRAINED
        .iter()
        .map(|law| {
            let kept: Vec<&Example> = examples.iter().filter(|e| e.law != *law).collect();
            (learn(&kept, seed), examples.iter().filter(|e| e.law == *law).collect())
        })
        .collect();
    let score = |temper: f64| -> f64 {
        trials.iter().map(|(m, out)| judge::log_score(&Model { temper, ..m.clone() }, out)).sum()
    };
    let temper = TEMPERS.into_iter().map(|t| (score(t), t)).max_by(|a, b| a.0.total_cmp(&b.0)).map_or(1.0, |b| b.1);
    let mut far: Vec<f64> = trials.iter().flat_map(|(m, out)| stretches(m, out)).collect();
    far.sort_by(f64::total_cmp);
    let stretch = far.get(far.len().saturating_sub(1 + far.len() / 1000)).copied().unwrap_or(1.0).max(1.0);
    let mut model = learn(&examples.iter().collect::<Vec<_>>(), seed);
    (model.temper, model.stretch) = (temper, (100.0 * stretch).ceil() / 100.0);
    let mut left_out = Tally::default();
    for (m, out) in &trials {
        left_out.add(&tally(&Model { temper, stretch: model.stretch, ..m.clone() }, out));
    }
    for class in &mut model.classes {
        let (right, claims) = left_out.claims.get(&class.name).copied().unwrap_or_default();
        class.speaks = claims >= EARNED.0 && right as f64 >= EARNED.1 * claims as f64;
    }
    Trained { model, left_out }
}

/// Squared distance of each section over what χ² exceeds once in a thousand times.
fn stretches(model: &Model, examples: &[&Example]) -> Vec<f64> {
    examples
        .iter()
        .flat_map(|e| &e.rows)
        .filter(|r| !present(r).is_empty())
        .map(|r| model.nearest(r) / chi_squared(present(r).len(), 1e-3))
        .collect()
}
