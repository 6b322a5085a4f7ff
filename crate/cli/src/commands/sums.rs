//! `sweepbook sums`: the sums of the bench that go with a stage.

use std::collections::BTreeMap;

use serde::Serialize;
use sweepbook_core::sums::{Answer, SUMS_SCHEMA, answer, known};

use super::{Ending, Failure};
use crate::{readable, screen};

/// Work out a sum of the bench: heaters in a chain, a rectified heater supply, the trim range
/// of a current source, heater elevation.
///
/// Values as people write them: 4k7, 470 k, 6.3V, 300mA, 4700u, 100µF, 50Hz. Each answer names
/// its formula, its source, and what it leaves out. Exit code 2 where a value is missing or
/// cannot be.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    sum: Sum,
}

#[derive(Debug, clap::Subcommand)]
enum Sum {
    Heaters(Heaters),
    Supply(Supply),
    Source(Source),
    Elevation(Elevation),
}

/// Heaters in a chain: dropping resistor, each heater's voltage, the current at switch-on.
#[derive(Debug, clap::Args)]
struct Heaters {
    /// Supply, rms on AC (117V).
    #[arg(long, value_name = "V", allow_hyphen_values = true)]
    supply: Option<String>,
    /// The heaters from the resistor down to the grounded end: types of the handbook, or
    /// voltage and current ('12AX7@12.6V; 2x 35V/150mA; V3=6.3V/150mA').
    #[arg(long, value_name = "LIST", allow_hyphen_values = true)]
    heaters: Option<String>,
    /// Current of the chain; without it the smallest rated one, with shunts the largest.
    #[arg(long, value_name = "A", allow_hyphen_values = true)]
    current: Option<String>,
    /// Resistors beside heaters of less current: no or yes.
    #[arg(long, value_name = "CHOICE")]
    shunts: Option<String>,
    /// Print it as JSON (sweepbook/sums/1).
    #[arg(long)]
    json: bool,
}

/// A rectified and filtered heater supply: mean, ripple, currents, in the steady state.
#[derive(Debug, clap::Args)]
struct Supply {
    /// Voltage of the winding, rms; of each half with a centre tap.
    #[arg(long, value_name = "V", allow_hyphen_values = true)]
    secondary: Option<String>,
    /// bridge or centre-tap; without it a bridge.
    #[arg(long, value_name = "CHOICE")]
    rectifier: Option<String>,
    /// Drop of one diode; without it 0.8 V.
    #[arg(long, value_name = "V", allow_hyphen_values = true)]
    diode_drop: Option<String>,
    /// Mains frequency; without it 50 Hz.
    #[arg(long, value_name = "HZ", allow_hyphen_values = true)]
    frequency: Option<String>,
    /// Resistance of the winding with what the primary adds; without it 0.2 ohm.
    #[arg(long, value_name = "OHM", allow_hyphen_values = true)]
    winding_resistance: Option<String>,
    /// Reservoir (10000u).
    #[arg(long, value_name = "F", allow_hyphen_values = true)]
    reservoir: Option<String>,
    /// Resistor behind it.
    #[arg(long, value_name = "OHM", allow_hyphen_values = true)]
    filter_resistor: Option<String>,
    /// Second capacitor.
    #[arg(long, value_name = "F", allow_hyphen_values = true)]
    filter_capacitor: Option<String>,
    /// Current of the load.
    #[arg(long, value_name = "A", allow_hyphen_values = true)]
    load_current: Option<String>,
    /// Resistance of the load, instead of its current.
    #[arg(long, value_name = "OHM", allow_hyphen_values = true)]
    load_resistance: Option<String>,
    /// Print it as JSON (sweepbook/sums/1).
    #[arg(long)]
    json: bool,
}

/// Trim range of a current source from a JFET or a depletion-mode MOSFET.
#[derive(Debug, clap::Args)]
struct Source {
    /// The wanted current.
    #[arg(long, value_name = "A", allow_hyphen_values = true)]
    current: Option<String>,
    /// Least size of the pinch-off voltage.
    #[arg(long, value_name = "V", allow_hyphen_values = true)]
    pinch_off_min: Option<String>,
    /// Most size of it.
    #[arg(long, value_name = "V", allow_hyphen_values = true)]
    pinch_off_max: Option<String>,
    /// Least saturation current.
    #[arg(long, value_name = "A", allow_hyphen_values = true)]
    idss_min: Option<String>,
    /// Most of it.
    #[arg(long, value_name = "A", allow_hyphen_values = true)]
    idss_max: Option<String>,
    /// Highest voltage across device and resistor.
    #[arg(long, value_name = "V", allow_hyphen_values = true)]
    voltage: Option<String>,
    /// Fall of the current at which the least voltage is told; without it 5 %.
    #[arg(long, value_name = "PERCENT", allow_hyphen_values = true)]
    fall: Option<String>,
    /// Print it as JSON (sweepbook/sums/1).
    #[arg(long)]
    json: bool,
}

