//! What can be wrong with a file, where, and how to mend it.

use serde::{Deserialize, Serialize};

use super::heading::Column;
use super::limits::{LARGEST_FILE, MOST_LINES, MOST_POINTS};
use crate::report::engineering;

/// Where in a file, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// The file as a whole.
    File,
    /// A line.
    Line(usize),
    /// A cell: line and column (the cell's number in its row).
    Cell(usize, usize),
}

impl Place {
    /// Line and column where there are any.
    pub(super) fn counted(self) -> (Option<usize>, Option<usize>) {
        match self {
            Self::File => (None, None),
            Self::Line(line) => (Some(line), None),
            Self::Cell(line, column) => (Some(line), Some(column)),
        }
    }
}

/// One thing that is wrong with a file.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "each variant's message says what it is")]
pub enum Mistake {
    #[error("the file is empty")]
    Empty,
    #[error("the file holds bytes that are no text (byte {} is {value:#04x})", at + 1)]
    Binary { at: usize, value: u8 },
    #[error("the file is {} MB, the largest that is read is {} MB", megabytes(*bytes), megabytes(*most))]
    TooLarge { bytes: u64, most: u64 },
    #[error("the file holds more than {} million points", MOST_POINTS / 1_000_000)]
    ManyPoints,
    #[error("the file has more than {} million lines", MOST_LINES / 1_000_000)]
    ManyLines,
    #[error("this row is longer than {} MB", most / (1024 * 1024))]
    LongRow { most: usize },
    #[error("this row has more than {most} cells")]
    ManyCells { most: usize },
    #[error("the cell \"{comma}\" has a decimal comma and the cell \"{point}\" a decimal point")]
    TwoMarks { comma: String, point: String },
    #[error("the rows of {columns} numbers have no heading")]
    NoHeading { columns: usize },
    #[error("\"{option}\" says nothing of how to read a table")]
    BadOption { option: String },
    #[error("no heading with a plate voltage, a grid voltage and a plate current was found")]
    NotATable,
    #[error("the heading is there, but no row of numbers follows it")]
    HeaderOnly,
    #[error("the heading has no column for the {0}")]
    MissingColumn(&'static str),
    #[error("two columns, {first} and {second}, both read as the {what}")]
    TwiceTheSame { what: &'static str, first: usize, second: usize },
    #[error("the heading \"{heading}\" gives the {what} in \"{unit}\", which is not a unit of {dimension}")]
    WrongUnit { heading: String, what: &'static str, unit: String, dimension: &'static str },
    #[error("this row has {found} cells, the heading has {expected}")]
    Ragged { found: usize, expected: usize },
    #[error("\"{text}\" is not a number (column \"{heading}\")")]
    NotANumber { text: String, heading: String },
    #[error("\"{text}\" is not a finite number (column \"{heading}\")")]
    NotFinite { text: String, heading: String },
    #[error("the cell for the {what} is empty")]
    EmptyCell { what: &'static str },
    #[error("a {what} of {} is outside what a receiving tube can see", engineering(*value, unit))]
    OutOfRange { what: &'static str, value: f64, unit: &'static str },
    #[error("the line \"{key}\" has the value \"{value}\", which cannot be read")]
    BadMetadata { key: String, value: String },
    #[error("the line \"{key}: {second}\" contradicts an earlier \"{key}: {first}\"")]
    SaidTwice { key: String, first: String, second: String },
    #[error("this is no sweep in JSON: {0}")]
    Json(String),
    #[error("this is no bench profile: {0}")]
    Profile(String),
}

impl Mistake {
    /// Whether it is that there is no table at all, as on a sheet of remarks.
    pub(super) fn is_no_table(&self) -> bool {
        matches!(self, Self::NotATable | Self::NoHeading { .. } | Self::Empty | Self::HeaderOnly)
    }

    /// What to do about it, one sentence.
    pub fn mend(&self) -> String {
        match self {
            Self::Empty => "Check that the bench program had finished writing; export the sweep again.".into(),
            Self::Binary { .. } => {
                "Export the sweep as a text table (CSV) or a spreadsheet; pictures and documents are not read.".into()
            }
            Self::TooLarge { .. } => {
                "Split the file by tube, or export fewer points a volt; 100 points a curve are plenty.".into()
            }
            Self::ManyPoints | Self::ManyLines => {
                "Split the file by tube, or export fewer points a volt; 100 points a curve are plenty.".into()
            }
            Self::LongRow { .. } | Self::ManyCells { .. } => {
                "Check that this is a table, and that its line ends and quotation marks came through.".into()
            }
            Self::TwoMarks { .. } => "Write all numbers of the file in one manner.".into(),
            Self::NoHeading { columns } => format!(
                "Name the columns in a first row, or with an option such as --read 'columns={}'.",
                super::reading::columns_example(*columns)
            ),
            Self::BadOption { .. } => format!("Write one of: {}.", super::reading::EXAMPLES.join("; ")),
            Self::NotATable | Self::MissingColumn(_) => {
                "Give the table a heading such as: section,Va [V],Vg [V],Ia [mA].".into()
            }
            Self::HeaderOnly => "Add the measured points below the heading, one row each.".into(),
            Self::TwiceTheSame { .. } => "Rename or remove one of the two columns.".into(),
            Self::WrongUnit { dimension, .. } => match *dimension {
                "voltage" => "Write V, mV or kV in the heading, and check that the columns are not swapped.".into(),
                "current" => "Write A, mA, µA or nA in the heading, and check that the columns are not swapped.".into(),
                _ => "Correct the unit in the heading.".into(),
            },
            Self::Ragged { .. } => {
                "Look for a missing or an extra separator in this row; a decimal comma needs ; or a tab between cells."
                    .into()
            }
            Self::NotANumber { .. } => "Correct the cell, or delete its row.".into(),
            Self::NotFinite { .. } => "Delete the row, or measure the point again.".into(),
            Self::EmptyCell { .. } => "Fill the cell, or delete its row.".into(),
            Self::OutOfRange { what, unit: "A", .. } if *what == Column::Ia.name() => {
                "Check the unit in the heading and the order of the columns; if the heading is wrong and the current is \
                 in mA, say --read 'despite.ia=mA'."
                    .into()
            }
            Self::OutOfRange { .. } => "Check the unit in the heading and the order of the columns.".into(),
            Self::BadMetadata { key, .. } => metadata_mend(key),
            Self::SaidTwice { .. } => {
                "Save each measurement to a file of its own, or give the table columns for tube and section.".into()
            }
            Self::Profile(_) => format!(
                "Write it as {{\"schema\": \"{}\", \"name\": \"Workshop\", \"grid_source_resistance\": \"10 kohm\", \
                 \"current_meter\": \"plate lead\", \"current_limit\": \"25 mA\", \"current_resolution\": \"1 uA\"}}; \
                 leave out what is not known.",
                super::profile::BENCH_SCHEMA
            ),
            Self::Json(_) => {
                "Write it as `sweepbook convert --format json` does; `sweepbook convert --schema` prints its schema."
                    .into()
            }
        }
    }
}

/// Megabytes (of 1 048 576 bytes) to a tenth, rounded up: a file just above the
/// limit must not read as one at the limit.
fn megabytes(bytes: u64) -> String {
    let tenths = bytes.saturating_mul(10).div_ceil(1024 * 1024);
    match tenths % 10 {
        0 => format!("{}", tenths / 10),
        tenth => format!("{}.{tenth}", tenths / 10),
    }
}

fn metadata_mend(key: &str) -> String {
    match key {
        "current_meter" => "Write plate lead or cathode lead.".into(),
        "grid_source_resistance" => "Write a resistance, for example 10 kohm.".into(),
        "heater_voltage" => "Write a voltage, for example 6.3 V.".into(),
        "current_limit" | "current_resolution" => "Write a current up to 5 A with its unit, for example 25 mA.".into(),
        _ => "Correct the line, or delete it.".into(),
    }
}

/// A file, or a part of it, that could not be read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unread {
    /// The file.
    pub source: String,
    /// Line, counted from 1; `None` for the file as a whole.
    pub line: Option<usize>,
    /// Cell in its row, counted from 1.
    pub column: Option<usize>,
    /// What is wrong.
    pub what: String,
    /// What to do about it.
    pub mend: String,
}

impl Unread {
    pub(crate) fn new(source: &str, place: Place, mistake: Mistake) -> Self {
        let (line, column) = place.counted();
        Self { source: source.into(), line, column, what: mistake.to_string(), mend: mistake.mend() }
    }

    /// A file that is larger than [`LARGEST_FILE`], known before it is read: `bytes` long.
    pub fn too_large(source: &str, bytes: u64) -> Self {
        Self::new(source, Place::File, Mistake::TooLarge { bytes, most: LARGEST_FILE as u64 })
    }

    /// A file that could not even be opened.
    pub fn unopened(source: &str, why: &str) -> Self {
        Self {
            source: source.into(),
            line: None,
            column: None,
            what: format!("the file could not be opened: {why}"),
            mend: "Check the name and that you may read the file.".into(),
        }
    }
}

impl std::fmt::Display for Unread {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.source)?;
        match (self.line, self.column) {
            (Some(line), Some(column)) => write!(f, ", line {line}, column {column}")?,
            (Some(line), None) => write!(f, ", line {line}")?,
            _ => {}
        }
        write!(f, ": {}. {}", self.what, self.mend)
    }
}

impl std::error::Error for Unread {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_just_too_large_does_not_read_as_one_at_the_limit() {
        let unread = Unread::too_large("x", LARGEST_FILE as u64 + 1);
        assert_eq!(unread.what, "the file is 192.1 MB, the largest that is read is 192 MB");
    }

    #[test]
    fn a_place_is_part_of_the_message() {
        let unread = Unread::new("x.csv", Place::Cell(4, 2), Mistake::EmptyCell { what: "plate voltage" });
        assert!(unread.to_string().starts_with("x.csv, line 4, column 2: the cell for the plate voltage is empty. "));
    }
}
