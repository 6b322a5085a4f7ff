//! A rectifier into a reservoir, solved until it repeats itself.
//!
//! The winding is a sine behind a resistance, a diode a constant drop. Each half cycle is
//! integrated with the two-stage method of Alexander (SIAM J. Numer. Anal. 14 (1977) 1006;
//! from memory), which stays steady however small resistance times capacitance is. The
//! circuit is linear but for the diode and a load that cannot draw from nothing, so each stage
//! is solved exactly once it is known which of them conduct. What two half cycles have in
//! common is found by Newton's method on the map from one to the next, whose slope is carried
//! along; now and then a half cycle is gone on with as it is.

use nalgebra::{Matrix2, Vector2};
use serde::Serialize;

/// Steps of half a cycle: a hundredth of the narrowest usual conduction (by construction; a
/// test holds what twice as many change).
pub(super) const STEPS: usize = 2048;
/// Alexander's constant, 1 − √½.
const GAMMA: f64 = 1.0 - std::f64::consts::FRAC_1_SQRT_2;
/// Largest change from one half cycle to the next that counts as none, in peaks of the
/// winding's voltage (by construction).
const PERIODIC: f64 = 1e-9;
/// Largest way that Newton's method may still see before it, in the same (by construction).
const CLOSE: f64 = 1e-5;
/// Half cycles after which it is given up (by construction; a dozen is usual).
const MOST_CYCLES: usize = 300;
/// Each so-manieth half cycle is gone on with as it is, so that Newton's method cannot go round
/// in circles (by construction).
const PLAIN: usize = 6;
/// Trials of which diode conducts; two is usual (by construction).
const TRIALS: usize = 12;
/// Below this a load that draws a constant current draws in proportion, V (by construction).
pub(super) const NOTHING: f64 = 0.1;

/// What rectifies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rectifier {
    /// Four diodes on one winding, two of them in the way.
    Bridge,
    /// Two diodes on a winding with a centre tap.
    CentreTap,
}

/// What the supply feeds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "is")]
pub enum Drawn {
    /// A constant current, A.
    Current {
        /// The current, A.
        ampere: f64,
    },
    /// A resistance, ohm.
    Resistance {
        /// The resistance, ohm.
        ohm: f64,
    },
}

/// A resistor and a second capacitor behind the reservoir.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Filter {
    /// The resistor, ohm.
    pub resistor: f64,
    /// The capacitor, F.
    pub capacitor: f64,
}

/// The circuit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Circuit {
    /// Peak of the winding's voltage, V.
    pub peak: f64,
    /// Drop of the diodes in the way, V.
    pub drop: f64,
    /// Mains frequency, Hz.
    pub frequency: f64,
    /// Resistance of the winding, ohm; above 0.
    pub winding: f64,
    /// Reservoir, F.
    pub reservoir: f64,
    pub filter: Option<Filter>,
    pub load: Drawn,
}

/// One moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Moment {
    /// Voltage of the reservoir, V.
    pub reservoir: f64,
    /// Voltage of the load, V.
    pub load: f64,
    /// Current through the diodes, A.
    pub diode: f64,
    /// Current of the load, A.
    pub drawn: f64,
}

type Slope = Matrix2<f64>;

impl Circuit {
    /// Half a cycle that follows itself, in [`STEPS`] even steps; `None` where none is found.
    pub fn periodic(&self) -> Option<Vec<Moment>> {
        self.periodic_in(STEPS)
    }

    pub fn periodic_in(&self, steps: usize) -> Option<Vec<Moment>> {
        let top = (self.peak - self.drop).max(0.0);
        let mut start = Vector2::new(top, if self.filter.is_some() { top } else { 0.0 });
        for cycle in 1..=MOST_CYCLES {
            let (end, slope) = self.half_cycle(start, steps, |_| {});
            let change = end - start;
            if !change.iter().all(|c| c.is_finite()) {
                return None;
            }
            // From above it falls below what is sought, and comes up to it from there.
            let newton = (slope - Slope::identity()).try_inverse().map(|inverse| start - inverse * change);
            let newton = newton.filter(|v| v.iter().all(|x| x.is_finite())).map(|v| v.map(|x| x.clamp(0.0, top)));
            // A slow circuit changes little in half a cycle however far it has to go.
            let close = newton.is_none_or(|v| (v - start).amax() <= CLOSE * self.peak);
            if close && change.amax() <= PERIODIC * self.peak {
                let mut moments = Vec::with_capacity(steps);
                self.half_cycle(start, steps, |m| moments.push(m));
                return Some(moments);
            }
            start = newton.filter(|_| cycle % PLAIN != 0).unwrap_or(end);
        }
        None
    }

