//! A stage over the tubes of a lot, and the bench's sums, in words.

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::json as value;
use sweepbook_core::figure::{minus, volts};
use sweepbook_core::stage::{Across, AtWork, BadStage, Shift, Spread, Working, Works, asked};
use sweepbook_core::sums::{self, Answer};
use wasm_bindgen::prelude::wasm_bindgen;

use crate::words::number;
use crate::{json, screen};

/// A form: names with what was written.
type Form = BTreeMap<String, String>;

/// What the stage makes of the tubes, or which field of the form is wrong.
#[derive(Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Staged {
    /// Which field.
    Wrong(BadStage),
    /// What it makes of them.
    Works(Box<StagedLot>),
}

/// A stage over tubes.
#[derive(Debug, Serialize)]
pub struct StagedLot {
    rows: Vec<StagedRow>,
    /// The spread over those that work, a sentence; `None` where none does.
    spread: Option<String>,
}

/// One section in it.
#[derive(Debug, Serialize)]
struct StagedRow {
    name: String,
    /// Plate current, plate and grid voltage, gain, most output, distortion, heat; empty
    /// where it does not work.
    cells: Vec<String>,
    /// Whether the plate gets hotter than its rating.
    hot: bool,
    /// Why it does not work, or what findings do to it.
    says: Vec<String>,
}

impl Staged {
    /// The stage of a form with what `across` makes of it.
    pub fn of(form: &Form, across: impl FnOnce(&sweepbook_core::stage::Stage, Option<f64>) -> Across) -> Self {
        match asked(form) {
            Ok((stage, swing)) => Self::Works(Box::new(StagedLot::new(&across(&stage, swing)))),
            Err(wrong) => Self::Wrong(wrong),
        }
    }
}

impl StagedLot {
    fn new(across: &Across) -> Self {
        let between = |what: &str, spread: Option<Spread>, says: &dyn Fn(f64) -> String| {
            spread.map(|s| format!("{what} {} to {}", says(s.least), says(s.most)))
        };
        let works = across.sections.iter().filter(|s| matches!(s.works, Works::Yes(_))).count();
        let parts: Vec<String> = [
            between("plate current", across.ia, &|v| number(v, "A")),
            between("gain", across.gain, &|v| format!("{v:.1}")),
            between("a trimmer that sets all to the middle current covers", across.trim, &|v| volts(v)),
        ]
        .into_iter()
        .flatten()
        .collect();
        let spread = (!parts.is_empty())
            .then(|| format!("Over {works} of {} sections: {}.", across.sections.len(), parts.join("; ")));
        Self { rows: across.sections.iter().map(row).collect(), spread }
    }
}

fn row(at: &AtWork) -> StagedRow {
    let name = format!("{}, section {}", at.tube, at.section);
    match &at.works {
        Works::No { why } => {
            StagedRow { name, cells: Vec::new(), hot: false, says: vec![format!("Does not work: {why}.")] }
        }
        Works::Yes(w) => StagedRow {
            name,
            cells: cells(w),
            hot: w.of_rating.is_some_and(|share| share > 1.0),
            says: w.shifts.iter().map(shift).collect(),
        },
    }
}

fn cells(w: &Working) -> Vec<String> {
    let (p, s) = (&w.point, &w.signal);
    let interval =
        w.ia_between.map_or_else(String::new, |(l, h)| format!(" ({} to {})", number(l, "A"), number(h, "A")));
    let second = s.second.map_or_else(
        || format!("does not reach {:.0}\u{a0}V", s.at),
        |h| format!("{:.2}\u{a0}% at {:.0}\u{a0}V", 100.0 * h, s.at),
    );
    let rating = w.of_rating.map_or_else(String::new, |share| format!(", {:.0}\u{a0}% of its rating", 100.0 * share));
    vec![
        format!("{}{interval}", number(p.ia, "A")),
        volts(p.va),
        minus(&format!("{:.2}\u{a0}V", p.vg)),
        format!("{:.1}", s.gain),
        number(s.output_resistance, "ohm"),
        format!("{:.0}\u{a0}V", s.most_out),
        second,
        format!("{}{rating}", number(p.dissipation, "W")),
    ]
}

