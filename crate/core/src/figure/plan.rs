//! The plan of a figure: what goes where, before anything is drawn.

use serde::{Deserialize, Serialize};

use super::labels::{self, Label};
use super::scale::{Axis, Frame, Scale, Spread};
use super::ticks::{self, Ticks};
use super::trace::{Trace, traces};
use super::words::{current_unit, volts};
use crate::report::Mark;
use crate::sweep::{Running, Tube};

/// How the currents are shown.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CurrentAxis {
    /// All of the plate current, evenly; of the grid current, by decades.
    #[default]
    Full,
    /// The lowest [`FOOT_SHARE`] of it, evenly: where leaks are.
    Foot,
    /// All of it, by decades, through zero.
    Decades,
}

/// Size and choice of what is shown.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Options {
    /// Width, CSS pixels.
    pub width: f64,
    /// Height, CSS pixels.
    pub height: f64,
    /// How the currents are shown.
    #[serde(default)]
    pub current: CurrentAxis,
    /// Whether the grid current gets a panel where it was measured.
    #[serde(default)]
    pub grid_current: bool,
}

/// The share of the largest plate current that [`CurrentAxis::Foot`] shows:
/// leaks and tails worth finding lie below 1 % of the top (reference 4.4, 4.5).
pub const FOOT_SHARE: f64 = 0.02;
/// Decades that [`CurrentAxis::Decades`] spreads below the top; a bench meter
/// resolves about four (common practice, no source).
const DECADES: i32 = 4;
/// Smallest knee of that axis, A: below the grid current of any receiving tube
/// (reference 6: 0.4 nA is the least of a run-in one).
const LEAST_KNEE: f64 = 1e-10;
/// Largest share of the width that the names at the right edge may take (by construction).
const NAMES_SHARE: f64 = 0.25;
/// Smallest drawing that still has room for a panel, CSS pixels (by construction).
const LEAST_SIZE: f64 = 160.0;
/// Size of the letters, CSS pixels.
pub(super) const LETTERS: f64 = 12.0;

/// What a panel shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shows {
    /// Plate current.
    PlateCurrent,
    /// Grid current.
    GridCurrent,
}

/// One panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// What it shows.
    pub shows: Shows,
    /// Data to pixels and back.
    pub scale: Scale,
    /// What the current axis is called, with its unit.
    pub title: String,
    /// Figures of the running voltage.
    pub x: Ticks,
    /// Figures of the current.
    pub y: Ticks,
}

impl Panel {
    /// The column of `trace` that this panel shows.
    pub fn column<'t>(&self, trace: &'t Trace) -> &'t [f64] {
        match self.shows {
            Shows::PlateCurrent => &trace.ia,
            Shows::GridCurrent => &trace.ig,
        }
    }
}

/// A figure ready to be drawn, asked for its nearest point, or stepped through.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Width and height, CSS pixels.
    pub size: (f64, f64),
    /// What runs along the curves.
    pub running: Running,
    /// The curves, by held voltage and then by section.
    pub traces: Vec<Trace>,
    /// Names of the sections.
    pub sections: Vec<String>,
    /// One or two panels, top first.
    pub panels: Vec<Panel>,
    /// What the running voltage is called, with its unit.
    pub x_title: String,
    /// Letter symbol of the held voltage.
    pub held_symbol: &'static str,
    /// Names at the ends of the curves.
    pub labels: Vec<Label>,
}

