//! What is published beside what was found.

use crate::handbook::{self, Handbook, Limits, Value};
use crate::report::number;

/// A published figure that a finding is held against.
#[derive(Debug, Clone, PartialEq)]
pub struct Published {
    /// What it is, with its number.
    pub says: String,
    /// Where it is from.
    pub source: String,
    /// Whether a maker's or a specification's sheet was read for it.
    pub verified: bool,
}

/// The limit that a fault of a type is held against; `None` where the handbook has none.
pub fn published(fault: &str, kind: Option<&str>) -> Option<Published> {
    type Pick = fn(&Limits) -> Option<&Value>;
    let (words, pick, unit): (&str, Pick, &str) = match fault {
        "plate-cathode-leakage" | "plate-grid-leakage" | "grid-cathode-leakage" => {
            ("least insulation between electrodes", |l| l.insulation.as_ref(), "ohm")
        }
        "gas" | "grid-emission" => {
            ("largest reverse grid current at the usual point", |l| l.grid_current.as_ref(), "A")
        }
        "heater-cathode-leakage" => {
            ("largest heater\u{2013}cathode leakage at 100 V", |l| l.heater_cathode.as_ref(), "A")
        }
        "section-mismatch" => {
            ("largest difference of plate current between equal sections", |l| l.balance.as_ref(), "%")
        }
        "low-emission" => {
            ("end of life: transconductance against the published figure", |l| l.end_of_life.as_ref(), "%")
        }
        _ => return None,
    };
    let limits = Handbook::shipped().limits(handbook::find(kind?)?);
    let value = pick(&limits)?;
    let size = match unit {
        "%" => format!("{:.0}\u{a0}%", 100.0 * value.value),
        unit => number(value.value, unit),
    };
    Some(Published {
        says: format!("{words}: {size}"),
        source: value.source.citation.clone(),
        verified: value.is_verified(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_says_where_it_is_from() {
        let limit = published("plate-grid-leakage", Some("12AX7")).unwrap();
        assert!(limit.says.contains("insulation") && limit.says.contains('Ω') && !limit.source.is_empty());
        assert_eq!(published("uneven-grid", Some("12AX7")), None);
        assert_eq!(published("gas", Some("no such type")), None);
        assert_eq!(published("gas", None), None);
    }
}
