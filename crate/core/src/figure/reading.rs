//! Reading points off a figure: under the pointer, or step by step.

use serde::{Deserialize, Serialize};

use super::plan::{Figure, Shows};
use super::words::{amperes, short, volts};

/// One measured point of a tube.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Cursor {
    /// Index of the section in its tube.
    pub section: usize,
    /// Index of the point in the section.
    pub point: usize,
}

/// A step from one point to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Step {
    /// To the next lower running voltage.
    Back,
    /// To the next higher running voltage.
    Forward,
    /// Ten points lower.
    StrideBack,
    /// Ten points higher.
    StrideForward,
    /// To the first point of the curve.
    First,
    /// To its last.
    Last,
    /// To the curve of the next higher held voltage or the next section.
    Up,
    /// To the curve before.
    Down,
}

/// Points of a long step (by construction).
const STRIDE: usize = 10;
/// A pointer farther than this from every point points at none, CSS pixels
/// (by construction: a fingertip).
const REACH: f64 = 44.0;

/// What is read at a point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Which point.
    pub at: Cursor,
    /// The section's name.
    pub section: String,
    /// Plate voltage, V.
    pub va: f64,
    /// Grid voltage as set, V.
    pub vg: f64,
    /// Plate current, A.
    pub ia: f64,
    /// Grid current, A, where it was measured.
    pub ig: Option<f64>,
    /// The parts of the reading as shown: a name and its value each.
    pub parts: Vec<(String, String)>,
}

impl Figure {
    /// The measured point nearest to a place on the drawing (CSS pixels), within reach.
    pub fn nearest(&self, place: (f64, f64)) -> Option<Cursor> {
        let mut best: Option<(f64, Cursor)> = None;
        for panel in &self.panels {
            for trace in &self.traces {
                for ((x, y), &point) in trace.x.iter().zip(panel.column(trace)).zip(&trace.index) {
                    let (px, py) = panel.scale.pixel(*x, *y);
                    let distance = libm::hypot(px - place.0, py - place.1);
                    let closer = best.is_none_or(|(least, _)| distance < least);
                    if closer && distance <= REACH && panel.scale.frame.holds((px, py)) {
                        best = Some((distance, Cursor { section: trace.section, point }));
                    }
                }
            }
        }
        best.map(|(_, cursor)| cursor)
    }

    /// The point a step leads to; from nowhere, the first point of the first
    /// curve. At an end the step stays where it is.
    pub fn step(&self, from: Option<Cursor>, step: Step) -> Option<Cursor> {
        let Some((trace, place)) = from.and_then(|at| self.find(at)) else {
            return self.traces.iter().enumerate().find_map(|(i, _)| self.cursor(i, 0));
        };
        let last = self.traces[trace].index.len().saturating_sub(1);
        let along = |place: usize| self.cursor(trace, place);
        match step {
            Step::Back => along(place.saturating_sub(1)),
            Step::Forward => along((place + 1).min(last)),
            Step::StrideBack => along(place.saturating_sub(STRIDE)),
            Step::StrideForward => along((place + STRIDE).min(last)),
            Step::First => along(0),
            Step::Last => along(last),
            Step::Up => self.beside(trace, place, (trace + 1..self.traces.len()).collect()),
            Step::Down => self.beside(trace, place, (0..trace).rev().collect()),
        }
    }

    /// What is read at a point; `None` where the tube has no such point.
    pub fn reading(&self, at: Cursor) -> Option<Reading> {
        let (trace, place) = self.find(at)?;
        let t = &self.traces[trace];
        let (va, vg) = match self.running {
            crate::sweep::Running::Grid => (t.across[place], t.x[place]),
            crate::sweep::Running::Plate => (t.x[place], t.across[place]),
        };
        let ia = t.ia[place];
        let ig = t.ig.get(place).copied().filter(|v| v.is_finite());
        let section = self.sections.get(t.section).cloned().unwrap_or_default();
        let mut parts = vec![
            ("Section".to_owned(), short(&section, 24)),
            ("Va".to_owned(), volts(va)),
            ("Vg".to_owned(), volts(vg)),
            ("Ia".to_owned(), amperes(ia)),
        ];
        if let Some(ig) = ig {
            parts.push(("Ig".to_owned(), amperes(ig)));
        }
        Some(Reading { at, section, va, vg, ia, ig, parts })
    }

    /// Where a point is drawn on its panels, CSS pixels.
    pub(super) fn places(&self, at: Cursor) -> Vec<(Shows, (f64, f64))> {
        let Some((trace, place)) = self.find(at) else { return Vec::new() };
        let t = &self.traces[trace];
        self.panels
            .iter()
            .filter_map(|p| Some((p.shows, p.scale.pixel(*t.x.get(place)?, *p.column(t).get(place)?))))
            .filter(|(_, (x, y))| x.is_finite() && y.is_finite())
            .collect()
    }