impl Figure {
    /// Plans the figure of a tube.
    pub fn new(tube: &Tube, options: &Options) -> Self {
        let size = (options.width.max(LEAST_SIZE), options.height.max(LEAST_SIZE));
        let (running, traces) = traces(tube);
        let sections: Vec<String> = tube.sections.iter().map(|s| s.name.clone()).collect();
        let with_grid = options.grid_current && traces.iter().any(|t| t.ig.iter().any(|i| i.is_finite()));
        // Where the grid is fed through a resistor, the voltage that was set is the supply's.
        let grid = if tube.bench.rs() > 0.0 { "Grid supply voltage Vg, V" } else { "Grid voltage Vg, V" };
        let (x_title, held_symbol) = match running {
            Running::Grid => (grid, "Va"),
            Running::Plate => ("Plate voltage Va, V", "Vg"),
        };
        let lay = |names: f64| {
            let frames = frames(size, size.0 - names.min(NAMES_SHARE * size.0), with_grid);
            let shows = [Shows::PlateCurrent, Shows::GridCurrent];
            let panels: Vec<Panel> = shows
                .into_iter()
                .zip(frames)
                .map(|(shows, frame)| panel(shows, frame, &traces, options.current))
                .collect();
            let labels = panels.first().map_or_else(Vec::new, |p| labels::place(&p.scale, &traces, &sections));
            (panels, labels)
        };
        // Names that are shared or left out need less room than was kept for them.
        let (_, widest) = lay(labels::column_width(&traces, &sections));
        let (panels, labels) = lay(labels::needed_width(&widest));
        Self { size, running, traces, sections, panels, x_title: x_title.into(), held_symbol, labels }
    }

    /// Writes the figures at the axes and the held voltages with another decimal mark than the
    /// point; the names of sections stay as they are.
    pub fn set_decimal_mark(&mut self, mark: char) {
        for panel in &mut self.panels {
            panel.x.set_decimal_mark(mark);
            panel.y.set_decimal_mark(mark);
        }
        for label in &mut self.labels {
            let held = label.text.split(" \u{b7} ").next().unwrap_or_default().len();
            let name = label.text.split_off(held);
            label.text = label.text.replace('.', mark.encode_utf8(&mut [0; 4])) + &name;
        }
    }

    /// What the figure shows, in one sentence, for who cannot see it.
    pub fn describe(&self) -> String {
        let count = self.traces.iter().map(|t| t.index.len()).sum::<usize>();
        let Some(last) = self.traces.last() else { return "No points to draw.".into() };
        let (kind, runs) = match self.running {
            Running::Grid => ("Transfer curves: plate current against grid voltage", "Vg"),
            Running::Plate => ("Plate curves: plate current against plate voltage", "Va"),
        };
        let of = |value: fn(&Trace) -> &[f64], pick: fn(f64, f64) -> f64, from: f64| {
            self.traces.iter().flat_map(|t| value(t).iter().copied()).fold(from, pick)
        };
        let (low, high) = (of(|t| &t.x, f64::min, f64::INFINITY), of(|t| &t.x, f64::max, f64::NEG_INFINITY));
        let top = of(|t| &t.ia, f64::max, f64::NEG_INFINITY);
        let held = self.traces.first().map_or(last.held, |t| t.held);
        let sections = match self.sections.len() {
            1 => "one section".to_owned(),
            n => format!("{n} sections"),
        };
        format!(
            "{kind}; {sections}, {} curves from {} {} to {}, {count} points, {runs} from {} to {}, at most {}.",
            self.traces.len(),
            self.held_symbol,
            volts(held),
            volts(last.held),
            volts(low),
            volts(high),
            super::words::amperes(top),
        )
    }
}

/// How to show the currents so that the marked points can be told from zero:
/// by decades where all of them lie at the foot, evenly otherwise.
pub fn fitting_axis(tube: &Tube, marks: &[Mark]) -> CurrentAxis {
    let top = tube.sections.iter().map(|s| s.points.top()).fold(0.0, f64::max);
    let mut marked = marks
        .iter()
        .filter_map(|m| tube.sections.get(m.section).map(|s| (s, m)))
        .flat_map(|(s, m)| m.points.iter().filter_map(|&i| s.points.ia.get(i).copied()))
        .peekable();
    if marked.peek().is_some() && marked.all(|ia| ia <= FOOT_SHARE * top) {
        CurrentAxis::Decades
    } else {
        CurrentAxis::Full
    }
}

/// The panels' frames, top first.
fn frames((width, height): (f64, f64), right: f64, two: bool) -> Vec<Frame> {
    let narrow = width < 420.0;
    // For the widest number, "−100 µA", which is 53 wide in DejaVu Sans.
    let left = 60.0;
    let right = right.max(left + 60.0).min(width - 8.0).max(left + 40.0);
    // Title and legend above, figures and title below.
    let (top, bottom) = (if narrow { 42.0 } else { 28.0 }, height - 38.0);
    if !two {
        return vec![Frame { left, top, right, bottom }];
    }
    let between = 26.0;
    let lower = (0.3 * (bottom - top - between)).max(48.0);
    let split = bottom - lower;
    vec![Frame { left, top, right, bottom: split - between }, Frame { left, top: split, right, bottom }]
}

