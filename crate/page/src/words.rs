//! What core says, in the page's words.

use serde::Serialize;
use sweepbook_core::faults::Explanation;
use sweepbook_core::figure::{minus, volts};
use sweepbook_core::kin::agreement::Agreement;
use sweepbook_core::kin::model::SOUND;
use sweepbook_core::report::{At, Figure, Value, Verdict, engineering};

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

/// A number with its unit, with a printed minus, never broken at the line's end.
pub fn number(value: f64, unit: &str) -> String {
    tied(&match unit {
        "V" => volts(value),
        _ => minus(&engineering(value, unit)),
    })
}

/// The text with no place to break it.
pub fn tied(text: &str) -> String {
    text.replace(' ', "\u{a0}")
}

/// The interval of a value, in words; `None` where it has none.
pub fn interval(value: &Value) -> Option<String> {
    let shown = |x: f64| number(x, &value.unit);
    match (value.low.filter(|x| x.is_finite()), value.high.filter(|x| x.is_finite())) {
        (Some(low), Some(high)) => Some(format!("{} to {}", shown(low), shown(high))),
        (Some(low), None) => Some(format!("at least {}", shown(low))),
        (None, Some(high)) => Some(format!("at most {}", shown(high))),
        (None, None) => None,
    }
}

/// The interval of a section's figure.
pub fn figure_interval(figure: &Figure) -> String {
    format!("{} to {}", number(figure.low, &figure.unit), number(figure.high, &figure.unit))
}

/// An operating point.
pub fn at(at: &At) -> String {
    format!("{}, {}", tied(&format!("Va {}", volts(at.va))), tied(&format!("Vg {}", volts(at.vg))))
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

    fn value(low: Option<f64>, high: Option<f64>) -> Value {
        Value { quantity: "leakage resistance".into(), unit: "ohm".into(), estimate: 661e3, low, high }
    }

    #[test]
    fn open_intervals_say_which_end_is_known() {
        assert_eq!(interval(&value(Some(640e3), Some(684e3))).as_deref(), Some("640\u{a0}kΩ to 684\u{a0}kΩ"));
        assert_eq!(interval(&value(Some(640e3), None)).as_deref(), Some("at least 640\u{a0}kΩ"));
        assert_eq!(interval(&value(None, Some(684e3))).as_deref(), Some("at most 684\u{a0}kΩ"));
        assert_eq!(interval(&value(None, Some(f64::INFINITY))), None);
    }

    #[test]
    fn names_of_the_contract_read_as_words() {
        assert_eq!(plain("plate-cathode-leakage"), "Plate cathode leakage");
        assert_eq!(plain(""), "");
    }
}
