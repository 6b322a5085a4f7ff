//! The pen: lines, shapes and letters in CSS pixels, for every figure.

use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind};
use plotters::element::{Circle, DashedPathElement, PathElement, Polygon, Rectangle, Text};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle, RGBColor, ShapeStyle, TextStyle};
use plotters_backend::DrawingBackend;

use super::palette::{Palette, Shape, Style};
use super::plan::LETTERS;
use super::scale::{Frame, Scale};
use super::strokes::{Place, Straight};
use super::ticks::Ticks;

/// Radius of a point's shape, CSS pixels.
const POINT: f64 = 2.6;
/// Half the width of an open shape, so that a filled one can be seen inside it, CSS pixels.
const OPEN_POINT: f64 = 3.3;

/// Width of a letter where text is not measured: of a wide one, so that nothing touches, CSS pixels.
pub const LETTER: f64 = 7.0;

/// What drawing comes to.
pub type Outcome<DB> = Result<(), DrawingAreaErrorKind<<DB as DrawingBackend>::ErrorType>>;

/// Draws in CSS pixels on an area of device pixels.
pub struct Pen<'a, DB: DrawingBackend> {
    /// Where it draws.
    pub area: &'a DrawingArea<DB, Shift>,
    /// Device pixels in a CSS pixel.
    pub density: f64,
    /// By how much letters are enlarged for a backend that shrinks them.
    pub letters: f64,
    /// Family of the letters.
    pub font: &'a str,
    /// Its colours.
    pub palette: Palette,
}

impl<DB: DrawingBackend> Pen<'_, DB> {
    /// The ruling with the figures at its left, and the two axes.
    pub fn ruling(&self, scale: &Scale, x: &Ticks, y: &Ticks) -> Outcome<DB> {
        let f = scale.frame;
        let heavy = |ticks: &[(f64, String)]| ticks.iter().map(|t| t.0).collect::<Vec<f64>>();
        let rulings = [
            (x.fine.clone(), y.fine.clone(), self.palette.fine),
            (heavy(&x.figures), heavy(&y.figures), self.palette.ruling),
        ];
        for (xs, ys, colour) in rulings {
            for x in xs.iter().map(|v| scale.x.pixel(*v)) {
                self.line(&[(x, f.top), (x, f.bottom)], colour, 1.0)?;
            }
            for y in ys.iter().map(|v| scale.y.pixel(*v)) {
                self.line(&[(f.left, y), (f.right, y)], colour, 1.0)?;
            }
        }
        let ink = self.palette.ink;
        self.line(&[(f.left, f.top), (f.left, f.bottom)], ink, 1.0)?;
        let zero = scale.y.pixel(0.0);
        if (f.top..=f.bottom).contains(&zero) {
            self.line(&[(f.left, zero), (f.right, zero)], ink, 1.0)?;
        }
        for (value, text) in &y.figures {
            self.text(text, (f.left - 6.0, scale.y.pixel(*value)), HPos::Right, VPos::Center)?;
        }
        Ok(())
    }

    /// The figures under a frame, and what they are of at the foot of a drawing this high.
    pub fn across(&self, scale: &Scale, x: &Ticks, title: &str, height: f64) -> Outcome<DB> {
        let f = scale.frame;
        for (value, text) in &x.figures {
            self.text(text, (scale.x.pixel(*value), f.bottom + 5.0), HPos::Center, VPos::Top)?;
        }
        self.text(title, (0.5 * (f.left + f.right), height - 4.0), HPos::Center, VPos::Bottom)
    }

    /// The shape of a section or a group, by its place in the order.
    pub fn shape(&self, place: Place, section: usize) -> Outcome<DB> {
        let style = Style::of(section);
        let colour = self.palette.series[style.colour];
        let (x, y) = place;
        let r = if matches!(style.shape, Shape::Square | Shape::Diamond) { OPEN_POINT } else { POINT };
        let (corners, open): (Vec<Place>, bool) = match style.shape {
            Shape::Disc => {
                let radius = (r * self.density).round().max(2.0) as u32;
                return self.area.draw(&Circle::new(self.device(place), radius, colour.filled()));
            }
            Shape::Square => (vec![(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)], true),
            Shape::Triangle => (vec![(x, y - 1.3 * r), (x + 1.2 * r, y + r), (x - 1.2 * r, y + r)], false),
            Shape::Diamond => (vec![(x, y - 1.2 * r), (x + 1.2 * r, y), (x, y + 1.2 * r), (x - 1.2 * r, y)], true),
        };
        let device: Vec<(i32, i32)> = corners.iter().map(|p| self.device(*p)).collect();
        // An open shape stays open: what lies under it shows through.
        if !open {
            self.area.draw(&Polygon::new(device, colour.filled()))?;
        }
        let closed: Vec<Place> = corners.iter().chain(corners.first()).copied().collect();
        self.line(&closed, colour, 1.2)
    }

    /// An open ring.
    pub fn ring(&self, place: Place, radius: f64, colour: RGBColor) -> Outcome<DB> {
        let style = ShapeStyle { color: colour.to_rgba(), filled: false, stroke_width: self.width(1.4) };
        self.area.draw(&Circle::new(self.device(place), (radius * self.density).round() as u32, style))
    }

    /// A line in the style of a section.
    pub fn stroke(&self, path: &[Place], style: Style) -> Outcome<DB> {
        self.path(path, self.palette.series[style.colour], 1.6, style.dash)
    }

    /// An unbroken line.
    pub fn line(&self, path: &[Place], colour: RGBColor, width: f64) -> Outcome<DB> {
        self.path(path, colour, width, None)
    }

    /// A line, broken or not.
    pub fn path(&self, path: &[Place], colour: RGBColor, width: f64, dash: Option<(f64, f64)>) -> Outcome<DB> {
        let style = ShapeStyle { color: colour.to_rgba(), filled: false, stroke_width: self.width(width) };
        let device: Vec<(i32, i32)> = path.iter().map(|p| self.device(*p)).collect();
        match dash {
            Some((dash, gap)) => {
                let length = |l: f64| (l * self.density).round().max(1.0) as i32;
                self.area.draw(&DashedPathElement::new(device, length(dash), length(gap), style))
            }
            // A straight line by its own call: the canvas backend puts it on whole pixels.
            None => match device.as_slice() {
                [a, b] if a.0 == b.0 || a.1 == b.1 => self.area.draw(&Straight { ends: [*a, *b], style }),
                _ => self.area.draw(&PathElement::new(device, style)),
            },
        }
    }

    /// A filled rectangle.
    pub fn fill(&self, frame: &Frame, colour: RGBColor) -> Outcome<DB> {
        let corners = [self.device((frame.left, frame.top)), self.device((frame.right, frame.bottom))];
        self.area.draw(&Rectangle::new(corners, colour.filled()))
    }

    /// Letters, held at a place.
    pub fn text(&self, text: &str, place: Place, h: HPos, v: VPos) -> Outcome<DB> {
        let size = LETTERS * self.density * self.letters;
        let font = FontDesc::new(FontFamily::Name(self.font), size, FontStyle::Normal);
        let style = TextStyle::from(font).color(&self.palette.ink).pos(Pos::new(h, v));
        self.area.draw(&Text::new(text, self.device(place), style))
    }

    /// Device pixels of a place.
    pub fn device(&self, (x, y): Place) -> (i32, i32) {
        ((x * self.density).round() as i32, (y * self.density).round() as i32)
    }

    /// Device pixels of a width, one at least.
    pub fn width(&self, css: f64) -> u32 {
        (css * self.density).round().max(1.0) as u32
    }
}