fn panel(shows: Shows, frame: Frame, traces: &[Trace], current: CurrentAxis) -> Panel {
    let values = |t: &Trace| -> Vec<f64> {
        match shows {
            Shows::PlateCurrent => t.ia.clone(),
            Shows::GridCurrent => t.ig.clone(),
        }
    };
    let y: Vec<f64> = traces.iter().flat_map(values).filter(|v| v.is_finite()).collect();
    let (low, high) = ends(y.iter().copied());
    let (x_low, x_high) = ends(traces.iter().flat_map(|t| t.x.iter().copied()));
    let margin = 0.015 * (x_high - x_low);
    let x = Axis::new(Spread::Linear, (x_low - margin, x_high + margin), (frame.left, frame.right));
    let largest = high.max(-low);
    let (spread, range) = match (current, shows) {
        (CurrentAxis::Full, Shows::PlateCurrent) => (Spread::Linear, (low.min(0.0), high.max(0.0))),
        (CurrentAxis::Foot, Shows::PlateCurrent) => (Spread::Linear, (low.min(0.0), FOOT_SHARE * high.max(0.0))),
        (CurrentAxis::Foot, Shows::GridCurrent) => {
            // The foot of the grid current is what flows out of the grid.
            let out = if low < 0.0 { -low } else { FOOT_SHARE * high };
            (Spread::Linear, (-out, out.min(high.max(0.2 * out))))
        }
        // Electrons near zero volts outweigh everything else that a grid draws by
        // a thousand times (reference 6): evenly, the rest would be a flat line.
        (CurrentAxis::Full, Shows::GridCurrent) | (CurrentAxis::Decades, _) => {
            (Spread::Decades { knee: knee(largest, &y) }, (low.min(0.0), high.max(0.0)))
        }
    };
    let plain = Axis::new(spread, range, (frame.bottom, frame.top));
    // A little air above and below, in pixels so that it is the same on every spread.
    let air = 0.03 * (frame.bottom - frame.top);
    let range = (plain.value(frame.bottom + air), plain.value(frame.top - air));
    let y = Axis::new(spread, range, (frame.bottom, frame.top));

    let (unit, name) = current_unit(range.1.abs().max(range.0.abs()));
    let x_ticks = ticks::linear(&x, 1.0, frame.right - frame.left, 70.0);
    let length = frame.bottom - frame.top;
    let symbol = match shows {
        Shows::PlateCurrent => "Plate current Ia",
        Shows::GridCurrent => "Grid current Ig",
    };
    let (title, y_ticks) = match spread {
        Spread::Decades { .. } => (format!("{symbol}, by decades"), ticks::decades(&y)),
        Spread::Linear => (format!("{symbol}, {name}"), ticks::linear(&y, unit, length, 46.0)),
    };
    Panel { shows, scale: Scale { x, y, frame }, title, x: x_ticks, y: y_ticks }
}

/// The knee: the power of ten [`DECADES`] below the largest current, but not
/// below the finest step that the meter shows.
fn knee(largest: f64, values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let finest = sorted.windows(2).map(|w| w[1] - w[0]).filter(|d| *d > LEAST_KNEE).fold(f64::INFINITY, f64::min);
    let wanted = (largest * 10f64.powi(-DECADES)).max(LEAST_KNEE);
    let wanted = if finest < largest { wanted.max(finest) } else { wanted };
    libm::pow(10f64, (libm::log10(wanted) - 1e-9).ceil())
}

