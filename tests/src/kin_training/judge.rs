//! How a model fares on examples.

use std::collections::BTreeMap;

use rayon::prelude::*;
use sweepbook_core::kin::agreement::{NOTHING, SURE};
use sweepbook_core::kin::model::{Guess, Model, Opinion, SOUND};

use super::rows::Example;
use crate::study::interval::Share;

/// Counts over examples.
#[derive(Debug, Clone, Default)]
pub struct Tally {
    /// Strong and medium faults that the model takes for the likeliest thing: all, and the
    /// decidable ones.
    pub model: (Share, Share),
    /// The same of the rules, named as the cross-check counts it.
    pub rules: (Share, Share),
    /// The same where the rules name it, or are silent and the model objects with it.
    pub together: (Share, Share),
    /// Sound tubes in which the model sees a fault.
    pub model_alarms: Share,
    /// Sound tubes of which the rules say something with even odds.
    pub rules_alarms: Share,
    /// Sound tubes of which the rules do, or the model objects to them.
    pub together_alarms: Share,
    /// Tubes with a section far from every class.
    pub strange: Share,
    /// Of each fault: right and all claims of which the model is sure beside silent rules.
    pub claims: BTreeMap<String, (usize, usize)>,
    /// Of each fault: decidable strong and medium ones that the model names.
    pub by_fault: BTreeMap<String, Share>,
    /// What the decidable strong and medium ones that it does not name are taken for.
    pub confused: BTreeMap<(String, String), usize>,
    /// Decidable strong and medium faults by (rules name it, model names it).
    pub both: [[usize; 2]; 2],
}

fn merge(into: &mut Share, from: Share) {
    into.yes += from.yes;
    into.of += from.of;
}

impl Tally {
    /// Adds another.
    pub fn add(&mut self, other: &Self) {
        for (a, b) in
            [(&mut self.model, other.model), (&mut self.rules, other.rules), (&mut self.together, other.together)]
        {
            merge(&mut a.0, b.0);
            merge(&mut a.1, b.1);
        }
        merge(&mut self.model_alarms, other.model_alarms);
        merge(&mut self.rules_alarms, other.rules_alarms);
        merge(&mut self.together_alarms, other.together_alarms);
        merge(&mut self.strange, other.strange);
        for (name, (right, all)) in &other.claims {
            let mine = self.claims.entry(name.clone()).or_default();
            *mine = (mine.0 + right, mine.1 + all);
        }
        for (name, share) in &other.by_fault {
            merge(self.by_fault.entry(name.clone()).or_default(), *share);
        }
        for (pair, n) in &other.confused {
            *self.confused.entry(pair.clone()).or_default() += n;
        }
        for (mine, theirs) in self.both.iter_mut().flatten().zip(other.both.iter().flatten()) {
            *mine += theirs;
        }
    }
}

/// Whether a guess is what was built in.
fn is_right(e: &Example, g: &Guess) -> bool {
    let there = g.section.is_none() || e.section.is_none() || g.section == e.section;
    if e.is_sound() { g.class == SOUND } else { g.class == e.kind && there }
}

/// Sum of the logarithms of the probability given to what was built in.
pub fn log_score(model: &Model, examples: &[&Example]) -> f64 {
    /// What was thought impossible is thought this likely.
    const LEAST: f64 = 1e-6;
    let one = |e: &&&Example| -> f64 {
        let p: f64 = model.look(&e.rows).guesses.iter().filter(|g| is_right(e, g)).map(|g| g.probability).sum();
        p.max(LEAST).ln()
    };
    examples.par_iter().filter(|e| e.decidable).map(|e| one(&e)).sum()
}

/// Counts.
pub fn tally(model: &Model, examples: &[&Example]) -> Tally {
    let seen: Vec<Opinion> = examples.par_iter().map(|e| model.look(&e.rows)).collect();
    let mut t = Tally::default();
    for (e, opinion) in examples.iter().zip(&seen) {
        let Some(best) = opinion.guesses.first() else { continue };
        let strange = opinion.strange.contains(&true);
        t.strange.add(strange);
        let sure = best.class != SOUND && best.probability >= SURE && e.rules_most < NOTHING && !strange;
        if sure {
            let claim = t.claims.entry(best.class.clone()).or_default();
            *claim = (claim.0 + usize::from(is_right(e, best)), claim.1 + 1);
        }
        let objects = sure && model.may_speak(&best.class);
        if e.is_sound() {
            t.model_alarms.add(best.class != SOUND);
            t.rules_alarms.add(e.rules_most >= 0.5);
            t.together_alarms.add(e.rules_most >= 0.5 || objects);
            continue;
        }
        if !e.clear {
            continue;
        }
        let named = is_right(e, best);
        let outcomes = [
            (&mut t.model, named),
            (&mut t.rules, e.rules_name),
            (&mut t.together, e.rules_name || (objects && named)),
        ];
        for (shares, yes) in outcomes {
            shares.0.add(yes);
            if e.decidable {
                shares.1.add(yes);
            }
        }
        if e.decidable {
            t.both[usize::from(e.rules_name)][usize::from(named)] += 1;
            t.by_fault.entry(e.kind.clone()).or_default().add(named);
            if !named {
                let taken = if best.class == e.kind { "another section".into() } else { best.class.clone() };
                *t.confused.entry((e.kind.clone(), taken)).or_default() += 1;
            }
        }
    }
    t
}
