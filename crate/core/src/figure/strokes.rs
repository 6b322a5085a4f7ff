//! From curves to what a pen draws: lines in pieces, cut at the frame.

use std::collections::HashSet;

use plotters::style::ShapeStyle;
use plotters_backend::DrawingBackend;

use super::plan::Panel;
use super::scale::Frame;
use super::trace::Trace;
use crate::report::Mark;

/// A place on the drawing, CSS pixels.
pub type Place = (f64, f64);

/// An upright or level line.
pub struct Straight {
    /// Its ends, device pixels.
    pub ends: [(i32, i32); 2],
    /// How it is drawn.
    pub style: ShapeStyle,
}

impl<'a> plotters::element::PointCollection<'a, (i32, i32)> for &'a Straight {
    type Point = &'a (i32, i32);
    type IntoIter = &'a [(i32, i32)];
    fn point_iter(self) -> Self::IntoIter {
        &self.ends
    }
}

impl<DB: DrawingBackend> plotters::element::Drawable<DB> for Straight {
    fn draw<I: Iterator<Item = (i32, i32)>>(
        &self,
        mut ends: I,
        backend: &mut DB,
        _: (u32, u32),
    ) -> Result<(), plotters_backend::DrawingErrorKind<DB::ErrorType>> {
        match (ends.next(), ends.next()) {
            (Some(from), Some(to)) => backend.draw_line(from, to, &self.style),
            _ => Ok(()),
        }
    }
}

/// Which points of a trace are marked.
pub fn marked(trace: &Trace, marks: &[Mark]) -> Vec<bool> {
    let points: HashSet<usize> =
        marks.iter().filter(|m| m.section == trace.section).flat_map(|m| m.points.iter().copied()).collect();
    trace.index.iter().map(|i| points.contains(i)).collect()
}

/// Pixels of every point of a trace on a panel; NaN where nothing was measured.
pub fn pixels(panel: &Panel, trace: &Trace) -> Vec<Place> {
    trace.x.iter().zip(panel.column(trace)).map(|(x, y)| panel.scale.pixel(*x, *y)).collect()
}

/// The parts of a line through `places` that lie in the frame, interrupted
/// where a place is NaN.
pub fn pieces(places: &[Place], frame: &Frame) -> Vec<Vec<Place>> {
    let mut pieces: Vec<Vec<Place>> = Vec::new();
    for pair in places.windows(2) {
        let finite = pair.iter().all(|p| p.0.is_finite() && p.1.is_finite());
        let Some((from, to)) = frame.clip(pair[0], pair[1]).filter(|_| finite) else { continue };
        match pieces.last_mut() {
            Some(piece) if piece.last() == Some(&from) => piece.push(to),
            _ => pieces.push(vec![from, to]),
        }
    }
    pieces
}
