//! Values as people write them: `4k7`, `470 k`, `6.3V`, `1M5`, `2mA`.

use crate::intake::{Dimension, quantity};

/// What a value is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Entered {
    /// Volts.
    Volts,
    /// Amperes.
    Amperes,
    /// Ohms.
    Ohms,
}

/// A value in SI; `None` where it is none. A letter may stand in the place of the decimal
/// mark, as IEC 60062 writes resistors (`4k7`, `1M5`, `4R7`); a decimal comma is understood.
pub fn entered(text: &str, of: Entered) -> Option<f64> {
    let text = text.trim().replace(',', ".").replace('\u{2212}', "-");
    let dimension = match of {
        Entered::Volts => Dimension::Voltage,
        Entered::Amperes => Dimension::Current,
        Entered::Ohms => Dimension::Resistance,
    };
    coded(&text, of).or_else(|| quantity(&text, dimension))
}

/// Digits, a letter, digits.
fn coded(text: &str, of: Entered) -> Option<f64> {
    let at = text.find(|c: char| c.is_ascii_alphabetic())?;
    let (whole, rest) = text.split_at(at);
    let (letter, decimals) = rest.split_at(1);
    let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
    if !digits(whole) || !digits(decimals) {
        return None;
    }
    let factor = match (letter, of) {
        ("R", Entered::Ohms) | ("V", Entered::Volts) | ("A", Entered::Amperes) => 1.0,
        ("k" | "K", Entered::Ohms) => 1e3,
        ("M", Entered::Ohms) => 1e6,
        _ => return None,
    };
    Some(format!("{whole}.{decimals}").parse::<f64>().ok()? * factor)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_read_as_people_write_them() {
        for (text, of, expected) in [
            ("4k7", Entered::Ohms, 4700.0),
            ("470 k", Entered::Ohms, 470e3),
            ("1M5", Entered::Ohms, 1.5e6),
            ("4R7", Entered::Ohms, 4.7),
            ("1500", Entered::Ohms, 1500.0),
            ("2,2k", Entered::Ohms, 2200.0),
            ("6.3V", Entered::Volts, 6.3),
            ("6V3", Entered::Volts, 6.3),
            ("\u{2212}8", Entered::Volts, -8.0),
            ("2 mA", Entered::Amperes, 2e-3),
        ] {
            let found = entered(text, of).unwrap();
            assert!((found - expected).abs() < 1e-9 * expected.abs(), "{text}: {found}");
        }
        for (text, of) in [
            ("4k7", Entered::Volts),
            ("", Entered::Ohms),
            ("k", Entered::Ohms),
            ("5 bar", Entered::Volts),
            ("1e999", Entered::Ohms),
        ] {
            assert_eq!(entered(text, of), None, "{text}");
        }
    }
}
