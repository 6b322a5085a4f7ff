//! A batch that was bought, and what comes of it, in words.

use serde::Serialize;

use super::{Outcome, Plan, plan};

/// Shares of faulty tubes for which is told how often such a batch would be taken: few
/// and many (judgement, no source).
const TOLD: [f64; 2] = [0.05, 0.2];

/// What comes of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Batch {
    /// How many tubes were bought.
    pub bought: usize,
    /// Acceptable quality level, percent of faulty tubes.
    pub aql: f64,
    /// How many are swept, and how many faulty ones are too many.
    pub plan: Plan,
    /// Swept and faulty.
    pub faulty: usize,
    /// Swept and sound.
    pub sound: usize,
    /// What follows.
    #[serde(flatten)]
    pub outcome: Outcome,
}

impl Batch {
    /// What comes of it; `None` for a level that the table does not have, or a batch of
    /// fewer than two.
    pub fn of(bought: usize, aql: f64, faulty: usize, sound: usize) -> Option<Self> {
        let plan = plan(bought, aql)?;
        Some(Self { bought, aql, plan, faulty, sound, outcome: plan.outcome(faulty, sound) })
    }

    /// The plan, a sentence.
    pub fn plan_says(&self) -> String {
        let Plan { sample, accept, whole, .. } = self.plan;
        let sampled = if whole { "all of them".to_owned() } else { format!("{sample} of them, drawn at random") };
        format!(
            "Batch of {}, acceptable quality level {} %: sweep {sampled}; it is taken with up to {accept} faulty.",
            self.bought, self.aql
        )
    }

    /// What follows from what was swept, a sentence.
    pub fn outcome_says(&self) -> String {
        let outcome = match self.outcome {
            Outcome::Taken => "the batch is taken".to_owned(),
            Outcome::SentBack => "the batch is sent back".to_owned(),
            Outcome::Open { missing } => format!("{missing} more have to be swept or settled"),
        };
        format!("So far {} faulty and {} sound: {outcome}.", self.faulty, self.sound)
    }

    /// What the plan is worth, a sentence.
    pub fn worth_says(&self) -> String {
        let [few, many] = TOLD.map(|p| format!("{:.0} %", 100.0 * self.plan.taken(p)));
        format!("With this plan a batch with 5 % faulty is taken {few} of the time, one with 20 % {many}.")
    }

    /// All of it.
    pub fn says(&self) -> String {
        format!("{} {} {}", self.plan_says(), self.outcome_says(), self.worth_says())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_batch_says_what_to_do_and_what_that_is_worth() {
        // Plan F at 4 %: 20 tubes, taken with 2 (MIL-STD-105E, table II-A).
        let says = Batch::of(100, 4.0, 1, 3).unwrap().says();
        assert!(says.contains("sweep 20 of them, drawn at random; it is taken with up to 2 faulty"), "{says}");
        assert!(says.contains("1 faulty and 3 sound: 16 more have to be swept"), "{says}");
        // scipy.stats.binom.cdf(2, 20, [.05, .2]) = 0.9245, 0.2061.
        assert!(says.contains("92 % of the time, one with 20 % 21 %"), "{says}");
        assert!(Batch::of(100, 4.0, 3, 0).unwrap().says().contains("sent back"));
        assert!(Batch::of(5, 0.65, 0, 5).unwrap().says().contains("sweep all of them"));
        assert_eq!(Batch::of(1, 4.0, 0, 0), None);
        assert_eq!(Batch::of(100, 3.0, 0, 0), None);
    }
}
