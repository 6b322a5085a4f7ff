//! `sweepbook lot`: which tubes of a lot belong together, and which are odd.

use serde::Serialize;
use sweepbook_core::intake::Unread;
use sweepbook_core::kin::lot::{Comparison, Member, TRAITS, compare};
use sweepbook_core::report::Verdict;
use sweepbook_core::sampling::{AQLS, Batch};
use sweepbook_core::sweep::Lot;

use super::{Ending, Failure};
use crate::{readable, screen, work};

/// Compare the tubes of a lot with each other.
///
/// Finds the groups in it (two makes, two production runs) and the tubes that are odd
/// among their mates, for each type on the labels, from five tubes up. Exit codes as for
/// `triage`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    sweeps: super::SweepArgs,
    /// How many tubes were bought: says whether the batch is taken or sent back as a whole,
    /// by single sampling (MIL-STD-105E, ISO 2859-1; general level II, normal inspection).
    /// A tube whose verdict is reject is faulty, one to be measured again is open.
    #[arg(long, value_name = "N")]
    bought: Option<usize>,
    /// The acceptable quality level, percent of faulty tubes: 0.65, 1, 1.5, 2.5, 4, 6.5, 10 or 15.
    #[arg(long, value_name = "PERCENT", default_value = "4", value_parser = aql)]
    aql: f64,
    /// Print the comparison as JSON (sweepbook/lot/1).
    #[arg(long)]
    json: bool,
}

/// The comparison for machines.
#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    /// Names and units of the figures, in the order in which each tube has them.
    figures: Vec<Figure>,
    #[serde(flatten)]
    comparison: &'a Comparison,
    /// What comes of the batch; absent where it was not said how many were bought.
    #[serde(skip_serializing_if = "Option::is_none")]
    batch: Option<Batch>,
    unread: &'a [Unread],
}

#[derive(Serialize)]
struct Figure {
    name: &'static str,
    unit: &'static str,
}

fn aql(text: &str) -> Result<f64, String> {
    let value = text.parse::<f64>().ok().filter(|v| AQLS.contains(v));
    value.ok_or_else(|| format!("the table has {}", AQLS.map(|a| a.to_string()).join(", ")))
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    let (tubes, unread) = args.sweeps.read();
    let lot = Lot { tubes };
    let (members, batch): (Vec<Member>, _) = match args.bought {
        // Without it no verdict is asked for.
        None => (work::each(&lot, sweepbook_core::member_among), None),
        Some(bought) => {
            let judged = work::each(&lot, sweepbook_core::judge_among);
            let count = |verdicts: &[Verdict]| judged.iter().filter(|j| verdicts.contains(&j.report.verdict)).count();
            let (faulty, sound) = (count(&[Verdict::Reject]), count(&[Verdict::Accept, Verdict::Restrict]));
            let batch = Batch::of(bought, args.aql, faulty, sound);
            (judged.into_iter().map(|j| j.member).collect(), batch)
        }
    };
    let comparison = compare(&members);
    if args.json {
        let figures = TRAITS.iter().map(|t| Figure { name: t.name, unit: t.unit }).collect();
        let document =
            Document { schema: "sweepbook/lot/1", figures, comparison: &comparison, batch, unread: unread.as_slice() };
        screen::print_json(&serde_json::to_string_pretty(&document)?)?;
    } else {
        screen::print(&readable::comparison(&comparison, screen::width()))?;
        if let Some(batch) = batch {
            screen::print(&readable::paragraph(&batch.says(), screen::width()))?;
        }
    }
    Ok(super::told(&unread))
}
