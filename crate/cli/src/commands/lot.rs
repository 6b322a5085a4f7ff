//! `sweepbook lot`: which tubes of a lot belong together, and which are odd.

use std::path::PathBuf;

use serde::Serialize;
use sweepbook_core::intake::Unread;
use sweepbook_core::kin::lot::{Comparison, Member, TRAITS, compare};

use super::{Ending, Failure, triage};
use crate::{lot, readable, screen};

/// Compare the tubes of a lot with each other.
///
/// Finds the groups in it (two makes, two production runs) and the tubes that are odd
/// among their mates, for each type on the labels, from five tubes up. Exit codes as for
/// `triage`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Files, or folders: a folder stands for the tables, spreadsheets and archives in it.
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,
    #[command(flatten)]
    reading: super::ReadArgs,
    /// Print the comparison as JSON (sweepbook/lot/1).
    #[arg(long)]
    json: bool,
    /// Look into the folders within folders too.
    #[arg(short, long)]
    recursive: bool,
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
    let (judged, unread) =
        triage::judge(lot::gather(&args.paths, args.recursive), &args.reading.reading(), args.reading.join);
    let members: Vec<Member> = judged.into_iter().map(|j| j.1).collect();
    let comparison = compare(&members);
    if args.json {
        let figures = TRAITS.iter().map(|t| Figure { name: t.name, unit: t.unit }).collect();
        let document =
            Document { schema: "sweepbook/lot/1", figures, comparison: &comparison, unread: unread.as_slice() };
        screen::print_json(&serde_json::to_string_pretty(&document)?)?;
    } else {
        screen::print(&readable::comparison(&comparison, screen::width()))?;
    }
    for failure in &unread {
        screen::say(&format!("sweepbook: {failure}"));
    }
    Ok(if unread.is_empty() { Ending::Done } else { Ending::SomeUnread })
}
