//! The figure as an SVG document, for print and for keeping.

use plotters::backend::SVGBackend;
use plotters::drawing::IntoDrawingArea;

use super::draw::{Layer, Scene, draw_lettered};
use super::palette::Theme;
use super::plan::Figure;
use super::reading::Cursor;
use crate::report::Mark;

/// The backend rounds to whole pixels: the figure is drawn this much larger
/// than it is shown.
const FINENESS: f64 = 10.0;
/// The backend divides every letter size by this (plotters-svg 0.3.7).
const LETTERS: f64 = 1.24;

/// The figure as an SVG document, in light colours, with what it shows as its title.
///
/// # Errors
/// A message where the backend refuses; it has no reason to.
pub fn svg(figure: &Figure, title: &str, marks: &[Mark], cursor: Option<Cursor>) -> Result<String, String> {
    let (width, height) = (figure.size.0.round(), figure.size.1.round());
    let pixels = ((width * FINENESS) as u32, (height * FINENESS) as u32);
    let mut text = String::new();
    {
        let area = SVGBackend::with_string(&mut text, pixels).into_drawing_area();
        let scene =
            Scene { theme: Theme::Light, density: FINENESS, font: "sans-serif", marks, cursor, layer: Layer::Both };
        draw_lettered(&area, figure, &scene, LETTERS).map_err(|e| e.to_string())?;
    }
    let head = format!("<svg width=\"{}\" height=\"{}\"", pixels.0, pixels.1);
    let body = text.strip_prefix(&head).ok_or("the drawing has no head")?;
    let (rest, body) = body.split_once('>').ok_or("the drawing has no head")?;
    Ok(format!("<svg width=\"{width}\" height=\"{height}\"{rest} role=\"img\"><title>{}</title>{body}", escape(title)))
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::super::plan::{CurrentAxis, Options};
    use super::super::trace::tests::twin;
    use super::*;

    fn drawn(name: &str, marks: &[Mark], current: CurrentAxis) -> String {
        let vgs: Vec<f64> = (0..30).map(|i| f64::from(i) - 29.0).collect();
        let mut tube = twin([100.0, 200.0, 300.0], &vgs, 1e-6);
        tube.sections[0].name = name.into();
        let figure = Figure::new(&tube, &Options { width: 640.0, height: 480.0, current, grid_current: true });
        svg(&figure, &figure.describe(), marks, Some(Cursor { section: 0, point: 12 })).unwrap()
    }

    #[test]
    fn markup_in_a_name_is_text() {
        let text = drawn("<script>alert(1)</script>&\"", &[], CurrentAxis::Full);
        assert!(!text.contains("<script"));
        assert!(text.contains("&lt;"));
        assert!(text.starts_with("<svg width=\"640\" height=\"480\" viewBox=\"0 0 6400 4800\""));
    }

    #[test]
    fn marked_points_are_ringed() {
        let rings = |text: &str| text.matches("fill=\"none\" stroke=\"#16211C\"").count();
        let plain = drawn("1", &[], CurrentAxis::Decades);
        let marked = drawn("1", &[Mark { section: 0, points: (0..10).collect() }], CurrentAxis::Decades);
        assert!(rings(&marked) >= rings(&plain) + 5, "{} and {}", rings(&marked), rings(&plain));
    }

    #[test]
    fn everything_is_drawn_with_finite_numbers() {
        for current in [CurrentAxis::Full, CurrentAxis::Foot, CurrentAxis::Decades] {
            let text = drawn("1", &[Mark { section: 1, points: vec![3] }], current);
            assert!(!text.contains("NaN") && !text.contains("inf") && !text.contains("2147483647"));
            assert!(text.trim_end().ends_with("</svg>"));
        }
    }
}
