//! A stage as a form has it: texts under names, as people write values.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{Bias, Entered, Load, Stage, entered};

/// Why a form is no stage.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
#[error("{field}: {what}")]
pub struct BadStage {
    /// The field.
    pub field: String,
    /// What is wrong, and how to write it.
    pub what: String,
}

/// The stage of a form, and the output at which distortion is told, V peak. Fields: `supply`,
/// `load-is` (resistor, source, choke) with `load`, `bias-is` (cathode, unbypassed, fixed,
/// sink) with `bias`, `into` and `swing` or nothing, `grid-resistor`.
///
/// # Errors
/// The first field that cannot be.
pub fn asked(given: &BTreeMap<String, String>) -> Result<(Stage, Option<f64>), BadStage> {
    let text = |field: &str| given.get(field).map_or("", |t| t.trim());
    let bad = |field: &str, what: &str| BadStage { field: field.to_owned(), what: what.to_owned() };
    let value = |field: &str, of: Entered, example: &str| {
        entered(text(field), of).filter(|v| v.is_finite()).ok_or_else(|| bad(field, &format!("write it as {example}")))
    };
    let above = |field: &str, of: Entered, example: &str| {
        let found = value(field, of, example)?;
        if found > 0.0 { Ok(found) } else { Err(bad(field, "it has to be above 0")) }
    };
    let maybe = |field: &str, of: Entered, example: &str| {
        if text(field).is_empty() { Ok(None) } else { above(field, of, example).map(Some) }
    };
    let load = match text("load-is") {
        "resistor" => Load::Resistor { ohm: above("load", Entered::Ohms, "47k")? },
        "source" => Load::CurrentSource { ampere: above("load", Entered::Amperes, "5mA")? },
        "choke" => Load::Choke { ohm: value("load", Entered::Ohms, "200")?.max(0.0) },
        _ => return Err(bad("load-is", "resistor, source or choke")),
    };
    let bias = match text("bias-is") {
        is @ ("cathode" | "unbypassed") => {
            Bias::Cathode { ohm: above("bias", Entered::Ohms, "1k5")?, bypassed: is == "cathode" }
        }
        "fixed" => Bias::Fixed { volt: value("bias", Entered::Volts, "-8V")? },
        "sink" => Bias::Sink { ampere: above("bias", Entered::Amperes, "5mA")? },
        _ => return Err(bad("bias-is", "cathode, unbypassed, fixed or sink")),
    };
    let stage = Stage {
        supply: above("supply", Entered::Volts, "250V")?,
        load,
        bias,
        following: maybe("into", Entered::Ohms, "470k, or leave it empty")?,
        grid_resistor: above("grid-resistor", Entered::Ohms, "470k")?,
    };
    Ok((stage, maybe("swing", Entered::Volts, "20V, or leave it empty")?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(of: &[(&str, &str)]) -> BTreeMap<String, String> {
        let usual = [
            ("supply", "250"),
            ("load-is", "resistor"),
            ("load", "47k"),
            ("bias-is", "cathode"),
            ("bias", "1k5"),
            ("grid-resistor", "470 k"),
        ];
        usual.iter().chain(of).map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect()
    }

    #[test]
    fn a_form_is_a_stage() {
        let (stage, swing) = asked(&form(&[("swing", "20V"), ("into", "1M")])).unwrap();
        assert_eq!((stage.load, swing, stage.following), (Load::Resistor { ohm: 47e3 }, Some(20.0), Some(1e6)));
        let (stage, swing) =
            asked(&form(&[("load-is", "source"), ("load", "5mA"), ("bias-is", "fixed"), ("bias", "-8")])).unwrap();
        assert_eq!(
            (stage.load, stage.bias, swing),
            (Load::CurrentSource { ampere: 5e-3 }, Bias::Fixed { volt: -8.0 }, None)
        );
    }

    #[test]
    fn what_cannot_be_is_named_with_how_to_write_it() {
        for (field, text) in [
            ("supply", ""),
            ("supply", "-1"),
            ("load", "five"),
            ("load-is", ""),
            ("bias", "0"),
            ("bias-is", "tied"),
            ("into", "x"),
            ("swing", "0"),
            ("grid-resistor", "1e999"),
        ] {
            assert_eq!(asked(&form(&[(field, text)])).unwrap_err().field, field, "{text}");
        }
    }
}
