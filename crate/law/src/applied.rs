//! What was applied, as it is taken up: four points at once.

use super::lanes::{Four, WIDTH};
use super::model::Applied;
use super::observed::Observed;

/// [`Applied`] at four points.
#[derive(Debug, Clone, Copy)]
pub(super) struct AppliedFour {
    pub(super) va: Four,
    pub(super) anode: Four,
    pub(super) vg: Four,
    pub(super) plate: Four,
    pub(super) reading: Four,
    pub(super) time: Four,
    pub(super) before: f64,
}

impl AppliedFour {
    /// What was applied at all points of a section; the last one stands for what is missing
    /// from the last four.
    pub(super) fn all(data: &Observed) -> Vec<Self> {
        let column = |values: &[f64], k: usize| -> Four {
            let from = k * WIDTH;
            match values.get(from..from + WIDTH) {
                Some(four) => [four[0], four[1], four[2], four[3]],
                None => std::array::from_fn(|i| values[(from + i).min(values.len() - 1)]),
            }
        };
        // A voltage that is not given apart is that of the space charge, and 0 beyond the screen.
        let or = |values: &[f64], k: usize, other: Four| if values.is_empty() { other } else { column(values, k) };
        let four = |k: usize| {
            let va = column(&data.va, k);
            Self {
                va,
                anode: or(&data.anode, k, va),
                vg: column(&data.vg, k),
                plate: or(&data.plate, k, [0.0; WIDTH]),
                reading: column(&data.ia, k),
                time: column(&data.time, k),
                before: data.before,
            }
        };
        (0..data.len().div_ceil(WIDTH)).map(four).collect()
    }

    /// Of four points of one section.
    pub(super) fn of(at: [Applied; WIDTH]) -> Self {
        let four = |of: fn(&Applied) -> f64| at.each_ref().map(of);
        Self {
            va: four(|a| a.va),
            anode: four(|a| a.anode),
            vg: four(|a| a.vg),
            plate: four(|a| a.plate),
            reading: four(|a| a.reading),
            time: four(|a| a.time),
            before: at[0].before,
        }
    }
}

/// Points of one section four by four; the last one stands for what is missing from the last
/// four.
pub(super) fn packed(mut at: impl Iterator<Item = Applied>) -> Vec<AppliedFour> {
    let fours = std::iter::from_fn(move || {
        let mut four = [at.next()?; WIDTH];
        for i in 1..WIDTH {
            four[i] = at.next().unwrap_or(four[i - 1]);
        }
        Some(AppliedFour::of(four))
    });
    fours.collect()
}
