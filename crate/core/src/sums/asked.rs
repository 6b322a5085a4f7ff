//! A sum asked for in text.

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::Value;

use super::answer::{Answer, Wrong};
use super::elevation::{Divider, Elevation, HeaterFeed};
use super::forms::{Field, Form, Kind, known};
use super::heaters::Chain;
use super::list;
use super::rectified::{Drawn, Filter, Rectifier};
use super::source::{CurrentSource, Spread};
use super::supply::Supply;
use crate::intake::excerpt;
use crate::stage::{Entered, entered};

/// Longest text of a field, bytes (by construction: a list of forty with their names).
const LONGEST: usize = 8192;
/// What is refused whole, when no field of it can be named.
const WHOLE: &str = "sum";

/// What was written in the fields of a sum.
struct Texts<'a> {
    form: &'static Form,
    given: &'a BTreeMap<String, String>,
}

impl Texts<'_> {
    fn field(&self, name: &str) -> Option<&'static Field> {
        self.form.fields.iter().find(|f| f.name == name)
    }

    /// What is written, else the default; `None` where both are empty.
    fn text(&self, name: &str) -> Option<&str> {
        let written = self.given.get(name).map(|t| t.trim()).filter(|t| !t.is_empty());
        written.or_else(|| self.field(name).map(|f| f.default).filter(|d| !d.is_empty()))
    }

    fn value(&self, name: &str) -> Result<Option<f64>, Wrong> {
        let Some((field, text)) = self.field(name).zip(self.text(name)) else { return Ok(None) };
        let read = match field.kind {
            Kind::Value(of) => entered(text, of),
            Kind::Percent => percent(text),
            Kind::Choice | Kind::List => None,
        };
        let mend = || Wrong::new(name, format!("\"{}\" is no value in {}", excerpt(text), field.unit), mend(field));
        read.map(Some).ok_or_else(mend)
    }

    fn needed(&self, name: &str) -> Result<f64, Wrong> {
        self.value(name)?.ok_or_else(|| self.missing(name))
    }

    fn list(&self, name: &str) -> Result<&str, Wrong> {
        self.text(name).ok_or_else(|| self.missing(name))
    }

    fn missing(&self, name: &str) -> Wrong {
        Wrong::new(name, "it is missing", self.field(name).map_or_else(String::new, mend))
    }

    /// Which of a field's choices.
    fn choice(&self, name: &str) -> Result<&str, Wrong> {
        let text = self.text(name).unwrap_or_default();
        let choices = self.field(name).map_or(&[][..], |f| f.choices);
        choices.iter().copied().find(|c| c.eq_ignore_ascii_case(text)).ok_or_else(|| {
            Wrong::new(
                name,
                format!("\"{}\" is no choice", excerpt(text)),
                format!("Choose one of: {}.", choices.join(", ")),
            )
        })
    }
}

/// How to write a field.
fn mend(field: &Field) -> String {
    let others = match field.kind {
        Kind::Value(Entered::Farads) => ", 4700u, 100µF or 4n7",
        Kind::Value(Entered::Ohms) => ", 4k7, 470k or 1500",
        Kind::Value(Entered::Amperes) => ", 300mA or 0.3",
        _ => "",
    };
    format!("Write it as {}{others}.", field.placeholder)
}

/// A share, written in percent with the sign or without.
fn percent(text: &str) -> Option<f64> {
    let number: f64 = text.trim().trim_end_matches('%').trim().replace(',', ".").parse().ok()?;
    Some(number / 100.0).filter(|v| v.is_finite())
}

/// The answer to a sum, its fields as text under the names of [`super::forms()`]. What is
/// empty counts as not written.
///
/// # Errors
/// An unknown sum or field, a text that is no value, or what the sum itself refuses.
pub fn answer(sum: &str, given: &BTreeMap<String, String>) -> Result<Answer, Wrong> {
    let Some(form) = known().iter().find(|f| f.sum == sum) else {
        let names: Vec<&str> = known().iter().map(|f| f.sum).collect();
        let what =
            if sum.is_empty() { "none is named".to_owned() } else { format!("there is no sum \"{}\"", excerpt(sum)) };
        return Err(Wrong::new(WHOLE, what, format!("Ask for one of: {}.", names.join(", "))));
    };
    let texts = Texts { form, given };
    for (name, text) in given {
        if texts.field(name).is_none() {
            let names: Vec<&str> = form.fields.iter().map(|f| f.name).collect();
            return Err(Wrong::new(
                &excerpt(name),
                "there is no such field",
                format!("The fields are: {}.", names.join(", ")),
            ));
        }
        if text.len() > LONGEST {
            return Err(Wrong::new(name, "the text is too long", format!("Write {LONGEST} bytes at most.")));
        }
    }
    match sum {
        "heaters" => heaters(&texts),
        "supply" => supply(&texts),
        "source" => source(&texts),
        _ => elevation(&texts),
    }
}

fn heaters(texts: &Texts<'_>) -> Result<Answer, Wrong> {
    Chain {
        supply: texts.needed("supply")?,
        heaters: list::heaters(texts.list("heaters")?)?,
        current: texts.value("current")?,
        shunted: texts.choice("shunts")? == "yes",
    }
    .answer()
}

