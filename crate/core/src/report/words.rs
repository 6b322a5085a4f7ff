//! Numbers as people on a bench write them.

use super::{At, Figure, Value};
use crate::figure::{minus, volts};

/// A value with an SI prefix and unit to three figures: `4.70 MΩ`, `12.5 mA`.
///
/// The unit is the report's: `ohm` is shown as Ω, `1` as nothing.
pub fn engineering(value: f64, unit: &str) -> String {
    let shown = match unit {
        "ohm" => "Ω",
        "1" => "",
        other => other,
    };
    if value == 0.0 {
        return format!("0 {shown}").trim_end().to_owned();
    }
    if !value.is_finite() {
        return "no bound".to_owned();
    }
    if unit == "1" {
        return three_figures(value);
    }
    let (scale, prefix) = prefix(value);
    // Rounding can carry into the next prefix: 999.96 Ω is 1.00 kΩ.
    let rounded: f64 = format!("{:.2e}", value / scale).parse().unwrap_or(value / scale);
    if rounded.abs() >= 1000.0 && scale < 1e9 {
        let (scale, prefix) = self::prefix(value.signum() * scale * 1000.0);
        return format!("{} {prefix}{shown}", three_figures(value / scale));
    }
    format!("{} {prefix}{shown}", three_figures(value / scale))
}

fn prefix(value: f64) -> (f64, &'static str) {
    const PREFIXES: [(f64, &str); 7] =
        [(1e9, "G"), (1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n")];
    PREFIXES.into_iter().find(|(scale, _)| value.abs() >= *scale).unwrap_or((1e-12, "p"))
}

fn three_figures(value: f64) -> String {
    let magnitude = value.abs();
    // The exponent after rounding to three figures.
    let exponent: i32 = format!("{magnitude:.2e}").rsplit('e').next().and_then(|e| e.parse().ok()).unwrap_or(0);
    if (-3..6).contains(&exponent) {
        let decimals = usize::try_from(2 - exponent).unwrap_or(0);
        format!("{value:.decimals$}")
    } else {
        format!("{value:.2e}")
    }
}

/// A number with its unit, with a printed minus, never broken at the line's end.
pub fn number(value: f64, unit: &str) -> String {
    tied(&match unit {
        "V" => volts(value),
        _ => minus(&engineering(value, unit)),
    })
}

/// The text with no place to break it.
pub fn tied(text: &str) -> String {
    text.replace(' ', "\u{a0}")
}

/// The interval of a value, in words; `None` where it has none.
pub fn interval(value: &Value) -> Option<String> {
    let shown = |x: f64| number(x, &value.unit);
    match (value.low.filter(|x| x.is_finite()), value.high.filter(|x| x.is_finite())) {
        (Some(low), Some(high)) => Some(format!("{} to {}", shown(low), shown(high))),
        (Some(low), None) => Some(format!("at least {}", shown(low))),
        (None, Some(high)) => Some(format!("at most {}", shown(high))),
        (None, None) => None,
    }
}

/// The interval of a section's figure.
pub fn figure_interval(figure: &Figure) -> String {
    format!("{} to {}", number(figure.low, &figure.unit), number(figure.high, &figure.unit))
}

/// An operating point.
pub fn at(at: &At) -> String {
    format!("{}, {}", tied(&format!("Va {}", volts(at.va))), tied(&format!("Vg {}", volts(at.vg))))
}

/// The text with a full stop at its end, unless it ends a sentence already.
pub fn sentence(text: &str) -> String {
    let text = text.trim();
    if text.is_empty() || text.ends_with(['.', '!', '?', ':']) { text.to_owned() } else { format!("{text}.") }
}

/// Where a finding is: its section, the bench, or the tube as a whole.
pub fn place(section: Option<&str>, bench: bool) -> String {
    match section {
        Some(section) => format!("section {section}"),
        None if bench => "the bench".into(),
        None => "the whole tube".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(low: Option<f64>, high: Option<f64>) -> Value {
        Value { quantity: "leakage resistance".into(), unit: "ohm".into(), estimate: 661e3, low, high }
    }

    #[test]
    fn open_intervals_say_which_end_is_known() {
        assert_eq!(interval(&value(Some(640e3), Some(684e3))).as_deref(), Some("640\u{a0}kΩ to 684\u{a0}kΩ"));
        assert_eq!(interval(&value(Some(640e3), None)).as_deref(), Some("at least 640\u{a0}kΩ"));
        assert_eq!(interval(&value(None, Some(684e3))).as_deref(), Some("at most 684\u{a0}kΩ"));
        assert_eq!(interval(&value(None, Some(f64::INFINITY))), None);
    }

    #[test]
    fn values_read_as_on_a_bench() {
        for (value, unit, expected) in [
            (4_700_000.0, "ohm", "4.70 MΩ"),
            (0.0125, "A", "12.5 mA"),
            (-3.2e-6, "A", "-3.20 µA"),
            (999.96, "ohm", "1.00 kΩ"),
            (0.0, "A", "0 A"),
            (2.13e-3, "1", "0.00213"),
            (6.2e-5, "1", "6.20e-5"),
            (250.0, "V", "250 V"),
            (20.13, "1", "20.1"),
        ] {
            assert_eq!(engineering(value, unit), expected);
        }
    }
}
