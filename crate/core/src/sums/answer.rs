//! What a sum answers, and how it refuses.

use serde::Serialize;

/// The answer to a sum.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// The figures, the most wanted first.
    pub figures: Vec<Figure>,
    /// How they come about, in words.
    pub formula: String,
    /// Where formula and constants are from.
    pub source: String,
    /// What the sum does not take into account.
    pub leaves_out: String,
    /// What to beware of, sentences.
    pub cautions: Vec<String>,
    /// A curve where the sum has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub curve: Option<Curve>,
}

impl Answer {
    /// The value of the figure of that name.
    pub fn value(&self, name: &str) -> Option<f64> {
        self.figures.iter().find(|f| f.name == name).map(|f| f.value)
    }
}

/// One figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Figure {
    /// What it is of.
    pub name: String,
    /// The value in the unit; finite.
    pub value: f64,
    /// SI unit as reports have it: `V`, `A`, `ohm`, `W`, `s`, and `1` for shares.
    pub unit: &'static str,
    /// What it means here.
    pub says: String,
}

impl Figure {
    pub(super) fn new(name: impl Into<String>, value: f64, unit: &'static str, says: impl Into<String>) -> Self {
        Self { name: name.into(), value, unit, says: says.into() }
    }
}

/// A curve to be drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Curve {
    /// What runs to the right.
    pub x_name: &'static str,
    /// Its SI unit.
    pub x_unit: &'static str,
    /// What runs upwards.
    pub y_name: &'static str,
    /// Its SI unit.
    pub y_unit: &'static str,
    /// The points from left to right, SI, finite.
    pub points: Vec<[f64; 2]>,
}

/// Why a sum is refused.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
#[error("{field}: {what}. {mend}")]
pub struct Wrong {
    /// The field that it is about, as [`super::forms()`] names it.
    pub field: String,
    /// What is wrong, a clause.
    pub what: String,
    /// What to do, a sentence.
    pub mend: String,
}

impl Wrong {
    pub(super) fn new(field: &str, what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self { field: field.into(), what: what.into(), mend: mend.into() }
    }
}

/// The value, if it lies between the two bounds; else a refusal that names them.
pub(super) fn within(field: &str, value: f64, (least, most): (f64, f64), unit: &str) -> Result<f64, Wrong> {
    if value >= least && value <= most {
        return Ok(value);
    }
    let shown = |v: f64| crate::report::engineering(v, unit);
    let what = if value.is_finite() { shown(value) } else { "that".to_owned() };
    Err(Wrong::new(
        field,
        format!("{what} is outside of what this sum is made for"),
        format!("Give {} to {}.", shown(least), shown(most)),
    ))
}

/// `values` as `V` and the like with three figures.
pub(super) fn shown(value: f64, unit: &str) -> String {
    crate::report::engineering(value, unit)
}

/// A share in percent: `104 %`.
pub(super) fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent.abs() < 9.95 && percent != 0.0 { format!("{percent:.1} %") } else { format!("{percent:.0} %") }
}

/// The root of an increasing function between two bounds, by halving; the bound that is
/// nearest where there is none.
pub(super) fn rising_root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if f(middle) < 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Halvings after which a root is known to the last digits (by construction).
const HALVINGS: usize = 60;
