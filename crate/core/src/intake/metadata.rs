//! Lines `# key: value`.

use std::collections::BTreeMap;

use super::error::Mistake;
use super::heading::Column;
use super::limits::{LONGEST_HEADING, MOST_NOTES};
use super::reading::Reading;
use super::scan;
use super::shown::{clean, excerpt};
use super::units::{self, Dimension};
use crate::sweep::{Bench, HeaterCathode, MeterPlace};

/// What the metadata lines of a file said.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Metadata {
    pub(super) tube: Option<String>,
    pub(super) kind: Option<String>,
    pub(super) section: Option<String>,
    pub(super) notes: Vec<String>,
    pub(super) bench: Bench,
    /// Plate voltage of all points, V, where no column has it.
    plate_voltage: Option<f64>,
    /// Grid voltage likewise, V.
    grid_voltage: Option<f64>,
    /// The known keys met so far and what they said.
    said: BTreeMap<String, String>,
}

/// Keys that are also understood in a line before the heading that is no comment.
const FREE_KEYS: [&str; 9] = [
    "tube",
    "type",
    "section",
    "heater_voltage",
    "grid_source_resistance",
    "current_meter",
    "plate_voltage",
    "grid_voltage",
    "screen_voltage",
];

/// Key and value of a line `key: value`; a spreadsheet has them in two cells.
pub(super) fn said(line: &str) -> Option<(String, &str)> {
    let (key, value) = line.split_once([':', '\t'])?;
    Some((plain(key), value.trim()))
}

/// A key as it is compared.
fn plain(key: &str) -> String {
    key.trim().to_lowercase().replace([' ', '-'], "_")
}

impl Metadata {
    /// Takes in one comment line, without its `#`. A line that is no
    /// `key: value` with a known key is kept as a note.
    ///
    /// # Errors
    /// A known key with a value that cannot be read, or with another value than
    /// an earlier line gave it: two files pasted together, of which the rows can
    /// no longer be told apart.
    pub(super) fn take(&mut self, line: &str) -> Result<(), Mistake> {
        let Some((key, value)) = said(line) else {
            self.note(line);
            return Ok(());
        };
        let bad = || Mistake::BadMetadata { key: key.clone(), value: excerpt(value) };
        match key.as_str() {
            _ if value.is_empty() => {}
            "tube" => self.tube = Some(clean(value)),
            "type" => self.kind = Some(clean(value)),
            "section" => self.section = Some(clean(value)),
            "note" => self.note(value),
            // The layout is read off the points; the line is for people.
            "sweep" => {}
            "heater_voltage" => {
                self.bench.heater_voltage = Some(units::quantity(value, Dimension::Voltage).ok_or_else(bad)?);
            }
            "grid_source_resistance" => {
                let ohm = units::quantity(value, Dimension::Resistance).filter(|r| *r >= 0.0);
                self.bench.grid_source_resistance = Some(ohm.ok_or_else(bad)?);
            }
            "plate_voltage" => {
                self.plate_voltage = Some(units::quantity(value, Dimension::Voltage).ok_or_else(bad)?);
            }
            "grid_voltage" => {
                self.grid_voltage = Some(units::quantity(value, Dimension::Voltage).ok_or_else(bad)?);
            }
            "screen_voltage" => {
                self.bench.screen_voltage = Some(units::quantity(value, Dimension::Voltage).ok_or_else(bad)?);
            }
            "current_limit" => {
                self.bench.current_limit = Some(units::quantity(value, Dimension::Current).ok_or_else(bad)?);
            }
            "current_resolution" => {
                self.bench.current_resolution = Some(units::quantity(value, Dimension::Current).ok_or_else(bad)?);
            }
            "heater_cathode_current" => {
                self.bench.heater_cathode.push(heater_cathode(value).ok_or_else(bad)?);
                return Ok(());
            }
            "current_meter" => {
                self.bench.current_meter = Some(MeterPlace::of(value).ok_or_else(bad)?);
            }
            _ => {
                self.note(line);
                return Ok(());
            }
        }
        // Notes add up, and the layout is read off the points.
        if value.is_empty() || matches!(key.as_str(), "note" | "sweep") {
            return Ok(());
        }
        match self.said.insert(key.clone(), value.to_owned()) {
            Some(earlier) if earlier != value => {
                Err(Mistake::SaidTwice { key, first: excerpt(&earlier), second: excerpt(value) })
            }
            _ => Ok(()),
        }
    }

