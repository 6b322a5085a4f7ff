//! Numbers and names as the figure writes and speaks them.

use crate::report::engineering;

/// A hyphen before a number as the minus sign of print.
pub fn minus(text: &str) -> String {
    text.replace('-', "\u{2212}")
}

/// A voltage as read off a meter: volts, never millivolts, no trailing zeros.
pub fn volts(value: f64) -> String {
    let decimals = if value.abs() >= 100.0 { 1 } else { 2 };
    let text = format!("{value:.decimals$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    let text = if text == "-0" { "0" } else { text };
    format!("{} V", minus(text))
}

/// A current to three figures.
pub fn amperes(value: f64) -> String {
    minus(&engineering(value, "A"))
}

/// The unit a current axis is labelled in: its factor to ampere and its name.
pub fn current_unit(largest: f64) -> (f64, &'static str) {
    match largest {
        a if a >= 1e-3 => (1e-3, "mA"),
        a if a >= 1e-6 => (1e-6, "µA"),
        _ => (1e-9, "nA"),
    }
}

/// A clause with its first letter large.
pub fn capital(text: &str) -> String {
    let mut rest = text.chars();
    rest.next().map_or_else(String::new, |first| first.to_uppercase().chain(rest).collect())
}

/// At most `most` characters of a name.
pub fn short(name: &str, most: usize) -> String {
    if name.chars().count() <= most {
        return name.to_owned();
    }
    let mut text: String = name.chars().take(most.saturating_sub(1)).collect();
    text.push('…');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn voltages_read_as_on_a_meter() {
        for (value, expected) in [
            (-8.0, "−8 V"),
            (-0.5, "−0.5 V"),
            (199.87, "199.9 V"),
            (-0.001, "0 V"),
            (12.25, "12.25 V"),
            (300.0, "300 V"),
        ] {
            assert_eq!(volts(value), expected);
        }
    }

    #[test]
    fn long_names_are_cut_between_characters() {
        assert_eq!(short("Überlang", 4), "Übe…");
        assert_eq!(short("A", 4), "A");
    }
}