fn ends(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let ends = values
        .filter(|v| v.is_finite())
        .fold(None, |ends: Option<(f64, f64)>, v| Some(ends.map_or((v, v), |(low, high)| (low.min(v), high.max(v)))));
    ends.unwrap_or((0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::super::trace::tests::twin;
    use super::*;

    const VG: [f64; 9] = [-20.0, -17.5, -15.0, -12.5, -10.0, -7.5, -5.0, -2.5, 0.0];

    fn options(current: CurrentAxis) -> Options {
        Options { width: 700.0, height: 420.0, current, grid_current: true }
    }

    #[test]
    fn every_point_of_a_full_figure_is_inside_its_panel() {
        let tube = twin([100.0, 200.0, 300.0], &VG, 1e-6);
        for current in [CurrentAxis::Full, CurrentAxis::Decades] {
            let figure = Figure::new(&tube, &options(current));
            assert_eq!(figure.panels.len(), 2);
            for panel in &figure.panels {
                for t in &figure.traces {
                    for (x, y) in t.x.iter().zip(panel.column(t)) {
                        assert!(panel.scale.frame.holds(panel.scale.pixel(*x, *y)), "{current:?} {x} {y}");
                    }
                }
            }
        }
    }

    #[test]
    fn the_foot_spreads_a_leak_that_the_full_axis_hides() {
        let mut tube = twin([100.0, 200.0, 300.0], &VG, 3e-7);
        // A meter of 0.1 µA.
        let reading = |(k, ia): (usize, &mut f64)| *ia += 1e-7 * (k % 3) as f64;
        tube.sections.iter_mut().for_each(|s| s.points.ia.iter_mut().enumerate().for_each(reading));
        let height = |current| {
            let figure = Figure::new(&tube, &options(current));
            let y = figure.panels[0].scale.y;
            y.pixel(0.0) - y.pixel(300.0 * 3e-7)
        };
        let hidden = height(CurrentAxis::Full);
        assert!(hidden < 2.0);
        assert!(height(CurrentAxis::Foot) > 20.0 * hidden);
        assert!(height(CurrentAxis::Decades) > 40.0);
    }

    #[test]
    fn marks_at_the_foot_ask_for_decades() {
        let tube = twin([100.0, 200.0, 300.0], &VG, 3e-7);
        let mark = |points: Vec<usize>| [Mark { section: 0, points }];
        assert_eq!(fitting_axis(&tube, &mark(vec![0, 1])), CurrentAxis::Decades);
        assert_eq!(fitting_axis(&tube, &mark(vec![0, 26])), CurrentAxis::Full);
        assert_eq!(fitting_axis(&tube, &[]), CurrentAxis::Full);
        // Marks that point nowhere do no harm.
        assert_eq!(fitting_axis(&tube, &[Mark { section: 7, points: vec![999] }]), CurrentAxis::Full);
    }

    #[test]
    fn numbers_get_the_decimal_mark_and_names_keep_theirs() {
        let mut tube = twin([0.5, 1.0, 1.5], &[-2.5, -1.5, 0.0], 0.0);
        tube.sections[0].name = "1.5".into();
        tube.sections[1].points.ia.iter_mut().for_each(|ia| *ia *= 3.0);
        let mut figure = Figure::new(&tube, &options(CurrentAxis::Full));
        figure.set_decimal_mark(',');
        let figures = figure.panels.iter().flat_map(|p| p.x.figures.iter().chain(&p.y.figures));
        assert!(
            figures.map(|f| &f.1).all(|f| !f.contains('.'))
                && figure.panels[0].x.figures.iter().any(|f| f.1.contains(','))
        );
        let texts: Vec<&str> = figure.labels.iter().map(|l| l.text.as_str()).collect();
        assert!(texts.iter().any(|t| t.starts_with("1,5 V")), "{texts:?}");
        assert!(texts.iter().all(|t| !t.contains("1.5 V") && !t.contains("\u{b7} 1,5")), "{texts:?}");
    }

    #[test]
    fn nothing_to_draw_is_a_figure_too() {
        let mut tube = twin([1.0, 2.0, 3.0], &[0.0], 0.0);
        tube.sections.clear();
        let figure = Figure::new(&tube, &options(CurrentAxis::Decades));
        assert_eq!(figure.describe(), "No points to draw.");
        assert_eq!(figure.panels.len(), 1);
    }

    #[test]
    fn the_description_carries_the_ranges() {
        let tube = twin([100.0, 200.0, 300.0], &VG, 0.0);
        let text = Figure::new(&tube, &options(CurrentAxis::Full)).describe();
        assert!(
            text.contains("2 sections, 6 curves from Va 100 V to 300 V, 54 points, Vg from −20 V to 0 V"),
            "{text}"
        );
    }
}
