//! Exercises: a tube by seed, of which the learner says what is wrong, where, and what to
//! measure next; the answer is marked with its reasons.

use serde::{Deserialize, Serialize};

use super::dice::Dice;
use super::next::Next;
use super::setting::{Ill, Setting};
use crate::faults;

/// Levels of difficulty, 0 the easiest.
pub const LEVELS: usize = 5;
/// Most that an exercise is worth.
pub const MOST_SCORE: u32 = 5;
/// What naming the fault is worth, and naming what looks like it.
const FAULT: u32 = 3;
const NEAR: u32 = 1;
/// What the section and the next measurement are worth.
const SECTION: u32 = 1;
const NEXT: u32 = 1;
/// Share of exercises whose tube is sound: to see nothing is to be learnt too.
const SOUND: f64 = 0.2;
/// Types that take turns.
const TYPES: [&str; 5] = ["12AU7", "12AX7", "6SN7GTB", "6DJ8", "12AT7"];
/// What may be wrong from each level on.
const FROM_LEVEL: [&[&str]; LEVELS] = [
    &["plate-cathode-leakage", "low-emission", "gas", "no-conduction"],
    &["plate-grid-leakage", "section-mismatch", "no-grid-control", "current-limit"],
    &["grid-emission", "grid-cathode-leakage", "uneven-grid", "zero-offset"],
    &["cathode-interface", "intermittent", "type-mismatch", "coarse-resolution"],
    &["warm-up-drift", "heater-cathode-leakage", "oscillation"],
];
/// Severity at each level: below severe and above mild, the harder the milder.
const SEVERITY: [(f64, f64); LEVELS] = [(0.8, 1.1), (0.6, 1.0), (0.4, 0.8), (0.2, 0.6), (0.0, 0.4)];

/// An exercise.
#[derive(Debug, Clone, PartialEq)]
pub struct Exercise {
    /// What lies on the bench.
    pub setting: Setting,
    /// The level it was made for.
    pub level: usize,
}

/// What the learner says.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Answer {
    /// The fault's name; `None` for a sound tube.
    pub fault: Option<String>,
    /// The section, from 1; `None` for the tube as a whole, or none.
    pub section: Option<usize>,
    /// What to measure next.
    pub next: Next,
}

/// An answer marked.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Marked {
    /// Points, of [`MOST_SCORE`].
    pub score: u32,
    /// The fault's name; `None` for a sound tube.
    pub fault: Option<String>,
    /// The fault in words.
    pub title: String,
    /// Whether each of fault, section and next measurement was right.
    pub right: [bool; 3],
    /// The section, from 1; `None` where it is of the whole tube or the bench, or sound.
    pub section: Option<usize>,
    /// What of the measurements would have settled it, in words.
    pub settles: Vec<&'static str>,
    /// Why, in paragraphs.
    pub because: Vec<String>,
    /// The level to go on with.
    pub level: usize,
}

impl Exercise {
    /// The exercise of a seed and a level.
    pub fn new(seed: u64, level: usize) -> Self {
        let level = level.min(LEVELS - 1);
        let mut dice = Dice::new(seed, &format!("exercise of level {level}"));
        let mut setting =
            Setting { kind: TYPES[dice.below(TYPES.len())].into(), seed: dice.seed(), ..Setting::default() };
        // A number that an address carries exactly.
        setting.seed %= 1_000_000;
        setting.rs = [0.0, 1e3, 10e3][dice.below(3)];
        setting.grid_meter = dice.chance(0.6);
        let (sound, pick) = (dice.chance(SOUND), dice.unit());
        let section = dice.below(2);
        let severity = dice.between(SEVERITY[level].0, SEVERITY[level].1);
        if !sound {
            let may: Vec<&str> = FROM_LEVEL[..=level].iter().flat_map(|f| f.iter().copied()).collect();
            let fault = may[((pick * may.len() as f64) as usize).min(may.len() - 1)];
            // What the bench cannot show nobody can name.
            setting.grid_meter |=
                matches!(fault, "gas" | "grid-emission" | "grid-cathode-leakage" | "plate-grid-leakage");
            setting.heater_test = fault == "heater-cathode-leakage";
            setting.ills.push(Ill { fault: fault.into(), section, severity });
        }
        Self { setting, level }
    }

    /// What is wrong; `None` for a sound tube.
    pub fn fault(&self) -> Option<&str> {
        self.setting.ills.first().map(|ill| ill.fault.as_str())
    }

