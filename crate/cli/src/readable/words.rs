//! Values, verdicts and names in words.

use std::collections::HashMap;

use sweepbook_core::faults::Explanation;
pub use sweepbook_core::report::sentence;
use sweepbook_core::report::{self, At, Figure, Value, Verdict, engineering};

use super::sheet::{CYAN, Cell, GREEN, RED, YELLOW, tied};

/// The plain titles of the faults, and which are the bench's.
pub struct Titles(HashMap<String, (String, bool)>);

impl Titles {
    /// From the explanations.
    pub fn of(explanations: Vec<Explanation>) -> Self {
        Self(explanations.into_iter().map(|e| (e.name, (e.title, e.bench))).collect())
    }

    /// The title of a fault; its name in plain words where it has none.
    pub fn title(&self, fault: &str) -> String {
        self.0.get(fault).map_or_else(|| fault.replace('-', " "), |(title, _)| title.clone())
    }

    /// Where a finding is: its section, the bench, or the tube as a whole.
    pub fn place(&self, fault: &str, section: Option<&str>) -> String {
        report::place(section, self.0.get(fault).is_some_and(|(_, bench)| *bench))
    }
}

/// The word for a verdict in its colour.
pub fn verdict_cell(of: Verdict, shout: bool) -> Cell {
    let style = match of {
        Verdict::Accept => GREEN,
        Verdict::Restrict => YELLOW,
        Verdict::Retest => CYAN,
        Verdict::Reject => RED,
    };
    let word = of.name();
    Cell::styled(if shout { word.to_uppercase() } else { word.to_owned() }, style)
}

/// A value with its interval: `leakage resistance 1.02 MΩ (95 % interval 980 kΩ to 1.05 MΩ)`.
pub fn value(value: &Value) -> String {
    let number = |x: f64| tied(&engineering(x, &value.unit));
    let interval = match (value.low.filter(|x| x.is_finite()), value.high.filter(|x| x.is_finite())) {
        (Some(low), Some(high)) => format!("{} interval {} to {}", tied("95 %"), number(low), number(high)),
        (Some(low), None) => format!("{} sure to be above {}", tied("95 %"), number(low)),
        (None, Some(high)) => format!("{} sure to be below {}", tied("95 %"), number(high)),
        (None, None) => "no interval".into(),
    };
    format!("{} {} ({interval})", value.quantity, number(value.estimate))
}

/// A value without its interval: `leakage resistance 250 MΩ`.
pub fn size(value: &Value) -> String {
    format!("{} {}", value.quantity, tied(&engineering(value.estimate, &value.unit)))
}

/// A figure with its interval: `2.60 mS (2.50 mS to 2.70 mS)`.
pub fn figure(figure: &Figure) -> String {
    let number = |x: f64| engineering(x, &figure.unit);
    format!("{} ({} to {})", number(figure.estimate), number(figure.low), number(figure.high))
}

/// An operating point: `Va 250 V, Vg -8.00 V`.
pub fn at(at: &At) -> String {
    format!("Va {}, Vg {}", engineering(at.va, "V"), engineering(at.vg, "V"))
}

/// A number of things: `1 tube`, `14 tubes`.
pub fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}
