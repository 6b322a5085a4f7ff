//! Values as people write them: `4k7`, `470 k`, `6.3V`, `1M5`, `2mA`, `4700u`, `4n7`, `50Hz`.

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
    /// Farads. `mF` is none of theirs: old drawings mean microfarads by it.
    Farads,
    /// Hertz.
    Hertz,
    /// Watts.
    Watts,
}

/// A value in SI; `None` where it is none. A letter may stand in the place of the decimal
/// mark, as IEC 60062 writes resistors and capacitors (`4k7`, `1M5`, `4R7`, `4n7`); a decimal
/// comma is understood.
pub fn entered(text: &str, of: Entered) -> Option<f64> {
    let text = text.trim().replace(',', ".").replace('\u{2212}', "-");
    let dimension = match of {
        Entered::Volts => Dimension::Voltage,
        Entered::Amperes => Dimension::Current,
        Entered::Ohms => Dimension::Resistance,
        Entered::Farads => Dimension::Capacitance,
        Entered::Hertz => Dimension::Frequency,
        Entered::Watts => Dimension::Power,
    };
    coded(&text, of).or_else(|| quantity(&text, dimension))
}

/// Digits, a letter, digits.
fn coded(text: &str, of: Entered) -> Option<f64> {
    let (at, letter) = text.char_indices().find(|(_, c)| c.is_alphabetic())?;
    let (whole, decimals) = (&text[..at], &text[at + letter.len_utf8()..]);
    let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
    if !digits(whole) || !digits(decimals) {
        return None;
    }
    let exponent = match (letter, of) {
        ('R', Entered::Ohms) | ('V', Entered::Volts) | ('A', Entered::Amperes) | ('W', Entered::Watts) => 0,
        ('F', Entered::Farads) => 0,
        ('k' | 'K', Entered::Ohms) => 3,
        ('M', Entered::Ohms) => 6,
        ('u' | 'µ' | 'μ', Entered::Farads) => -6,
        ('n', Entered::Farads) => -9,
        ('p', Entered::Farads) => -12,
        _ => return None,
    };
    format!("{whole}.{decimals}e{exponent}").parse().ok()
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
            ("1A5", Entered::Amperes, 1.5),
            ("4700u", Entered::Farads, 4.7e-3),
            ("100µF", Entered::Farads, 100e-6),
            ("4n7", Entered::Farads, 4.7e-9),
            ("2µ2", Entered::Farads, 2.2e-6),
            ("220 nF", Entered::Farads, 220e-9),
            ("0,1 F", Entered::Farads, 0.1),
            ("50Hz", Entered::Hertz, 50.0),
            ("20 kHz", Entered::Hertz, 20e3),
            ("60", Entered::Hertz, 60.0),
            ("0W5", Entered::Watts, 0.5),
            ("250mW", Entered::Watts, 0.25),
            ("1.5kW", Entered::Watts, 1500.0),
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
            ("100mF", Entered::Farads),
            ("4k7", Entered::Farads),
            ("4n7", Entered::Ohms),
            ("50 F", Entered::Hertz),
            ("2A", Entered::Watts),
            ("1é5", Entered::Farads),
        ] {
            assert_eq!(entered(text, of), None, "{text}");
        }
    }
}
