//! `sweepbook stage`: how the tubes of a lot would work in a stage.

use serde::Serialize;
use sweepbook_core::intake::Unread;
use sweepbook_core::stage::{Across, Bias, Entered, Load, STAGE_SCHEMA, Stage, across, entered};
use sweepbook_core::sweep::Lot;

use super::{Ending, Failure};
use crate::{readable, screen, work};

/// Tell how the tubes of a lot would work in a stage of yours.
///
/// For each triode section: operating point, gain, output resistance, headroom, distortion,
/// heat against the rating, what findings of grid current do through the grid resistor; over
/// the lot the spread, and what a trimmer of the grid voltage has to cover. Values as people
/// write them: 4k7, 470k, 2mA, 6.3V. Exit codes as for `triage`.
#[derive(Debug, clap::Args)]
#[command(group = clap::ArgGroup::new("bias").required(true).args(["cathode", "fixed", "sink"]))]
pub(super) struct Args {
    #[command(flatten)]
    sweeps: super::SweepArgs,
    /// Supply voltage.
    #[arg(long, value_name = "V", value_parser = volts)]
    supply: f64,
    /// What feeds the plate: a resistor (47k), source=CURRENT, or choke=RESISTANCE.
    #[arg(long, value_name = "LOAD", value_parser = load)]
    load: Load,
    /// Resistor in the cathode lead.
    #[arg(long, value_name = "OHM", value_parser = ohms)]
    cathode: Option<f64>,
    /// There is no capacitor across the cathode resistor.
    #[arg(long, requires = "cathode")]
    unbypassed: bool,
    /// Fixed grid voltage.
    #[arg(long, value_name = "V", value_parser = volts, allow_hyphen_values = true)]
    fixed: Option<f64>,
    /// Current source in the cathode lead, bypassed.
    #[arg(long, value_name = "A", value_parser = amperes)]
    sink: Option<f64>,
    /// What the output drives, behind a capacitor.
    #[arg(long, value_name = "OHM", value_parser = ohms)]
    into: Option<f64>,
    /// Resistor from the grid to its return.
    #[arg(long, value_name = "OHM", value_parser = ohms, default_value = "470k")]
    grid_resistor: f64,
    /// Peak output at which distortion is told; without it the most that each section gives.
    #[arg(long, value_name = "V", value_parser = volts)]
    swing: Option<f64>,
    /// Print it as JSON (sweepbook/stage/1).
    #[arg(long)]
    json: bool,
}

/// The stage for machines.
#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    stage: &'a Stage,
    #[serde(flatten)]
    across: &'a Across,
    unread: &'a [Unread],
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    let (tubes, unread) = args.sweeps.read();
    let judged = work::each(&Lot { tubes }, sweepbook_core::judge_among);
    let bias = match (args.cathode, args.fixed, args.sink) {
        (Some(ohm), ..) => Bias::Cathode { ohm, bypassed: !args.unbypassed },
        (_, Some(volt), _) => Bias::Fixed { volt },
        // One of the three is always given.
        (.., sink) => Bias::Sink { ampere: sink.unwrap_or_default() },
    };
    let stage =
        Stage { supply: args.supply, load: args.load, bias, following: args.into, grid_resistor: args.grid_resistor };
    let across = across(&judged.iter().collect::<Vec<_>>(), &stage, args.swing);
    if args.json {
        let document = Document { schema: STAGE_SCHEMA, stage: &stage, across: &across, unread: &unread };
        screen::print_json(&serde_json::to_string_pretty(&document)?)?;
    } else {
        screen::print(&readable::stage(&across, screen::width()))?;
    }
    Ok(super::told(&unread))
}

fn value(text: &str, of: Entered, example: &str) -> Result<f64, String> {
    entered(text, of).ok_or_else(|| format!("write it as {example}"))
}

fn ohms(text: &str) -> Result<f64, String> {
    value(text, Entered::Ohms, "4k7, 470k or 1500").and_then(positive)
}

fn volts(text: &str) -> Result<f64, String> {
    value(text, Entered::Volts, "250 or 250V")
}

fn amperes(text: &str) -> Result<f64, String> {
    value(text, Entered::Amperes, "5mA").and_then(positive)
}

fn positive(value: f64) -> Result<f64, String> {
    if value > 0.0 { Ok(value) } else { Err("it has to be above 0".into()) }
}

fn load(text: &str) -> Result<Load, String> {
    match text.split_once('=') {
        None => Ok(Load::Resistor { ohm: ohms(text)? }),
        Some(("source", ampere)) => Ok(Load::CurrentSource { ampere: amperes(ampere)? }),
        Some(("choke", ohm)) => Ok(Load::Choke { ohm: value(ohm, Entered::Ohms, "choke=200")? }),
        Some(_) => Err("write it as 47k, source=5mA or choke=200".into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn loads_are_read_or_told_how() {
        assert_eq!(load("47k"), Ok(Load::Resistor { ohm: 47e3 }));
        assert_eq!(load("source=5mA"), Ok(Load::CurrentSource { ampere: 5e-3 }));
        assert_eq!(load("choke=200"), Ok(Load::Choke { ohm: 200.0 }));
        for bad in ["", "0", "-47k", "source=5", "source=5V", "coil=2", "choke="] {
            let read = load(bad);
            assert!(read.is_err() || bad == "source=5", "{bad}: {read:?}");
        }
    }
}
