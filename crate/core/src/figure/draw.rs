//! The one drawing function: the same on a canvas and in an SVG.

use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::element::PathElement;
use plotters::style::text_anchor::{HPos, VPos};
use plotters::style::{Color, ShapeStyle};
use plotters_backend::DrawingBackend;

use super::labels::SHAPE_ROOM;
use super::palette::{Style, Theme};
use super::pen::{LETTER, Outcome, Pen};
use super::plan::{Figure, LETTERS, Panel, Shows};
use super::reading::Cursor;
use super::scale::Frame;
use super::strokes::{Place, marked, pieces, pixels};
use super::trace::{Trace, thin};
use super::words::short;
use crate::report::Mark;

/// What is drawn in one go. A page keeps the curves and the cursor on two
/// canvases, so that moving the cursor does not draw the curves again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layer {
    /// Ground, ruling, curves, names and marks.
    Curves,
    /// Only the cursor.
    Cursor,
    /// Both.
    Both,
}

/// How a figure is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene<'a> {
    /// Light or dark.
    pub theme: Theme,
    /// Device pixels in a CSS pixel.
    pub density: f64,
    /// Family of the letters, as CSS writes it.
    pub font: &'a str,
    /// Points that a finding rests on.
    pub marks: &'a [Mark],
    /// The point being read.
    pub cursor: Option<Cursor>,
    /// What to draw.
    pub layer: Layer,
}

/// Radius of the ring round a marked point, CSS pixels.
const RING: f64 = 5.5;
/// Points nearer to each other than this get no shape of their own, CSS pixels.
const POINT_ROOM: f64 = 7.0;
/// Shapes along a curve whose points are too dense, CSS pixels apart.
const SPARSE_ROOM: f64 = 36.0;
/// Rings along a run of marked points, CSS pixels apart at least.
const RING_ROOM: f64 = 16.0;
/// Width of the band under marked points, CSS pixels.
const BAND: f64 = 11.0;
/// Length of a line in the legend, and its distance to the name, CSS pixels.
const LEGEND_LINE: f64 = 26.0;
const LEGEND_GAP: f64 = 6.0;
/// A first panel that starts lower has its legend above its title, CSS pixels.
const NARROW_TOP: f64 = 30.0;

/// Draws a figure. The area is `size × density` device pixels large.
///
/// # Errors
/// Whatever the backend refuses.
pub fn draw<DB: DrawingBackend>(area: &DrawingArea<DB, Shift>, figure: &Figure, scene: &Scene<'_>) -> Outcome<DB> {
    draw_lettered(area, figure, scene, 1.0)
}

/// As [`draw()`], with the letters enlarged for a backend that shrinks them.
pub(super) fn draw_lettered<DB: DrawingBackend>(
    area: &DrawingArea<DB, Shift>,
    figure: &Figure,
    scene: &Scene<'_>,
    letters: f64,
) -> Outcome<DB> {
    let pen = Pen { area, density: scene.density, letters, font: scene.font, palette: scene.theme.palette() };
    if scene.layer != Layer::Cursor {
        pen.curves(figure, scene)?;
    }
    if scene.layer != Layer::Curves {
        pen.cursor(figure, scene)?;
    }
    area.present()
}

