//! `sweepbook match`: pairs, quads and larger groups of like tubes.

use serde::Serialize;
use sweepbook_core::intake::Unread;
use sweepbook_core::pairing::{LARGEST_GROUP, MATCH_SCHEMA, Of, OfType, Place, Wanted, Weights, match_lot};
use sweepbook_core::sweep::Lot;

use super::{Ending, Failure};
use crate::{readable, screen, work};

/// Match the tubes of a lot: pairs, quads, or groups of any size.
///
/// Of each type those take part whose verdict is accept. Pairs have the least total of
/// differences of all ways to pair them; for larger groups the total is told beside a bound
/// that none is below. Exit codes as for `triage`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    sweeps: super::SweepArgs,
    /// Tubes in a group.
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u8).range(2..=LARGEST_GROUP as i64))]
    size: u8,
    /// Match sections and not whole tubes.
    #[arg(long)]
    sections: bool,
    /// The operating point, as in 'va=250,vg=-8'; given more than once, the points at which
    /// currents are compared. Without it the usual one of the type.
    #[arg(long, value_name = "POINT", value_parser = place)]
    at: Vec<Place>,
    /// How much plate current and transconductance count.
    #[arg(long, value_name = "WEIGHTS", value_parser = weights, default_value = "ia=1,gm=1")]
    weigh: Weights,
    /// Tubes of restricted use take part too.
    #[arg(long)]
    restricted: bool,
    /// Print the groups as JSON (sweepbook/match/1).
    #[arg(long)]
    json: bool,
}

/// The groups for machines.
#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    wanted: &'a Wanted,
    types: &'a [OfType],
    unread: &'a [Unread],
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    let (tubes, unread) = args.sweeps.read();
    let judged = work::each(&Lot { tubes }, sweepbook_core::judge_among);
    let wanted = Wanted {
        size: usize::from(args.size),
        of: if args.sections { Of::Sections } else { Of::Tubes },
        weights: args.weigh,
        restricted: args.restricted,
        at: args.at.clone(),
    };
    let types = match_lot(&judged.iter().collect::<Vec<_>>(), &wanted);
    if args.json {
        let document = Document { schema: MATCH_SCHEMA, wanted: &wanted, types: &types, unread: &unread };
        screen::print_json(&serde_json::to_string_pretty(&document)?)?;
    } else {
        screen::print(&readable::matching(&types, screen::width()))?;
    }
    Ok(super::told(&unread))
}

/// Two numbers with names, as in `va=250,vg=-8`.
fn two(text: &str, names: [&str; 2]) -> Result<[f64; 2], String> {
    let say = || format!("write it as {}=NUMBER,{}=NUMBER", names[0], names[1]);
    let (first, second) = text.split_once(',').ok_or_else(say)?;
    let number = |part: &str, name: &str| {
        let (key, value) = part.split_once('=').ok_or_else(say)?;
        let value = value.trim().parse::<f64>().ok().filter(|v| v.is_finite());
        value.filter(|_| key.trim() == name).ok_or_else(say)
    };
    Ok([number(first, names[0])?, number(second, names[1])?])
}

fn place(text: &str) -> Result<Place, String> {
    let [va, vg] = two(text, ["va", "vg"])?;
    if va <= 0.0 {
        return Err("the plate voltage of an operating point is above 0 V".into());
    }
    Ok(Place { va, vg })
}

fn weights(text: &str) -> Result<Weights, String> {
    let [current, transconductance] = two(text, ["ia", "gm"])?;
    if current < 0.0 || transconductance < 0.0 || current + transconductance <= 0.0 {
        return Err("weights are 0 or more, and not both 0".into());
    }
    Ok(Weights { current, transconductance })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_and_weights_are_read_or_told_how() {
        assert_eq!(place("va=250, vg=-8"), Ok(Place { va: 250.0, vg: -8.0 }));
        assert_eq!(weights("ia=1,gm=0"), Ok(Weights { current: 1.0, transconductance: 0.0 }));
        for bad in ["", "250,-8", "vg=-8,va=250", "va=0,vg=1", "va=nan,vg=1", "va=250"] {
            assert!(place(bad).is_err(), "{bad}");
        }
        assert!(weights("ia=0,gm=0").is_err() && weights("ia=-1,gm=2").is_err());
    }
}