fn shift(of: &Shift) -> String {
    let fault = of.fault.replace('-', " ");
    let then = of.ia.map_or_else(|| "the stage no longer works".to_owned(), |ia| format!("{} flow", number(ia, "A")));
    if of.grid_current == 0.0 {
        return format!("With its {fault} {then}.");
    }
    let largest = of.largest_grid_resistor.map_or_else(String::new, |ohm| {
        format!(" For a change of 10\u{a0}% at most {} at the grid.", number(ohm, "ohm"))
    });
    let margin = match of.loop_gain {
        Some(gain) if gain < 1.0 => {
            format!(" It runs away from {:.1} times as much gas or grid resistor on.", 1.0 / gain)
        }
        Some(_) => " It runs away.".to_owned(),
        None => String::new(),
    };
    format!("Its {fault} lifts the grid by {:.2}\u{a0}V, and {then}.{largest}{margin}", of.lifts)
}

/// The bench's sums with their fields; JSON.
#[wasm_bindgen]
pub fn sums_forms() -> String {
    sums::forms()
}

/// A sum with its fields as they were written (JSON of names and texts), answered in words;
/// JSON with `figures` or `wrong`.
#[wasm_bindgen]
pub fn sums_answer(sum: &str, form: &str) -> String {
    let form: Form = screen::parse(form).unwrap_or_default();
    match sums::answer(sum, &form) {
        Ok(answer) => json(&told(&answer)),
        Err(wrong) => json(&value!({ "wrong": wrong })),
    }
}

fn told(answer: &Answer) -> serde_json::Value {
    let figures: Vec<_> = answer
        .figures
        .iter()
        .map(|f| {
            let says = if f.unit == "1" { format!("{:.3}", f.value) } else { number(f.value, f.unit) };
            value!({ "name": f.name, "value": says, "says": f.says })
        })
        .collect();
    let curve = answer.curve.as_ref().map(|c| {
        let ends = |at: usize, unit: &str| {
            let values = c.points.iter().map(|p| p[at]);
            let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
            value!({ "low": low, "high": high, "from": number(low, unit), "to": number(high, unit) })
        };
        value!({
            "x": { "name": c.x_name, "ends": ends(0, c.x_unit) },
            "y": { "name": c.y_name, "ends": ends(1, c.y_unit) },
            "points": c.points,
        })
    });
    value!({
        "figures": figures, "formula": answer.formula, "source": answer.source, "leaves_out": answer.leaves_out,
        "cautions": answer.cautions, "curve": curve,
    })
}

#[cfg(test)]
mod tests {
    use sweepbook_core::lesson::Setting;
    use sweepbook_core::stage::across;

    use super::*;

    fn form(bias: &str) -> Form {
        let of = [
            ("supply", "250"),
            ("load-is", "resistor"),
            ("load", "47k"),
            ("bias-is", "cathode"),
            ("bias", bias),
            ("grid-resistor", "470k"),
        ];
        of.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect()
    }

    #[test]
    fn a_stage_over_a_tube_is_told_in_words() {
        let setting = Setting::read([("fault", "gas,1,1"), ("ig", "yes")]).unwrap();
        let judged = sweepbook_core::judge_among(&setting.sweep(true).unwrap(), &[]);
        let told = json(&Staged::of(&form("1k5"), |stage, swing| across(&[&judged], stage, swing)));
        assert!(told.contains("Its gas lifts the grid by") && told.contains("runs away from"), "{told}");
        assert!(told.contains("Over 2 of 2 sections"), "{told}");
        let wrong = json(&Staged::of(&form("<b>"), |stage, swing| across(&[&judged], stage, swing)));
        assert!(wrong.contains(r#"{"wrong":{"field":"bias""#), "{wrong}");
    }

    #[test]
    fn a_sum_is_told_or_refused_by_its_field() {
        let filled = r#"{"secondary":"9V","reservoir":"10000u","load-current":"1A"}"#;
        let told = sums_answer("supply", filled);
        assert!(told.contains(r#""figures":[{"#) && told.contains(r#""curve":{"#), "{told}");
        let wrong = sums_answer("supply", r#"{"secondary":"<b>","reservoir":"10000u","load-current":"1A"}"#);
        assert!(wrong.contains(r#""field":"secondary""#), "{wrong}");
        assert!(sums_answer("nothing", "{}").contains("wrong"));
        assert!(sums_forms().contains("heaters"));
    }
}