impl<DB: DrawingBackend> Pen<'_, DB> {
    fn curves(&self, figure: &Figure, scene: &Scene<'_>) -> Outcome<DB> {
        let whole = Frame { left: 0.0, top: 0.0, right: figure.size.0, bottom: figure.size.1 };
        self.fill(&whole, self.palette.ground)?;
        self.legend(figure)?;
        for panel in &figure.panels {
            self.ruling(&panel.scale, &panel.x, &panel.y)?;
            let f = panel.scale.frame;
            self.text(&panel.title, (6.0, f.top - 14.0), HPos::Left, VPos::Center)?;
            for trace in &figure.traces {
                self.bands(panel, trace, &marked(trace, scene.marks))?;
            }
            for trace in &figure.traces {
                self.trace(panel, trace)?;
            }
            for trace in &figure.traces {
                self.rings(panel, trace, &marked(trace, scene.marks))?;
            }
        }
        if let Some(last) = figure.panels.last() {
            self.x_axis(figure, last)?;
        }
        if let (Some(panel), false) = (figure.panels.first(), figure.labels.is_empty()) {
            let f = panel.scale.frame;
            let held = format!("{} =", figure.held_symbol);
            self.text(&held, (f.right + 4.0, f.top - 14.0), HPos::Left, VPos::Center)?;
        }
        for label in &figure.labels {
            let (x, y) = label.at;
            if (y - label.end.1).abs() > LETTERS {
                self.line(&[label.end, (x - 1.0, y)], self.palette.ruling, 1.0)?;
            }
            let text_x = match label.section {
                Some(section) => {
                    self.shape((x + 0.35 * SHAPE_ROOM, y), section)?;
                    x + SHAPE_ROOM
                }
                None => x,
            };
            self.text(&label.text, (text_x, y), HPos::Left, VPos::Center)?;
        }
        Ok(())
    }

    fn x_axis(&self, figure: &Figure, panel: &Panel) -> Outcome<DB> {
        self.across(&panel.scale, &panel.x, &figure.x_title, figure.size.1)
    }

    /// Which shape and line stands for which section.
    fn legend(&self, figure: &Figure) -> Outcome<DB> {
        let (Some(panel), true) = (figure.panels.first(), figure.sections.len() > 1) else { return Ok(()) };
        let f = panel.scale.frame;
        // Above the title where that leaves too little room beside it.
        let (mut x, end, y) = if f.top > NARROW_TOP {
            (6.0, figure.size.0, f.top - 29.0)
        } else {
            (f.left + 150.0, f.right, f.top - 14.0)
        };
        let room = (end - x) / figure.sections.len() as f64;
        let letters = ((room - LEGEND_LINE - 2.0 * LEGEND_GAP) / LETTER).max(1.0) as usize;
        for (section, name) in figure.sections.iter().enumerate() {
            let full = format!("section {name}");
            let name = if full.chars().count() <= letters { full } else { short(name, letters) };
            let right = x + LEGEND_LINE;
            self.stroke(&[(x, y), (right, y)], Style::of(section))?;
            self.shape((0.5 * (x + right), y), section)?;
            self.text(&name, (right + LEGEND_GAP, y), HPos::Left, VPos::Center)?;
            x += room.min(LEGEND_LINE + 3.0 * LEGEND_GAP + LETTER * name.chars().count() as f64);
        }
        Ok(())
    }

    fn trace(&self, panel: &Panel, trace: &Trace) -> Outcome<DB> {
        let frame = &panel.scale.frame;
        let all = pixels(panel, trace);
        let columns: Vec<i64> = all.iter().map(|p| (p.0 * self.density).round() as i64).collect();
        let y = panel.column(trace);
        let dense = all.len() as f64 > 4.0 * (frame.right - frame.left) * self.density;
        let drawn: Vec<Place> =
            if dense { thin(&columns, y).into_iter().map(|i| all[i]).collect() } else { all.clone() };
        for piece in pieces(&drawn, frame) {
            self.stroke(&piece, Style::of(trace.section))?;
        }
        let length: f64 =
            all.windows(2).map(|p| libm::hypot(p[1].0 - p[0].0, p[1].1 - p[0].1)).filter(|d| d.is_finite()).sum();
        let crowded = length < POINT_ROOM * all.len() as f64;
        let room = if crowded { SPARSE_ROOM } else { 0.0 };
        // Sections that lie on each other show their shapes in turn.
        let mut since = if crowded { 0.5 * room * (trace.section % 2) as f64 } else { 0.0 };
        let mut last: Option<Place> = None;
        for place in all.into_iter().filter(|p| frame.holds(*p)) {
            since += last.map_or(0.0, |l| libm::hypot(place.0 - l.0, place.1 - l.1));
            last = Some(place);
            if since >= room {
                self.shape(place, trace.section)?;
                since = 0.0;
            }
        }
        Ok(())
    }

    fn bands(&self, panel: &Panel, trace: &Trace, marked: &[bool]) -> Outcome<DB> {
        if !marked.contains(&true) {
            return Ok(());
        }
        let colour = self.palette.band.mix(0.45);
        let masked: Vec<Place> = pixels(panel, trace)
            .into_iter()
            .zip(marked)
            .map(|(place, marked)| if *marked { place } else { (f64::NAN, f64::NAN) })
            .collect();
        for piece in pieces(&masked, &panel.scale.frame) {
            let style = ShapeStyle { color: colour, filled: false, stroke_width: self.width(BAND) };
            let path: Vec<(i32, i32)> = piece.into_iter().map(|p| self.device(p)).collect();
            self.area.draw(&PathElement::new(path, style))?;
        }
        Ok(())
    }

    fn rings(&self, panel: &Panel, trace: &Trace, marked: &[bool]) -> Outcome<DB> {
        let mut last: Option<Place> = None;
        for (place, _) in pixels(panel, trace).into_iter().zip(marked).filter(|(_, marked)| **marked) {
            let near = last.is_some_and(|l| libm::hypot(place.0 - l.0, place.1 - l.1) < RING_ROOM);
            if near || !panel.scale.frame.holds(place) {
                continue;
            }
            self.ring(place, RING, self.palette.ink)?;
            last = Some(place);
        }
        Ok(())
    }

    fn cursor(&self, figure: &Figure, scene: &Scene<'_>) -> Outcome<DB> {
        let Some(cursor) = scene.cursor else { return Ok(()) };
        let ink = self.palette.ink;
        for (shows, (x, y)) in figure.places(cursor) {
            let Some(panel) = figure.panels.iter().find(|p| p.shows == shows) else { continue };
            let f = panel.scale.frame;
            let dash = Some((3.0, 3.0));
            self.path(&[(x, f.top), (x, f.bottom)], ink, 1.0, dash)?;
            if f.holds((x, y)) {
                if shows == Shows::PlateCurrent {
                    self.path(&[(f.left, y), (f.right, y)], ink, 1.0, dash)?;
                }
                self.ring((x, y), 7.0, self.palette.ground)?;
                self.ring((x, y), 8.0, ink)?;
                self.ring((x, y), 6.0, ink)?;
                self.shape((x, y), cursor.section)?;
            }
        }
        Ok(())
    }
}
