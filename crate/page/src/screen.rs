//! The figure on the screen: planned once for a size, then drawn and asked.

use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, IntoDrawingArea};
use plotters_canvas::CanvasBackend;
use serde::{Deserialize, Serialize};
use sweepbook_core::figure::{self, Cursor, Figure, Layer, Options, Reading, Scene, Step, Theme};
use sweepbook_core::read_json;
use sweepbook_core::report::Mark;
use sweepbook_core::sweep::Tube;
use wasm_bindgen::prelude::wasm_bindgen;
use web_sys::HtmlCanvasElement;

use crate::json;
use crate::wire::Wire;

/// How the page wants it drawn.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Look {
    pub theme: Theme,
    pub density: f64,
    pub font: String,
    #[serde(default)]
    pub marks: Vec<Mark>,
}

/// What is wanted of the figure, beside its [`Options`].
#[derive(Debug, Clone, Deserialize)]
struct Wanted {
    /// The decimal mark of whoever looks; the point where nobody says.
    #[serde(default)]
    decimal_mark: Option<char>,
}

/// Plans the figure of a tube; what is wanted of it is JSON.
pub(crate) fn plan(tube: &Tube, wanted: &str) -> Result<Figure, String> {
    let (options, Wanted { decimal_mark }): (Options, _) = (parse(wanted)?, parse(wanted)?);
    let mut figure = Figure::new(tube, &options);
    if let Some(mark) = decimal_mark {
        figure.set_decimal_mark(mark);
    }
    Ok(figure)
}

/// What is read under the cursor, and whether the chosen finding rests on it.
#[derive(Debug, Serialize)]
struct Pointed {
    #[serde(flatten)]
    reading: Reading,
    marked: bool,
}

/// The figure of one tube.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Screen {
    tube: Tube,
    figure: Figure,
    look: Look,
}

#[wasm_bindgen]
impl Screen {
    /// Takes the tube that a worker read, the options (size, axis) and the look
    /// (theme, density, font, marks).
    ///
    /// # Errors
    /// One of them is not what it should be.
    #[wasm_bindgen(constructor)]
    pub fn new(tube: &str, options: &str, look: &str) -> Result<Screen, String> {
        let tube: Tube = parse::<Wire>(tube)?.into();
        let figure = plan(&tube, options)?;
        Ok(Self { tube, figure, look: parse(look)? })
    }

    /// Plans anew for other options.
    ///
    /// # Errors
    /// They are not options.
    pub fn fit(&mut self, options: &str) -> Result<(), String> {
        self.figure = plan(&self.tube, options)?;
        Ok(())
    }

    /// Takes another look: theme, density, font, marks.
    ///
    /// # Errors
    /// It is not one.
    pub fn dress(&mut self, look: &str) -> Result<(), String> {
        self.look = parse(look)?;
        Ok(())
    }

    /// What the figure shows, in a sentence.
    pub fn describe(&self) -> String {
        self.figure.describe()
    }

    /// Draws ground, curves and marks.
    ///
    /// # Errors
    /// What the canvas refused.
    pub fn draw(&self, canvas: HtmlCanvasElement) -> Result<(), String> {
        self.paint(canvas, None, Layer::Curves)
    }

    /// Draws the cursor on its own, clear canvas; nothing where there is none.
    ///
    /// # Errors
    /// What the canvas refused.
    pub fn draw_cursor(&self, canvas: HtmlCanvasElement, cursor: &str) -> Result<(), String> {
        self.paint(canvas, parse(cursor)?, Layer::Cursor)
    }

    /// The point nearest to a place (CSS pixels), as JSON; `null` where none is near.
    pub fn nearest(&self, x: f64, y: f64) -> String {
        json(&self.pointed(self.figure.nearest((x, y))))
    }

    /// The point a step leads to from a cursor or `null`, as JSON.
    ///
    /// # Errors
    /// The cursor or the step is none.
    pub fn step(&self, cursor: &str, step: &str) -> Result<String, String> {
        let step: Step = parse(step)?;
        Ok(json(&self.pointed(self.figure.step(parse(cursor)?, step))))
    }

    /// A table for each curve, as JSON.
    pub fn tables(&self) -> String {
        json(&self.figure.tables())
    }

    /// The figure with its marks as an SVG document of the given size.
    ///
    /// # Errors
    /// The options are none.
    pub fn svg(&self, options: &str, title: &str) -> Result<String, String> {
        figure::svg(&plan(&self.tube, options)?, title, &self.look.marks, None)
    }

    fn paint(&self, canvas: HtmlCanvasElement, cursor: Option<Cursor>, layer: Layer) -> Result<(), String> {
        let area = area(canvas)?;
        let look = &self.look;
        let (density, font, marks) = (look.density, look.font.as_str(), look.marks.as_slice());
        let scene = Scene { theme: look.theme, density, font, marks, cursor, layer };
        figure::draw(&area, &self.figure, &scene).map_err(|e| e.to_string())
    }

    fn pointed(&self, at: Option<Cursor>) -> Option<Pointed> {
        let reading = self.figure.reading(at?)?;
        let at = reading.at;
        let marked = self.look.marks.iter().any(|m| m.section == at.section && m.points.contains(&at.point));
        Some(Pointed { reading, marked })
    }
}

/// A canvas to draw on.
pub(crate) fn area(canvas: HtmlCanvasElement) -> Result<DrawingArea<CanvasBackend, Shift>, &'static str> {
    let backend = CanvasBackend::with_canvas_object(canvas).ok_or("the canvas has no 2D context")?;
    Ok(backend.into_drawing_area())
}

pub(crate) fn parse<T: serde::de::DeserializeOwned>(text: &str) -> Result<T, String> {
    read_json(text).map_err(|e| e.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn screen() -> Screen {
        let table = "section,Va [V],Vg [V],Ia [mA]\n1,100,-2,1\n1,100,-1,2\n1,200,-2,3\n1,200,-1,4\n";
        let tube = sweepbook_core::intake::read("x.csv", table.as_bytes()).unwrap().remove(0);
        let look = r#"{"theme":"dark","density":2,"font":"serif","marks":[{"section":0,"points":[1]}]}"#;
        let options = r#"{"width":600,"height":400,"current":"decades","grid_current":true}"#;
        Screen::new(&json(&Wire::new(&tube, &mut [])), options, look).unwrap()
    }

    #[test]
    fn steps_are_spoken_and_know_the_marks() {
        let screen = screen();
        let first = screen.step("null", "\"forward\"").unwrap();
        assert!(first.contains(r#""at":{"section":0,"point":0}"#) && first.contains(r#""marked":false"#), "{first}");
        let next = screen.step(r#"{"section":0,"point":0}"#, "\"forward\"").unwrap();
        assert!(next.contains(r#""marked":true"#) && next.contains("2.00 mA"), "{next}");
    }

    #[test]
    fn what_is_not_understood_is_an_error_and_no_panic() {
        let screen = screen();
        assert!(screen.step("null", "\"sideways\"").is_err());
        assert!(screen.step("7", "\"up\"").is_err());
        assert!(Screen::new("{}", "{}", "{}").is_err());
        assert_eq!(screen.nearest(f64::NAN, 0.0), "null");
    }
}
