//! A reading: what was decided about a table that its text leaves open. Small
//! enough to be kept by name and applied to the next like file.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::error::Mistake;
use super::heading::{Column, level};
use super::magnitude;
use super::number::Mark;
use super::scan::Separator;
use super::shown::excerpt;
use super::units::{self, Dimension};

/// Decisions about how to read a table, each an option `key=value`; where none
/// is made the table itself tells, or the reader asks.
///
/// Options: `decimal=comma|point`; `first=va|vg`, what the first column of a
/// wide table is; `unit.ia=mA` and likewise for other quantities;
/// `despite.ia=mA|as-written`, what counts where the heading's unit cannot be right;
/// `vg=negative|as-written` and `ia=negative|as-written`, whether the sign was
/// left out or is the other way round; `vg2=screen|section`, what a second grid
/// column is; `blocks=sections|repeats`, what tables beside each other are;
/// `columns=Va [V];Vg [V];Ia [mA]`, the headings, `-` for a column to leave out;
/// `heading=4`, the line of the heading, 0 for none; `separator=comma|semicolon|tab|blanks`; `va=250 V`, `vg=-8 V`,
/// `vg2=250 V`, a voltage that no column has; `section=2`; `tube=B-17`.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(into = "Vec<String>", try_from = "Vec<String>")]
pub struct Reading(BTreeMap<String, String>);

/// An option that is none.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}. {mend}")]
pub struct BadOption {
    /// What is wrong.
    pub what: String,
    /// What to do about it.
    pub mend: String,
}

/// Options as a message shows them.
pub(super) const EXAMPLES: [&str; 11] = [
    "decimal=comma",
    "first=vg",
    "unit.ia=mA",
    "vg=negative",
    "vg2=screen",
    "blocks=sections",
    "columns=Va [V];Vg [V];Ia [mA]",
    "heading=4",
    "separator=semicolon",
    "va=250 V",
    "section=2",
];

/// Headings for a table of so many columns, as a message shows them.
pub(super) fn columns_example(columns: usize) -> String {
    let named = ["Va [V]", "Vg [V]", "Ia [mA]", "Ig [uA]"];
    (0..columns.clamp(3, named.len())).map(|i| named[i]).collect::<Vec<_>>().join(";")
}

impl Reading {
    /// Takes in one option; a later one of the same key counts.
    ///
    /// # Errors
    /// It is no option, or has a value that its key does not know.
    pub fn set(&mut self, option: &str) -> Result<(), BadOption> {
        let bad = || {
            let mistake = Mistake::BadOption { option: excerpt(option) };
            BadOption { what: mistake.to_string(), mend: mistake.mend() }
        };
        let (key, value) = option.split_once('=').ok_or_else(bad)?;
        let (key, value) = (key.trim().to_lowercase(), value.trim());
        if known(&key, value) {
            self.0.insert(key, value.to_owned());
            return Ok(());
        }
        Err(bad())
    }

    /// This reading with one more option; a bad one changes nothing.
    pub(super) fn with(&self, option: &str) -> Self {
        let mut reading = self.clone();
        let _ = reading.set(option);
        reading
    }

    /// Its options, sorted.
    pub fn options(&self) -> Vec<String> {
        self.0.iter().map(|(key, value)| format!("{key}={value}")).collect()
    }

    /// Whether nothing is decided.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub(super) fn get(&self, key: &str) -> Option<&str> {
        self.0.get(key).map(String::as_str)
    }

    pub(super) fn decimal(&self) -> Option<Mark> {
        self.get("decimal").map(|v| if v == "comma" { Mark::Comma } else { Mark::Point })
    }

    /// The factor to SI of a quantity's unit.
    pub(super) fn unit(&self, column: Column) -> Option<f64> {
        self.get(&format!("unit.{}", column.symbol())).and_then(|unit| units::factor(unit, column.dimension()))
    }

    pub(super) fn columns(&self) -> Option<Vec<&str>> {
        self.get("columns").map(|c| c.split(';').map(str::trim).collect())
    }

    pub(super) fn heading_line(&self) -> Option<usize> {
        self.get("heading").and_then(|line| line.parse().ok())
    }

    pub(super) fn separator(&self) -> Option<Separator> {
        self.get("separator").and_then(Separator::of_name)
    }

    /// A voltage that is the same for every point.
    pub(super) fn fixed(&self, column: Column) -> Option<f64> {
        self.get(column.symbol()).and_then(level)
    }
}

fn known(key: &str, value: &str) -> bool {
    let signs = ["negative", "as-written"];
    let volts = || value.bytes().any(|b| b.is_ascii_digit()) && level(value).is_some();
    match key {
        "decimal" => ["comma", "point"].contains(&value),
        "first" => ["va", "vg"].contains(&value),
        "vg" => signs.contains(&value) || volts(),
        "ia" => signs.contains(&value),
        "va" => volts(),
        "vg2" => ["screen", "section"].contains(&value) || volts(),
        "blocks" => ["sections", "repeats"].contains(&value),
        "columns" | "section" | "tube" => !value.is_empty(),
        magnitude::OPTION => magnitude::known(value),
        "heading" => value.parse::<usize>().is_ok(),
        "separator" => Separator::of_name(value).is_some(),
        _ => key.strip_prefix("unit.").and_then(Column::of_symbol).is_some_and(|c| {
            matches!(c.dimension(), Dimension::Voltage | Dimension::Current)
                && units::factor(value, c.dimension()).is_some()
        }),
    }
}

impl From<Reading> for Vec<String> {
    fn from(reading: Reading) -> Self {
        reading.options()
    }
}

impl TryFrom<Vec<String>> for Reading {
    type Error = BadOption;

    fn try_from(options: Vec<String>) -> Result<Self, BadOption> {
        let mut reading = Self::default();
        options.iter().try_for_each(|o| reading.set(o))?;
        Ok(reading)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_example_is_an_option_and_comes_back_from_json() {
        let mut reading = Reading::default();
        EXAMPLES.iter().for_each(|o| reading.set(o).unwrap());
        let json = serde_json::to_string(&reading).unwrap();
        assert_eq!(serde_json::from_str::<Reading>(&json).unwrap(), reading);
        assert_eq!(reading.fixed(Column::Va), Some(250.0));
        assert_eq!(reading.unit(Column::Ia), Some(1e-3));
        assert_eq!(reading.columns().unwrap(), ["Va [V]", "Vg [V]", "Ia [mA]"]);
    }

    #[test]
    fn what_is_no_option_is_refused_with_the_options() {
        for option in
            ["decimal", "decimal=dot", "unit.ia=V", "unit.tube=mA", "colour=blue", "va=high", "heading=x", "=", ""]
        {
            let bad = Reading::default().set(option).unwrap_err();
            assert!(bad.mend.contains("decimal=comma"), "{option}");
        }
    }
}
