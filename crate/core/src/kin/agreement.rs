//! Rules and model side by side.

use serde::{Deserialize, Serialize};

use super::model::{Guess, Model, Opinion, SOUND, TWIN, UNKNOWN};
use crate::report::{Finding, Kin};

/// From this probability on a rule's finding is what the rules say.
const SAYS: f64 = 0.5;
/// Below this probability of every finding the rules see nothing at all (own choice: the
/// verdict does not mention less either).
pub const NOTHING: f64 = 0.2;
/// From this probability on the model is sure.
pub const SURE: f64 = 0.95;

/// How the two opinions on a section stand to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Agreement {
    /// Both say the same, or both find nothing.
    Same,
    /// They differ, and neither is sure enough for it to matter.
    Unsure,
    /// The rules find something that the model does not take for the likeliest: the rules
    /// measure it, and count.
    RulesOnly,
    /// The rules find nothing, and the model is sure of a fault of which it may speak.
    ModelOnly,
    /// The readings are far from every class.
    Unknown,
}

/// What the model says of each section, for the report.
pub fn kin(opinion: &Opinion) -> Vec<Kin> {
    opinion
        .strange
        .iter()
        .enumerate()
        .map(|(s, strange)| {
            if *strange {
                return Kin { nearest: UNKNOWN.into(), weight: 1.0 };
            }
            let (class, weight) = nearest(opinion, s);
            Kin { nearest: class, weight: (100.0 * weight).round() / 100.0 }
        })
        .collect()
}

/// The likeliest class of a section, over everything that could be so of the tube.
fn nearest(opinion: &Opinion, section: usize) -> (String, f64) {
    let mut sums: Vec<(&str, f64)> = Vec::new();
    for g in &opinion.guesses {
        let elsewhere = g.section.is_some_and(|s| s != section);
        let class = if elsewhere || g.class == TWIN { SOUND } else { g.class.as_str() };
        match sums.iter_mut().find(|s| s.0 == class) {
            Some(sum) => sum.1 += g.probability,
            None => sums.push((class, g.probability)),
        }
    }
    let best = sums.into_iter().reduce(|a, b| if b.1 > a.1 { b } else { a });
    best.map_or((UNKNOWN.into(), 0.0), |(class, weight)| (class.to_owned(), weight.min(1.0)))
}

/// How rules and model stand to each other, for each section by its name.
pub fn agreements(opinion: &Opinion, found: &[Finding], sections: &[&str]) -> Vec<Agreement> {
    let best = opinion.guesses.first();
    sections
        .iter()
        .enumerate()
        .map(|(s, name)| {
            if opinion.strange.get(s).copied().unwrap_or(false) {
                return Agreement::Unknown;
            }
            let here = |f: &&Finding| f.section.as_deref().is_none_or(|n| n == *name);
            let said: Vec<&Finding> = found.iter().filter(here).filter(|f| f.confidence >= SAYS).collect();
            let (class, _) = nearest(opinion, s);
            match (said.is_empty(), class == SOUND) {
                (true, true) => Agreement::Same,
                (false, _) if said.iter().any(|f| f.fault == class) => Agreement::Same,
                (false, _) => Agreement::RulesOnly,
                (true, false) if best.is_some_and(|g| is_alone(g, found) && g.section.is_none_or(|at| at == s)) => {
                    Agreement::ModelOnly
                }
                (true, false) => Agreement::Unsure,
            }
        })
        .collect()
}

/// Whether the model is sure of a fault of which it may speak, and the rules see nothing.
fn is_alone(guess: &Guess, found: &[Finding]) -> bool {
    guess.probability >= SURE
        && Model::shipped().may_speak(&guess.class)
        && found.iter().all(|f| f.confidence < NOTHING)
}

/// Why a tube is to be measured again on the model's word; `None` where it is not.
pub fn objection(opinion: &Opinion, found: &[Finding], sections: &[&str]) -> Option<(String, Option<String>)> {
    let guess = opinion.guesses.first().filter(|g| g.class != SOUND && is_alone(g, found))?;
    if opinion.strange.iter().any(|s| *s) {
        return None;
    }
    Some((guess.class.clone(), guess.section.and_then(|s| sections.get(s)).map(|s| (*s).to_owned())))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn opinion(class: &str, section: Option<usize>, probability: f64) -> Opinion {
        let guess = |class: &str, section, probability| Guess { class: class.into(), section, probability };
        let mut guesses = vec![guess(class, section, probability), guess(SOUND, None, 1.0 - probability)];
        guesses.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        Opinion { guesses, strange: vec![false, false], distance: vec![1.0, 1.0] }
    }

    fn finding(fault: &str, confidence: f64) -> Finding {
        Finding {
            fault: fault.into(),
            section: Some("1".into()),
            confidence,
            value: None,
            evidence: String::new(),
            confirm: String::new(),
            alternatives: Vec::new(),
            marks: Vec::new(),
        }
    }

    fn speaking() -> String {
        Model::shipped().classes.iter().find(|c| c.speaks).map_or_else(String::new, |c| c.name.clone())
    }

    #[test]
    fn the_other_section_of_a_faulty_tube_is_sound() {
        let kin = kin(&opinion("gas", Some(1), 0.9));
        assert_eq!((kin[0].nearest.as_str(), kin[1].nearest.as_str()), (SOUND, "gas"));
        assert_eq!(kin[1].weight, 0.9);
    }

    #[test]
    fn the_model_objects_only_when_sure_where_the_rules_see_nothing() {
        let class = speaking();
        assert!(!class.is_empty(), "the shipped model speaks of nothing: take its objection out of the verdict");
        let names = ["1", "2"];
        assert!(objection(&opinion(&class, Some(0), 0.97), &[], &names).is_some());
        assert!(objection(&opinion(&class, Some(0), 0.90), &[], &names).is_none());
        assert!(objection(&opinion(&class, Some(0), 0.97), &[finding("gas", 0.3)], &names).is_none());
        let mut strange = opinion(&class, Some(0), 0.97);
        strange.strange[1] = true;
        assert!(objection(&strange, &[], &names).is_none());
        assert_eq!(agreements(&opinion(&class, Some(0), 0.97), &[], &names), [Agreement::ModelOnly, Agreement::Same]);
    }

    #[test]
    fn a_finding_of_the_rules_stands() {
        let names = ["1", "2"];
        let of = |o: &Opinion, f: &[Finding]| agreements(o, f, &names)[0];
        assert_eq!(of(&opinion("gas", Some(0), 0.97), &[finding("gas", 0.9)]), Agreement::Same);
        assert_eq!(of(&opinion("gas", Some(0), 0.97), &[finding("grid-emission", 0.9)]), Agreement::RulesOnly);
        assert_eq!(of(&opinion("gas", Some(0), 0.1), &[finding("gas", 0.9)]), Agreement::RulesOnly);
        assert_eq!(of(&opinion("gas", Some(0), 0.1), &[]), Agreement::Same);
    }
}
