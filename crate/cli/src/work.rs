//! Work on every tube of a lot, on all cores, with a bar while it lasts.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::iter::{IndexedParallelIterator, IntoParallelRefIterator, ParallelIterator};
use sweepbook_core::sweep::{Lot, Tube};

/// Fewest tubes for which a progress bar is shown: fewer are done before it
/// could be read (by construction, no source).
const LONG_LOT: usize = 8;

/// What comes of each tube, in their order. `work` is given the tube and the other
/// sweeps of the same tube.
pub fn each<T: Send>(lot: &Lot, work: impl Fn(&Tube, &[&Tube]) -> T + Sync) -> Vec<T> {
    let together = lot.same_tubes();
    let bar = progress(lot.tubes.len());
    let done = lot
        .tubes
        .par_iter()
        .zip(&together)
        .map(|(tube, same)| {
            let others: Vec<&Tube> = same.iter().map(|&i| &lot.tubes[i]).collect();
            let done = work(tube, &others);
            bar.inc(1);
            done
        })
        .with_max_len(1)
        .collect();
    bar.finish_and_clear();
    done
}

/// A bar on standard error, drawn only on a terminal.
fn progress(tubes: usize) -> ProgressBar {
    if tubes < LONG_LOT {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::with_draw_target(Some(tubes as u64), ProgressDrawTarget::stderr());
    match ProgressStyle::with_template("{bar:30} {pos} of {len} files, {eta} left") {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}