/// Elevation of a heater winding against the heater–cathode limits.
#[derive(Debug, clap::Args)]
struct Elevation {
    /// Heater voltage; without it 6.3 V.
    #[arg(long, value_name = "V", allow_hyphen_values = true)]
    heater: Option<String>,
    /// ac-middle, ac-end or dc: which point of the winding is elevated.
    #[arg(long, value_name = "CHOICE")]
    feed: Option<String>,
    /// The cathodes: name and voltage, perhaps a swing and a limit
    /// ('12AX7=1.5V; V2=150V±40V; V3=90V/180V'). A type has the handbook's limit.
    #[arg(long, value_name = "LIST", allow_hyphen_values = true)]
    cathodes: Option<String>,
    /// Heater–cathode limit of those that have none of their own.
    #[arg(long, value_name = "V", allow_hyphen_values = true)]
    limit: Option<String>,
    /// The elevation; without it the middle of what all allow.
    #[arg(long, value_name = "V", allow_hyphen_values = true)]
    elevation: Option<String>,
    /// Supply of a divider.
    #[arg(long, value_name = "V", allow_hyphen_values = true)]
    supply: Option<String>,
    /// Current of the divider; without it 2 mA.
    #[arg(long, value_name = "A", allow_hyphen_values = true)]
    divider_current: Option<String>,
    /// Upper resistor of a divider, instead of an elevation.
    #[arg(long, value_name = "OHM", allow_hyphen_values = true)]
    upper: Option<String>,
    /// Lower resistor.
    #[arg(long, value_name = "OHM", allow_hyphen_values = true)]
    lower: Option<String>,
    /// Print it as JSON (sweepbook/sums/1).
    #[arg(long)]
    json: bool,
}

/// The sum for machines.
#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    sum: &'a str,
    asked: &'a BTreeMap<String, String>,
    #[serde(flatten)]
    answer: &'a Answer,
}

impl Sum {
    /// Its name, what was written, and whether it is wanted as JSON.
    fn asked(&self) -> (&'static str, BTreeMap<String, String>, bool) {
        type Written<'a> = Vec<(&'static str, &'a Option<String>)>;
        let (sum, written, json): (_, Written<'_>, _) = match self {
            Self::Heaters(a) => (
                "heaters",
                vec![("supply", &a.supply), ("heaters", &a.heaters), ("current", &a.current), ("shunts", &a.shunts)],
                a.json,
            ),
            Self::Supply(a) => (
                "supply",
                vec![
                    ("secondary", &a.secondary),
                    ("rectifier", &a.rectifier),
                    ("diode-drop", &a.diode_drop),
                    ("frequency", &a.frequency),
                    ("winding-resistance", &a.winding_resistance),
                    ("reservoir", &a.reservoir),
                    ("filter-resistor", &a.filter_resistor),
                    ("filter-capacitor", &a.filter_capacitor),
                    ("load-current", &a.load_current),
                    ("load-resistance", &a.load_resistance),
                ],
                a.json,
            ),
            Self::Source(a) => (
                "source",
                vec![
                    ("current", &a.current),
                    ("pinch-off-min", &a.pinch_off_min),
                    ("pinch-off-max", &a.pinch_off_max),
                    ("idss-min", &a.idss_min),
                    ("idss-max", &a.idss_max),
                    ("voltage", &a.voltage),
                    ("fall", &a.fall),
                ],
                a.json,
            ),
            Self::Elevation(a) => (
                "elevation",
                vec![
                    ("heater", &a.heater),
                    ("feed", &a.feed),
                    ("cathodes", &a.cathodes),
                    ("limit", &a.limit),
                    ("elevation", &a.elevation),
                    ("supply", &a.supply),
                    ("divider-current", &a.divider_current),
                    ("upper", &a.upper),
                    ("lower", &a.lower),
                ],
                a.json,
            ),
        };
        let given = written.into_iter().filter_map(|(name, text)| Some((name.to_owned(), text.clone()?))).collect();
        (sum, given, json)
    }
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    let (sum, given, json) = args.sum.asked();
    let answer = match answer(sum, &given) {
        Ok(answer) => answer,
        Err(wrong) => {
            screen::say(&format!("sweepbook: --{}: {}. {}", wrong.field, wrong.what, wrong.mend));
            return Ok(Ending::WrongUsage);
        }
    };
    if json {
        let document = Document { schema: SUMS_SCHEMA, sum, asked: &given, answer: &answer };
        screen::print_json(&serde_json::to_string_pretty(&document)?)?;
    } else {
        let title = known().iter().find(|f| f.sum == sum).map_or(sum, |f| f.title);
        screen::print(&readable::sum(title, &answer, screen::width()))?;
    }
    Ok(Ending::Done)
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::{CommandFactory, Parser};

    #[derive(Parser)]
    struct Alone {
        #[command(flatten)]
        args: Args,
    }

    #[test]
    fn the_options_are_the_fields_of_the_forms() {
        let command = Alone::command();
        for form in known() {
            let sum = command.find_subcommand(form.sum).unwrap();
            let options: Vec<&str> =
                sum.get_arguments().filter_map(|a| a.get_long()).filter(|n| *n != "json").collect();
            let fields: Vec<&str> = form.fields.iter().map(|f| f.name).collect();
            assert_eq!(options, fields, "{}", form.sum);
            // And each goes where its name says.
            let line: Vec<String> = fields.iter().flat_map(|f| [format!("--{f}"), format!("<{f}>")]).collect();
            let parsed = Alone::try_parse_from(["sums", form.sum].into_iter().map(str::to_owned).chain(line)).unwrap();
            let (name, given, json) = parsed.args.sum.asked();
            assert_eq!((name, json, given.len()), (form.sum, false, fields.len()));
            assert!(given.iter().all(|(field, text)| *text == format!("<{field}>")), "{given:?}");
        }
    }
}
