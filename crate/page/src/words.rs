//! What core says, in the page's words.

use serde::Serialize;
use sweepbook_core::faults::Explanation;
use sweepbook_core::kin::agreement::Agreement;
use sweepbook_core::kin::model::SOUND;
use sweepbook_core::report::Verdict;
pub use sweepbook_core::report::{at, figure_interval, interval, number, tied};

/// Every verdict, worst first.
pub const VERDICTS: [Verdict; 4] = [Verdict::Reject, Verdict::Retest, Verdict::Restrict, Verdict::Accept];

/// A verdict as it is shown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct VerdictWords {
    /// Its name in the contract.
    pub name: Verdict,
    /// Its word.
    pub word: &'static str,
    /// What it means, one sentence.
    pub meaning: &'static str,
}

/// The words of a verdict.
pub fn verdict(of: Verdict) -> VerdictWords {
    let (word, meaning) = match of {
        Verdict::Accept => ("Accept", "Nothing wrong that this sweep can show."),
        Verdict::Restrict => ("Restrict", "Usable within the limits stated here."),
        Verdict::Retest => ("Retest", "This sweep cannot tell. Measure again before deciding."),
        Verdict::Reject => ("Reject", "Not to be used as it is."),
    };
    VerdictWords { name: of, word, meaning }
}

/// What the kin model takes a section for.
pub fn like(class: &str, known: &[Explanation]) -> String {
    match known.iter().find(|e| e.name == class) {
        Some(fault) => fault.title.clone(),
        None if class == SOUND => "a sound section".into(),
        None => class.to_owned(),
    }
}

/// How rules and kin model stand to each other.
pub fn agreement(of: Agreement) -> &'static str {
    match of {
        Agreement::Same => "Both say the same.",
        Agreement::Unsure => "They differ; the model is not sure enough to matter.",
        Agreement::RulesOnly => "They differ; the rules measure it, and count.",
        Agreement::ModelOnly => "They differ: measure again.",
        Agreement::Unknown => "The model knows nothing like it; the rules count.",
    }
}

/// A fault's name in plain words where nothing explains it.
pub fn plain(fault: &str) -> String {
    let words = fault.replace('-', " ");
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_the_contract_read_as_words() {
        assert_eq!(plain("plate-cathode-leakage"), "Plate cathode leakage");
        assert_eq!(plain(""), "");
    }
}
