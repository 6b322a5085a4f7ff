//! The numbers of a figure as a table, for who would rather read than look.

use serde::Serialize;

use super::plan::Figure;
use super::words::{amperes, volts};
use crate::sweep::Running;

/// One curve as a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Table {
    /// Which section and which held voltage.
    pub caption: String,
    /// Names of the columns.
    pub columns: Vec<String>,
    /// Cells with their units.
    pub rows: Vec<Vec<String>>,
}

impl Figure {
    /// A table for each curve, in the order in which the figure is stepped through.
    pub fn tables(&self) -> Vec<Table> {
        let running = match self.running {
            Running::Grid => "Vg",
            Running::Plate => "Va",
        };
        let table = |t: &super::trace::Trace| {
            let section = self.sections.get(t.section).map_or("", String::as_str);
            let mut columns = vec![running.to_owned(), "Ia".to_owned()];
            if !t.ig.is_empty() {
                columns.push("Ig".to_owned());
            }
            let row = |k: usize| {
                let mut row = vec![volts(t.x[k]), amperes(t.ia[k])];
                if let Some(ig) = t.ig.get(k) {
                    row.push(if ig.is_finite() { amperes(*ig) } else { "–".into() });
                }
                row
            };
            Table {
                caption: format!("Section {section}, {} {}", self.held_symbol, volts(t.held)),
                columns,
                rows: (0..t.index.len()).map(row).collect(),
            }
        };
        self.traces.iter().map(table).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::plan::{CurrentAxis, Figure, Options};
    use super::super::trace::tests::twin;

    #[test]
    fn each_curve_has_its_table_with_every_point() {
        let mut tube = twin([100.0, 200.0, 300.0], &[-2.0, -1.0, 0.0], 0.0);
        if let Some(ig) = &mut tube.sections[0].points.ig {
            ig[0] = f64::NAN;
        }
        let options = Options { width: 600.0, height: 400.0, current: CurrentAxis::Full, grid_current: true };
        let tables = Figure::new(&tube, &options).tables();
        assert_eq!(tables.len(), 6);
        assert_eq!(tables[0].caption, "Section 1, Va 100 V");
        assert_eq!(tables[0].columns, ["Vg", "Ia", "Ig"]);
        assert_eq!(tables[0].rows[0], ["−2 V", "4.65 mA", "–"]);
        assert_eq!(tables[0].rows.len(), 3);
    }
}
