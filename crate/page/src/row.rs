//! A tube as a row of the lot's table.

use serde::Serialize;
use sweepbook_core::figure::{Stroke, thumb};
use sweepbook_core::handbook;
use sweepbook_core::report::{Figure, Figures, TubeReport};
use sweepbook_core::sweep::Tube;

use crate::words;

/// Size of the small picture, CSS pixels.
pub const THUMB: (f64, f64) = (96.0, 40.0);

type Pick = fn(&Figures) -> Option<&Figure>;

/// The figures that each section has, in the order of the first [`COLUMNS`].
const FIGURES: [Pick; 4] = [|f| f.ia.as_ref(), |f| f.gm.as_ref(), |f| f.mu.as_ref(), |f| f.rp.as_ref()];

/// A column of figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Column {
    /// What stands above it.
    pub head: &'static str,
    /// What that means, and by what its rows are ordered.
    pub says: &'static str,
}

/// The columns of figures, in the order of a row's cells.
pub const COLUMNS: [Column; 5] = [
    Column { head: "Ia", says: "Plate current at the operating point, each section; ordered by the lowest" },
    Column { head: "gm", says: "Transconductance there, each section; ordered by the lowest" },
    Column { head: "mu", says: "Amplification factor there, each section; ordered by the lowest" },
    Column { head: "rp", says: "Plate resistance there, each section; ordered by the lowest" },
    Column { head: "Apart", says: "How far apart the plate currents of the sections are, in percent of their mean" },
];

/// What a row shows beside the words of the sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Small picture of the curves, section by section, in CSS pixels.
    pub thumb: Vec<Stroke>,
    /// A cell for each column; `None` where nothing could be measured.
    pub cells: Vec<Option<Cell>>,
}

/// One cell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cell {
    /// By what it is ordered, SI units.
    pub by: f64,
    /// What it says.
    pub says: String,
}

impl Row {
    /// The row of a report.
    pub fn new(tube: &Tube, report: &TubeReport) -> Self {
        let typical = tube.kind.as_deref().and_then(handbook::find).and_then(|k| k.typical_current());
        let mut cells: Vec<Option<Cell>> = FIGURES.iter().map(|pick| figure(report, *pick)).collect();
        cells.push(apart(report));
        Self { thumb: thumb(tube, typical, THUMB.0, THUMB.1), cells }
    }
}

fn figure(report: &TubeReport, pick: Pick) -> Option<Cell> {
    let of: Vec<Option<&Figure>> = report.sections.iter().map(|s| pick(&s.figures)).collect();
    let by = of.iter().flatten().map(|f| f.estimate).reduce(f64::min)?;
    let says = |f: &Option<&Figure>| f.map_or_else(|| "\u{2013}".to_owned(), |f| words::number(f.estimate, &f.unit));
    Some(Cell { by, says: of.iter().map(says).collect::<Vec<_>>().join(" / ") })
}

/// How far apart the plate currents are at one operating point, of two sections and more.
fn apart(report: &TubeReport) -> Option<Cell> {
    let of: Vec<&Figure> = report.sections.iter().map(|s| s.figures.ia.as_ref()).collect::<Option<_>>()?;
    let first = of.first().filter(|first| of.len() > 1 && of.iter().all(|f| f.at == first.at))?;
    let (low, high) =
        of.iter().fold((first.estimate, first.estimate), |(l, h), f| (l.min(f.estimate), h.max(f.estimate)));
    let mean = of.iter().map(|f| f.estimate).sum::<f64>() / of.len() as f64;
    let by = (high - low) / mean;
    (mean > 0.0 && by.is_finite()).then(|| Cell { by, says: format!("{:.1}\u{a0}%", 100.0 * by) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use sweepbook_core::intake;

    /// A twin triode after the 3/2 law, the second section `scale` times the first.
    fn row(scale: f64) -> Row {
        let mut text = String::from("# type: 6SN7GTB\nsection,Va [V],Vg [V],Ia [mA]\n");
        for (section, scale) in [(1, 1.0), (2, scale)] {
            for va in [150.0, 200.0, 250.0] {
                for step in 0..60 {
                    let vg = -20.0 + f64::from(step) / 3.0;
                    let ia: f64 = scale * 0.0186 * (va / 20.0 + vg).max(0.0).powf(1.5) * 20.0;
                    text.push_str(&format!("{section},{va},{vg:.3},{ia:.4}\n"));
                }
            }
        }
        let tube = intake::read("x.csv", text.as_bytes()).unwrap().remove(0);
        Row::new(&tube, &sweepbook_core::triage(&tube))
    }

    #[test]
    fn figures_of_the_sections_stand_in_one_cell_and_the_lowest_orders() {
        let row = row(0.8);
        assert_eq!((row.cells.len(), row.thumb.len()), (COLUMNS.len(), 2));
        let ia = row.cells[0].as_ref().unwrap();
        assert_eq!(ia.says.matches(" / ").count(), 1);
        let apart = row.cells[4].as_ref().unwrap();
        // 0.2 of a mean of 0.9.
        assert!((apart.by - 0.2 / 0.9).abs() < 0.02, "{apart:?}");
        assert!(apart.says.ends_with("\u{a0}%"));
    }

    #[test]
    fn what_could_not_be_measured_is_left_open() {
        let tube = intake::read("x.csv", b"Va [V],Vg [V],Ia [mA]\n100,-1,1\n200,-1,2\n").unwrap().remove(0);
        let row = Row::new(&tube, &sweepbook_core::triage(&tube));
        assert!(row.cells.iter().all(Option::is_none), "{:?}", row.cells);
    }
}