    fn find(&self, at: Cursor) -> Option<(usize, usize)> {
        self.traces.iter().enumerate().filter(|(_, t)| t.section == at.section).find_map(|(i, t)| {
            let place = t.index.iter().position(|&p| p == at.point)?;
            Some((i, place))
        })
    }

    fn cursor(&self, trace: usize, place: usize) -> Option<Cursor> {
        let t = self.traces.get(trace)?;
        t.index.get(place).map(|&point| Cursor { section: t.section, point })
    }

    /// The point of the first of `others` nearest in running voltage.
    fn beside(&self, trace: usize, place: usize, others: Vec<usize>) -> Option<Cursor> {
        let x = self.traces[trace].x[place];
        let other = others.into_iter().find(|&o| !self.traces[o].index.is_empty());
        let Some(other) = other else { return self.cursor(trace, place) };
        let nearest =
            self.traces[other].x.iter().enumerate().min_by(|a, b| (a.1 - x).abs().total_cmp(&(b.1 - x).abs()))?.0;
        self.cursor(other, nearest)
    }
}

#[cfg(test)]
mod tests {
    use super::super::plan::{CurrentAxis, Options};
    use super::super::trace::tests::twin;
    use super::*;
    use crate::sweep::Tube;

    const VG: [f64; 6] = [-15.0, -12.0, -9.0, -6.0, -3.0, 0.0];

    fn tube() -> Tube {
        twin([100.0, 200.0, 300.0], &VG, 1e-7)
    }

    fn figure(tube: &Tube, current: CurrentAxis) -> Figure {
        Figure::new(tube, &Options { width: 700.0, height: 500.0, current, grid_current: true })
    }

    #[test]
    fn pointing_at_a_point_finds_that_point() {
        let tube = tube();
        for current in [CurrentAxis::Full, CurrentAxis::Decades] {
            let figure = figure(&tube, current);
            for t in &figure.traces {
                for (k, &point) in t.index.iter().enumerate() {
                    let place = figure.panels[0].scale.pixel(t.x[k], t.ia[k]);
                    let found = figure.nearest(place).unwrap();
                    let there = figure.places(found)[0].1;
                    // Several points can be drawn on one spot; then any of them will do.
                    assert!(libm::hypot(there.0 - place.0, there.1 - place.1) < 1e-9, "{point}");
                }
            }
        }
    }

    #[test]
    fn far_from_every_point_there_is_nothing_to_read() {
        let tube = tube();
        assert_eq!(figure(&tube, CurrentAxis::Full).nearest((-500.0, -500.0)), None);
    }

    #[test]
    fn steps_along_a_curve_visit_every_point_and_stop_at_the_end() {
        let tube = tube();
        let figure = figure(&tube, CurrentAxis::Full);
        let mut at = figure.step(None, Step::Forward);
        let mut seen = vec![at.unwrap()];
        for _ in 1..VG.len() {
            at = figure.step(at, Step::Forward);
            seen.push(at.unwrap());
        }
        assert_eq!(seen.iter().map(|c| c.point).collect::<Vec<_>>(), [0, 1, 2, 3, 4, 5]);
        assert_eq!(figure.step(at, Step::Forward), at);
        assert_eq!(figure.step(at, Step::StrideBack), Some(seen[0]));
    }

    #[test]
    fn steps_between_curves_reach_all_of_them_at_the_same_voltage() {
        let tube = tube();
        let figure = figure(&tube, CurrentAxis::Full);
        let mut at = figure.step(figure.step(None, Step::First), Step::Last);
        let mut seen = vec![];
        for _ in 0..6 {
            let r = figure.reading(at.unwrap()).unwrap();
            assert_eq!(r.vg, 0.0);
            seen.push((r.va, r.section.clone()));
            at = figure.step(at, Step::Up);
        }
        seen.dedup();
        assert_eq!(seen.len(), 6);
        assert_eq!(seen[1], (100.0, "2".to_owned()));
    }

    #[test]
    fn a_reading_carries_the_numbers_of_the_file() {
        let tube = tube();
        let figure = figure(&tube, CurrentAxis::Foot);
        let r = figure.reading(Cursor { section: 1, point: 9 }).unwrap();
        let p = &tube.sections[1].points;
        assert_eq!((r.va, r.vg, r.ia), (p.va[9], p.vg[9], p.ia[9]));
        assert_eq!(r.parts[2], ("Vg".to_owned(), "−6 V".to_owned()));
        assert_eq!(figure.reading(Cursor { section: 9, point: 0 }), None);
    }
}
