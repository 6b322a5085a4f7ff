//! How a table was understood, for showing it and for knowing a like one again.

use serde::Serialize;

use super::heading::Column;
use super::plan::Role;
use super::reading::Reading;
use super::shown::clean;
use super::table::Table;

/// How a table was understood.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Understood {
    /// The heading's line, counted from 1.
    pub heading_line: usize,
    /// What parts its cells: comma, semicolon, tab or blanks.
    pub separator: &'static str,
    /// The decimal mark, point or comma.
    pub decimal: &'static str,
    /// Whether curves stand beside each other.
    pub wide: bool,
    /// The columns, in order.
    pub columns: Vec<ColumnRead>,
    /// What was decided, by the user or because nothing else fits.
    pub reading: Reading,
    /// What was taken for granted, sentences.
    pub assumed: Vec<String>,
    /// What files of the same kind have in common: their headings, parted by
    /// vertical lines.
    pub shape: String,
}

/// How one column was understood.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ColumnRead {
    /// As written.
    pub heading: String,
    /// What it holds; `other` for one that is left out.
    pub what: &'static str,
    /// Factor of its unit to SI; `None` for names and what is left out.
    pub factor: Option<f64>,
    /// Its section, where the heading names one.
    pub section: Option<String>,
    /// The voltage held along it, V.
    pub held: Option<f64>,
}

impl Understood {
    /// A document of this program's own: nothing was to be understood.
    pub(super) fn of_document(reading: &Reading) -> Self {
        Self {
            heading_line: 1,
            separator: "none",
            decimal: "point",
            wide: false,
            columns: Vec::new(),
            reading: reading.clone(),
            assumed: Vec::new(),
            shape: "sweepbook/sweep/1".into(),
        }
    }

    pub(super) fn of(table: &Table, reading: &Reading, taken: Vec<String>) -> Self {
        let headings = &table.layout.headings;
        let column = |(heading, role): (&super::heading::Heading, &Role)| ColumnRead {
            heading: clean(&heading.text),
            what: if *role == Role::Skip { Column::Other.name() } else { heading.column.name() },
            factor: if let Role::Number { factor, .. } = role { Some(*factor) } else { None },
            section: heading.section.clone(),
            held: heading.held.map(|h| h.volts),
        };
        Self {
            heading_line: table.layout.line,
            separator: table.layout.separator.name(),
            decimal: if table.mark == super::number::Mark::Comma { "comma" } else { "point" },
            wide: table.plan.wide,
            columns: headings.iter().zip(&table.plan.roles).map(column).collect(),
            reading: reading.clone(),
            assumed: taken.into_iter().chain(table.assumed.iter().cloned()).collect(),
            shape: headings.iter().map(|h| clean(&h.text).to_lowercase()).collect::<Vec<_>>().join("|"),
        }
    }
}