    /// The section that it is in, from 1; `None` where it is of the whole tube or the bench.
    pub fn section(&self) -> Option<usize> {
        let ill = self.setting.ills.first()?;
        let bench = faults::named(&ill.fault).is_some_and(|f| f.is_bench());
        (!bench && !faults::OF_THE_TUBE.contains(&ill.fault.as_str())).then_some(ill.section + 1)
    }

    /// Marks an answer.
    pub fn mark(&self, answer: &Answer) -> Marked {
        let fault = self.fault();
        let named = answer.fault.as_deref() == fault;
        let here = self.section().is_none_or(|section| answer.section == Some(section));
        let settled = Next::settles(fault).contains(&answer.next);
        let near = !named && answer.fault.as_deref().is_some_and(|said| self.looks_like(said));
        let mut score = if named {
            FAULT
        } else if near {
            NEAR
        } else {
            0
        };
        // A section of another fault is none.
        score += if named && here { SECTION } else { 0 };
        score += if settled { NEXT } else { 0 };
        let title = fault.and_then(faults::named).map_or("A sound tube", |f| f.title());
        let level = match score {
            MOST_SCORE => (self.level + 1).min(LEVELS - 1),
            0..=2 => self.level.saturating_sub(1),
            _ => self.level,
        };
        Marked {
            score,
            fault: fault.map(str::to_owned),
            title: title.to_owned(),
            right: [named, named && here, settled],
            section: self.section(),
            settles: Next::settles(fault).iter().map(|n| n.says()).collect(),
            because: because(fault, named),
            level,
        }
    }

    /// Whether the engine too weighs this fault on the tube's sweep.
    fn looks_like(&self, said: &str) -> bool {
        let Some(tube) = self.setting.sweep(true) else { return false };
        let report = crate::triage(&tube);
        report.findings.iter().any(|f| f.fault == said || f.alternatives.iter().any(|a| a.fault == said))
    }
}

/// What the fault does to the curves and, to who took it for something else, what looks
/// like it.
fn because(fault: Option<&str>, named: bool) -> Vec<String> {
    let Some(explanation) = fault.and_then(faults::explain) else {
        return vec![
            "Nothing was built in. The curves keep falling past cutoff, no current flows out of the grid, the top follows the law, and the two sections agree.".into(),
        ];
    };
    let wanted: &[&str] = if named { &["On the curves"] } else { &["On the curves", "What looks like it"] };
    let parts = explanation.parts.into_iter().filter(|p| wanted.contains(&p.heading.as_str()));
    parts.flat_map(|p| p.paragraphs).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn right(e: &Exercise) -> Answer {
        Answer { fault: e.fault().map(str::to_owned), section: e.section(), next: Next::settles(e.fault())[0] }
    }

    #[test]
    fn a_seed_is_one_exercise_and_the_right_answer_has_all_points() {
        for level in 0..LEVELS {
            for seed in 0..20 {
                let e = Exercise::new(seed, level);
                assert_eq!(e, Exercise::new(seed, level));
                assert!(e.setting.scene(true).is_some(), "{:?}", e.setting);
                let marked = e.mark(&right(&e));
                assert_eq!((marked.score, marked.right), (MOST_SCORE, [true; 3]), "{:?}", e.setting);
                assert_eq!(marked.level, (level + 1).min(LEVELS - 1));
                assert!(!marked.because.is_empty());
            }
        }
    }

    #[test]
    fn a_wrong_answer_has_fewer_and_goes_a_level_down() {
        let e = (0..).map(|seed| Exercise::new(seed, 2)).find(|e| e.fault() == Some("uneven-grid")).unwrap();
        let wrong = Answer { fault: None, section: None, next: Next::FinerMeter };
        let marked = e.mark(&wrong);
        assert_eq!((marked.score, marked.level, marked.right), (0, 1, [false; 3]));
        let other = Answer { section: Some(3 - e.section().unwrap()), ..right(&e) };
        assert_eq!(e.mark(&other).score, MOST_SCORE - SECTION);
    }

    #[test]
    fn what_is_to_be_named_can_be_seen() {
        let (mut seen, mut of) = (0, 0);
        for seed in 0..30 {
            let e = Exercise::new(seed, 1);
            let report = crate::triage(&e.setting.sweep(true).unwrap());
            let said = report.findings.first().filter(|f| f.confidence >= 0.5).map(|f| f.fault.as_str());
            seen += usize::from(said == e.fault());
            of += 1;
        }
        assert!(seen * 10 >= of * 9, "the engine names {seen} of {of}");
    }
}
