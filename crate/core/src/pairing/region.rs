//! Where tubes are compared.

use serde::{Deserialize, Serialize};

use super::Candidate;
use crate::handbook;

/// An operating point. For a pentode `va` is the screen voltage: it drives the space charge.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// Plate voltage, V.
    pub va: f64,
    /// Grid voltage, V.
    pub vg: f64,
}

/// The points at which currents are compared; the first is the operating point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Region(pub Vec<Place>);

/// How far the region reaches about an operating point, as a share of its voltages: what a
/// stage with signal sees (judgement, no source).
const PLATE_REACH: f64 = 0.2;
const GRID_REACH: f64 = 0.25;
/// The same for a grid at 0 V, V.
const GRID_STEP: f64 = 0.5;
/// Points with less than this share of the current at the operating point are left out: near
/// cutoff a ratio says nothing of the stage (judgement, no source).
const LEAST_CURRENT: f64 = 0.05;

/// Share of the highest plate voltage at which tubes of no known type are compared: inside
/// all of their sweeps (by construction).
const SHARE_OF_HIGHEST: f64 = 0.75;

impl Region {
    /// Nine points about an operating point.
    pub fn around(at: Place) -> Self {
        let step = if at.vg == 0.0 { GRID_STEP } else { GRID_REACH * at.vg.abs() };
        let mut places = vec![at];
        for va in [-1.0, 0.0, 1.0].map(|k| at.va * (1.0 + k * PLATE_REACH)) {
            // Not into grid current.
            let grid = [-1.0, 0.0, 1.0].map(|k| at.vg + k * step).into_iter().filter(|vg| *vg <= at.vg.max(0.0));
            places.extend(grid.map(|vg| Place { va, vg }).filter(|p| *p != at));
        }
        Self(places)
    }

    /// The usual one of a type: about the first typical operation of the handbook. `None`
    /// for an unknown type.
    pub fn of_type(kind: &str) -> Option<Self> {
        let point = handbook::find(kind)?.section(0)?.points.first()?;
        Some(Self::around(Place { va: point.vg2.unwrap_or(point.va), vg: point.vg }))
    }

    /// One in the middle of what candidates of no known type conduct: at three quarters of
    /// their common plate voltage, where the first has a third of its current at no bias.
    pub fn within(all: &[Candidate]) -> Self {
        let law = all.first().and_then(|c| c.laws.first());
        let highest = all.iter().map(|c| c.highest).fold(f64::INFINITY, f64::min);
        let va = if highest.is_finite() { SHARE_OF_HIGHEST * highest } else { 0.0 };
        let vg = law.and_then(|l| l.grid_for(va, l.current(va, 0.0) / 3.0, va)).unwrap_or(0.0);
        Self::around(Place { va, vg })
    }

    /// The operating point.
    pub fn operating(&self) -> Place {
        self.0.first().copied().unwrap_or(Place { va: 0.0, vg: 0.0 })
    }

    /// This region without points at which one of the candidates hardly conducts.
    pub(super) fn conducting(&self, all: &[Candidate]) -> Vec<Place> {
        let at = self.operating();
        let conducts = |p: &&Place| {
            let laws = all.iter().flat_map(|c| &c.laws);
            laws.into_iter().all(|l| l.current(p.va, p.vg) > LEAST_CURRENT * l.current(at.va, at.vg))
        };
        self.0.iter().filter(conducts).copied().collect()
    }
}