    /// A voltage that holds for all points.
    pub(super) fn fixed(&self, column: Column) -> Option<f64> {
        match column {
            Column::Va => self.plate_voltage,
            Column::Vg => self.grid_voltage,
            _ => None,
        }
    }

    /// Takes in what free lines before the heading say with a known key, as in
    /// `Tube: B-17`, or in two cells as a spreadsheet has it. One that cannot be
    /// read is only text.
    pub(super) fn free_lines(&mut self, text: &str, heading: usize) {
        for (line, _, content) in scan::lines(text) {
            if line >= heading {
                break;
            }
            if content.len() > LONGEST_HEADING || content.trim_start().starts_with('#') {
                continue;
            }
            let Some((key, value)) = content.split_once([':', '\t', ';', ',', '=']) else { continue };
            let key = plain(key.trim().trim_matches('"'));
            let value = value.trim_matches(|c: char| c.is_whitespace() || matches!(c, ';' | ',' | '"'));
            if FREE_KEYS.contains(&key.as_str()) && !self.said.contains_key(&key) {
                let mut with = self.clone();
                if with.take(&format!("{key}: {value}")).is_ok() {
                    *self = with;
                }
            }
        }
    }

    /// Takes in what the reading says of the whole file; the file's own word counts.
    pub(super) fn apply(&mut self, reading: &Reading) {
        let name = |key| reading.get(key).map(clean);
        self.tube = self.tube.take().or_else(|| name("tube"));
        self.section = self.section.take().or_else(|| name("section"));
    }

    fn note(&mut self, text: &str) {
        let text = clean(text);
        if !text.is_empty() && self.notes.len() < MOST_NOTES {
            self.notes.push(text);
        }
    }
}

/// Reads `12 uA at +100 V`.
fn heater_cathode(text: &str) -> Option<HeaterCathode> {
    let (current, voltage) = text.split_once(" at ")?;
    let volts = units::quantity(voltage, Dimension::Voltage).filter(|v| *v != 0.0)?;
    Some(HeaterCathode { volts, amperes: units::quantity(current, Dimension::Current)? })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_keys_are_taken_and_others_kept_as_notes() {
        let mut m = Metadata::default();
        for line in [
            " tube: B-17 ",
            "type: 6SN7GTB",
            "grid source resistance: 10 kohm",
            "current_meter: cathode lead",
            "heater-voltage: 6.3 V",
            "weather: rain",
            "measured after lunch",
        ] {
            m.take(line).unwrap();
        }
        assert_eq!(m.tube.as_deref(), Some("B-17"));
        assert_eq!(m.bench.grid_source_resistance, Some(1e4));
        assert_eq!(m.bench.current_meter, Some(MeterPlace::CathodeLead));
        assert_eq!(m.bench.heater_voltage, Some(6.3));
        assert_eq!(m.notes, ["weather: rain", "measured after lunch"]);
    }

    #[test]
    fn a_key_may_be_repeated_but_not_contradicted() {
        let mut m = Metadata::default();
        for line in ["tube: 17", "tube: 17", "note: a", "note: b", "sweep: up", "sweep: down"] {
            m.take(line).unwrap();
        }
        assert_eq!(m.notes, ["a", "b"]);
        assert!(matches!(m.take("tube: 18"), Err(Mistake::SaidTwice { .. })));
    }

    #[test]
    fn a_known_key_with_nonsense_is_refused() {
        assert!(Metadata::default().take("grid_source_resistance: lots").is_err());
        assert!(Metadata::default().take("current_meter: somewhere").is_err());
    }
}
