//! Units as people write them.

/// What a column or a metadata line is measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Dimension {
    Voltage,
    Current,
    Resistance,
    Time,
    Capacitance,
    Frequency,
    Power,
    Number,
}

impl Dimension {
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Voltage => "voltage",
            Self::Current => "current",
            Self::Resistance => "resistance",
            Self::Time => "time",
            Self::Capacitance => "capacitance",
            Self::Frequency => "frequency",
            Self::Power => "power",
            Self::Number => "number",
        }
    }
}

/// The factor that turns a number in `unit` into SI; `None` where the unit is
/// not one of that dimension. Prefixes are those of the SI brochure; `u` is the
/// usual stand-in for µ.
pub(super) fn factor(unit: &str, dimension: Dimension) -> Option<f64> {
    let unit = unit.trim();
    let (base, rest): (&[&str], _) = match dimension {
        Dimension::Voltage => (&["volts", "volt", "V", "v"], unit),
        Dimension::Current => (&["amperes", "ampere", "amps", "amp", "A", "a"], unit),
        Dimension::Resistance => (&["ohms", "ohm", "Ohm", "OHM", "Ω", "Ω", ""], unit),
        Dimension::Time => (&["seconds", "sec", "s"], unit),
        Dimension::Capacitance => (&["farads", "farad", "F", "f", ""], unit),
        Dimension::Frequency => (&["hertz", "Hertz", "Hz", "hz"], unit),
        Dimension::Power => (&["watts", "watt", "W", "w"], unit),
        Dimension::Number => (&["", "1"], unit),
    };
    base.iter().find_map(|name| rest.strip_suffix(name).and_then(|p| prefix(p.trim(), dimension)))
}

fn prefix(text: &str, dimension: Dimension) -> Option<f64> {
    let small = matches!(dimension, Dimension::Current | Dimension::Capacitance);
    let large =
        matches!(dimension, Dimension::Voltage | Dimension::Resistance | Dimension::Frequency | Dimension::Power);
    Some(match text {
        "" => 1.0,
        "n" | "nano" if small => 1e-9,
        "p" | "pico" if small => 1e-12,
        "u" | "µ" | "μ" | "micro" if !matches!(dimension, Dimension::Resistance | Dimension::Frequency) => 1e-6,
        // Old drawings write microfarads as mF: there it is refused.
        "m" | "milli"
            if !matches!(dimension, Dimension::Resistance | Dimension::Frequency | Dimension::Capacitance) =>
        {
            1e-3
        }
        "k" | "K" | "kilo" if large => 1e3,
        "M" | "Meg" | "meg" | "mega" if dimension == Dimension::Resistance => 1e6,
        "G" if dimension == Dimension::Resistance => 1e9,
        _ => return None,
    })
}

/// A number in SI. Divides for the small prefixes, whose reciprocals are exact,
/// so that `0.9 mA` is the same number as `0.0009 A`.
pub(super) fn to_si(value: f64, factor: f64) -> f64 {
    if factor < 1.0 { value / (1.0 / factor).round() } else { value * factor }
}

/// A number with its unit, as in `6.3 V`, `10 kohm`, `1M`; a bare number is in
/// the base unit.
pub(crate) fn quantity(text: &str, dimension: Dimension) -> Option<f64> {
    let text = text.trim();
    let end = text
        .char_indices()
        .find(|&(i, c)| {
            let exponent =
                matches!(c, 'e' | 'E') && text[i + 1..].starts_with(|d: char| d.is_ascii_digit() || d == '-');
            !(c.is_ascii_digit() || matches!(c, '.' | '+' | '-') || exponent)
        })
        .map_or(text.len(), |(i, _)| i);
    let value: f64 = text[..end].trim().parse().ok()?;
    let unit = text[end..].trim();
    let factor = if unit.is_empty() { 1.0 } else { factor(unit, dimension)? };
    Some(to_si(value, factor)).filter(|v| v.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_as_people_write_them() {
        for (text, dimension, expected) in [
            ("6.3 V", Dimension::Voltage, 6.3),
            ("500mV", Dimension::Voltage, 0.5),
            ("10 kohm", Dimension::Resistance, 1e4),
            ("10k", Dimension::Resistance, 1e4),
            ("1 MΩ", Dimension::Resistance, 1e6),
            ("1e4 ohm", Dimension::Resistance, 1e4),
            ("0", Dimension::Resistance, 0.0),
            ("25 mA", Dimension::Current, 0.025),
            ("5 µA", Dimension::Current, 5e-6),
            ("100 µF", Dimension::Capacitance, 1e-4),
            ("470p", Dimension::Capacitance, 4.7e-10),
            ("60 Hz", Dimension::Frequency, 60.0),
            ("250mW", Dimension::Power, 0.25),
        ] {
            let found = quantity(text, dimension).unwrap();
            assert!((found - expected).abs() <= 1e-12 * expected.abs(), "{text}: {found}");
        }
    }

    #[test]
    fn a_unit_of_another_dimension_is_refused() {
        assert_eq!(quantity("6.3 A", Dimension::Voltage), None);
        assert_eq!(quantity("5 bar", Dimension::Current), None);
        assert_eq!(factor("V", Dimension::Current), None);
        assert_eq!(factor("mohm", Dimension::Resistance), None);
        assert_eq!(factor("mF", Dimension::Capacitance), None);
    }
}
