//! Names at the ends of the curves, kept from lying on each other.

use super::plan::LETTERS;
use super::scale::{Frame, Scale};
use super::trace::Trace;
use super::words::volts;

/// A name at the end of one or more curves.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Left end of the text, halfway up, CSS pixels.
    pub at: (f64, f64),
    /// The end of the curve it belongs to.
    pub end: (f64, f64),
    /// What it says.
    pub text: String,
    /// The section whose shape stands before the text; `None` for all of them.
    pub section: Option<usize>,
}

/// Height of a label, CSS pixels.
const HEIGHT: f64 = LETTERS + 2.0;
/// Width of an average letter as a share of its size; measured on common
/// sans-serif faces, only used to keep labels apart.
const LETTER_WIDTH: f64 = 0.58;
/// Room for the section's shape before the text, CSS pixels.
pub(super) const SHAPE_ROOM: f64 = 12.0;
/// From the end of the curve to its name, CSS pixels.
const GAP: f64 = 7.0;
/// How far a name may be moved from the end of its curve, in label heights.
const FARTHEST: i32 = 6;
/// Longest name of a section in a label, characters.
const SECTION_LETTERS: usize = 4;

/// Width that the names at the right edge need, CSS pixels.
pub fn column_width(traces: &[Trace], sections: &[String]) -> f64 {
    let longest = traces.iter().map(|t| text(t, sections).chars().count()).max().unwrap_or(0);
    GAP + SHAPE_ROOM + width(longest) + 4.0
}

/// Width that names already placed need at the right edge, CSS pixels.
pub fn needed_width(labels: &[Label]) -> f64 {
    let wide = |l: &Label| width(l.text.chars().count()) + l.section.map_or(0.0, |_| SHAPE_ROOM);
    GAP + labels.iter().map(wide).fold(width("Va =".len()), f64::max) + 4.0
}

fn width(letters: usize) -> f64 {
    letters as f64 * LETTERS * LETTER_WIDTH
}

fn text(trace: &Trace, sections: &[String]) -> String {
    match sections.get(trace.section) {
        // Beside it stands the section's shape, which does where the name is long.
        Some(name) if sections.len() > 1 && name.chars().count() <= SECTION_LETTERS => {
            format!("{} · {name}", volts(trace.held))
        }
        _ => volts(trace.held),
    }
}

/// Places a name at the end of every curve; curves of one held voltage that end
/// together share one, and where there is no room a name is left out.
pub fn place(scale: &Scale, traces: &[Trace], sections: &[String]) -> Vec<Label> {
    let mut wanted: Vec<Label> = Vec::new();
    for trace in traces {
        let Some(end) = end(scale, trace) else { continue };
        let twin = wanted.iter_mut().find(|l| {
            l.text.split(" · ").next() == Some(volts(trace.held).as_str())
                && (l.end.0 - end.0).abs() < HEIGHT
                && (l.end.1 - end.1).abs() < HEIGHT
        });
        match twin {
            Some(label) => {
                label.section = None;
                label.text = volts(trace.held);
                label.end.1 = 0.5 * (label.end.1 + end.1);
            }
            None => {
                let section = (sections.len() > 1).then_some(trace.section);
                wanted.push(Label { at: end, end, text: text(trace, sections), section });
            }
        }
    }
    wanted.sort_unstable_by(|a, b| a.end.1.total_cmp(&b.end.1).then(a.end.0.total_cmp(&b.end.0)));
    let mut placed: Vec<(Frame, Label)> = Vec::new();
    for mut label in wanted {
        let wide = width(label.text.chars().count()) + label.section.map_or(0.0, |_| SHAPE_ROOM);
        let top_edge = label.end.1 <= scale.frame.top + 0.5;
        let x = if top_edge { label.end.0 - GAP - wide } else { label.end.0 + GAP };
        let tries = (0..=2 * FARTHEST).map(|k| if k % 2 == 0 { -(k / 2) } else { (k + 1) / 2 });
        for step in tries {
            let y = label.end.1 + f64::from(step) * HEIGHT * 0.5 + if top_edge { HEIGHT } else { 0.0 };
            let frame = Frame { left: x, top: y - 0.5 * HEIGHT, right: x + wide, bottom: y + 0.5 * HEIGHT };
            let inside = frame.top >= scale.frame.top - HEIGHT && frame.bottom <= scale.frame.bottom + HEIGHT;
            if inside && x >= scale.frame.left && placed.iter().all(|(other, _)| apart(&frame, other)) {
                label.at = (x, y);
                placed.push((frame, label));
                break;
            }
        }
    }
    placed.into_iter().map(|(_, label)| label).collect()
}

