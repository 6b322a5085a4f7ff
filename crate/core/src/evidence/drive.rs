//! What drives the space charge of a section, and which current it is.
//!
//! In a triode the plate's voltage draws the cathode's current. In a pentode or
//! beam tetrode with its screen at a voltage of its own the screen does, and
//! plate and screen share the current: total space current is set by control
//! grid and screen, its division hardly depends on them (Darr and Manber, MIT
//! 1948, seen). So the law is fitted to `Ia + Ig2` against the screen voltage. A
//! pentode connected as a triode is a triode. A diode has no grid.

use crate::handbook::{Section as Entry, SectionKind};
use crate::law::Applied;
use crate::sweep::{Bench, Points};

/// How a section was connected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Connection {
    /// A triode, or a pentode with its screen at the plate.
    Triode,
    /// A pentode or beam tetrode with its screen at a voltage of its own.
    Pentode,
    /// A diode or rectifier.
    Diode,
}

/// What drives a section.
#[derive(Debug, Clone, PartialEq)]
pub struct Drive {
    /// How it was connected.
    pub connection: Connection,
    /// Voltage that draws the current, V, at each point.
    pub volts: Vec<f64>,
    /// Current that the law describes, A, at each point.
    pub current: Vec<f64>,
    /// Points where plate and screen share the current evenly enough to be fitted.
    pub usable: Vec<bool>,
    /// Share of the screen in the current, in the working region; `None` where
    /// the screen current was not measured.
    pub screen_share: Option<f64>,
}

/// A screen within this share of the plate's voltage is connected to it.
const TIED: f64 = 0.05;
/// Plate voltage over screen voltage above which the knee is passed: with and
/// without the screen current measured. Below the knee the screen takes what the
/// plate does not (common practice, no source).
const PAST_KNEE: (f64, f64) = (0.25, 0.7);

impl Drive {
    /// Reads it off the points, the bench and the handbook.
    pub fn of(points: &Points, bench: &Bench, entry: Option<&Entry>) -> Self {
        let n = points.len();
        let diode = entry.is_some_and(|e| matches!(e.kind, SectionKind::Diode | SectionKind::Rectifier));
        let screen: Option<Vec<f64>> = points.vg2.clone().or_else(|| bench.screen_voltage.map(|v| vec![v; n]));
        let tied = |screen: &[f64]| {
            let near = |(s, a): (&f64, &f64)| s.is_nan() || (s - a).abs() <= TIED * a.abs().max(1.0);
            screen.iter().zip(&points.va).filter(|p| near((p.0, p.1))).count() * 10 >= 9 * n
        };
        match screen {
            _ if diode => Self::plain(points, Connection::Diode),
            Some(screen) if !tied(&screen) => Self::pentode(points, screen),
            // With the screen at the plate both currents come from one electrode.
            Some(_) if points.ig2.is_some() => {
                Self { current: total(points), ..Self::plain(points, Connection::Triode) }
            }
            _ => Self::plain(points, Connection::Triode),
        }
    }

    /// What was applied at a point, as the law takes it, the tube warm.
    pub fn applied(&self, points: &Points, i: usize, vg: f64) -> Applied {
        let va = self.volts[i];
        let plate = if self.connection == Connection::Pentode { beyond_screen(points.va[i], va) } else { 0.0 };
        Applied { va, anode: points.va[i], vg, plate, reading: self.current[i], time: f64::INFINITY, before: 0.0 }
    }

    fn plain(points: &Points, connection: Connection) -> Self {
        Self {
            connection,
            volts: points.va.clone(),
            current: points.ia.clone(),
            usable: vec![true; points.len()],
            screen_share: None,
        }
    }

    fn pentode(points: &Points, screen: Vec<f64>) -> Self {
        let knee = if points.ig2.is_some() { PAST_KNEE.0 } else { PAST_KNEE.1 };
        let usable = screen.iter().zip(&points.va).map(|(s, a)| s.is_finite() && *a >= knee * s).collect();
        let current = total(points);
        let top = current.iter().copied().fold(0.0, f64::max);
        let screen_share = points.ig2.as_ref().and_then(|ig2| {
            let lively =
                |i: &usize| current[*i] > 0.2 * top && points.va[*i] >= PAST_KNEE.1 * screen[*i] && ig2[*i].is_finite();
            let mut shares: Vec<f64> = (0..points.len()).filter(lively).map(|i| ig2[i] / current[i]).collect();
            (shares.len() >= 3).then(|| crate::numerics::median(&mut shares))
        });
        Self { connection: Connection::Pentode, volts: screen, current, usable, screen_share }
    }
}

/// How far the plate is beyond its screen, V, as the current feels it: past the
/// knee the plate's share nears its end as 1/Va (the arctangent of Koren's pentode,
/// reference 1.3).
pub(super) fn beyond_screen(plate: f64, screen: f64) -> f64 {
    screen * (1.0 - screen / plate.max(0.1 * screen).max(1.0))
}

/// Plate and screen current together; the plate's alone where the screen's is missing.
fn total(points: &Points) -> Vec<f64> {
    match &points.ig2 {
        Some(ig2) => points.ia.iter().zip(ig2).map(|(a, s)| if s.is_finite() { a + s } else { *a }).collect(),
        None => points.ia.clone(),
    }
}

/// Plate voltages between which a curve of a tetrode falls as the plate rises:
/// secondary electrons from the plate go to the screen. `None` where none falls.
pub(super) fn kink(points: &Points, curves: &[crate::sweep::Curve], sd: impl Fn(f64) -> f64) -> Option<(f64, f64)> {
    /// Readings in a row that must fall.
    const IN_A_ROW: usize = 3;
    let mut found: Option<(f64, f64)> = None;
    for curve in curves.iter().filter(|c| c.running == crate::sweep::Running::Plate) {
        let mut row = 0;
        for w in curve.index.windows(2) {
            let (a, b) = (points.ia[w[0]], points.ia[w[1]]);
            row = if b < a - 2.0 * sd(a) { row + 1 } else { 0 };
            if row >= IN_A_ROW {
                let (low, high) = (points.va[w[0]], points.va[w[1]]);
                found = Some(found.map_or((low, high), |f| (f.0.min(low), f.1.max(high))));
            }
        }
    }
    found
}
