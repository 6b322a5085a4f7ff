//! `sweepbook triage --json-lines`: a stock of any size, a tube a line.
//!
//! Each file is read, diagnosed, written and forgotten, so that memory does not grow with the
//! number of tubes. Files know nothing of each other: that makes the lines of a part of the
//! stock the same as in a run of the whole, and a run a plain map.

use rayon::iter::{IndexedParallelIterator, IntoParallelIterator, ParallelIterator};
use sweepbook_core::intake::Unread;
use sweepbook_core::report::{Report, TubeReport};
use sweepbook_core::sweep::Lot;
use sweepbook_core::triage_lot;

use super::{Ending, Failure, SweepArgs, told};
use crate::{lot, screen};

/// Files that are worked on before their lines are written: enough that cores seldom wait
/// for the last of them, and a few megabytes of lines (by construction).
const AT_ONCE: usize = 256;

pub(super) fn run(sweeps: &SweepArgs) -> Result<Ending, Failure> {
    let reading = sweeps.reading.reading();
    let mut ending = Ending::Done;
    let mut found = lot::gather(&sweeps.paths, sweeps.recursive).into_iter();
    loop {
        let some: Vec<lot::Found> = found.by_ref().take(AT_ONCE).collect();
        if some.is_empty() {
            return Ok(ending);
        }
        let done: Vec<Result<(String, Vec<Unread>), serde_json::Error>> = some
            .into_par_iter()
            .map(|found| {
                let (tubes, unread) = lot::read_found(found, &reading);
                let lot = Lot { tubes: sweeps.reading.on_their_bench(tubes) };
                Ok((lines(triage_lot(&lot), &unread)?, unread))
            })
            .with_max_len(1)
            .collect();
        for one in done {
            let (lines, unread) = one?;
            if !screen::print_lines(&lines)? {
                return Ok(ending);
            }
            if told(&unread) == Ending::SomeUnread {
                ending = Ending::SomeUnread;
            }
        }
    }
}

/// A report of its own for each tube and for each file that could not be read, a line each.
fn lines(tubes: Vec<TubeReport>, unread: &[Unread]) -> Result<String, serde_json::Error> {
    let of_tubes = tubes.into_iter().map(|tube| Report::new(vec![tube.without_marks()], Vec::new()));
    let of_unread = unread.iter().map(|unread| Report::new(Vec::new(), vec![unread.clone()]));
    let mut lines = String::new();
    for report in of_tubes.chain(of_unread) {
        lines += &serde_json::to_string(&report)?;
        lines.push('\n');
    }
    Ok(lines)
}
