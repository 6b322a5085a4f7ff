//! `sweepbook explain`: what a fault is, in words.

use sweepbook_core::faults::{self, Explanation};

use super::{Ending, Failure};
use crate::{readable, screen};

/// Least likeness (Jaro–Winkler, 0 to 1) of a name that is worth suggesting
/// (judgement: above it a slip of the fingers, below it another word).
const LIKE_ENOUGH: f64 = 0.8;
/// Most names suggested.
const MOST_SUGGESTED: usize = 3;

/// Explain a fault: what it is, what it does to the curves, what looks like it,
/// how to settle it, what it means in a stage.
///
/// Without a name it lists all faults.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The fault's name as in the report, such as plate-cathode-leakage.
    #[arg(value_name = "FAULT")]
    fault: Option<String>,
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    let Some(asked) = &args.fault else {
        screen::print(&readable::list(&faults::explanations(), screen::width()))?;
        return Ok(Ending::Done);
    };
    let name = normal(asked);
    if let Some(explanation) = faults::explain(&name) {
        screen::print(&readable::explanation(&explanation, screen::width()))?;
        return Ok(Ending::Done);
    }
    let known = faults::explanations();
    screen::say(&format!("sweepbook: no fault is called \"{asked}\"."));
    match suggestions(&name, &known).as_slice() {
        [] => screen::say("The names are:"),
        near => screen::say(&format!("Did you mean {}? All names:", near.join(", "))),
    }
    for explanation in &known {
        screen::say(&format!("  {}", explanation.name));
    }
    Ok(Ending::WrongUsage)
}

/// A name as the contract writes it: lower case, joined by hyphens.
fn normal(name: &str) -> String {
    let words = name.to_lowercase();
    let words: Vec<&str> =
        words.split(|c: char| c.is_whitespace() || matches!(c, '-' | '_' | '–')).filter(|w| !w.is_empty()).collect();
    words.join("-")
}

/// The names most like `name`, the most like first.
fn suggestions<'a>(name: &str, known: &'a [Explanation]) -> Vec<&'a str> {
    let mut near: Vec<(f64, &str)> = known
        .iter()
        .map(|e| (strsim::jaro_winkler(name, &e.name), e.name.as_str()))
        .filter(|(likeness, _)| *likeness >= LIKE_ENOUGH)
        .collect();
    near.sort_by(|a, b| b.0.total_cmp(&a.0));
    near.into_iter().take(MOST_SUGGESTED).map(|(_, name)| name).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn called(name: &str) -> Explanation {
        Explanation { name: name.into(), title: name.into(), bench: false, parts: Vec::new() }
    }

    #[test]
    fn a_name_may_be_written_in_several_ways() {
        for name in ["plate-grid-leakage", "Plate–grid leakage", "PLATE_GRID_LEAKAGE", " plate grid  leakage"] {
            assert_eq!(normal(name), "plate-grid-leakage");
        }
    }

    #[test]
    fn a_slip_of_the_fingers_is_understood() {
        let known = ["gas", "low-emission", "plate-grid-leakage", "plate-cathode-leakage"].map(called);
        assert_eq!(suggestions("low-emision", &known), ["low-emission"]);
        assert_eq!(suggestions("plate-grid-leakge", &known)[0], "plate-grid-leakage");
        assert!(suggestions("microphonics", &known).is_empty());
    }
}
