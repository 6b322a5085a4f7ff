//! Draws the picture of a lot.

use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::style::text_anchor::{HPos, VPos};
use plotters_backend::DrawingBackend;

use super::{LONGEST_NAME, LotFigure, Spot};
use crate::figure::draw::{Layer, Scene};
use crate::figure::pen::{LETTER, Outcome, Pen};
use crate::figure::scale::Frame;
use crate::figure::words::short;

/// Radius of the ring round an odd tube, CSS pixels.
const ODD: f64 = 7.0;
/// Radii of the rings round the tube that is open, CSS pixels.
const OPEN: (f64, f64) = (9.5, 11.0);
/// Room for a group's shape in the legend, and behind its name, CSS pixels.
const LEGEND_SHAPE: f64 = 14.0;
const LEGEND_GAP: f64 = 18.0;

/// Draws the picture. Of `scene` the marks and the cursor are not looked at: `open` is the
/// tube that is open, `pointed` the one that is pointed at.
///
/// # Errors
/// Whatever the backend refuses.
pub fn draw_lot<DB: DrawingBackend>(
    area: &DrawingArea<DB, Shift>,
    figure: &LotFigure,
    scene: &Scene<'_>,
    (open, pointed): (Option<usize>, Option<usize>),
) -> Outcome<DB> {
    let pen = Pen { area, density: scene.density, letters: 1.0, font: scene.font, palette: scene.theme.palette() };
    if scene.layer != Layer::Cursor {
        pen.lot(figure)?;
    }
    if scene.layer != Layer::Curves {
        let spot = |index: Option<usize>| figure.spots.iter().find(|s| Some(s.index) == index);
        pen.pointed(figure, spot(open), spot(pointed))?;
    }
    area.present()
}

impl<DB: DrawingBackend> Pen<'_, DB> {
    fn lot(&self, figure: &LotFigure) -> Outcome<DB> {
        let whole = Frame { left: 0.0, top: 0.0, right: figure.size.0, bottom: figure.size.1 };
        let f = figure.scale.frame;
        self.fill(&whole, self.palette.ground)?;
        let mut x = 12.0;
        for (group, name) in figure.groups.iter().enumerate() {
            self.shape((x, f.top - 32.0), group)?;
            self.text(name, (x + LEGEND_SHAPE - 4.0, f.top - 32.0), HPos::Left, VPos::Center)?;
            x += LEGEND_SHAPE + LETTER * name.chars().count() as f64 + LEGEND_GAP;
        }
        let [across, up] = &figure.ticks;
        self.ruling(&figure.scale, across, up)?;
        self.line(&[(f.left, f.bottom), (f.right, f.bottom)], self.palette.ink, 1.0)?;
        self.text(&figure.titles[1], (6.0, f.top - 14.0), HPos::Left, VPos::Center)?;
        self.across(&figure.scale, across, &figure.titles[0], figure.size.1)?;
        for spot in &figure.spots {
            self.shape(spot.at, spot.group.unwrap_or(0))?;
            if !spot.odd.is_empty() {
                self.ring(spot.at, ODD, self.palette.ink)?;
            }
            if let Some(place) = spot.named {
                self.text(&short(&spot.tube, LONGEST_NAME), place, HPos::Left, VPos::Center)?;
            }
        }
        Ok(())
    }

    fn pointed(&self, figure: &LotFigure, open: Option<&Spot>, pointed: Option<&Spot>) -> Outcome<DB> {
        let ink = self.palette.ink;
        if let Some(spot) = open {
            self.ring(spot.at, OPEN.0, ink)?;
            self.ring(spot.at, OPEN.1, ink)?;
        }
        if let Some(spot) = pointed {
            let (f, (x, y)) = (figure.scale.frame, spot.at);
            let dash = Some((3.0, 3.0));
            self.path(&[(x, f.top), (x, f.bottom)], ink, 1.0, dash)?;
            self.path(&[(f.left, y), (f.right, y)], ink, 1.0, dash)?;
        }
        Ok(())
    }
}
