//! `sweepbook lot`: which tubes of a lot belong together, and which are odd.

use serde::Serialize;
use sweepbook_core::intake::Unread;
use sweepbook_core::kin::lot::{Comparison, TRAITS, compare};
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
    unread: &'a [Unread],
}

#[derive(Serialize)]
struct Figure {
    name: &'static str,
    unit: &'static str,
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    let (tubes, unread) = args.sweeps.read();
    let comparison = compare(&work::each(&Lot { tubes }, sweepbook_core::member_among));
    if args.json {
        let figures = TRAITS.iter().map(|t| Figure { name: t.name, unit: t.unit }).collect();
        let document =
            Document { schema: "sweepbook/lot/1", figures, comparison: &comparison, unread: unread.as_slice() };
        screen::print_json(&serde_json::to_string_pretty(&document)?)?;
    } else {
        screen::print(&readable::comparison(&comparison, screen::width()))?;
    }
    Ok(super::told(&unread))
}
