//! A tube's curves small enough for a row of a table: lines only, no axes, no figures.

use super::scale::{Axis, Spread};
use super::trace::{Trace, traces};
use crate::sweep::Tube;

/// Decades below the top: what parts a leak from a healthy foot lies below a hundredth of
/// it (reference 4.4), and below a thousandth there is noise of a bench meter (common
/// practice, no source).
const DECADES: i32 = 3;
/// Curves of a section that are drawn, spread over its held voltages (by construction).
const CURVES: usize = 4;
/// Points of a curve that are drawn (by construction: a line a few dozen pixels wide).
const POINTS: usize = 25;
/// Room for half a line at the edges, pixels.
const EDGE: f64 = 1.5;

/// The curves of one section.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Stroke {
    /// Index of the section in its tube.
    pub section: usize,
    /// Its curves as SVG path data, in pixels from the upper left corner.
    pub path: String,
}

/// The curves of a tube on `width` by `height` pixels: the running voltage evenly, the
/// plate current by decades. `typical` is a plate current of the type, A: a tube that does
/// not come near it is drawn low. A section without curves has no stroke.
pub fn thumb(tube: &Tube, typical: Option<f64>, width: f64, height: f64) -> Vec<Stroke> {
    let (_, traces) = traces(tube);
    let along = || traces.iter().flat_map(|t| &t.x).copied();
    let top = tube.sections.iter().map(|s| s.points.top()).chain(typical).fold(0.0, f64::max);
    if top <= 0.0 {
        return Vec::new();
    }
    let x = Axis::new(
        Spread::Linear,
        (along().fold(f64::INFINITY, f64::min), along().fold(f64::NEG_INFINITY, f64::max)),
        (EDGE, width - EDGE),
    );
    let knee = top * libm::pow(10.0, f64::from(-DECADES));
    let y = Axis::new(Spread::Decades { knee }, (0.0, top), (height - EDGE, EDGE));
    let of = |section: usize| {
        let curves: Vec<&Trace> = traces.iter().filter(|t| t.section == section && t.x.len() > 1).collect();
        let path: String = spread(curves.len(), CURVES).map(|i| line(curves[i], &x, &y, height)).collect();
        (!path.is_empty()).then_some(Stroke { section, path })
    };
    (0..tube.sections.len()).filter_map(of).collect()
}

/// At most `most` of `all` places, the first and the last among them.
fn spread(all: usize, most: usize) -> impl Iterator<Item = usize> {
    let few = all.min(most);
    (0..few).map(move |i| if few < 2 { 0 } else { i * (all - 1) / (few - 1) })
}

fn line(trace: &Trace, x: &Axis, y: &Axis, height: f64) -> String {
    use std::fmt::Write as _;
    let mut path = String::new();
    for (n, i) in spread(trace.x.len(), POINTS).enumerate() {
        let (px, py) = (x.pixel(trace.x[i]), y.pixel(trace.ia[i]).clamp(EDGE, height - EDGE));
        // Writing to a string cannot fail.
        let _ = write!(path, "{}{px:.1} {py:.1}", if n == 0 { 'M' } else { 'L' });
    }
    path
}

#[cfg(test)]
mod tests {
    use super::super::trace::tests::twin;
    use super::*;

    fn vgs() -> Vec<f64> {
        (0..60).map(|i| -30.0 + 0.5 * f64::from(i)).collect()
    }

    /// Where the curves of a section end at the left, pixels from the top.
    fn left_ends(path: &str) -> Vec<f64> {
        path.split('M').skip(1).map(|c| c.split(['L', ' ']).nth(1).unwrap().parse().unwrap()).collect()
    }

    #[test]
    fn a_floor_stands_off_the_ground_and_a_healthy_foot_does_not() {
        let strokes = thumb(&twin([100.0, 200.0, 300.0], &vgs(), 1e-6), None, 96.0, 40.0);
        assert_eq!(strokes.iter().map(|s| s.section).collect::<Vec<_>>(), [0, 1]);
        assert!(left_ends(&strokes[0].path).iter().all(|y| *y < 36.0), "{}", strokes[0].path);
        assert!(left_ends(&strokes[1].path).iter().all(|y| *y == 38.5), "{}", strokes[1].path);
    }

    #[test]
    fn a_tube_far_below_its_type_is_drawn_low() {
        let top = |typical| {
            let strokes = thumb(&twin([100.0, 200.0, 300.0], &vgs(), 0.0), typical, 96.0, 40.0);
            let ys = strokes[0].path.split([' ', 'L', 'M']).skip(2).step_by(2);
            ys.filter_map(|y| y.parse::<f64>().ok()).fold(f64::INFINITY, f64::min)
        };
        assert!(top(None) < 2.0);
        assert!(top(Some(10.0)) > 15.0);
    }

    #[test]
    fn it_stays_small_and_inside_whatever_is_measured() {
        let many: Vec<f64> = (0..5000).map(|i| -30.0 + 0.01 * f64::from(i)).collect();
        let strokes = thumb(&twin([100.0, 200.0, 300.0], &many, 1e-6), None, 96.0, 40.0);
        assert!(strokes.iter().all(|s| s.path.len() < CURVES * POINTS * 12));
        let mut dead = twin([100.0, 200.0, 300.0], &vgs(), 0.0);
        dead.sections.iter_mut().for_each(|s| s.points.ia.fill(-1e-9));
        assert_eq!(thumb(&dead, None, 96.0, 40.0), []);
        assert!(thumb(&dead, Some(1e-3), 96.0, 40.0).iter().all(|s| !s.path.contains('-')));
        dead.sections.clear();
        assert_eq!(thumb(&dead, Some(1e-3), 96.0, 40.0), []);
    }
}
