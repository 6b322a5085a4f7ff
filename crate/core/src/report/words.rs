//! Numbers as people on a bench write them.

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

#[cfg(test)]
mod tests {
    use super::engineering;

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