    /// More than any load can draw all the time, A: the mean into a short circuit.
    pub fn most(&self) -> f64 {
        let resistance = self.winding + self.filter.map_or(0.0, |f| f.resistor);
        let angle = |step: usize| std::f64::consts::PI * (step as f64 + 0.5) / STEPS as f64;
        (0..STEPS).map(|step| self.wave(angle(step)).max(0.0)).sum::<f64>() / STEPS as f64 / resistance
    }

    /// Half a cycle from its start: the end, and how it moves with the start.
    fn half_cycle(&self, start: Vector2<f64>, steps: usize, mut told: impl FnMut(Moment)) -> (Vector2<f64>, Slope) {
        let h = 0.5 / self.frequency / steps as f64;
        let angle = |step: f64| std::f64::consts::PI * step / steps as f64;
        let (mut v, mut slope) = (start, Slope::identity());
        for step in 0..steps {
            let step = step as f64;
            let one = self.wave(angle(step + GAMMA));
            let (first, by_first) = self.stage(v, h * GAMMA, one);
            let pace = (first - v) / (h * GAMMA);
            let by_pace = (by_first - Slope::identity()) / (h * GAMMA);
            let two = self.wave(angle(step + 1.0));
            let (next, by_next) = self.stage(v + pace * (h * (1.0 - GAMMA)), h * GAMMA, two);
            slope = by_next * (Slope::identity() + by_pace * (h * (1.0 - GAMMA))) * slope;
            v = next;
            told(self.moment(v, two));
        }
        (v, slope)
    }

    /// What the rectifier gives with nothing behind it, V.
    fn wave(&self, angle: f64) -> f64 {
        self.peak * libm::sin(angle).abs() - self.drop
    }

    fn moment(&self, v: Vector2<f64>, wave: f64) -> Moment {
        let load = if self.filter.is_some() { v[1] } else { v[0] };
        let diode = ((wave - v[0]) / self.winding).max(0.0);
        Moment { reservoir: v[0], load, diode, drawn: self.drawn(load).0 }
    }

    /// Current of the load at a voltage, A, and its slope, S.
    fn drawn(&self, volt: f64) -> (f64, f64) {
        match self.load {
            Drawn::Resistance { ohm } => (volt / ohm, 1.0 / ohm),
            Drawn::Current { ampere } if volt >= NOTHING => (ampere, 0.0),
            Drawn::Current { ampere } => (ampere * volt / NOTHING, ampere / NOTHING),
        }
    }

    /// The `v` with v = base + h·dv/dt(v), and how it moves with the base.
    fn stage(&self, base: Vector2<f64>, h: f64, wave: f64) -> (Vector2<f64>, Slope) {
        let mut v = base;
        let mut inverse = Slope::identity();
        for _ in 0..TRIALS {
            let (rate, by) = self.rate(v, wave);
            let matrix = Slope::identity() - by * h;
            // Its determinant is above 1: all slopes are those of resistances.
            inverse = matrix.try_inverse().unwrap_or_else(Slope::identity);
            let step = inverse * (base + rate * h - v);
            v += step;
            if step.amax() <= 1e-13 * (1.0 + v.amax()) {
                break;
            }
        }
        (v, inverse)
    }

    /// dv/dt, V/s, and its slope, 1/s.
    fn rate(&self, v: Vector2<f64>, wave: f64) -> (Vector2<f64>, Slope) {
        let (charge, by_charge) =
            if wave > v[0] { ((wave - v[0]) / self.winding, -1.0 / self.winding) } else { (0.0, 0.0) };
        let c1 = self.reservoir;
        match self.filter {
            None => {
                let (drawn, by) = self.drawn(v[0]);
                // What is not there fades, so that Newton's method has something to solve for.
                let fades = -self.frequency;
                (Vector2::new((charge - drawn) / c1, fades * v[1]), Slope::new((by_charge - by) / c1, 0.0, 0.0, fades))
            }
            Some(Filter { resistor, capacitor: c2 }) => {
                let (drawn, by) = self.drawn(v[1]);
                let between = (v[0] - v[1]) / resistor;
                let g = 1.0 / resistor;
                (
                    Vector2::new((charge - between) / c1, (between - drawn) / c2),
                    Slope::new((by_charge - g) / c1, g / c1, g / c2, -(g + by) / c2),
                )
            }
        }
    }
}