fn supply(texts: &Texts<'_>) -> Result<Answer, Wrong> {
    let filter = match (texts.value("filter-resistor")?, texts.value("filter-capacitor")?) {
        (Some(resistor), Some(capacitor)) => Some(Filter { resistor, capacitor }),
        (None, None) => None,
        (resistor, _) => {
            let absent = if resistor.is_none() { "filter-resistor" } else { "filter-capacitor" };
            return Err(Wrong::new(absent, "a filter has a resistor and a capacitor", "Give both, or neither."));
        }
    };
    let load = match (texts.value("load-current")?, texts.value("load-resistance")?) {
        (Some(ampere), None) => Drawn::Current { ampere },
        (None, Some(ohm)) => Drawn::Resistance { ohm },
        (None, None) => {
            return Err(Wrong::new("load-current", "no load is given", "Give its current or its resistance."));
        }
        _ => {
            return Err(Wrong::new(
                "load-resistance",
                "two loads are given",
                "Give its current or its resistance, not both.",
            ));
        }
    };
    Supply {
        winding: texts.needed("secondary")?,
        rectifier: if texts.choice("rectifier")? == "bridge" { Rectifier::Bridge } else { Rectifier::CentreTap },
        diode: texts.needed("diode-drop")?,
        frequency: texts.needed("frequency")?,
        resistance: texts.needed("winding-resistance")?,
        reservoir: texts.needed("reservoir")?,
        filter,
        load,
    }
    .answer()
}

fn source(texts: &Texts<'_>) -> Result<Answer, Wrong> {
    // Sheets give pinch-off voltages with either sign.
    let size = |name: &str| texts.needed(name).map(f64::abs);
    CurrentSource {
        current: texts.needed("current")?,
        spread: Spread {
            pinch_off: (size("pinch-off-min")?, size("pinch-off-max")?),
            idss: (texts.needed("idss-min")?, texts.needed("idss-max")?),
        },
        voltage: texts.needed("voltage")?,
        fall: texts.needed("fall")?,
    }
    .answer()
}

fn elevation(texts: &Texts<'_>) -> Result<Answer, Wrong> {
    let (elevation, supply) = (texts.value("elevation")?, texts.value("supply")?);
    let divider = match (texts.value("upper")?, texts.value("lower")?) {
        (None, None) => Divider::Wanted { elevation, supply, current: texts.needed("divider-current")? },
        (Some(_), Some(_)) if elevation.is_some() => {
            return Err(Wrong::new(
                "elevation",
                "the two resistors give it already",
                "Leave it out, or the resistors.",
            ));
        }
        (Some(upper), Some(lower)) => {
            let supply =
                supply.ok_or_else(|| Wrong::new("supply", "two resistors want a supply", "Give its voltage: 300V."))?;
            Divider::Resistors { supply, upper, lower }
        }
        (upper, _) => {
            let absent = if upper.is_none() { "upper" } else { "lower" };
            return Err(Wrong::new(absent, "a divider has two resistors", "Give both, or neither."));
        }
    };
    Elevation {
        heater: texts.needed("heater")?,
        feed: match texts.choice("feed")? {
            "ac-middle" => HeaterFeed::AcMiddle,
            "ac-end" => HeaterFeed::AcEnd,
            _ => HeaterFeed::Dc,
        },
        cathodes: list::cathodes(texts.list("cathodes")?, texts.value("limit")?)?,
        divider,
    }
    .answer()
}

#[derive(Serialize)]
struct Refused {
    wrong: Wrong,
}

/// The answer to a sum asked for as JSON: `{"sum": "heaters", …}`, its fields as text, under
/// the names of [`super::forms()`]; numbers count as text. Gives [`Answer`] as JSON, or
/// `{"wrong": {"field", "what", "mend"}}`.
pub fn asked(json: &str) -> String {
    let told = read(json).and_then(|(sum, given)| answer(&sum, &given));
    match told {
        Ok(answer) => serde_json::to_string(&answer),
        Err(wrong) => serde_json::to_string(&Refused { wrong }),
    }
    // Texts and finite numbers: nothing of them can fail.
    .unwrap_or_default()
}

fn read(json: &str) -> Result<(String, BTreeMap<String, String>), Wrong> {
    const MEND: &str = "Send {\"sum\": \"heaters\", \"supply\": \"117V\", …}.";
    let object = match crate::read_json(json) {
        Ok(Value::Object(object)) => object,
        Ok(_) => return Err(Wrong::new(WHOLE, "it is no JSON object", MEND)),
        Err(e) => return Err(Wrong::new(WHOLE, format!("it is no JSON: {e}"), MEND)),
    };
    let mut given = BTreeMap::new();
    for (name, value) in object {
        let text = match value {
            Value::String(text) => text,
            Value::Number(number) => number.to_string(),
            Value::Null => String::new(),
            _ => {
                return Err(Wrong::new(
                    &excerpt(&name),
                    "it is neither text nor number",
                    "Send it as people write it, in quotes.",
                ));
            }
        };
        given.insert(name, text);
    }
    let sum = given.remove(WHOLE).unwrap_or_default();
    Ok((sum, given))
}
