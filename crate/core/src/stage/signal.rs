//! What a stage does with a signal.

use serde::Serialize;

use super::point::{EXACT, root};
use super::{Load, Point, Stage};
use crate::law::SpaceCharge;

/// Samples of half a period, enough for harmonics far above the second (by construction).
const SAMPLES: usize = 32;
/// Share of the standing current below which a section counts as cut off for the signal
/// (judgement, no source).
const CUT_OFF: f64 = 0.05;
/// Halvings after which an amplitude is known to a millionth (by construction).
const CLOSE: usize = 20;
/// How far a plate with a choke can swing above its standing voltage, in supplies.
const ABOVE: f64 = 4.0;

/// What a stage does with a signal.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Signal {
    /// Gain at small signals, without its sign: the stage inverts.
    pub gain: f64,
    /// Output resistance at the plate, what follows left out, ohm.
    pub output_resistance: f64,
    /// Largest input, V peak, that neither reaches zero grid volts nor cuts the section off,
    /// nor drives the plate to the end of a current source's range.
    pub most_in: f64,
    /// The output then, V peak.
    pub most_out: f64,
    /// Second harmonic over the fundamental at an output of `at`; `None` where the stage does
    /// not reach it.
    pub second: Option<f64>,
    /// Third harmonic likewise.
    pub third: Option<f64>,
    /// The output at which the harmonics are given, V peak.
    pub at: f64,
}

/// What a stage does with a signal about a point where it works; harmonics at an output of
/// `swing` V peak, or at the most that it gives where nothing is said.
pub fn signal(law: &SpaceCharge, stage: &Stage, point: &Point, swing: Option<f64>) -> Signal {
    let (load, rk) = (stage.conductance(), stage.degeneration());
    let slopes = law.slopes(point.va, point.vg);
    let feedback = 1.0 + rk * (slopes.gm + slopes.gp);
    let gain = slopes.gm / (load * feedback + slopes.gp);
    let around = Around { law, stage, point, load, rk };
    let most_in = around.headroom(gain);
    let (first, ..) = around.harmonics(most_in);
    let at = swing.unwrap_or(first);
    let reached = at <= first * (1.0 + 1e-9) && at > 0.0;
    let (mut second, mut third) = (None, None);
    if reached {
        let amplitude = root(0.0, most_in, CLOSE, |a| around.harmonics(a).0 - at);
        let (one, two, three) = around.harmonics(amplitude);
        (second, third) = (Some((two / one).abs()), Some((three / one).abs()));
    }
    Signal {
        gain,
        output_resistance: 1.0 / (stage.feeding() + slopes.gp / feedback),
        most_in,
        most_out: first,
        second,
        third,
        at,
    }
}

/// A stage about its operating point.
struct Around<'a> {
    law: &'a SpaceCharge,
    stage: &'a Stage,
    point: &'a Point,
    /// Conductance that the signal sees, S.
    load: f64,
    /// Resistance in the cathode lead that the signal sees, ohm.
    rk: f64,
}

/// The section at one moment.
struct Moment {
    /// How far the plate is from its standing voltage, V.
    out: f64,
    ia: f64,
    /// Grid to cathode, V.
    vg: f64,
}

impl Around<'_> {
    /// The section while the input is `input` V from rest.
    fn moment(&self, input: f64) -> Moment {
        let Point { ia, va, vg, .. } = *self.point;
        let at = |out: f64| {
            let more = -self.load * out;
            (ia + more, va + out - more * self.rk, vg + input - more * self.rk)
        };
        // Where the load line meets no current, and far above where there is none.
        let high = if self.load > 0.0 { ia / self.load } else { ABOVE * self.stage.supply };
        let out = root(-(va + self.point.vk), high, EXACT, |out| {
            let (current, va, vg) = at(out);
            self.law.current(va.max(0.0), vg) - current
        });
        let (ia, _, vg) = at(out);
        Moment { out, ia, vg }
    }

    /// First, second and third harmonic of the output at an input of that amplitude, V: sums
    /// over the Chebyshev nodes (Press et al., Numerical Recipes, 5.8; from memory).
    fn harmonics(&self, amplitude: f64) -> (f64, f64, f64) {
        let mut sums = [0.0; 3];
        for k in 0..SAMPLES {
            let angle = std::f64::consts::PI * (k as f64 + 0.5) / SAMPLES as f64;
            let out = self.moment(amplitude * libm::cos(angle)).out;
            for (n, sum) in sums.iter_mut().enumerate() {
                *sum += 2.0 / SAMPLES as f64 * out * libm::cos((n + 1) as f64 * angle);
            }
        }
        (sums[0].abs(), sums[1], sums[2])
    }

    /// The largest input that stays clear of zero grid volts, of cutoff, and of the supply
    /// where a current source needs some of it.
    fn headroom(&self, gain: f64) -> f64 {
        let Point { ia, va, vg, vk, .. } = *self.point;
        // Beyond this nothing is left of the sweep that the law was fitted to.
        let most = 4.0 * (vg.abs() + self.stage.supply / gain.max(1.0));
        let limited = matches!(self.stage.load, Load::CurrentSource { .. });
        let room = self.stage.supply - va - vk;
        let up = root(0.0, most, EXACT, |a| self.moment(a).vg);
        let down = root(0.0, most, EXACT, |a| {
            let moment = self.moment(-a);
            let cut = self.load > 0.0 && moment.ia < CUT_OFF * ia;
            if cut || (limited && moment.out > room) { 1.0 } else { -1.0 }
        });
        up.min(down)
    }
}