fn apart(a: &Frame, b: &Frame) -> bool {
    a.right < b.left || b.right < a.left || a.bottom <= b.top || b.bottom <= a.top
}

/// Where a curve ends inside the panel: at its last point, or where it leaves.
fn end(scale: &Scale, trace: &Trace) -> Option<(f64, f64)> {
    let pixels: Vec<(f64, f64)> = trace.x.iter().zip(&trace.ia).map(|(x, y)| scale.pixel(*x, *y)).collect();
    let last = *pixels.last()?;
    if scale.frame.holds(last) {
        return Some(last);
    }
    pixels.windows(2).rev().find_map(|pair| scale.frame.clip(pair[0], pair[1]).map(|(_, to)| to))
}

#[cfg(test)]
mod tests {
    use super::super::plan::{CurrentAxis, Figure, Options};
    use super::super::trace::tests::twin;
    use super::*;

    #[test]
    fn labels_never_lie_on_each_other_and_stay_on_the_drawing() {
        let vgs: Vec<f64> = (0..20).map(|i| f64::from(i) - 19.0).collect();
        let tube = twin([100.0, 104.0, 300.0], &vgs, 1e-7);
        for current in [CurrentAxis::Full, CurrentAxis::Foot, CurrentAxis::Decades] {
            for width in [320.0, 700.0] {
                let figure = Figure::new(&tube, &Options { width, height: 300.0, current, grid_current: false });
                assert!(!figure.labels.is_empty());
                let frame = |l: &Label| Frame {
                    left: l.at.0,
                    top: l.at.1 - 0.5 * HEIGHT,
                    right: l.at.0 + super::width(l.text.chars().count()),
                    bottom: l.at.1 + 0.5 * HEIGHT,
                };
                for (i, a) in figure.labels.iter().enumerate() {
                    assert!(frame(a).right <= width && a.at.0 >= 0.0);
                    for b in &figure.labels[i + 1..] {
                        assert!(apart(&frame(a), &frame(b)), "{a:?} {b:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn two_sections_that_end_together_share_a_name() {
        let mut tube = twin([100.0, 200.0, 300.0], &[-9.0, -6.0, -3.0, 0.0], 0.0);
        tube.sections[1].points.ia = tube.sections[0].points.ia.clone();
        let options = Options { width: 700.0, height: 420.0, current: CurrentAxis::Full, grid_current: false };
        let figure = Figure::new(&tube, &options);
        let texts: Vec<&str> = figure.labels.iter().map(|l| l.text.as_str()).collect();
        assert_eq!(texts, ["300 V", "200 V", "100 V"]);
    }

    #[test]
    fn where_sections_end_apart_a_short_name_is_said_and_no_name_is_cut() {
        let mut tube = twin([100.0, 200.0, 300.0], &[-9.0, -6.0, -3.0, 0.0], 0.0);
        tube.sections[1].points.ia = tube.sections[0].points.ia.iter().map(|ia| 0.4 * ia).collect();
        let options = Options { width: 700.0, height: 420.0, current: CurrentAxis::Full, grid_current: false };
        let ends = |tube: &_| Figure::new(tube, &options).labels.into_iter().map(|l| l.text).collect::<Vec<_>>();
        assert!(ends(&tube).contains(&format!("300 V · {}", tube.sections[0].name)), "{:?}", ends(&tube));
        tube.sections[0].name = "1, faulty".to_owned();
        assert!(ends(&tube).contains(&"300 V".to_owned()), "{:?}", ends(&tube));
    }
}
