//! What was applied, as it is taken up: a pack of points at once.

use fearless_simd::{Simd, prelude::*};

use super::lanes::{Lanes, WIDTH};
use super::model::Applied;
use super::observed::Observed;

/// [`Applied`] at a pack of points.
#[derive(Clone, Copy)]
pub(super) struct AppliedLanes<S: Simd> {
    pub(super) va: Lanes<S>,
    pub(super) anode: Lanes<S>,
    pub(super) vg: Lanes<S>,
    pub(super) plate: Lanes<S>,
    pub(super) reading: Lanes<S>,
    pub(super) time: Lanes<S>,
    pub(super) before: f64,
}

impl<S: Simd> AppliedLanes<S> {
    /// At a section's pack of this number; the section's last point stands for what is missing
    /// from the last pack.
    #[inline(always)]
    pub(super) fn at(simd: S, data: &Observed, number: usize) -> Self {
        let from = number * WIDTH;
        let column = |values: &[f64]| match values.get(from..from + WIDTH) {
            Some(pack) => Lanes::from_slice(simd, pack),
            None => {
                let rest = &values[from.min(values.len() - 1)..];
                let mut pack = [rest[rest.len() - 1]; WIDTH];
                pack[..rest.len()].copy_from_slice(rest);
                Lanes::load_array(simd, pack)
            }
        };
        // A voltage that is not given apart is that of the space charge, and 0 beyond the screen.
        let or = |values: &[f64], other: Lanes<S>| if values.is_empty() { other } else { column(values) };
        let va = column(&data.va);
        Self {
            va,
            anode: or(&data.anode, va),
            vg: column(&data.vg),
            plate: or(&data.plate, Lanes::splat(simd, 0.0)),
            reading: column(&data.ia),
            time: column(&data.time),
            before: data.before,
        }
    }

    /// At one point, as often as a pack has points.
    #[inline(always)]
    pub(super) fn of(simd: S, at: &Applied) -> Self {
        let all = |value| Lanes::splat(simd, value);
        Self {
            va: all(at.va),
            anode: all(at.anode),
            vg: all(at.vg),
            plate: all(at.plate),
            reading: all(at.reading),
            time: all(at.time),
            before: at.before,
        }
    }
}
