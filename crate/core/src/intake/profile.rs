//! Bench profiles: what a bench adds to every sweep that is taken on it, by name.
//!
//! A small JSON document, so that it can be kept, mailed and named on a command line. It
//! holds what [`Bench`] knows of the instrument; heater and screen voltage belong to a
//! sweep. The instrument's accuracy is not in it: the diagnosis fits the scale of a meter
//! and measures its noise, and would not use the figure.

use serde::Deserialize;

use super::error::{Mistake, Place, Unread};
use super::limits::MOST_AMPERES;
use super::shown::{clean, excerpt};
use super::units::{self, Dimension};
use crate::report::engineering;
use crate::sweep::{Bench, MeterPlace, Tube};

/// The schema of the documents that are read.
pub const BENCH_SCHEMA: &str = "sweepbook/bench/1";
/// Largest profile read, bytes: a hundred times a sensible one (by construction).
pub const LARGEST_PROFILE: usize = 64 * 1024;
/// Longest name of a profile, characters: it has to fit a line (by construction).
const LONGEST_NAME: usize = 60;

/// What a bench adds, under a name.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// What its owner calls it.
    pub name: String,
    /// Its facts, as far as they are stated.
    pub bench: Bench,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    schema: String,
    name: String,
    grid_source_resistance: Option<Stated>,
    current_meter: Option<String>,
    current_limit: Option<Stated>,
    current_resolution: Option<Stated>,
}

/// A quantity: in the base unit, or as people write it.
#[derive(Debug, Deserialize)]
#[serde(untagged, expecting = "a quantity such as \"10 kohm\"")]
enum Stated {
    Number(f64),
    Text(String),
}

impl Stated {
    fn text(&self) -> String {
        match self {
            Self::Number(value) => value.to_string(),
            Self::Text(text) => text.clone(),
        }
    }
}

impl Profile {
    /// Reads a profile; `source` is only used in errors.
    ///
    /// # Errors
    /// The first thing that cannot be read, with its line, and what to do about it.
    pub fn read(source: &str, text: &str) -> Result<Self, Unread> {
        let unread = |place, mistake| Unread::new(&clean(source), place, mistake);
        if text.len() > LARGEST_PROFILE {
            let mistake = Mistake::Profile(format!("it is longer than {} KB", LARGEST_PROFILE / 1024));
            return Err(unread(Place::File, mistake));
        }
        let text = text.trim_start_matches('\u{feff}');
        let document: Document = crate::read_json(text).map_err(|error| {
            let says = error.to_string();
            let says = says.split(" at line ").next().unwrap_or_default();
            let place = if error.line() > 0 { Place::Line(error.line()) } else { Place::File };
            unread(place, Mistake::Profile(clean(says)))
        })?;
        let refuse = |key: &str, mistake| unread(line_of(text, key), mistake);
        if document.schema != BENCH_SCHEMA {
            let says = format!("its schema is \"{}\" and not \"{BENCH_SCHEMA}\"", excerpt(&document.schema));
            return Err(refuse("schema", Mistake::Profile(says)));
        }
        let name = clean(document.name.trim());
        if name.is_empty() || name.chars().count() > LONGEST_NAME {
            let says = format!("its name has to have 1 to {LONGEST_NAME} characters");
            return Err(refuse("name", Mistake::Profile(says)));
        }
        let quantity = |key: &str, stated: Option<Stated>, dimension, fits: fn(f64) -> bool| match stated {
            None => Ok(None),
            Some(stated) => {
                let value = units::quantity(&stated.text(), dimension).filter(|v| fits(*v));
                let bad = || Mistake::BadMetadata { key: key.to_owned(), value: excerpt(&stated.text()) };
                value.map(Some).ok_or_else(|| refuse(key, bad()))
            }
        };
        let current = |v: f64| v > 0.0 && v <= MOST_AMPERES;
        let bench = Bench {
            grid_source_resistance: quantity(
                "grid_source_resistance",
                document.grid_source_resistance,
                Dimension::Resistance,
                |v| v >= 0.0,
            )?,
            current_meter: match document.current_meter {
                None => None,
                Some(place) => Some(MeterPlace::of(&place).ok_or_else(|| {
                    let key = "current_meter".to_owned();
                    refuse("current_meter", Mistake::BadMetadata { key, value: excerpt(&place) })
                })?),
            },
            current_limit: quantity("current_limit", document.current_limit, Dimension::Current, current)?,
            current_resolution: quantity(
                "current_resolution",
                document.current_resolution,
                Dimension::Current,
                current,
            )?,
            ..Bench::default()
        };
        Ok(Self { name, bench })
    }

    /// Adds to a tube what its file does not say of the bench. What the file says counts,
    /// and the tube's notes tell where the two differ and what was added.
    pub fn apply(&self, tube: &mut Tube) {
        let (mut added, mut kept) = (Vec::new(), Vec::new());
        let (own, ours) = (&mut tube.bench, &self.bench);
        let ohm = |v: &f64| engineering(*v, "ohm");
        let ampere = |v: &f64| engineering(*v, "A");
        let place = |m: &MeterPlace| m.words().to_owned();
        let key = "grid_source_resistance";
        settle(key, &mut own.grid_source_resistance, ours.grid_source_resistance, ohm, &mut added, &mut kept);
        settle("current_meter", &mut own.current_meter, ours.current_meter, place, &mut added, &mut kept);
        settle("current_limit", &mut own.current_limit, ours.current_limit, ampere, &mut added, &mut kept);
        let key = "current_resolution";
        settle(key, &mut own.current_resolution, ours.current_resolution, ampere, &mut added, &mut kept);
        if !added.is_empty() {
            tube.notes.push(format!("From the bench profile \"{}\": {}.", self.name, added.join(", ")));
        }
        tube.notes.extend(kept);
    }

    /// What it states, in words; empty where it states nothing.
    pub fn says(&self) -> String {
        let mut tube = Tube {
            name: String::new(),
            source: Vec::new(),
            kind: None,
            notes: Vec::new(),
            bench: Bench::default(),
            sections: Vec::new(),
        };
        self.apply(&mut tube);
        let note = tube.notes.pop().unwrap_or_default();
        note.split_once("\": ").map(|(_, says)| says.trim_end_matches('.').to_owned()).unwrap_or_default()
    }
}

/// Settles one fact of a bench: the file's own word counts.
fn settle<T: Copy + PartialEq>(
    key: &str,
    own: &mut Option<T>,
    ours: Option<T>,
    words: impl Fn(&T) -> String,
    added: &mut Vec<String>,
    kept: &mut Vec<String>,
) {
    match (*own, ours) {
        (None, Some(value)) => {
            *own = ours;
            added.push(format!("{key} {}", words(&value)));
        }
        (Some(file), Some(profile)) if file != profile => kept.push(format!(
            "The file's {key} {} was kept; the bench profile says {}.",
            words(&file),
            words(&profile)
        )),
        _ => {}
    }
}

/// The line on which a key stands.
fn line_of(text: &str, key: &str) -> Place {
    let quoted = format!("\"{key}\"");
    text.lines().position(|line| line.contains(&quoted)).map_or(Place::File, |line| Place::Line(line + 1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake;

    const WORKSHOP: &str = r#"{
  "schema": "sweepbook/bench/1",
  "name": "Workshop",
  "grid_source_resistance": "10 kohm",
  "current_meter": "cathode lead",
  "current_limit": 0.025,
  "current_resolution": "1 uA"
}"#;

    fn tube(lines: &str) -> Tube {
        let text = format!("{lines}Va [V],Vg [V],Ia [mA]\n100,-2,1\n100,-1,2\n");
        intake::read("x.csv", text.as_bytes()).unwrap().remove(0)
    }

    #[test]
    fn what_a_file_does_not_say_comes_from_the_profile() {
        let profile = Profile::read("w.json", WORKSHOP).unwrap();
        let mut tube = tube("");
        let before = tube.notes.len();
        profile.apply(&mut tube);
        let bench = &tube.bench;
        assert_eq!((bench.grid_source_resistance, bench.current_limit), (Some(1e4), Some(0.025)));
        assert_eq!((bench.current_meter, bench.current_resolution), (Some(MeterPlace::CathodeLead), Some(1e-6)));
        assert_eq!(
            tube.notes[before..],
            ["From the bench profile \"Workshop\": grid_source_resistance 10.0 kΩ, current_meter cathode lead, \
              current_limit 25.0 mA, current_resolution 1.00 µA."]
        );
        assert!(profile.says().starts_with("grid_source_resistance 10.0 kΩ, current_meter"));
    }

    #[test]
    fn the_files_own_word_counts_and_the_notes_say_so() {
        let profile = Profile::read("w.json", &WORKSHOP.replace("10 kohm", "0")).unwrap();
        let mut tube = tube("# grid_source_resistance: 1 Mohm\n# current_meter: cathode lead\n");
        profile.apply(&mut tube);
        assert_eq!(tube.bench.grid_source_resistance, Some(1e6));
        assert!(
            tube.notes.contains(
                &"The file's grid_source_resistance 1.00 MΩ was kept; the bench profile says 0 Ω.".to_owned()
            ),
            "{:?}",
            tube.notes
        );
        // Nothing is said where the two agree.
        assert!(!tube.notes.iter().any(|n| n.contains("current_meter")), "{:?}", tube.notes);
    }

    #[test]
    fn what_is_wrong_is_named_with_its_line_and_a_mend() {
        let cases = [
            ("10 kohm", "lots", Some(4), "cannot be read", "10 kohm"),
            ("10 kohm", "-5 ohm", Some(4), "cannot be read", "10 kohm"),
            ("cathode lead", "somewhere", Some(5), "cannot be read", "plate lead or cathode lead"),
            ("0.025", "25", Some(6), "cannot be read", "25 mA"),
            ("0.025", "[1]", Some(6), "a quantity such as", "\"schema\""),
            ("1 uA", "1 V", Some(7), "cannot be read", "25 mA"),
            ("bench/1", "bench/2", Some(2), "sweepbook/bench/2", "\"schema\""),
            ("Workshop", " ", Some(3), "name", "\"schema\""),
            ("\"current_limit\"", "\"colour\"", Some(6), "unknown field", "\"schema\""),
            ("\"name\"", "\"current_limit\": 1, \"nom\"", Some(3), "unknown field", "\"schema\""),
            ("}", "", Some(8), "EOF", "\"schema\""),
        ];
        for (from, to, line, what, mend) in cases {
            let unread = Profile::read("w.json", &WORKSHOP.replace(from, to)).unwrap_err();
            assert_eq!((unread.source.as_str(), unread.line), ("w.json", line), "{from} → {to}: {unread}");
            assert!(unread.what.contains(what) && unread.mend.contains(mend), "{from} → {to}: {unread}");
        }
        assert!(Profile::read("w.json", &" ".repeat(LARGEST_PROFILE + 1)).unwrap_err().what.contains("longer"));
    }

    #[test]
    fn a_profile_may_state_nothing() {
        let profile = Profile::read("w.json", r#"{"schema":"sweepbook/bench/1","name":"Bare"}"#).unwrap();
        let mut tube = tube("");
        let before = tube.clone();
        profile.apply(&mut tube);
        assert_eq!((tube, profile.says().as_str()), (before, ""));
    }
}
